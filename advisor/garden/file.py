"""The garden file itself: opened, refused, read in one snapshot, written all or nothing."""

import os
import sqlite3
import struct
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from types import TracebackType
from typing import Any, Self

from advisor.errors import Refused
from advisor.garden import schema, seal
from advisor.garden.looked import Identity, Looked, Mark

_HEADER = struct.Struct(">16s44xI4xI28x")  # magic, user_version, application_id
_MAGIC = b"SQLite format 3\x00"
_BUSY_S = 10.0
IN_USE = "in use"

#: SQLite's name of an error (its start) -> what is wrong, what would be accepted, what to do.
_TOLD: dict[str, tuple[str, str, str]] = {
    "SQLITE_NOTADB": ("not a garden", "a file made by `advisor start`",
                      "Name the right file with --garden."),
    "SQLITE_CORRUPT": ("damaged or cut off", "a whole garden file",
                       "Put back a copy of it from your back-up."),
    "SQLITE_READONLY": ("read-only", "a file that may be written",
                        "Allow writing to the file and its folder."),
    "SQLITE_CANTOPEN": ("not openable", "a file that may be read and written",
                        "Look at the rights of the file and its folder."),
    "SQLITE_BUSY": (IN_USE, f"free within {_BUSY_S:g} s",
                    "Wait until the other command has ended, and try again."),
    "SQLITE_PROTOCOL": (IN_USE, f"free within {_BUSY_S:g} s",
                        "Wait until the other command has ended, and try again."),
    "SQLITE_FULL": ("not writable, the disk is full", "free space", "Make room on the disk."),
    "SQLITE_IOERR": ("not readable, the disk reports an error", "a disk that works",
                     "Copy the file to another disk."),
}
_DAMAGED = _TOLD["SQLITE_CORRUPT"]
_TOLD["SQLITE_TOOBIG"] = _DAMAGED  # a length that no text has
_TOLD_LAST = ("SELECT id, made_at, words FROM entry", "SELECT id, entry, made_at FROM undone",
              "SELECT id, made_at, digest FROM weather_source")
_TRIES = 3  # to open a file that is put back just now
_OPENING = Lock()
_OPEN: Counter[tuple[int, int]] = Counter()  # connections of this process, by device and inode


class _Connection(sqlite3.Connection):
    """A connection that is counted until it is closed."""

    counted: tuple[int, int] | None = None

    def close(self) -> None:
        super().close()
        with _OPENING:
            if self.counted:
                _OPEN[self.counted] -= 1
            self.counted = None


def _refusal(where: Path, told: tuple[str, str, str]) -> Refused:
    return damaged(where) if told is _DAMAGED else Refused(f"garden file {where}", *told)


def damaged(where: Path) -> Refused:
    """Give the refusal of a damaged file; it names the last good copy where there is one."""
    from advisor.garden.copies import last_good

    what, limit, do = _DAMAGED
    if copy := last_good(where):
        do = (f"`advisor restore` puts back the last good copy, {copy.path.name}, with all that "
              f"was entered up to {copy.until}.")
    return Refused(f"garden file {where}", what, limit, do)


@contextmanager
def told(where: Path) -> Iterator[None]:
    """Turn what SQLite reports of a file into a refusal; slips of this program pass as they are."""
    try:
        yield
    except UnicodeDecodeError as error:  # of SQLite's own words on a damaged file
        raise damaged(where) from error
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", None) or ""
        for start, words in _TOLD.items():
            if name.startswith(start):
                raise _refusal(where, words) from error
        if "decode" in str(error):
            raise _refusal(where, _DAMAGED) from error
        raise


@contextmanager
def whole(where: Path) -> Iterator[None]:
    """Refuse as damaged a file whose rows cannot be understood."""
    try:
        yield
    except Refused:
        raise
    except (ValueError, TypeError, LookupError, AttributeError, OverflowError) as error:
        raise _refusal(where, _DAMAGED) from error


def look_at(where: Path) -> None:
    """Refuse, from its first bytes and without touching it, a file that is not a garden.

    One that this process has open was looked at before. To read it here again would let go of
    SQLite's locks: POSIX drops all of a process when it closes any handle on the file, and the
    next process to end would take the log away that is being written to.

    Raises
    ------
    Refused
        Missing, a folder, empty, another kind of file, or made by a newer version.
    """
    if not where.exists():
        raise Refused("garden file", where, "a file made by `advisor start`",
                      "Run `advisor start` to make one, or name another with --garden.")
    try:
        with _OPENING:
            if _OPEN[identity_of(where)] > 0:
                return
            with where.open("rb") as file:
                head = file.read(_HEADER.size)
    except OSError as error:
        raise _refusal(where, _TOLD["SQLITE_CANTOPEN"]) from error
    if not head.startswith(_MAGIC):
        raise _refusal(where, _TOLD["SQLITE_NOTADB"])
    if len(head) < _HEADER.size:
        raise _refusal(where, _DAMAGED)
    _, found, application_id = _HEADER.unpack(head)
    if application_id != schema.APPLICATION_ID:
        raise _refusal(where, _TOLD["SQLITE_NOTADB"])
    schema.refuse_newer(found, len(schema.MIGRATIONS), str(where))


def _log(where: Path) -> bool:
    """Whether a log lies beside the file, with entries that the file lacks."""
    log = where.resolve().with_name(f"{where.resolve().name}-wal")
    return log.exists() and log.stat().st_size > 0


