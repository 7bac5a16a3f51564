"""Every notebook runs from top to bottom, says what it should, and carries no outputs in git."""

import ast
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import nbformat
import numpy as np
import pytest
import real_soil
from nbclient import NotebookClient
from places import ROOT, shared_data

FOLDER = ROOT / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


@cache
def ran(name: str) -> tuple[str, int]:
    """Run a notebook where it lies; give what it printed, and how many pictures it drew."""
    notebook = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    where = {"metadata": {"path": str(FOLDER)}}
    NotebookClient(notebook, timeout=300, kernel_name="python3", resources=where).execute()
    outputs = [out for cell in notebook.cells for out in cell.get("outputs", [])]
    return ("".join(out.get("text", "") for out in outputs),
            sum("image/png" in out.get("data", {}) for out in outputs))


def prose(name: str) -> str:
    """Give what a notebook says between its cells of code."""
    cells = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4).cells
    return "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")


def number(text: str, pattern: str) -> float:
    match = re.search(pattern, text)
    assert match, f"{pattern!r} is not in {text!r}"
    return float(match.group(1))


def thinks(printed: str, pictures: int) -> None:
    """ET0 is example 18 of FAO-56; a pine in such a pot wants water daily in July."""
    assert number(printed, r"ET0 (\S+) mm") == pytest.approx(3.9, abs=0.05)
    assert "2.9 L of soil, 41 mm deep" in printed  # what physics of pots says of that size
    assert number(printed, r"largest gap (\S+) mm") < 1e-9
    assert number(printed, r"hour by hour apart by (\S+)") == 0.0
    then, now = (number(printed, rf"{word} (\S+) mm") for word in ("held then", "holds now"))
    moved = [number(printed, rf"{word} ([-+]\S+?)[ ,]") for word in (
        "poured", "ran out below", "evaporated", "drunk")]
    assert then + sum(moved) == pytest.approx(now, abs=0.03)  # five numbers, each to .01
    assert moved[0] == 16.0
    assert 24 < number(printed, r"passed in hour (\d+)") < 48
    assert pictures == 2


def right(printed: str, pictures: int) -> None:
    """All but what is said to fail holds, and that is said with its size."""
    assert number(printed, r"(\d+) kinds of checks") == 21
    assert number(printed, r"checks, (\d+) cases") > 18_000
    assert number(printed, r"all but 1 takes (\S+) of") <= 1.0
    assert re.findall(r"missed: ([^,]+),", printed) == ["days to 25 mm dry"]
    assert 1.0 < number(printed, r"the worst (\S+) half bands") < 4.0
    assert pictures == 1


def real(printed: str, pictures: int) -> None:
    """The rest of its numbers is held by `outside/test_real_soil.py`."""
    assert printed.startswith("39 spells at 20 stations")
    assert number(printed, r"of them \d+ in 2020 and (\d+) at Manhattan") >= 2
    assert number(printed, r"seen +lost more at 5 than at 20 cm in (\d+)%") > 90
    assert 60 < number(printed, r"kernel +lost more at 5 than at 20 cm in (\d+)%") < 90
    assert pictures == 1


def sure(printed: str, pictures: int) -> None:
    """A hundred and eighty trees: `twins/test_twins.py` holds the same promises for fewer."""
    for said in ("litres available", "share left"):
        assert 0.82 <= number(printed, rf"interval holds the {said} +(\S+)") <= 0.97
    assert number(printed, r"five weighings +(\S+)") < 0.10
    assert number(printed, r"five skewers +(\S+)") < 0.20
    assert number(printed, r"worst tenth (\S+),") < 0.15
    assert number(printed, r"in the mean of rounds (\S+)\n") < 0.05
    far = number(printed.split("twice as far apart")[1], r"litres available +(\S+)")
    assert 0.55 < far < 0.85  # less often than meant, and said so
    assert pictures == 1


def own(printed: str, pictures: int) -> None:
    assert number(printed, r"(\d+) waterings") > 50
    assert 5 < number(printed, r"days, (\d+) mm asked") < 100
    assert pictures == 1


SAYS: dict[str, Callable[[str, int], None]] = {
    "how_it_thinks": thinks, "how_right_it_is": right, "how_sure_it_is": sure,
    "what_real_soil_does": real, "your_own_garden": own}


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("name", SAYS)
def test_a_notebook_runs_and_says_its_numbers(name: str) -> None:
    if name == "what_real_soil_does":
        shared_data("uscrn/uscrn_daily_2020_26stations.csv.gz")
    SAYS[name](*ran(name))


def test_what_is_said_of_real_soil_is_what_was_found() -> None:
    shared_data("uscrn/uscrn_daily_2020_26stations.csv.gz")
    found, said = real_soil.headline(real_soil.spells()), prose("what_real_soil_does")
    ratio = np.asarray(found["end off"]) / np.asarray(found["still"])
    less = [number(said, pattern) for pattern in (
        r"(\d+) % at 5 cm", r"(\d+) % less at 10 cm", r"(\d+) % less off after twelve days")]
    assert less == np.round(100.0 * (1.0 - ratio)).tolist()
    for who, pattern in (("kernel", r"(\.\d+) against"), ("seen", r"against (\.\d+)\. A field")):
        middle = np.asarray(found[who, "slowing"])[1]
        assert number(said, pattern) == pytest.approx(middle, abs=0.005)
    together = np.asarray(found["together"])
    assert number(said, r"at 20 cm (\.\d+)\. A soil") == pytest.approx(together[2], abs=0.005)
    assert together[:2] == pytest.approx(number(said, r"correlations near (\.\d+);"), abs=0.05)


def test_what_is_said_of_the_twins_is_what_was_found() -> None:
    printed, said = ran("how_sure_it_is")[0], prose("how_sure_it_is")
    far = number(printed.split("twice as far apart")[1], r"litres available +(\S+)")
    assert number(said, r"less often\*\*: (\.\d+) of nine in ten") == pytest.approx(far, abs=0.01)
    wide = number(printed, r"worst tenth (\S+),")
    said_high, came = (number(said, pattern) for pattern in (
        r"said to be (\.\d+),", r"said to be \.\d+, (\.\d+) come true"))
    assert said_high - came == pytest.approx(wide, abs=0.015)


def test_every_outside_check_is_in_the_table_or_named_beside_it() -> None:
    """Files of `tests/outside` that the table reads, and those that the prose names."""
    read = "".join(path.read_text(encoding="utf-8")
                   for path in (ROOT / "tests" / "right").glob("*.py"))
    files = {path.stem for path in (ROOT / "tests" / "outside").glob("test_*.py")}
    assert [name for name in sorted(files)
            if f"import {name}" not in read and name not in prose("how_right_it_is")] == []


def test_five_lines_are_enough_for_your_own_garden() -> None:
    cells = nbformat.read(FOLDER / "your_own_garden.ipynb", as_version=4).cells
    (cell,) = [each.source for each in cells if "sqlite3.connect" in each.source]
    statements = ast.parse(cell.replace("%matplotlib inline", "").rstrip(";")).body
    assert sum(not isinstance(each, ast.Import) for each in statements) == 5


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_carries_no_outputs(path: Path) -> None:
    cells = nbformat.read(path, as_version=4).cells
    assert not any(cell.get("outputs") or cell.get("execution_count") for cell in cells)


def test_every_notebook_is_held_to_what_it_says() -> None:
    assert {path.stem for path in NOTEBOOKS} == set(SAYS)
