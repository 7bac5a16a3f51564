"""A number without a source does not pass: every constant of plant, season and surface."""

import re
from pathlib import Path

import pytest

from advisor.demand import plant, season, surface

CONSTANT = re.compile(r"^([A-Z][A-Z0-9_]+): Final")
TAG = re.compile(r"\[[^\]]*[SMJC]\b")


def _constants(module):
    """Give each constant with the comments before and within it."""
    lines = Path(module.__file__).read_text(encoding="utf-8").splitlines()
    for number, line in enumerate(lines):
        if name := CONSTANT.match(line):
            first = number
            while first and lines[first - 1].startswith("#:"):
                first -= 1
            yield name[1], "\n".join(lines[first : number + 1])


@pytest.mark.parametrize(
    ("name", "text"),
    [pair for module in (plant, season, surface) for pair in _constants(module)],
)
def test_every_constant_names_its_source(name, text):
    assert TAG.search(text), f"{name} has no [S], [M], [J] or [C] beside it"


def test_the_search_sees_the_constants():
    found = [name for module in (plant, season, surface) for name, _ in _constants(module)]
    assert len(found) >= 40
    assert {"OASIS", "COURSE", "SNOW_BELOW_C"} <= set(found)
