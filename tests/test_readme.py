"""README tells of every command, every option and every key of the round."""

import json
import re
from functools import cache
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from command_tree import commands
from demo_made import AT, demo_garden
from places import ROOT

from advisor.cli.main import cli

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


def test_the_readme_tells_of_every_key_of_the_round(tmp_path: Path) -> None:
    told = CliRunner().invoke(cli, ["--garden", str(demo_garden(tmp_path)), "morning", "--at", AT,
                                    "--json"])
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [key for key in keys(json.loads(told.stdout)) if f'"{key}"' not in text
            and f"`{key}`" not in text] == []


def keys(document: object) -> set[str]:
    """Give every key of a document, at any depth."""
    if isinstance(document, dict):
        return set(document) | {key for value in document.values() for key in keys(value)}
    if isinstance(document, list):
        return {key for value in document for key in keys(value)}
    return set()
