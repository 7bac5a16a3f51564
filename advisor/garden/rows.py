"""Records as rows of a table and back: one codec for each kind of record.

The columns of a table are the fields of its record, in order. Instants are kept as whole
seconds, yes and no as 1 and 0, tuples as JSON text.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import astuple, dataclass, fields, replace
from datetime import datetime
from functools import lru_cache
from typing import Any, get_type_hints

from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.naming import fold
from advisor.garden.records import (
    Event,
    Mix,
    Move,
    Place,
    Potting,
    Reading,
    Record,
    Rounds,
    Site,
    Tree,
    Walk,
    Watering,
)

Decode = Callable[[Any], Any]


@dataclass(frozen=True)
class Codec:
    """How one kind of record stands in its table."""

    record: type[Record]
    table: str
    columns: tuple[str, ...]
    decoders: tuple[tuple[int, Decode], ...]  # only for columns that need one

    @property
    def select(self) -> str:
        """The row's id and its columns, without a WHERE."""
        return f'SELECT id, {", ".join(_quoted(self.columns))} FROM "{self.table}"'

    @property
    def insert(self) -> str:
        """One row: its entry, then its columns."""
        marks = ", ".join("?" * (len(self.columns) + 1))
        columns = ", ".join(_quoted(("entry", *self.columns)))
        return f'INSERT INTO "{self.table}" ({columns}) VALUES ({marks})'

    def encode(self, record: Any) -> tuple[Any, ...]:
        """Give the values of a record's columns."""
        return tuple(_encoded(value) for value in astuple(record))

    def decode(
        self, rows: Sequence[tuple[Any, ...]], spelled: Mapping[str, Mapping[str, str]]
    ) -> list[tuple[int, Any]]:
        """Give id and record of every row of `select`, column by column for speed.

        Names in the columns of `spelled` are given as they are written now (folded to typed).
        """
        if not rows:
            return []
        ids, *columns = zip(*rows, strict=True)
        for i, name in enumerate(self.columns):
            if name in spelled:
                now = {told: spelled[name][fold(told)] for told in {*columns[i]} - {None}}
                columns[i] = tuple(map(now.get, columns[i]))
        for i, decoder in self.decoders:
            columns[i] = tuple([None if value is None else decoder(value) for value in columns[i]])
        return list(zip(ids, map(self.record, *columns), strict=True))


    def respelled(self, rows: list[tuple[int, Any]],
                  spelled: Mapping[str, Mapping[str, str]]) -> list[tuple[int, Any]]:
        """Give rows with the names in the columns of `spelled` as they are written now."""
        for name in set(self.columns) & set(spelled):
            told = {getattr(record, name) for _, record in rows} - {None}
            now = {each: spelled[name][fold(each)] for each in told}
            if any(each != now[each] for each in told):
                rows = [(row_id, replace(record, **{name: now.get(getattr(record, name))}))
                        for row_id, record in rows]
        return rows


def _quoted(names: Sequence[str]) -> list[str]:
    return [f'"{name}"' for name in names]


def _encoded(value: Any) -> Any:
    if isinstance(value, datetime):
        return to_seconds(value)
    if isinstance(value, tuple):
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    return int(value) if isinstance(value, bool) else value


@lru_cache(maxsize=4096)
def _tuples(text: str) -> Any:
    def deep(value: Any) -> Any:
        return tuple(deep(part) for part in value) if isinstance(value, list) else value

    return deep(json.loads(text))


def _decoder(hint: object) -> Decode | None:
    if hint is bool:
        return bool
    if hint in (datetime, datetime | None):
        return from_seconds
    return _tuples if "tuple[" in str(hint) else None


def codec_of(record: Any) -> Codec:
    """Give the codec of a record: its table has its name, its columns are its fields."""
    hints = get_type_hints(record)
    columns = tuple(field.name for field in fields(record))
    decoders = ((i, _decoder(hints[name])) for i, name in enumerate(columns))
    return Codec(record, record.__name__.lower(), columns,
                 tuple((i, decode) for i, decode in decoders if decode))


CODECS: dict[type[Record], Codec] = {
    record: codec_of(record)
    for record in (Site, Place, Mix, Tree, Potting, Move, Watering, Event, Reading, Walk, Rounds)
}