def identity_of(where: Path) -> tuple[int, int]:
    """Give what tells a file from all others: device and inode."""
    told = where.stat()
    return told.st_dev, told.st_ino


def connect(where: Path, mode: str) -> sqlite3.Connection:
    """Connect in SQLite's `mode` ("ro", "rw", "rwc"), with foreign keys held.

    It may go from thread to thread, and be used by one at a time.

    A log lies beside the file while it is used; in a folder that may not be written none can be
    made, so there the file is read as one that nobody changes, unless a log is there already.
    """
    uri = f"{where.resolve().as_uri()}?mode={mode}"
    if mode == "ro" and not os.access(where.resolve().parent, os.W_OK) and not _log(where):
        uri += "&immutable=1"
    for _ in range(_TRIES):
        with _OPENING:
            before = identity_of(where) if where.exists() else None
            connection = sqlite3.connect(uri, uri=True, timeout=_BUSY_S, isolation_level=None,
                                         factory=_Connection, check_same_thread=False)
            connection.counted = identity_of(where)
            _OPEN[connection.counted] += 1
        if before in (None, connection.counted):
            break
        connection.close()
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


class GardenFile:
    """An open garden file. Nothing is left half written when a process ends in between."""

    def __init__(self, path: Path, connection: sqlite3.Connection, readonly: bool,
                 looked: Looked | None = None) -> None:
        self.path = path
        self.readonly = readonly
        self._connection = connection
        self._reading = False
        self._looked = looked or Looked()
        self._rolled_back = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; closing twice does no harm."""
        self._connection.close()

    @property
    def identity(self) -> Identity:
        """Which file this is, whatever its name; None once closed."""
        assert isinstance(self._connection, _Connection)
        return self._connection.counted

    def is_amid(self) -> bool:
        """Whether something was begun and not ended."""
        return self._connection.in_transaction

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Read everything inside the block from one state of the file."""
        if self._connection.in_transaction:
            yield
            return
        with told(self.path):
            self._connection.execute("BEGIN")
            self._reading = True
            try:
                self._connection.execute("SELECT 1 FROM entry LIMIT 1").fetchone()
                yield
            finally:
                self._reading = False
                self._end("ROLLBACK")

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Write everything inside the block, or nothing; blocks within join the outer one.

        Raises
        ------
        Refused
            The file is read-only or stays in use by another process.
        RuntimeError
            Inside a snapshot, which cannot turn into writing.
        """
        with self._changing() as outermost:
            yield
            if outermost:
                seal.extend(self._connection)

    @contextmanager
    def deriving(self) -> Iterator[None]:
        """Write as `writing` does what can be worked out again: a power cut may lose it."""
        if self._connection.in_transaction:
            yield
            return
        with told(self.path):
            self._connection.execute("PRAGMA synchronous = NORMAL")
            try:
                with self._changing():
                    yield
            finally:
                self._connection.execute("PRAGMA synchronous = FULL")

    @contextmanager
    def _changing(self) -> Iterator[bool]:
        """Begin and end what is written; tell whether no other block lies around this one."""
        if self._reading:
            raise RuntimeError("a snapshot only reads; write before it or after it")
        if self.readonly:
            raise _refusal(self.path, _TOLD["SQLITE_READONLY"])
        if self._connection.in_transaction:
            yield False
            return
        with told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield True
                self._connection.execute("COMMIT")
            except BaseException:
                self._rolled_back += 1
                self._end("ROLLBACK")
                raise

    def refuse_damaged(self) -> None:
        """Look the file through before anything is entered into it or worked out.

        Once: where it was done lately (`Looked`), it is not done again.

        Raises
        ------
        Refused
            It is damaged, or what was told is no longer what it was.
        """
        if not self._looked.lately(self.identity, self.follows):
            with told(self.path):
                if self._row("PRAGMA quick_check(1)") != ("ok",) or seal.broken(self._connection):
                    raise damaged(self.path)
            self._looked.now(self.identity, self.mark())

    def mark(self) -> Mark:
        """Give what tells this state of the file from all others: its last rows."""
        return tuple(self._row(f"{rows} ORDER BY id DESC LIMIT 1") for rows in _TOLD_LAST)

    def follows(self, mark: Mark) -> bool:
        """Whether this is the state of the file that bore a mark, or a later one.

        Another garden copied over it has other rows there, or none.
        """
        return all(row is None or self._row(f"{rows} WHERE id = ?", row[:1]) == row
                   for rows, row in zip(_TOLD_LAST, mark, strict=False))

    def verify(self) -> list[str]:
        """Give everything that is wrong with the file (an empty list where it is whole)."""
        with self.snapshot():
            found = [row[0] for row in self._rows("PRAGMA integrity_check") if row[0] != "ok"]
            found += [f"row {row[1]} of {row[0]} points to no row of {row[2]}"
                      for row in self._rows("PRAGMA foreign_key_check")]
            return found + [f"rows of {name} are not those that were told"
                            for name in seal.broken(self._connection)]

    def _end(self, how: str) -> None:
        if self._connection.in_transaction:  # SQLite ends it itself after some errors
            self._connection.execute(how)

    def _rows(self, statement: str, values: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
        with told(self.path):
            return self._connection.execute(statement, values).fetchall()

    def _row(self, statement: str, values: tuple[Any, ...] = ()) -> tuple[Any, ...] | None:
        with told(self.path):
            row: tuple[Any, ...] | None = self._connection.execute(statement, values).fetchone()
            return row
