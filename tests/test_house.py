"""The rules of the house: which floor may import which, what loads when, sizes, sources, words."""

import ast
import inspect
import re
import subprocess
import sys
import tokenize
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import click
import pytest
from command_tree import commands
from demo_made import AT, demo_garden
from places import ROOT

from advisor.cli.main import cli

PACKAGE = ROOT / "advisor"
FILES = sorted(PACKAGE.rglob("*.py"))

#: A file imports from its own folder and from floors below. Weather and pot share one floor
#: and do not know each other.
FLOORS = {"errors": 0, "units": 1, "weather": 2, "pot": 2, "demand": 3, "balance": 4, "garden": 5,
          "jobs": 6, "show": 7, "cli": 8, "page": 9, "scripts": 9}
HEAVY = ("pandas", "pvlib", "matplotlib", "requests", "numba", "scipy")

MOST_LINES, MOST_FUNCTION_LINES = 400, 40
CLOCK_READERS = {"cli/session.py": "the one place where the clock is read"}

#: Numbers at the top of a module that are no coefficients: why each needs no source.
NO_COEFFICIENTS = {
    "_KELVIN": "an offset between scales, with its equation",
    "_KJ_PER_WH": "an exact conversion",
    "_MARGIN_DEG": "of a search, checked by its own test",
    "_EDGE_DEG": "width of a step in a polygon",
    "KNEE_CM": "where two parts of a curve are told apart",
    "SHARE_TOLERANCE": "of rounding in what is typed",
    "FINE_MM": "the grid, as stated in README",
    "FINE_DOWN_TO_MM": "the grid",
    "COARSE_MM": "the grid",
    "PF_WET": "end of a numeric grid",
    "SMALL": "against division by zero",
    "SEALED": "a mark, not a number",
    "MJ_PER_WM2_DAY": "an exact conversion",
    "MJ_PER_WM2_HOUR": "an exact conversion",
    "WET_HOUR_MM": "from which rain is named in a sentence",
    "TOP_MM": "belongs to TOP_ROOTS, which names its source",
    "S_REFERENCE_CM": "by the definition of S",
    "FREELY_MMH": "faster than any rain: no limit",
    "LEAST_SOIL_MM": "a limit of what is refused",
    "QUANTILES": "what low, mid and high mean everywhere",
}
SOURCED = ("demand", "pot", "balance", "jobs")
SOURCE = re.compile(r"\[[^\]]*\b[SMJC]\b[^\]]*\]|common practice|FAO-56|\bEq\. ?\d")


