"""JSON and CSV are what README says: each command's keys, no more and no less."""

import csv
import io
import json
import re
import shlex
from collections.abc import Iterator
from datetime import UTC, datetime
from importlib.resources import files as packaged
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result
from command_tree import commands
from demo_made import AT, demo_garden
from formats import Compared, heads, shapes
from places import ROOT

from advisor.cli.main import cli
from advisor.cli.weather_check import CHECKED
from advisor.cli.weather_show import DOUBT_COLUMNS
from advisor.garden.columns import COLUMNS
from advisor.garden.spreadsheet import trees_text
from advisor.garden.store import Garden
from advisor.show.explain_words import HEADINGS, LABELS
from advisor.units import CONVERSIONS
from advisor.weather import daily, files, own

NOON, NEXT = "2026-09-09T12:00-04:00", "2026-09-10T06:00-04:00"
ENTRIES = (
    ("add pot 'blue oval' --outside 420x310x75 --outline oval", NOON),
    ("rainwater roof shed --area 12 --covering tiles --first-flush 1", NOON),
    ("rainwater butt big --litres 300 --height 900", NOON),
    ("rainwater level --dip big=600", NOON),
    ("rainwater hardness 17", NOON),
    ("mix measure thirds --litres 1 --depth 80 --empty 95 --dry 760 --dry 764 --dry 800 "
     "--drained 1150 --drained 1146", NOON),
    ("mix measure thirds --weight 1130", NEXT),
    ("repotted 3 --roots 'edges combed' --target 15", "2026-08-15T12:00-04:00"),
    ("reading 3 --dry-depth 20", NEXT),
    (f"weather add '{packaged('pvlib') / 'data' / '723170TYA.CSV'}' --year 2025", NEXT),
)
#: Arguments in place of what README writes large; more than one where one leaves a list empty.
ARGUMENTS = {
    "advisor explain TREE": ["explain 16", "explain 4"],
    "advisor recovery TREE": ["recovery 3", "recovery 16"],
    "advisor away": ["away --from 2026-10-12 --until 2026-10-20",
                     "away --from 2026-09-12 --until 2026-09-30"],
    "advisor potting TREE": ["potting 16 --try 'as now'"],
    "advisor potting TREE --when": ["potting 16 --when"],
    "advisor mix measure MIX": ["mix measure thirds"], "advisor year YEAR": ["year 2026"]}
#: Empty in the example: no service is asked, nothing was set aside. Their keys are compared below.
NEVER_FILLED = {"advisor weather show --doubts": {".doubts"},
                "advisor weather check": {".services"}}
