"""Instants in files: from written stamps to UTC, naming the zone or refusing.

A stamp with an offset ("2026-07-01T05:00Z", "2026-07-01 07:00+02:00") stands alone. One
without is local time of the zone that the file names; no zone, no instant. An hour that the
clock skips does not exist; an hour it repeats is told apart only by standing there twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.weather import years
from advisor.weather.refusals import raise_all

Mask = NDArray[np.bool_]

_STAMP = r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?"
_OFFSET = r"\d(?:Z|[+-]\d{2}:?\d{2})$"


class _Fault(NamedTuple):
    """What is wrong with a stamp, said behind it; what would do, and what to do."""

    wrong: str
    limit: str
    do: str


_UNREAD = _Fault("", "a stamp such as 2026-07-01T05:00Z or 2026-07-01 05:00", "Mend the stamp.")
_ZONELESS = _Fault(
    ", without a zone",
    "a stamp whose zone is told",
    "Write [UTC] or [Europe/Berlin] behind 'hour', or an offset behind the stamp.",
)


def zone(name: str, where: str = "time zone") -> ZoneInfo:
    """Give the time zone of that name ("UTC", "Europe/Berlin").

    Raises
    ------
    Refused
        No zone has this name.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(
            where, name, "a name such as UTC or Europe/Berlin", "Give the name of a time zone."
        ) from None


@dataclass(frozen=True)
class Written:
    """The stamps of a file as they stand there, with the line of each."""

    name: str
    texts: Sequence[str]
    lines: Sequence[int]


def to_utc(written: Written, zone_name: str | None) -> pd.DatetimeIndex:
    """Turn written stamps into UTC instants.

    Parameters
    ----------
    written : Written
        Stamps in the order of the file.
    zone_name : str or None
        Zone of the stamps that carry no offset.

    Returns
    -------
    pandas.DatetimeIndex
        Instants in UTC, in the order given.

    Raises
    ------
    Refused, ManyRefused
        A stamp cannot be read, has neither offset nor zone, does not exist in its zone, or
        could be either of two hours.
    """
    texts = pd.Series([text.strip() for text in written.texts], dtype="object")
    aware = texts.str.contains(_OFFSET, regex=True).to_numpy(dtype=bool)
    stamps = np.full(len(texts), np.datetime64("NaT"), dtype="datetime64[ns]")
    stamps[aware] = _read(texts[aware]).tz_localize(None).to_numpy()
    local = _read(texts[~aware]).tz_localize(None)
    unread = np.isnat(stamps)
    unread[~aware] = local.isna()
    _refuse_lines(unread, written, _UNREAD)
    if not aware.all():
        if zone_name is None:
            _refuse_lines(~aware, written, _ZONELESS)
        utc = _localised(local, str(zone_name), _Rows(written, ~aware))
        stamps[~aware] = utc.tz_localize(None).to_numpy()
    return pd.DatetimeIndex(stamps).tz_localize("UTC")


def _read(texts: "pd.Series[str]") -> pd.DatetimeIndex:
    """Read ISO 8601 stamps; one that cannot be read becomes NaT."""
    stamps = texts.where(texts.str.fullmatch(_STAMP))
    read = pd.to_datetime(stamps, format="ISO8601", utc=True, errors="coerce")
    read = read.where(read.dt.year.between(years.FIRST, years.LAST))
    return pd.DatetimeIndex(read.astype("datetime64[ns, UTC]"))


@dataclass(frozen=True)
class _Rows:
    """Some of the written stamps, so that a fault among them finds its line."""

    written: Written
    some: Mask

    def refuse(self, bad: Mask, fault: _Fault) -> None:
        whole = np.zeros(len(self.some), dtype=bool)
        whole[self.some] = bad
        _refuse_lines(whole, self.written, fault)


def _localised(local: pd.DatetimeIndex, zone_name: str, rows: _Rows) -> pd.DatetimeIndex:
    """Give local stamps as UTC; refuse skipped hours and those that could be either of two."""
    zone(zone_name)
    here = local.tz_localize(zone_name, ambiguous=_all(local), nonexistent="NaT")
    skipped = _Fault(
        f", which the clock of {zone_name} skips", "a time that the clock shows", "Mend the stamp."
    )
    rows.refuse(np.asarray(here.isna()), skipped)
    first = here.tz_convert("UTC")
    second = local.tz_localize(zone_name, ambiguous=~_all(local)).tz_convert("UTC")
    later, clear = _which(local, np.asarray(first != second))
    twice = _Fault(
        f", which the clock of {zone_name} shows twice",
        "an offset that tells which",
        "Write it behind the stamp, as 02:00+01:00.",
    )
    rows.refuse(~clear, twice)
    return first.where(~later, second)


def _all(stamps: pd.DatetimeIndex) -> Mask:
    return np.ones(len(stamps), dtype=bool)


def _which(naive: pd.DatetimeIndex, twice: Mask) -> tuple[Mask, Mask]:
    """Tell which stamps are the second of a pair, and which are clear.

    Of a run of repeated hours (01:00 01:30 01:00 01:30) those after the step back are the
    second. A run without a step back cannot be told.
    """
    later = np.zeros(len(naive), dtype=bool)
    clear = ~twice
    edges = np.flatnonzero(np.diff(np.concatenate([[0], twice.astype(int), [0]])))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        steps = np.flatnonzero(np.diff(naive[start:end].asi8) <= 0)
        if len(steps) == 1:
            later[start + steps[0] + 1 : end] = True
            clear[start:end] = True
    return later, clear


def _refuse_lines(bad: Mask, written: Written, fault: _Fault) -> None:
    """Refuse every marked stamp by its line; do nothing where none is marked."""
    refusals = [
        Refused(
            f"line {written.lines[i]}, hour",
            (written.texts[i] or "nothing") + fault.wrong,
            fault.limit,
            fault.do,
        )
        for i in np.flatnonzero(bad).tolist()
    ]
    raise_all(written.name, refusals, "Mend these stamps.")
