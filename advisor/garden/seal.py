"""A sum over the rows of each table of what was told, so that a changed byte is found.

SQLite finds a file whose structure is broken; a byte that turned within a number or a name it
cannot see. Rows are only ever added, so that the sum of a table goes on with the rows added to
it: `sealed` holds, for each table, its last row and the sum up to there, and one sum over the
statements that made the tables, for a column whose name changed reads as a word. It is written in
the transaction that adds the rows, and emptied by every later migration, which may change columns.

The sum is the CRC-32 of the rows as JSON [S: finds every run of up to 32 changed bits].
"""

import json
import sqlite3
import zlib

from advisor.garden.schema import SEALED

_MADE = "sqlite_schema"
_SAVE = "INSERT OR REPLACE INTO sealed (name, last, sum) VALUES (?, ?, ?)"


def extend(connection: sqlite3.Connection) -> None:
    """Go on with the sums of the tables that rows were added to, in an open transaction."""
    known = _known(connection)
    if _MADE not in known:
        connection.execute(_SAVE, (_MADE, 0, _made(connection)))
    for name, newest in connection.execute("SELECT name, seq FROM sqlite_sequence").fetchall():
        last, total = known.get(name, (0, 0))
        if name not in SEALED or newest <= last:
            continue
        rows = connection.execute(f'SELECT * FROM "{name}" WHERE id > ? ORDER BY id',
                                  (last,)).fetchall()
        if rows:
            connection.execute(_SAVE, (name, rows[-1][0], _sum(rows, total)))


def broken(connection: sqlite3.Connection) -> list[str]:
    """Give the tables whose rows are no longer those that were told.

    Raises
    ------
    sqlite3.Error, UnicodeDecodeError
        The file is so damaged that they cannot be read.
    """
    known = _known(connection)
    if _MADE in known and known.pop(_MADE)[1] != _made(connection):
        return [_MADE]
    return [name for name, (last, total) in known.items()
            if name not in SEALED or total != _sum(connection.execute(
                f'SELECT * FROM "{name}" WHERE id <= ? ORDER BY id', (last,)).fetchall(), 0)]


def _known(connection: sqlite3.Connection) -> dict[str, tuple[int, int]]:
    return {name: (last, total)
            for name, last, total in connection.execute("SELECT name, last, sum FROM sealed")}


def _made(connection: sqlite3.Connection) -> int:
    return _sum(connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name "
                                   "NOT LIKE 'sqlite%' ORDER BY type, name").fetchall(), 0)


def _sum(rows: list[tuple[object, ...]], before: int) -> int:
    """Go on with a sum: that of all rows does not hang on how they were parted."""
    told = json.dumps(rows, separators=(",", ":"))[1:-1] + ","
    return zlib.crc32(told.encode(), before) if rows else before