AT_ANY_TIME = ("demo", "backup", "restore", "materials", "species")  # take no --at


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the example garden with one entry of every kind that a list shows."""
    path = demo_garden(tmp_path_factory.mktemp("formats"))
    for words, at in ENTRIES:
        told = CliRunner().invoke(cli, ["--garden", str(path), *shlex.split(words), "--at", at])
        assert told.exit_code == 0, told.output
    return path


def run(garden: Path, words: str, option: str) -> Result:
    line = ["--garden", str(garden), *shlex.split(words), option]
    line += [] if words.startswith(AT_ANY_TIME) else ["--at", AT]
    told = CliRunner().invoke(cli, line)
    assert told.exit_code in (0, 1), told.output  # 1: no plan keeps every tree, which is told
    assert not told.exception or isinstance(told.exception, SystemExit)
    return told


def words_of(command: str, garden: Path) -> list[str]:
    """Give the arguments with which a command of README is run."""
    if command == "advisor demo --into FOLDER":
        return [f"demo --into '{garden.parent / 'demo'}'"]
    if command == "advisor restore":
        copy = garden.parent / "copy.db"
        run(garden, f"backup '{copy}'", "--json")
        return [f"restore '{copy}'"]
    return ARGUMENTS.get(command, [command.removeprefix("advisor ")])


def with_option(option: str) -> Iterator[str]:
    for line, command in commands(cli):
        if any(option in each.opts for each in command.params):
            yield line


@pytest.mark.parametrize(("option", "told"), [("--json", shapes()), ("--csv", heads())])
def test_every_command_that_gives_one_is_in_readme(option: str, told: dict[str, object]) -> None:
    named = {line for line in with_option(option)
             if isinstance(dict(commands(cli))[line], click.Group) is False}
    assert named == {line for command in told for line in named
                     if command == line or command.startswith(f"{line} ")}


@pytest.mark.parametrize("command", shapes())
def test_a_document_has_the_keys_that_readme_says(command: str, garden: Path) -> None:
    found = Compared()
    for words in words_of(command, garden):
        found.compare(shapes()[command], json.loads(run(garden, words, "--json").stdout))
    assert found.wrong == []
    assert found.empty - found.seen <= NEVER_FILLED.get(command, set())


@pytest.mark.parametrize("command", heads())
def test_a_table_has_the_head_that_readme_says(command: str, garden: Path) -> None:
    text = run(garden, words_of(command, garden)[0], "--csv").stdout
    head, *rows = csv.reader(io.StringIO(text))
    assert ",".join(head) == heads()[command]
    assert rows or command in NEVER_FILLED
    assert all(len(row) == len(head) for row in rows)


def test_lists_that_are_empty_in_the_example_have_the_keys_that_readme_says() -> None:
    check, doubts = shapes()["advisor weather check"], shapes()["advisor weather show --doubts"]
    assert isinstance(check, dict)
    assert isinstance(doubts, dict)
    assert list(check["services"][0]) == list(CHECKED)
    assert list(doubts["doubts"][0]) == list(DOUBT_COLUMNS)


def test_readme_has_the_key_of_every_number_that_is_explained() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    table = text.split("The keys of the numbers of `advisor explain`")[1].split("### CSV")[0]
    told = re.findall(r"`(\w+)`", table)
    assert sorted(told) == sorted([*LABELS, *HEADINGS])


def test_a_key_that_drifted_is_found() -> None:
    shape = shapes()["advisor backup"]
    found = Compared()
    found.compare(shape, {"copies": [{"file": "a", "entries": 1, "till": "b"}], "more": 1})
    assert sorted(found.wrong) == [".copies[].till: not in README",
                                   ".copies[].until: only in README", ".more: not in README"]


# --- files that are read -----------------------------------------------------------------


def test_readme_has_every_column_of_the_trees(garden: Path) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("**Trees**")[1]
    table = text.split("**Weather**")[0]
    assert [each.header for each in COLUMNS if f"`{each.header}`" not in table] == []
    with Garden.open(garden) as kept:
        written = trees_text(kept.knowledge())
    assert next(csv.reader(io.StringIO(written))) == [each.header for each in COLUMNS]


def test_the_hourly_example_of_the_weather_s_readme_is_read(tmp_path: Path) -> None:
    text = (ROOT / "sample_weather" / "README.md").read_text(encoding="utf-8")
    path = tmp_path / "station.csv"
    path.write_text(text.split("## The format")[1].split("```\n")[1], encoding="utf-8")
    hours = files.read(path).hours
    assert hours.index.tolist() == [datetime(2026, 7, 1, hour, tzinfo=UTC) for hour in (5, 6)]
    assert hours["temp_c"].tolist() == [14.2, 15.0]
    assert hours["rain_mm"].tolist() == [0.0, 0.4]


def test_the_daily_example_of_the_weather_s_readme_is_read(tmp_path: Path) -> None:
    text = (ROOT / "sample_weather" / "README.md").read_text(encoding="utf-8")
    path = tmp_path / "days.csv"
    path.write_text(text.split("### Days")[1].split("```\n")[1], encoding="utf-8")
    hours = files.read(path).hours
    assert len(hours) == 48
    assert hours["temp_c"].max() == pytest.approx(26.0)
    assert hours["rain_mm"].sum() == pytest.approx(4.2)
    assert hours["wind_ms"].isna().sum() == 24


def test_the_weather_s_readme_has_every_column_and_unit() -> None:
    text = (ROOT / "sample_weather" / "README.md").read_text(encoding="utf-8")
    assert [word for word in (*own.NUMBERS, *own.ORIGINS) if f"`{word}" not in text] == []
    units = {unit for quantity in own.NUMBERS.values() if quantity in CONVERSIONS
             for unit in CONVERSIONS[quantity]}
    units |= set(CONVERSIONS["ghi_day_mjm2"]) | set(CONVERSIONS["sunshine_h"])
    assert [unit for unit in sorted(units) if unit not in text] == []
    assert [word for word in daily.NUMBERS if f"`{word}" not in text] == []
