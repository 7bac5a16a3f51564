"""What the tool is built on may be used by one under MIT: read off the installed packages."""

import importlib.metadata
import re
import tomllib
from collections.abc import Iterator

import pytest
from places import ROOT

#: licence, as packages write it -> why a program under MIT may be built on it
ACCEPTED = {
    "MIT": "permissive", "MIT-0": "permissive", "MIT-CMU": "permissive", "0BSD": "permissive",
    "BSD-2-Clause": "permissive", "BSD-3-Clause": "permissive", "BSD": "permissive",
    "Apache-2.0": "permissive, with a grant of patents",
    "Apache-2.0 WITH LLVM-exception": "the same, with less to be told",
    "Zlib": "permissive", "CC0-1.0": "given away", "Unlicense": "given away",
    "PSF-2.0": "permissive", "PSF": "permissive: matplotlib's own is modelled on it",
    "ZPL-2.1": "permissive, names kept apart",
    "MPL-2.0": "its own files stay under it; installed beside, unchanged",
    "LGPL-3.0-only": "a library installed beside, unchanged, which anyone can replace",
}
#: How older packages write one of these.
WRITTEN = {
    "License :: OSI Approved :: MIT License": "MIT",
    "License :: OSI Approved :: BSD License": "BSD",
    "License :: OSI Approved :: Apache Software License": "Apache-2.0",
    "License :: OSI Approved :: Python Software Foundation License": "PSF",
    "License :: OSI Approved :: Zope Public License": "ZPL-2.1",
    "License :: OSI Approved :: Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "PSFL": "PSF", "ZPL 2.1": "ZPL-2.1", "BSD": "BSD",
}
COPYLEFT = ("MPL-2.0", "LGPL-3.0-only")


def declared() -> list[str]:
    with (ROOT / "pyproject.toml").open("rb") as file:
        return [name_of(each) for each in tomllib.load(file)["project"]["dependencies"]]


def name_of(requirement: str) -> str:
    match = re.match(r"[\w.-]+", requirement)
    assert match
    return re.sub(r"[-_.]+", "-", match[0]).lower()


def all_needed() -> Iterator[str]:
    """Give the declared packages and all that they need in turn, as they are installed here."""
    seen: set[str] = set()
    todo = declared()
    while todo:
        name = todo.pop()
        if name in seen:
            continue
        seen.add(name)
        try:
            needs = importlib.metadata.requires(name) or []
        except importlib.metadata.PackageNotFoundError:
            continue  # needed on other systems only
        yield name
        todo += [name_of(each) for each in needs if "extra ==" not in each]


def licences(name: str) -> list[tuple[str, ...]]:
    """Give what a package may be used under: each of these, where one of a group is enough."""
    about = importlib.metadata.metadata(name)
    if expression := about.get("License-Expression"):
        return [tuple(part.strip(" ()") for part in each.split(" OR "))
                for each in expression.split(" AND ")]
    told = [each for each in about.get_all("Classifier") or [] if each.startswith("License ::")]
    told = told or [about.get("License") or "none told"]
    return [(WRITTEN.get(each, each),) for each in told]


NEEDED = sorted(all_needed())


def test_all_that_is_declared_is_installed() -> None:
    assert set(declared()) <= set(NEEDED)
    assert len(NEEDED) > 30


@pytest.mark.parametrize("name", NEEDED)
def test_a_package_may_be_used_by_a_program_under_mit(name: str) -> None:
    unknown = [group for group in licences(name) if not set(group) & set(ACCEPTED)]
    assert unknown == [], "read that licence; where it fits, add it with the reason"


@pytest.mark.parametrize("name", declared())
def test_readme_names_each_with_its_licence(name: str) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text.split("\n## Licence\n")[1].split("\n## ")[0]
    row = re.search(rf"^\|.*\b{re.escape(name)}\b.*\| (.*) \|$", section, re.MULTILINE)
    assert row, f"{name} is not in README under 'Licence'"
    families = {word.split("-")[0] for group in licences(name) for word in group}
    assert [family for family in sorted(families) if family not in row[1]] == []


def test_what_is_not_permissive_is_said_to_be_so() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("\n## Licence\n")[1]
    found = {word for name in NEEDED for group in licences(name) for word in group}
    for word in found & set(COPYLEFT):
        assert word in text


def test_a_licence_nobody_has_read_is_found() -> None:
    assert not {"AGPL-3.0-only", "GPL-3.0-or-later", "none told"} & set(ACCEPTED)


def test_weather_that_is_packaged_has_its_origin_and_licence() -> None:
    files = [path.name for path in (ROOT / "sample_weather").iterdir() if path.suffix == ".csv"]
    text = (ROOT / "sample_weather" / "README.md").read_text(encoding="utf-8")
    assert files
    for name in files:
        part = text.split(f"## {name}\n")[1].split("\n## ")[0]
        assert "| Origin |" in part
        assert "| Licence |" in part
