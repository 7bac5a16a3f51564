"""A garden file copied while it is in use, and put back when it is damaged.

A copy is made by SQLite itself from one state of the file, read from end to end, and only
then given its name. What stands where a garden is put back is kept beside it.
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from advisor.errors import Refused
from advisor.garden import schema
from advisor.garden.copies import (
    KEPT,
    NAMED,
    Copy,
    NotWhole,
    asked_for,
    examined,
    folder_of,
    last_good,
    lost_rows,
)
from advisor.garden.file import IN_USE, connect, damaged, told
from advisor.garden.making import making, put

_BESIDE = ("-wal", "-shm")  # what SQLite keeps beside a file


def back_up(garden: Path, made_at: datetime, to: Path | None = None) -> Copy:
    """Copy a garden file and read the copy from end to end.

    Parameters
    ----------
    garden : Path
    made_at : datetime
        Now; it names the copy.
    to : Path, optional
        Where; in the garden's folder of copies where None, of which the newest few stay.

    Raises
    ------
    Refused
        The garden is damaged, the copy is there already, or it cannot be written.
    """
    where = to or _free(folder_of(garden) / f"{made_at.astimezone(UTC):{NAMED}}.db")
    copy = _copied(garden, where)
    if to is None:
        for old in asked_for(garden)[KEPT:]:
            if old != copy.path:
                old.unlink(missing_ok=True)
    return copy


def bring_up_to_date(garden: Path, connection: sqlite3.Connection) -> None:
    """Apply the migrations an open garden file lacks, a copy of it having been kept.

    Raises
    ------
    Refused
        The garden is damaged, made by a newer version, or no copy can be written.
    """
    found = schema.version(connection)
    if found < len(schema.MIGRATIONS):
        where = folder_of(garden) / f"format-{found}.db"
        try:
            _copied(garden, where)
        except Refused:
            if not where.exists():  # else it was kept before, or by another process
                raise
    schema.migrate(connection, str(garden), schema.MIGRATIONS)


def restore(garden: Path, copy: Copy, at: datetime) -> Path | None:
    """Put a copy in the place of a garden file.

    Parameters
    ----------
    garden : Path
    copy : Copy
    at : datetime
        Now; it names what stood there.

    Returns
    -------
    Path or None
        Where the file that stood there is kept; None where there was none.

    Raises
    ------
    Refused
        The copy cannot be read or written, or the garden is in use.
    """
    if garden.exists() and copy.path.samefile(garden):
        raise Refused("file to put back", copy.path, "another file than the garden itself",
                      "Name a copy of it.")
    with _writing(garden), making(garden) as new:
        _fill(copy.path, new)
        with told(new), closing(connect(new, "rw")) as file:
            file.execute("PRAGMA journal_mode = WAL")
        _flush(new)
        aside = _aside(garden, at, new.parent)
        try:
            _refuse_used(garden)
        except Refused:
            for path in _all_of(aside) if aside else []:
                path.unlink(missing_ok=True)
            raise
        for path in _all_of(garden)[1:]:
            path.unlink(missing_ok=True)
        new.replace(garden)
    return aside


def _copied(garden: Path, where: Path) -> Copy:
    with _writing(where), making(where) as new:
        _fill(garden, new)
        try:
            examined(new)
        except NotWhole as error:
            raise damaged(garden) from error
        if (last := last_good(garden)) and lost_rows(last.path, new):
            raise damaged(garden)
        _flush(new)
        try:
            put(new, where)
        except FileExistsError as error:
            raise Refused("copy", f"there is a file already at {where}",
                          "a file that does not exist yet", "Name another.") from error
    return examined(where)


def _fill(source: Path, new: Path) -> None:
    """Let SQLite copy a file into a new one that stands alone."""
    with closing(sqlite3.connect(new)) as into:
        with told(source), closing(connect(source, "ro")) as file:
            file.execute("SELECT count(*) FROM sqlite_master").fetchone()
            with told(new):
                file.backup(into)
        with told(source):
            into.execute("PRAGMA journal_mode = DELETE")


def _flush(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _all_of(garden: Path) -> list[Path]:
    """Give a garden file and those that SQLite keeps beside it."""
    return [garden, *(garden.with_name(garden.name + end) for end in _BESIDE)]


def _aside(garden: Path, at: datetime, folder: Path) -> Path | None:
    """Keep the file that stands there, byte by byte, with what was not yet written into it.

    It is copied in a folder of its own first, so that no part of one ever bears the name.
    """
    if not garden.exists():
        return None
    stem = f"{garden.stem}-before-{at.astimezone(UTC):{NAMED}}"
    aside = _free(garden.with_name(f"{stem}{garden.suffix}"))
    found = [old for old in _all_of(garden) if old.exists()]
    for old in found:
        shutil.copyfile(old, folder / f"aside-{old.name}")
    for old in reversed(found):  # the garden itself last
        end = old.name.removeprefix(garden.name)
        (folder / f"aside-{old.name}").replace(aside.with_name(aside.name + end))
    return aside


def _free(path: Path) -> Path:
    """Give a name that is free: that one, else with a number."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def _refuse_used(garden: Path) -> None:
    """Refuse a garden that is just written to; of a damaged one that cannot be told."""
    if not garden.exists():
        return
    try:
        with told(garden), closing(connect(garden, "rw")) as file:
            file.execute("BEGIN IMMEDIATE")
    except Refused as refused:
        if refused.value == IN_USE:
            raise
    except sqlite3.Error:
        return


@contextmanager
def _writing(where: Path) -> Iterator[None]:
    """Turn what the disk reports of writing into a refusal."""
    try:
        yield
    except OSError as error:
        raise Refused("copy", f"{where}, {error.strerror or error}",
                      "a folder that may be written, with room for it", "Name another.") from error
