"""Opening, creating and refusing garden files."""

import dataclasses
import hashlib
import os
import random
import sqlite3

import pytest
from garden.told import BENCH, NOW, POTTED, SITE, start, two_trees, water

from advisor.errors import Refused
from advisor.garden import schema
from advisor.garden.file import connect
from advisor.garden.rows import CODECS
from advisor.garden.store import Garden


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "garden.db"
    with start(path, *two_trees()) as garden:
        water(garden, "2", NOW)
    return path


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_new_garden_holds_its_site_and_an_entry(tmp_path):
    path = tmp_path / "new folder" / "garden.db"
    with Garden.create(path, SITE, POTTED) as garden:
        assert garden.knowledge().site == SITE
        assert [entry.words for entry in garden.entries()] == ["started the garden"]
        assert garden.verify() == []
    assert sorted(each.name for each in path.parent.iterdir()) == ["garden.db"]


def test_creating_never_overwrites(path):
    before = digest(path)
    with pytest.raises(Refused, match="does not exist yet"):
        Garden.create(path, SITE, NOW)
    assert digest(path) == before


def test_creating_loses_the_race_without_harm(tmp_path, monkeypatch):
    path = tmp_path / "garden.db"
    link = os.link

    def late(source, target):
        path.write_text("mine")
        link(source, target)

    monkeypatch.setattr(os, "link", late)
    with pytest.raises(Refused, match="does not exist yet"):
        Garden.create(path, SITE, NOW)
    assert path.read_text() == "mine"


def test_creating_works_without_hard_links(tmp_path, monkeypatch):
    def never(source, target):
        raise PermissionError

    monkeypatch.setattr(os, "link", never)
    with Garden.create(tmp_path / "garden.db", SITE, NOW) as garden:
        assert garden.verify() == []


def test_a_site_that_cannot_be_leaves_no_file(tmp_path):
    site = dataclasses.replace(SITE, latitude_deg=91.0)
    with pytest.raises(Refused, match="latitude: 91"):
        Garden.create(tmp_path / "garden.db", site, NOW)
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_of_a_folder_is_refused(tmp_path):
    (tmp_path / "a").write_text("")
    with pytest.raises(Refused, match="may be written"):
        Garden.create(tmp_path / "a" / "garden.db", SITE, NOW)


@pytest.mark.parametrize("readonly", [False, True])
def test_a_missing_file_says_how_to_start(tmp_path, readonly):
    with pytest.raises(Refused, match="advisor start"):
        Garden.open(tmp_path / "none.db", readonly=readonly)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"hour,temp\n", b"SQLite format 3\x00", os.urandom(5000)])
def test_what_is_no_garden_is_refused_and_left_alone(tmp_path, content):
    path = tmp_path / "other.db"
    path.write_bytes(content)
    with pytest.raises(Refused, match="not a garden|cut off"):
        Garden.open(path)
    assert path.read_bytes() == content
    assert len(list(tmp_path.iterdir())) == 1


def test_another_database_is_refused(tmp_path):
    path = tmp_path / "other.db"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE entry (id)")
    connection.close()
    before = digest(path)
    with pytest.raises(Refused, match="not a garden"):
        Garden.open(path)
    assert digest(path) == before


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(Refused, match="not openable"):
        Garden.open(tmp_path)


def test_a_newer_file_is_refused_and_left_alone(path):
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {len(schema.MIGRATIONS) + 1}")
    connection.close()
    before = digest(path)
    with pytest.raises(Refused, match="made by a newer version"):
        Garden.open(path)
    assert digest(path) == before


