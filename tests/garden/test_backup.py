"""Copies: made whole, checked, found again, put back with nothing lost."""

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest
from garden.told import DAY, NOW, start, two_trees, water

from advisor.errors import Refused
from advisor.garden import backup, schema
from advisor.garden.backup import back_up, restore
from advisor.garden.copies import (
    KEPT,
    NotWhole,
    asked_for,
    copies,
    examined,
    folder_of,
    last_good,
    lost_rows,
)
from advisor.garden.store import Garden


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "garden.db"
    with start(path, *two_trees()) as garden:
        water(garden, "2", NOW)
    return path


def spoil(path):
    """Overwrite the middle of a file, as a failing disk does."""
    content = bytearray(path.read_bytes())
    content[4096:-4096] = b"\x5a" * (len(content) - 8192)
    path.write_bytes(content)


def test_a_copy_holds_what_the_garden_holds_and_stands_alone(path):
    copy = back_up(path, NOW)
    assert (copy.entries, copy.told_at) == (3, NOW)
    assert [each.name for each in copy.path.parent.iterdir()] == ["2026-07-01T050000Z.db"]
    with Garden.open(path) as garden, Garden.open(copy.path, readonly=True) as copied:
        for what in ("trees", "places", "mixes", "pottings", "waterings"):
            assert getattr(copied.knowledge(), what) == getattr(garden.knowledge(), what)
        assert copied.entries() == garden.entries()


def test_a_copy_made_while_an_entry_is_being_made_is_of_before_it(path):
    with Garden.open(path) as garden, garden.entry(NOW, "half told") as entry:
        copy = back_up(path, NOW)
        assert entry.id == 4
    assert copy.entries == 3
    assert back_up(path, NOW).entries == 4


def test_the_newest_few_stay(path):
    made = [back_up(path, NOW + k * DAY).path for k in range(KEPT + 3)]
    assert asked_for(path) == made[:2:-1]


def test_two_copies_at_one_instant_are_two_files(path):
    assert [back_up(path, NOW).path.stem for _ in range(2)] == [
        "2026-07-01T050000Z", "2026-07-01T050000Z-2"]


def test_a_copy_never_overwrites(path, tmp_path):
    (tmp_path / "mine.db").write_text("mine")
    with pytest.raises(Refused, match="a file already at .*mine.db. Wanted: a file that does not"):
        back_up(path, NOW, tmp_path / "mine.db")
    assert (tmp_path / "mine.db").read_text() == "mine"


def test_a_damaged_garden_is_not_copied(path):
    spoil(path)
    with pytest.raises(Refused, match="damaged"):
        back_up(path, NOW)
    assert list(folder_of(path).iterdir()) == []


def test_a_letter_that_turned_is_found_beside_the_last_copy(path):
    copy = back_up(path, NOW)
    path.write_bytes(path.read_bytes().replace(b"described the garden", b"described the gardon"))
    with Garden.open(path) as garden:
        assert garden.entries()[1].words == "described the gardon"  # seen by nothing else
    assert lost_rows(copy.path, path) == 1
    with pytest.raises(Refused, match="damaged"):
        back_up(path, NOW)
    restore(path, copy, NOW)
    assert lost_rows(copy.path, path) == 0
    assert back_up(path, NOW).entries == 3


def test_a_garden_that_went_on_has_lost_nothing(path):
    copy = back_up(path, NOW)
    with Garden.open(path) as garden:
        water(garden, "2", NOW)
        garden.undo(NOW)
    assert lost_rows(copy.path, path) == 0


def test_the_copy_with_the_newest_entries_is_the_last_good_one(path):
    first = back_up(path, NOW + DAY)  # a clock that was ahead, then set back
    with Garden.open(path) as garden:
        water(garden, "2", NOW + timedelta(hours=1))
    second = back_up(path, NOW)
    assert [copy.path for copy in copies(path)] == [second.path, first.path]
    spoil(second.path)
    assert last_good(path) == first


@pytest.mark.parametrize("wrong", ["text", "empty", "missing", "bird", "newer", "spoilt"])
def test_what_is_no_whole_garden_is_no_copy(path, tmp_path, wrong):
    bad = tmp_path / "bad.db"
    if wrong in ("newer", "spoilt"):
        back_up(path, NOW, bad)
    if wrong == "text":
        bad.write_text("watered on Monday " * 99)
    elif wrong == "empty":
        bad.write_bytes(b"")
    elif wrong == "spoilt":
        spoil(bad)
    elif wrong != "missing":
        with closing(sqlite3.connect(bad)) as file:
            file.execute("CREATE TABLE bird (name TEXT)" if wrong == "bird"
                         else "PRAGMA user_version = 99")
    with pytest.raises(NotWhole):
        examined(bad)


