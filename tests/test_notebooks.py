"""Every notebook runs from top to bottom, says what it should, and carries no outputs in git."""

import ast
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import nbformat
import pytest
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


def number(printed: str, pattern: str) -> float:
    match = re.search(pattern, printed)
    assert match, f"{pattern!r} is not in {printed!r}"
    return float(match.group(1))


def thinks(printed: str, pictures: int) -> None:
    assert "2.9 L of soil, 41 mm deep" in printed  # what physics of pots says of that size
    assert number(printed, r"largest gap (\S+) mm") < 1e-9


def right(printed: str, pictures: int) -> None:
    assert number(printed, r"(\d+) kinds of checks") == 9
    assert number(printed, r"checks, (\d+) cases") > 10_000
    assert number(printed, r"worst takes (\S+) of") <= 1.0
    assert pictures == 1


def real(printed: str, pictures: int) -> None:
    """The rest of its numbers is held by `outside/test_real_soil.py`."""
    assert printed.startswith("39 spells at 20 stations")
    assert number(printed, r"seen +lost more at 5 than at 20 cm in (\d+)%") > 90
    assert 60 < number(printed, r"kernel +lost more at 5 than at 20 cm in (\d+)%") < 90
    assert pictures == 1


def sure(printed: str, pictures: int) -> None:
    """Sixty trees: `twins/test_twins.py` holds the same promises as loosely."""
    for said in ("litres available", "share left"):
        assert 0.75 <= number(printed, rf"interval holds the {said} +(\S+)") <= 1.0
    assert number(printed, r"five weighings +(\S+)") < 0.12
    assert number(printed, r"worst tenth +(\S+)") < 0.25
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
