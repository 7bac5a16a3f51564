"""Copies of a garden file kept beside it: where they lie, and whether one is whole."""

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from advisor.garden import schema, seal
from advisor.garden.instants import from_seconds, instant_words

#: Ends the name of a copy that was asked for; of those the newest `KEPT` stay.
NAMED = "%Y-%m-%dT%H%M%SZ"
KEPT = 5


class NotWhole(Exception):
    """A file that is no whole garden; the text says why."""


@dataclass(frozen=True)
class Copy:
    """A whole garden file.

    Attributes
    ----------
    path : Path
    told_at : datetime
        When its newest entry was made.
    entries : int
        How many entries it holds, those taken back included.
    zone : ZoneInfo
        The garden's.
    """

    path: Path
    told_at: datetime
    entries: int
    zone: ZoneInfo

    @property
    def until(self) -> str:
        """The instant of its newest entry, in words."""
        return instant_words(self.told_at, self.zone)


def folder_of(garden: Path) -> Path:
    """Give the folder that holds a garden's copies."""
    return garden.with_name(f"{garden.stem}-copies")


def examined(path: Path) -> Copy:
    """Read a garden file from end to end.

    Raises
    ------
    NotWhole
        It cannot be read, is damaged, or no garden of this version or an earlier one.
    """
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as file:
            return _examined(path, file)
    except (sqlite3.Error, ValueError, LookupError, TypeError, OverflowError) as error:
        raise NotWhole(str(error)) from error


def _examined(path: Path, file: sqlite3.Connection) -> Copy:
    if _one(file, "PRAGMA application_id") != schema.APPLICATION_ID:
        raise NotWhole("not a garden")
    if _one(file, "PRAGMA user_version") > len(schema.MIGRATIONS):
        raise NotWhole("made by a newer version")
    if _one(file, "PRAGMA integrity_check") != "ok":
        raise NotWhole("damaged")
    if file.execute("PRAGMA foreign_key_check").fetchone():
        raise NotWhole("rows are missing")
    if _one(file, "PRAGMA user_version") >= schema.SEALED_SINCE and seal.broken(file):
        raise NotWhole("damaged")
    entries, told = file.execute("SELECT count(*), max(made_at) FROM entry").fetchone()
    zone = _one(file, "SELECT time_zone FROM site ORDER BY id DESC LIMIT 1")
    return Copy(path, from_seconds(told), entries, ZoneInfo(zone))


def _one(file: sqlite3.Connection, statement: str) -> Any:
    return file.execute(statement).fetchone()[0]


def copies(garden: Path) -> list[Copy]:
    """Give the whole copies of a garden, that with the newest entries first."""
    found = []
    for path in folder_of(garden).glob("*.db"):
        try:
            found.append(examined(path))
        except NotWhole:
            continue
    return sorted(found, key=lambda copy: (copy.told_at, copy.entries, copy.path.name),
                  reverse=True)


def last_good(garden: Path) -> Copy | None:
    """Give the whole copy with the newest entries; None where there is none."""
    return next(iter(copies(garden)), None)


def lost_rows(old: Path, new: Path) -> int:
    """Count the rows of a copy that a later one of the same garden lacks or has otherwise.

    What was entered is only ever added to, so that there are none where both are whole; a
    byte that turned within a value shows in nothing else.
    """
    with closing(sqlite3.connect(f"{old.resolve().as_uri()}?mode=ro", uri=True)) as file:
        file.execute("ATTACH ? AS new", (f"{new.resolve().as_uri()}?mode=ro",))
        if _one(file, "PRAGMA main.user_version") != _one(file, "PRAGMA new.user_version"):
            return 0
        kept = file.execute("SELECT tbl_name FROM main.sqlite_master WHERE type = 'trigger' "
                            "AND name = tbl_name || '_no_update'").fetchall()
        return sum(_one(file, f'SELECT count(*) FROM (SELECT * FROM main."{name}" EXCEPT '
                              f'SELECT * FROM new."{name}")') for name, in kept)


def asked_for(garden: Path) -> list[Path]:
    """Give the copies that were asked for, the one made last first."""
    def made_at(path: Path) -> datetime | None:
        try:
            return datetime.strptime(path.stem, NAMED).replace(tzinfo=UTC)
        except ValueError:
            return None

    made = {path: at for path in folder_of(garden).glob("*.db") if (at := made_at(path))}
    return sorted(made, key=lambda path: made[path], reverse=True)