def test_what_is_damaged_is_refused_with_the_name_of_the_last_good_copy(path):
    back_up(path, NOW + DAY)
    spoil(path)
    with pytest.raises(Refused) as refused, Garden.open(path) as garden:
        water(garden, "2", NOW)
    assert str(refused.value) == (
        f"garden file {path}: damaged or cut off. Wanted: a whole garden file. `advisor restore` "
        "puts back the last good copy, 2026-07-02T050000Z.db, with all that was entered up to "
        "1 July 2026, 07:00.")


def test_nothing_is_entered_into_a_file_whose_damage_no_entry_would_meet(path):
    with closing(sqlite3.connect(path)) as file:
        page, = file.execute("SELECT rootpage FROM sqlite_master WHERE name = 'weather_block'"
                             ).fetchone()
        size, = file.execute("PRAGMA page_size").fetchone()
    content = bytearray(path.read_bytes())
    content[(page - 1) * size:page * size] = b"\xff" * size
    path.write_bytes(content)
    with Garden.open(path) as garden:
        assert len(garden.entries()) == 3  # what is asked for can still be read
        with pytest.raises(Refused, match="damaged"):
            water(garden, "2", NOW)
        assert len(garden.entries()) == 3


def test_putting_back_keeps_what_stood_there(path):
    copy = back_up(path, NOW)
    with Garden.open(path) as garden:
        water(garden, "10", NOW)
    spoil(path)
    damaged = path.read_bytes()
    aside = restore(path, copy, NOW)
    assert aside == path.with_name("garden-before-2026-07-01T050000Z.db")
    assert aside.read_bytes() == damaged
    with Garden.open(path) as garden:
        assert garden.verify() == []
        assert len(garden.entries()) == 3
        assert garden._row("PRAGMA journal_mode") == ("wal",)
        water(garden, "10", NOW)
    assert examined(copy.path).entries == 3


def test_what_a_killed_process_left_unwritten_is_kept_aside_too(path):
    copy = back_up(path, NOW)
    garden = Garden.open(path)
    water(garden, "10", NOW)
    log = path.with_name("garden.db-wal")
    kept = log.read_bytes()
    whole = path.read_bytes()
    garden.close()
    path.write_bytes(b"\x5a" * len(whole))  # not even its head can be read
    log.write_bytes(kept)
    aside = restore(path, copy, NOW)
    assert aside.with_name(aside.name + "-wal").read_bytes() == kept
    assert sorted(each.suffix for each in path.parent.glob("garden.db*")) == [".db"]
    with Garden.open(path) as garden:
        assert len(garden.entries()) == 3


def test_a_garden_that_is_gone_is_put_back(path):
    copy = back_up(path, NOW)
    path.unlink()
    assert restore(path, copy, NOW) is None
    with Garden.open(path) as garden:
        assert len(garden.entries()) == 3


def test_a_garden_in_use_is_not_replaced(path, monkeypatch):
    copy = back_up(path, NOW)
    before = path.read_bytes()
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        monkeypatch.setattr("advisor.garden.file._BUSY_S", 0.0)
        with pytest.raises(Refused, match="in use"):
            restore(path, copy, NOW)
    assert path.read_bytes() == before
    assert not list(path.parent.glob("*before*"))


def test_the_garden_itself_is_no_copy_of_it(path):
    with pytest.raises(Refused, match="another file than the garden itself"):
        restore(path, examined(path), NOW)


def test_an_older_garden_is_copied_before_it_is_brought_up_to_date(path, monkeypatch):
    older = len(schema.MIGRATIONS)
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, ("CREATE TABLE new (id)",)))
    with Garden.open(path) as garden:
        assert schema.version(garden._connection) == older + 1
    kept = folder_of(path) / f"format-{older}.db"
    with closing(sqlite3.connect(kept)) as copy:
        assert schema.version(copy) == older
    assert examined(kept).entries == 3
    assert asked_for(path) == []  # never thinned out


def test_a_garden_that_cannot_be_copied_is_not_changed(path, monkeypatch):
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, ("CREATE TABLE new (id)",)))
    folder_of(path).write_text("a file in the way")
    before = path.read_bytes()
    with pytest.raises(Refused, match="may be written"):
        Garden.open(path)
    assert path.read_bytes() == before


def test_a_copy_is_named_once_it_is_whole(path, monkeypatch):
    def cut_off(new):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backup, "_flush", cut_off)
    with pytest.raises(Refused, match="No space left on device"):
        back_up(path, NOW)
    assert list(folder_of(path).iterdir()) == []


@pytest.mark.parametrize("step", ["_aside", "_refuse_used"])
def test_putting_back_that_fails_leaves_the_garden(path, monkeypatch, step):
    copy = back_up(path, NOW)
    before = path.read_bytes()

    def fail(*_):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(backup, step, fail)
    with pytest.raises(Refused, match="Input/output error"):
        restore(path, copy, NOW)
    assert path.read_bytes() == before
