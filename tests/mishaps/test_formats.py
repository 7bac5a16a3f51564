"""A garden file of every earlier format, opened by a command: all that it holds stays."""

import json
import sqlite3
from contextlib import closing

import pytest
from mishaps_made import ENTERING, prepare

from advisor.garden import schema
from advisor.garden.store import Garden

#: What is entered before the file is written in an earlier format: every kind of record.
FILLING = [line for line in ENTERING if line[0] not in ("undo", "gone", "away", "page", "import")
           and line[:2] not in (("weather", "get"), ("weather", "past"), ("weather", "remove"),
                                ("watered", "--from-sheet"), ("watered", "--as-listed"))]


def filled(garden, folder):
    """Enter everything that can be entered, and take one of it back."""
    for line in FILLING:
        name = " ".join(line[:2]) if line[0] in ("add", "rainwater", "mix", "weather") else line[0]
        garden.tell(*(line if "{" not in " ".join(line) else prepare(garden.path, name, folder)))
    garden.tell("watered", "10")
    garden.tell("undo")


def as_format(path, older, number):
    """Write what a garden holds into a file of an earlier format, as far as that has room."""
    with closing(sqlite3.connect(older, isolation_level=None)) as file:
        for statements in schema.MIGRATIONS[:number]:
            for statement in statements:
                file.execute(statement)
        file.execute(f"PRAGMA user_version = {number}")
        file.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
        file.execute("ATTACH ? AS new", (str(path),))
        for name in tables(file):
            shared = ", ".join(f'"{column}"' for column in columns(file, name)
                               if column in columns(file, name, "new"))
            file.execute(f"INSERT INTO main.{name} ({shared}) SELECT {shared} FROM new.{name}")


def tables(file):
    """Give the tables of what was told, in the order in which they were made."""
    return [name for name, in file.execute(
        "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' "
        "ORDER BY rowid") if name not in (*schema.DERIVED, "sealed")]


def columns(file, name, where="main"):
    return [row[1] for row in file.execute(f"PRAGMA {where}.table_info({name})")]


def rows_of(path, told=None):
    """Give the rows of each table, or of the columns and rows that another file had."""
    with closing(sqlite3.connect(path)) as file:
        found = {}
        for name in told or tables(file):
            names, before = told[name] if told else (columns(file, name), None)
            order = "" if name in ("weather", "answer", "tick") else " ORDER BY rowid"
            listed = ", ".join(f'"{each}"' for each in names)
            rows = file.execute(f"SELECT {listed} FROM {name}{order}").fetchall()
            found[name] = (names, rows if before is None else rows[:len(before)])
        return found


@pytest.mark.parametrize("number", range(1, len(schema.MIGRATIONS)))
def test_an_earlier_format_is_opened_with_all_that_is_in_it(garden, number, tmp_path):
    filled(garden, tmp_path)
    wanted = json.loads(garden.tell("trees", "--json"))
    older = tmp_path / "older.db"
    as_format(garden.path, older, number)
    told = rows_of(older)
    assert sum(len(rows) for _, rows in told.values()) > 300
    assert {name for name, (_, rows) in told.items() if not rows} <= {
        "weather_block", "tick", "answer", "awayplan", "mixweight"}
    garden.path = older
    garden.tell("watered", "10")
    assert rows_of(older, told) == told
    assert json.loads(garden.tell("trees", "--json")) == wanted
    kept = tmp_path / "older-copies" / f"format-{number}.db"
    with closing(sqlite3.connect(kept)) as copy:
        assert schema.version(copy) == number
    assert rows_of(kept) == told
    with Garden.open(older) as opened:
        assert opened.verify() == []
    round_ = json.loads(garden.tell("morning", "--json"))["trees"]
    assert {each["tree"] for each in round_} == {"2", "10", "3", "4"}


def test_the_copy_kept_of_an_earlier_format_can_be_put_back(garden, tmp_path):
    older = tmp_path / "older.db"
    as_format(garden.path, older, 1)
    garden.path = older
    garden.tell("watered", "2")
    garden.tell("restore", str(tmp_path / "older-copies" / "format-1.db"))
    garden.tell("watered", "10")
    assert {tree: len(each) for tree, each in garden.knows().waterings.items()} == {
        "2": 0, "10": 1, "3": 0}
