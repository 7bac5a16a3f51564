"""README tells of every command and option, and of the numbers of the model as they are."""

import re
from functools import cache

import click
import pytest
from command_tree import commands
from places import ROOT

from advisor.balance import members, pots
from advisor.cli.main import cli
from advisor.demand import plant
from advisor.pot.materials import find

COMMANDS = dict(commands(cli))


@cache
def readme_commands() -> str:
    """Give the README's section on commands."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    parts = re.split(r"^## ", text, flags=re.MULTILINE)
    found = [part for part in parts if part.startswith("Commands")]
    assert found, "README.md has no section 'Commands'"
    return found[0]


@pytest.mark.parametrize("line", COMMANDS)
def test_the_readme_tells_of_every_command_and_option(line: str) -> None:
    section = readme_commands()
    name = line.removeprefix("advisor ")
    options = {text for parameter in COMMANDS[line].params if isinstance(parameter, click.Option)
               for text in (*parameter.opts, *parameter.secondary_opts) if text.startswith("--")}
    missing = [text for text in sorted(options)
               if not re.search(rf"(?<![\w-]){re.escape(text)}(?![\w-])", section)]
    if not re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", section):
        missing.append(name)
    assert missing == []


def test_the_readme_tells_of_the_options_before_a_command() -> None:
    section = readme_commands()
    assert "--garden" in section
    assert "ADVISOR_GARDEN" in section


def test_the_model_tells_the_numbers_of_the_code() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    weakest = text.split("**Weakest numbers**")[1].split("\n## ")[0]
    taken = [line.split(" | ")[1] for line in weakest.splitlines() if line.count(" | ") == 3][1:]
    grains = {find(name).k_c_cmh for name in ("akadama 2-5", "pumice 2-5", "lava 2-6")}
    assert {float(taken[0])} == grains
    assert [float(taken[1]), float(taken[2])] == [members.THRESHOLD, pots.VAPOUR_DEPTH_MM]
    lost, back = taken[6].split("; ")
    shares = [share for share in plant.ROOT_WORK.values() if share]
    assert [float(each) for each in lost.split(" to ")] == [min(shares), max(shares)]
    assert float(back) == plant.RECOVERY_CD
    spread = re.search(r"\(sd (\d+) %\), what\nthe pot holds \((\d+) %, old soil (\d+) %", text)
    assert spread, "the spreads are not told"
    assert [int(each) / 100 for each in spread.groups()] == [
        members.SD_LN_THIRST, members.SD_LN_CAPACITY, members.SD_LN_CAPACITY_OLD]


def test_the_model_is_about_two_pages() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    model = text.split("\n## The model\n")[1].split("\n## ")[0]
    assert 800 < len(model.split()) < 1500
