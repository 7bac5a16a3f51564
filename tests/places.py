"""Where tests find data that is read but never copied into the project."""

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SHARED_DATA = ROOT.parent / "shared" / "data"


def shared_data(name: str) -> Path:
    """Give the path of a shared data file; skip the test, naming the file, where it is absent."""
    path = SHARED_DATA / name
    if not path.exists():
        pytest.skip(f"data file not present: shared/data/{name}")
    return path
