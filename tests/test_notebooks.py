"""Every notebook runs from top to bottom, and none carries outputs in git."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = sorted((Path(__file__).resolve().parents[1] / "notebooks").glob("*.ipynb"))


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs(path):
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=300, kernel_name="python3").execute()
    printed = "".join(out.get("text", "") for cell in notebook.cells
                      for out in cell.get("outputs", []))
    assert "2.9 L of soil, 41 mm deep" in printed  # what physics of pots says of that size
    gap = float(printed.split("largest gap ")[1].split(" mm")[0])
    assert gap < 1e-9


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_carries_no_outputs(path):
    cells = nbformat.read(path, as_version=4).cells
    assert not any(cell.get("outputs") or cell.get("execution_count") for cell in cells)


def test_there_are_notebooks():
    assert [path.stem for path in NOTEBOOKS] == ["how_it_thinks"]
