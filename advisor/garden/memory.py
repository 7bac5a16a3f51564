"""Rows of a garden file that a process which stays has read, so that they are not read again."""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from advisor.garden.knowledge import DATED, TIMED, Diary, Parted, Row, parted
from advisor.garden.records import Record


class RowMemory:
    """Records that have an instant, read once; what was told since is read beside them.

    For one reader: each of its readings must see all that the one before it saw.
    """

    def __init__(self) -> None:
        self._begin(None)

    def _begin(self, basis: object) -> None:
        self._basis = basis
        self._last: dict[type[Record], int] = {}
        self._rows: dict[tuple[type[Record], str], list[Row]] = {}
        self._parted: dict[tuple[type[Record], str], Parted] = {}
        self._times: list[datetime] = []

    def diary(self, basis: object, labels: Iterable[str], at: datetime | None,
              read: Callable[[type[Record], int], list[Row]]) -> Diary:
        """Give what was told of trees up to an instant.

        Parameters
        ----------
        basis : object
            What the rows read before rest on; another than before lets go of them all.
        labels : iterable of str
            The trees.
        at : datetime or None
            All counts where None.
        read : callable
            Gives the rows of a table whose id is larger than a number, by instant, then by id.
        """
        if basis != self._basis:
            self._begin(basis)
        for kind in TIMED:
            for row in read(kind, self._last.get(kind, 0)):
                self._add(kind, row)
        count = len(self._times) if at is None else bisect_right(self._times, at)
        return Diary({kind: {label: self._until((kind, label), at) for label in labels}
                      for kind in DATED}, tuple(self._times[:count]))

    def _add(self, kind: type[Record], row: Row) -> None:
        row_id, record = row
        self._last[kind] = max(row_id, self._last.get(kind, 0))
        i = bisect_left(self._times, record.at)
        if i == len(self._times) or self._times[i] != record.at:
            self._times.insert(i, record.at)
        if kind in DATED:
            insort(self._rows.setdefault((kind, record.tree), []), row, key=_turn)
            self._parted.pop((kind, record.tree), None)

    def _until(self, key: tuple[type[Record], str], at: datetime | None) -> Parted:
        if key not in self._parted:
            self._parted[key] = parted(key[0], self._rows.get(key, []))
        ids, records = self._parted[key]
        if at is None or not records or records[-1].at <= at:
            return ids, records
        count = bisect_right(records, at, key=_at)
        return ids[:count], records[:count]


class TableMemory:
    """Rows of tables that stay small, read once; what was told since is read beside them."""

    def __init__(self) -> None:
        self._kept: dict[type[Record], tuple[object, list[Row]]] = {}

    def rows(self, kind: type[Record], basis: object,
             read: Callable[[type[Record], int], list[Row]]) -> list[Row]:
        """Give all rows of a table in order; they are not to be changed.

        Parameters
        ----------
        kind : type of record
        basis : object
            What the rows read before rest on; another than before lets go of them.
        read : callable
            Gives the rows of a table whose id is larger than a number.
        """
        before, kept = self._kept.get(kind, (None, []))
        if before != basis:
            kept = []
        if new := read(kind, max((row_id for row_id, _ in kept), default=0)):
            kept = sorted([*kept, *new], key=_turn if kind in TIMED else _id)
        self._kept[kind] = basis, kept
        return kept


def _id(row: Row) -> int:
    return row[0]


def _at(record: Any) -> datetime:
    at: datetime = record.at
    return at


def _turn(row: Row) -> tuple[datetime, int]:
    return row[1].at, row[0]
