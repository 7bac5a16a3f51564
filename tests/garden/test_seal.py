"""Sums over what was told: a value that changed by itself is found, a lawful change is none."""

import sqlite3
from contextlib import closing

import pytest
from garden.told import NOW, start, two_trees, water

from advisor.errors import Refused
from advisor.garden import schema, seal
from advisor.garden.store import Garden

UNSEALED = {"weather", "weather_block", "tick"}  # hours, and what is looked up by its name


def by_itself(path, table, statement, *values):
    """Change a table as a failing disk does, past all that guards it."""
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        triggers = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND "
                                "tbl_name = ?", (table,)).fetchall()
        for name, _ in triggers:
            file.execute(f"DROP TRIGGER {name}")
        file.execute(statement, values)
        for _, made in triggers:
            file.execute(made)


def other(path, table, column, value):
    by_itself(path, table, f'UPDATE "{table}" SET "{column}" = ? WHERE id = '
              f'(SELECT MIN(id) FROM "{table}")', value)


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "garden.db"
    with start(path, *two_trees()) as garden:
        water(garden, "2", NOW)
    return path


def test_every_table_of_what_was_told_bears_a_sum(path):
    with closing(sqlite3.connect(path)) as file:
        told = {name for name, in file.execute(
            "SELECT tbl_name FROM sqlite_master WHERE type = 'trigger' "
            "AND name = tbl_name || '_no_update'")}
    assert set(schema.SEALED) == told - UNSEALED


@pytest.mark.parametrize(("table", "column", "value"), [
    ("watering", "litres", 0.5000000000000001), ("watering", "at", 1), ("tree", "label", "2 "),
    ("entry", "words", "watered 3"), ("site", "latitude_deg", 52.2), ("potting", "mix", "halves")])
def test_a_value_that_changed_by_itself_is_found(path, table, column, value):
    other(path, table, column, value)
    with Garden.open(path) as garden:
        assert garden.verify() == [f"rows of {table} are not those that were told"]
        with pytest.raises(Refused, match="damaged"), garden.entry(NOW, "watered 2"):
            pass
        with pytest.raises(Refused, match="damaged"):
            garden.undo(NOW)


def test_a_row_that_is_gone_is_found(path):
    by_itself(path, "watering", "DELETE FROM watering")
    with Garden.open(path) as garden:
        assert garden.verify() == ["rows of watering are not those that were told"]


def test_a_column_that_is_called_otherwise_is_found(path):
    """Read by its name in double quotes it would give that name, a word, in the place of rows."""
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute("PRAGMA writable_schema = ON")
        file.execute("UPDATE sqlite_master SET sql = replace(sql, 'measured_k_c', 'measured_k_d') "
                     "WHERE name = 'mix'")
    with Garden.open(path) as garden:
        assert garden.verify() == ["rows of sqlite_schema are not those that were told"]


def test_damage_is_still_found_after_more_was_written(path):
    other(path, "tree", "label", "two")
    with Garden.open(path) as garden:
        with garden.writing():  # as weather is kept, without an entry
            garden._connection.execute("INSERT INTO walk (entry, at) VALUES (1, 0)")
        assert garden.verify() == ["rows of tree are not those that were told"]


def test_the_sum_is_the_same_however_rows_were_parted():
    rows = [(1, "a", 0.1, None), (2, "ü", 2.5e-300, -1), (3, "", 1e300, 0)]
    whole = seal._sum(rows, 0)
    assert whole == seal._sum(rows[2:], seal._sum(rows[:2], 0))
    assert whole != seal._sum(rows[:2], 0)
    assert seal._sum([], 7) == 7


def test_a_garden_without_sums_gets_them_with_the_next_entry(tmp_path):
    path = tmp_path / "garden.db"
    start(path, *two_trees()).close()
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute("DELETE FROM sealed")  # as a file is that was brought up to date
    with Garden.open(path) as garden:
        assert garden.verify() == []
        water(garden, "2", NOW)
    other(path, "tree", "label", "two")
    with Garden.open(path) as garden:
        assert garden.verify() == ["rows of tree are not those that were told"]


def test_a_later_format_with_other_columns_is_no_damage(path, monkeypatch):
    later = (*schema.MIGRATIONS, ("ALTER TABLE tree ADD COLUMN height_cm REAL",))
    monkeypatch.setattr(schema, "MIGRATIONS", later)
    with Garden.open(path) as garden:
        water(garden, "2", NOW)
        assert garden.verify() == []
