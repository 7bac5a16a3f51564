"""The tables of weather in a garden file, one a file or an answer: listed, and taken back.

Taking one back is an entry like any other: its rows stay, no longer count, and undoing the entry
brings them back.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from advisor.errors import Refused
from advisor.garden.file import whole
from advisor.garden.instants import from_seconds
from advisor.garden.instruments import InstrumentStore
from advisor.garden.merge import HOUR_S, Source

#: Columns of `weather_source`; from the third on they make a `Source`.
COLUMNS = ("id", "made_at", "name", "words", "licence", "digest", "issued_at", "latitude_deg",
           "longitude_deg", "elevation_m", "kind", "member", "attribution")
_KEY = "weather source "
#: Numbers of the sources that were taken back.
REMOVED = (f"SELECT CAST(SUBSTR(\"key\", {len(_KEY) + 1}) AS INTEGER) FROM setting "
           f"WHERE \"key\" LIKE '{_KEY}%' AND entry NOT IN (SELECT entry FROM undone)")
_SPANS = ("SELECT source, MIN(hour), MAX(hour), COUNT(*) FROM weather GROUP BY source "
          "UNION ALL SELECT source, first_hour, last_hour, "
          f"1 + (last_hour - first_hour) / {HOUR_S} FROM weather_block")


@dataclass(frozen=True)
class KeptSource:
    """A table of weather as it lies in the file.

    Parameters
    ----------
    number : int
        By which it is named.
    source : Source
        Where it came from.
    made_at : datetime
        When it was kept.
    start, end : datetime or None
        Of its first hour, and the end of its last; None where it has none.
    hours : int
        How many it has.
    removed : bool
        Taken back.
    """

    number: int
    source: Source
    made_at: datetime
    start: datetime | None
    end: datetime | None
    hours: int
    removed: bool


class SourceStore(InstrumentStore):
    """The part of a garden file that knows where weather came from."""

    def weather_sources(self) -> list[Source]:
        """Give all sources that count, the newest first."""
        with whole(self.path):
            return [source_of(row) for row in self._rows(
                f"SELECT {', '.join(COLUMNS)} FROM weather_source WHERE id NOT IN ({REMOVED}) "
                "ORDER BY id DESC")]

    def kept_sources(self) -> list[KeptSource]:
        """Give every table of weather there is, the newest first, those taken back too."""
        with self.snapshot(), whole(self.path):
            spans = {source: span for source, *span in self._rows(_SPANS)}
            removed = self.removed_sources()
            rows = self._rows(f"SELECT {', '.join(COLUMNS)} FROM weather_source ORDER BY id DESC")
            return [_kept(row, spans.get(row[0]), row[0] in removed) for row in rows]

    def removed_sources(self) -> frozenset[int]:
        """Give the numbers of the sources that were taken back."""
        return frozenset(row[0] for row in self._rows(REMOVED))

    def remove_source(self, entry: int, number: int) -> None:
        """Take a table of weather back: it no longer counts.

        Parameters
        ----------
        entry : int
            The entry it belongs to.
        number : int
            Of the source (`KeptSource.number`).

        Raises
        ------
        Refused
            There is no such source, or it was taken back already.
        """
        row = self._row("SELECT name FROM weather_source WHERE id = ?", (number,))
        if row is None or number in self.removed_sources():
            wrong = f"{number} ({row[0]}) is taken back already" if row else number
            raise Refused("source of weather", wrong, "the number of one that counts",
                          "See advisor weather show --sources.")
        self.add_setting(entry, f"{_KEY}{number}", "taken back")


def covers(kept: Iterable[KeptSource], kind: str, start: datetime, end: datetime,
           slack: timedelta) -> bool:
    """Say whether one source of a kind holds a span, but for a little at its ends.

    Parameters
    ----------
    kept : iterable of KeptSource
        Those there are.
    kind : str
        Of the source.
    start, end : datetime
        Of the span.
    slack : timedelta
        What may be missing at either end.
    """
    return any(each.source.kind == kind and not each.removed
               and each.start is not None and each.start <= start + slack
               and each.end is not None and each.end >= end - slack for each in kept)


def source_of(row: tuple[Any, ...]) -> Source:
    """Make a source of a row of `COLUMNS`."""
    name, words, licence, digest, issued, *more = row[2:]
    return Source(name, words, licence, digest, None if issued is None else from_seconds(issued),
                  *more)


def _kept(row: tuple[Any, ...], span: list[int] | None, removed: bool) -> KeptSource:
    start, end, hours = span or (None, None, 0)
    return KeptSource(row[0], source_of(row), from_seconds(row[1]),
                      None if start is None else from_seconds(start),
                      None if end is None else from_seconds(end + HOUR_S), hours, removed)
