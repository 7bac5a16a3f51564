"""DEVELOPERS.md draws the house as it is: every module once, in its own folder, and no other."""

import re
from functools import cache

from places import ROOT

PACKAGE = ROOT / "advisor"
FOLDERS = ("weather", "demand", "pot", "balance", "garden", "jobs", "show", "cli", "page")


@cache
def drawn() -> dict[str, list[str]]:
    """Give the modules that the map names, by the folder under which they stand."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found: dict[str, list[str]] = {}
    folder = ""
    for line in text.split("```\nadvisor/\n")[1].split("\n```")[0].splitlines():
        if line[:3].strip():
            head = re.match(r"  (\w+)/", line)
            folder = head[1] if head else ""
        if line.startswith("  "):  # below it stand tests and notebooks
            found.setdefault(folder, []).extend(re.findall(r"(\w+)\.py", line))
    return found


def there(folder: str) -> list[str]:
    files = (PACKAGE / folder).glob("*.py") if not folder else (PACKAGE / folder).rglob("*.py")
    return sorted(path.stem for path in files if path.name != "__init__.py")


def test_the_map_names_every_module_once() -> None:
    for folder in ("", *FOLDERS):
        named = [name for name in drawn()[folder] if name != "__init__"]
        assert sorted(named) == there(folder), folder


def test_the_map_has_every_folder() -> None:
    assert set(drawn()) == {"", *FOLDERS}
    assert {path.name for path in PACKAGE.iterdir()
            if path.is_dir() and list(path.glob("*.py"))} == set(FOLDERS)


def test_what_it_names_elsewhere_is_there() -> None:
    """Files and folders of the tests, and the tables that the recipes name."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    paths = set(re.findall(r"`?(tests/[\w/]+(?:\.py)?)`?", text))
    assert len(paths) > 5
    assert [path for path in sorted(paths) if not (ROOT / path).exists()] == []
    for table in re.findall(r"`(\w+/\w+\.(?:csv|py))", text):
        assert (PACKAGE / table).exists() or (ROOT / table).exists(), table