def test_a_cut_file_is_refused(path):
    whole = path.read_bytes()
    for size in (50, 100, 4096, len(whole) // 2, len(whole) - 4096):
        path.write_bytes(whole[:size])
        with pytest.raises(Refused, match="cut off"), Garden.open(path) as garden:
            garden.knowledge()


def test_damaged_bytes_never_give_anything_but_a_refusal(path):
    whole, chance, refused = path.read_bytes(), random.Random(5), 0
    for _ in range(60):
        bad = bytearray(whole)
        start = chance.randrange(100, len(whole) - 300)
        bad[start:start + 300] = chance.randbytes(300)
        path.write_bytes(bad)
        try:
            with Garden.open(path) as garden:
                garden.knowledge()
                garden.entries()
        except Refused:
            refused += 1
    assert refused > 0


def test_a_read_only_garden_is_read_and_not_written(path):
    before = digest(path)
    with Garden.open(path, readonly=True) as garden:
        assert set(garden.knowledge().trees) == {"2", "10"}
        with pytest.raises(Refused, match="read-only"):
            water(garden, "2", NOW)
        with pytest.raises(Refused, match="read-only"):
            garden.undo(NOW)
    assert digest(path) == before


def test_a_file_that_may_not_be_written_is_refused_when_written(path):
    path.chmod(0o444)
    if os.access(path, os.W_OK):
        pytest.skip("this user may write everything")
    with Garden.open(path) as garden, pytest.raises(Refused, match="read-only"):
        water(garden, "2", NOW)


def test_rows_are_only_ever_added(path):
    connection = connect(path, "rw")
    for table in ("entry", "watering", "potting", "tree", "site"):
        for statement in (f"UPDATE {table} SET id = id + 100", f"DELETE FROM {table}"):
            with pytest.raises(sqlite3.IntegrityError, match="only ever added"):
                connection.execute(statement)
    connection.close()


def test_columns_are_the_fields_of_the_records(path):
    connection = connect(path, "ro")
    for record, codec in CODECS.items():
        columns = [row[1] for row in connection.execute(f"PRAGMA table_info({codec.table})")]
        assert columns == ["id", "entry", *(field.name for field in dataclasses.fields(record))]
    strict = dict(connection.execute("SELECT name, strict FROM pragma_table_list"))
    assert all(strict[codec.table] for codec in CODECS.values())
    connection.close()


def test_files_are_in_wal_mode_and_hold_foreign_keys(path):
    with Garden.open(path) as garden:
        assert garden._row("PRAGMA journal_mode") == ("wal",)
        assert garden._row("PRAGMA foreign_keys") == (1,)
        assert garden._row("PRAGMA busy_timeout") == (10_000,)


# --- migrations ------------------------------------------------------------------------

NEXT = ("ALTER TABLE place ADD COLUMN height_m REAL", "CREATE TABLE second (id INTEGER)")


def test_an_older_file_is_brought_up_to_date_with_all_that_is_in_it(path, monkeypatch):
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, NEXT))
    connection = connect(path, "rw")
    assert schema.migrate(connection, "garden", schema.MIGRATIONS) == 1
    assert schema.migrate(connection, "garden", schema.MIGRATIONS) == 0
    assert schema.version(connection) == len(schema.MIGRATIONS)
    connection.close()
    with Garden.open(path) as garden:
        assert garden.knowledge().places["south bench"] == BENCH
        assert garden._rows("SELECT count(*) FROM reading") == [(0,)]


def test_a_migration_that_fails_leaves_nothing_behind(path):
    connection = connect(path, "rw")
    failing = (*schema.MIGRATIONS, NEXT, ("CREATE TABLE third (id INTEGER)", "no statement"))
    with pytest.raises(sqlite3.OperationalError):
        schema.migrate(connection, "garden", failing)
    assert schema.version(connection) == len(schema.MIGRATIONS) + 1  # the one before it stands
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    assert "second" in tables
    assert "third" not in tables
    connection.close()


def test_an_older_file_cannot_be_read_only(path):
    connection = connect(path, "ro")
    with pytest.raises(Refused, match="brings it up to date"):
        schema.refuse_older(connection, "garden", (*schema.MIGRATIONS, NEXT))
    connection.close()


def test_a_file_of_the_first_version_is_opened_for_ever(tmp_path):
    """The statements of a released migration never change: their digest is pinned."""
    text = "\n".join(schema.MIGRATIONS[0])
    assert hashlib.sha256(text.encode()).hexdigest()[:16] == "e085ee19aa1bbded"
