"""A garden file of every earlier format, opened by a command: all that it holds stays."""

import json
import sqlite3
from contextlib import closing

import pytest

from advisor.garden import schema
from advisor.garden.store import Garden


def as_format(path, older, number):
    """Write what a garden holds into a file of an earlier format, as far as that has room."""
    with closing(sqlite3.connect(older, isolation_level=None)) as file:
        for statements in schema.MIGRATIONS[:number]:
            for statement in statements:
                file.execute(statement)
        file.execute(f"PRAGMA user_version = {number}")
        file.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
        file.execute("ATTACH ? AS new", (str(path),))
        for name, in file.execute("SELECT name FROM main.sqlite_master WHERE type = 'table' "
                                  "AND name NOT LIKE 'sqlite%' ORDER BY rowid").fetchall():
            here, there = ([row[1] for row in file.execute(f"PRAGMA {which}.table_info({name})")]
                           for which in ("main", "new"))
            shared = ", ".join(f'"{column}"' for column in here if column in there)
            if shared:
                file.execute(f"INSERT INTO main.{name} ({shared}) "
                             f"SELECT {shared} FROM new.{name}")


@pytest.mark.parametrize("number", range(1, len(schema.MIGRATIONS)))
def test_an_earlier_format_is_opened_with_all_that_is_in_it(garden, number, tmp_path):
    garden.tell("watered", "2")
    wanted = json.loads(garden.tell("trees", "--json"))
    older = tmp_path / "older.db"
    as_format(garden.path, older, number)
    garden.path = older
    garden.tell("watered", "10")
    assert json.loads(garden.tell("trees", "--json")) == wanted
    assert {tree: len(each) for tree, each in garden.knows().waterings.items()} == {
        "2": 1, "10": 1, "3": 0}
    kept = tmp_path / "older-copies" / f"format-{number}.db"
    with closing(sqlite3.connect(kept)) as copy:
        assert schema.version(copy) == number
    with Garden.open(older) as opened:
        assert opened.verify() == []


def test_the_copy_kept_of_an_earlier_format_can_be_put_back(garden, tmp_path):
    older = tmp_path / "older.db"
    as_format(garden.path, older, 1)
    garden.path = older
    garden.tell("watered", "2")
    garden.tell("restore", str(tmp_path / "older-copies" / "format-1.db"))
    garden.tell("watered", "10")
    assert {tree: len(each) for tree, each in garden.knows().waterings.items()} == {
        "2": 0, "10": 1, "3": 0}