def name_of(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def floor_of(module: str) -> str:
    """Give the floor of a module of the package: `advisor.pot.mix` is on `pot`."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "errors"


# --- imports ---------------------------------------------------------------------------


def imported(tree: ast.AST) -> Iterator[str]:
    """Give the modules of the package that are imported anywhere in a file."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.split(".")[0] == "advisor")
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            if node.module == "advisor":
                yield from (f"advisor.{alias.name}" for alias in node.names
                            if alias.name != "__version__")
            elif node.module and node.module.split(".")[0] == "advisor":
                yield node.module


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_a_file_imports_only_from_floors_below_its_own(path: Path) -> None:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    here = parts[0] if parts != ("__init__",) else "scripts"  # the door of the house
    assert here in FLOORS, f"{here} stands on no floor yet"
    wrong = [module for module in imported(tree_of(path)) if floor_of(module) != here
             and FLOORS[floor_of(module)] >= FLOORS[here]]
    assert wrong == []


def test_the_walk_sees_imports_in_functions_and_for_types_only() -> None:
    tree = ast.parse("if TYPE_CHECKING:\n    from advisor.cli import main\n"
                     "def f():\n    import advisor.show.charts\n    from advisor import units\n")
    assert set(imported(tree)) == {"advisor.cli", "advisor.show.charts", "advisor.units"}


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_the_clock_is_read_in_one_place(path: Path) -> None:
    readers = ("now", "today", "utcnow", "time", "time_ns", "monotonic", "perf_counter", "sleep")
    owners = ("datetime", "date", "time", "Timestamp")
    calls = [ast.unparse(node) for node in ast.walk(tree_of(path))
             if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
             and node.func.attr in readers and isinstance(node.func.value, ast.Name | ast.Attribute)
             and ast.unparse(node.func.value).split(".")[-1] in owners]
    assert calls == [] or name_of(path) in CLOCK_READERS


def loaded(*args: str, names: tuple[str, ...]) -> set[str]:
    """Run the command in a process of its own; give those of the modules that it loaded."""
    code = ("import sys\nfrom advisor.cli.main import cli\n"
            "try:\n    cli(sys.argv[1:])\n"
            "except SystemExit as end:\n    assert not end.code, end.code\n"
            "sys.stdout.flush()\n"
            f"print('\\n', [name for name in {names!r} if name in sys.modules])")
    told = subprocess.run([sys.executable, "-c", code, *args], capture_output=True, text=True,
                          check=True)
    return set(ast.literal_eval(told.stdout.splitlines()[-1].strip()))


def test_help_loads_nothing_heavy() -> None:
    assert loaded("--help", names=("numpy", *HEAVY)) == set()


@pytest.mark.parametrize("line", [("morning", "--help"), ("weather", "add", "--help")],
                         ids=" ".join)
def test_the_help_of_a_command_loads_little(line: tuple[str, ...]) -> None:
    assert loaded(*line, names=HEAVY) == set()


def test_a_round_in_which_nothing_changed_loads_numpy_only(tmp_path: Path) -> None:
    garden = str(demo_garden(tmp_path))
    found = loaded("--garden", garden, "morning", "--at", AT, "--json", names=("numpy", *HEAVY))
    assert found == {"numpy"}


def test_a_round_after_an_entry_loads_the_kernel_and_nothing_else(tmp_path: Path) -> None:
    garden = str(demo_garden(tmp_path))
    loaded("--garden", garden, "watered", "south bench", "--but", "3", "--at", AT, names=())
    names = ("numba", "pandas", "pvlib", "matplotlib", "requests", "scipy.linalg")
    found = loaded("--garden", garden, "morning", "--at", AT, "--json", names=names)
    assert found == {"numba"}


# --- docstrings and sizes --------------------------------------------------------------


def functions(tree: ast.AST, inside: str = "") -> Iterator[tuple[str, ast.FunctionDef]]:
    """Give functions and methods with their dotted names."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            name = f"{inside}{node.name}"
            if isinstance(node, ast.FunctionDef):
                yield name, node
            yield from functions(node, f"{name}.")


def classes(tree: ast.AST) -> Iterator[ast.ClassDef]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))


def told_parameters(docstring: str, section: str = "Parameters") -> list[str] | None:
    """Give the names in a section of a docstring; None where it has none."""
    lines = inspect.cleandoc(docstring).splitlines()
    heads = [i for i, line in enumerate(lines)
             if line.strip() == section and i + 1 < len(lines) and set(lines[i + 1]) == {"-"}]
    if not heads:
        return None
    names: list[str] = []
    for line, following in zip(lines[heads[0] + 2:], [*lines[heads[0] + 3:], ""], strict=True):
        if following and set(following) == {"-"}:
            break
        if line and not line.startswith(" "):
            names += [name.strip(" *") for part in line.split(";")
                      for name in part.split(" : ")[0].split(",")]
    return names


def signature(function: ast.FunctionDef) -> list[str]:
    """Give the names of the parameters, but the one of the object itself."""
    told = function.args
    names = [each.arg for each in (*told.posonlyargs, *told.args)]
    names += [each.arg for each in (told.vararg, *told.kwonlyargs, told.kwarg) if each]
    return [name for name in names if name not in ("self", "cls")]


def fields(class_: ast.ClassDef) -> list[str]:
    """Give what makes an object of a class: its `__init__`, else its fields."""
    for node in class_.body:
        if isinstance(node, ast.FunctionDef) and node.name == "__init__":
            return signature(node)
    return [node.target.id for node in class_.body
            if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name)]


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_docstrings_name_the_parameters_there_are(path: Path) -> None:
    wrong = {}
    for name, function in functions(tree_of(path)):
        told = told_parameters(ast.get_docstring(function) or "")
        if told is not None and sorted(told) != sorted(signature(function)):
            wrong[name] = (told, signature(function))
    for class_ in classes(tree_of(path)):
        for section in ("Parameters", "Attributes"):
            told = told_parameters(ast.get_docstring(class_) or "", section)
            made = [*fields(class_), *(node.name for node in class_.body
                                       if isinstance(node, ast.FunctionDef)
                                       and node.decorator_list)]
            if told is not None and not set(told) <= set(made):
                wrong[class_.name] = (told, made)
    assert wrong == {}


def test_a_name_that_drifted_is_found() -> None:
    assert told_parameters("Do.\n\nParameters\n----------\na, b : float\n    Of it [m].\n*more\n\n"
                           "Returns\n-------\nfloat\n") == ["a", "b", "more"]
    assert told_parameters("Do.") is None


def public(path: Path) -> Iterator[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    for node in tree_of(path).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_everything_public_says_what_it_is_in_a_sentence(path: Path) -> None:
    heads = {name: (ast.get_docstring(node) or "").split("\n")[0] for name, node in public(path)}
    assert {name: head for name, head in heads.items() if not head.endswith(".")} == {}


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_files_and_functions_stay_small(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES
    long = {f"{name_of(path)}:{name}": length(node) for name, node in functions(tree_of(path))}
    assert {name: lines for name, lines in long.items()
            if lines > MOST_FUNCTION_LINES} == {}


def length(function: ast.FunctionDef) -> int:
    """Count the lines of a function, its docstring apart."""
    first = function.body[0]
    docstring = (first.end_lineno or 0) - first.lineno + 1 if ast.get_docstring(function) else 0
    return (function.end_lineno or 0) - function.lineno + 1 - docstring


# --- coefficients ----------------------------------------------------------------------


def is_float(node: ast.expr | None) -> bool:
    """Whether a value is written as a number with a point, or worked out of such numbers."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, float)
    if isinstance(node, ast.UnaryOp):
        return is_float(node.operand)
    if isinstance(node, ast.BinOp):
        names = [each for each in ast.walk(node) if isinstance(each, ast.Name)]
        return not names and any(isinstance(each, ast.Constant) for each in ast.walk(node))
    if isinstance(node, ast.Tuple):
        return any(is_float(each) for each in node.elts)
    return False


def constants(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Give the numbers that stand at the top of a module."""
    for node in tree.body:
        target = node.target if isinstance(node, ast.AnnAssign) else (
            node.targets[0] if isinstance(node, ast.Assign) else None)
        if isinstance(node, ast.AnnAssign | ast.Assign) and isinstance(target, ast.Name) \
                and is_float(node.value):
            yield target.id, node


def comments(path: Path) -> dict[int, str]:
    with path.open(encoding="utf-8") as file:
        return {token.start[0]: token.string for token in tokenize.generate_tokens(file.readline)
                if token.type == tokenize.COMMENT}


def remark(node: ast.stmt, said: dict[int, str], lines: Sequence[str]) -> str:
    """Give what is said beside a statement, and above the run of lines in which it stands."""
    beside = [said.get(line, "") for line in range(node.lineno, (node.end_lineno or 0) + 1)]
    line = node.lineno - 1
    while lines[line - 1].strip() and not lines[line - 1].startswith("#"):
        line -= 1
    above: list[str] = []
    while lines[line - 1].startswith("#"):
        above.insert(0, said[line])
        line -= 1
    return " ".join([*above, *beside])


SOURCED_FILES = [path for path in FILES if name_of(path).split("/")[0] in SOURCED]


@pytest.mark.parametrize("path", SOURCED_FILES, ids=name_of)
def test_every_coefficient_says_where_it_is_from(path: Path) -> None:
    said, lines = comments(path), path.read_text(encoding="utf-8").splitlines()
    bare = {name: remark(node, said, lines) for name, node in constants(tree_of(path))
            if name not in NO_COEFFICIENTS}
    assert {name: words for name, words in bare.items() if not SOURCE.search(words)} == {}


def test_no_exception_outlives_its_constant() -> None:
    found = {name for path in SOURCED_FILES for name, _ in constants(tree_of(path))}
    assert set(NO_COEFFICIENTS) <= found


@pytest.mark.parametrize("comment", ["# share [J]", "#: a and b [M; .1-.4]", "# FAO-56 Eq. 39",
                                     "# six weeks [common practice]", "# [J] how long"])
def test_a_source_is_read_in_each_way_of_writing(comment: str) -> None:
    assert SOURCE.search(comment)
    assert not SOURCE.search("# share of the hours [mm]")


# --- words -----------------------------------------------------------------------------

MODEL_WORDS = re.compile(r"\b(members?|beliefs?|capacity|kernels?|quantiles?|ensembles?|"
                         r"posterior|priors?)\b", re.IGNORECASE)
#: "Measured capacity" is the trade's own word for what a pot of soil holds after draining.
TRADE_WORDS = re.compile(r"measured[ -]capacity|capacity or depth alone")
NOT_SAID = re.compile(r"\b(overdue|thirsty|bons[a]i|holiday cover)\b|!", re.IGNORECASE)
NOT_WRITTEN = re.compile(r"\b(bons[a]i|seed[ ]document|language model|claude|chatgpt|copilot)\b"
                         r"|/work/|/root/|/tmp/", re.IGNORECASE)


COMMANDS = dict(commands(cli))


@pytest.mark.parametrize("line", COMMANDS)
def test_help_is_in_a_growers_words(line: str) -> None:
    said = COMMANDS[line].get_help(click.Context(COMMANDS[line], info_name=line))
    assert MODEL_WORDS.findall(TRADE_WORDS.sub("", said)) == []
    assert NOT_SAID.findall(said) == []


def texts(tree: ast.AST) -> Iterator[str]:
    """Give the texts of a file that are no docstrings."""
    docstrings = {id(node.body[0].value) for node in ast.walk(tree)
                  if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body
                  and isinstance(node.body[0], ast.Expr)}
    yield from (node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)
                and isinstance(node.value, str) and id(node) not in docstrings)


def sentences(path: Path) -> Iterator[str]:
    """Give the texts that can reach a reader: all that is shown, and refusals of any floor."""
    shown = name_of(path).split("/")[0] in ("show", "cli", "page")
    refusals = (node for node in ast.walk(tree_of(path)) if isinstance(node, ast.Call)
                and ast.unparse(node.func).endswith("Refused"))
    for tree in [tree_of(path)] if shown else refusals:
        yield from (text for text in texts(tree) if " " in text.strip())


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_the_model_s_words_stay_off_the_screen(path: Path) -> None:
    said = list(sentences(path))
    assert [text for text in said if MODEL_WORDS.search(TRADE_WORDS.sub("", text))] == []
    assert [text for text in said if NOT_SAID.search(text)] == []


@pytest.mark.parametrize("path", [*FILES, *sorted((ROOT / "tests").rglob("*.py"))],
                         ids=lambda path: path.relative_to(ROOT).as_posix())
def test_nothing_is_said_that_does_not_belong_here(path: Path) -> None:
    if path != Path(__file__).resolve():
        assert NOT_WRITTEN.findall(path.read_text(encoding="utf-8")) == []
