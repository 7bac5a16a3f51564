"""Instants as growers write and read them: local, 24 hours."""

import re
from datetime import UTC, date, datetime, time
from typing import Final
from zoneinfo import ZoneInfo

from advisor.errors import Refused
from advisor.garden.instants import MONTHS, day_words, instant_words

__all__ = ["MONTHS", "day_words", "instant_words", "iso", "parse"]

_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_CLOCK: Final = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")
_INSTANT: Final = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}.*")
NOON: Final = time(12)
YEARS: Final = range(1900, 2101)


def parse(text: str, zone: ZoneInfo, now: datetime, *, day: bool = False) -> datetime:
    """Read an instant.

    Parameters
    ----------
    text : str
        "2026-07-01T07:00+02:00"; without an offset the site's zone counts; "07:00" is today.
    zone : ZoneInfo
        The site's.
    now : datetime
        What the clock shows.
    day : bool
        A day alone will do; it stands for its noon, or for now where that is still to come.

    Returns
    -------
    datetime
        In UTC.

    Raises
    ------
    Refused
        Not an instant, or a local time that the clock shows twice or skips.
    """
    written = text.strip()
    try:
        if _DAY.fullmatch(written):
            on = date.fromisoformat(written)
            _refuse_year(on.year, text)
            return _noon(on, text, zone, now, day)
        if _CLOCK.fullmatch(written):
            clock = time.fromisoformat(written.zfill(5))
            at = datetime.combine(now.astimezone(zone).date(), clock)
        elif _INSTANT.fullmatch(written):
            at = datetime.fromisoformat(written)
        else:
            raise ValueError(text)
        _refuse_year(at.year, text)
        return (_local(at, text, zone) if at.tzinfo is None else at).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        if isinstance(error, Refused):
            raise
        wanted = "a day, or a day and a time" if day else "a day and a time of the clock"
        raise Refused("instant", repr(text), wanted, "Write it as 2026-07-01."
                      if day else "Write it as 2026-07-01T07:00.") from None


def _refuse_year(year: int, text: str) -> None:
    if year not in YEARS:
        raise Refused("instant", repr(text), f"a year from {YEARS[0]} to {YEARS[-1]}",
                      "Check the year.")


def _noon(on: date, text: str, zone: ZoneInfo, now: datetime, allowed: bool) -> datetime:
    if not allowed:
        raise Refused("instant", repr(text), "a day and a time of the clock",
                      f"Add the time: {text.strip()}T07:00.")
    today = on == now.astimezone(zone).date()
    noon = datetime.combine(on, NOON, zone).astimezone(UTC)
    return min(noon, now.astimezone(UTC)) if today else noon


def _local(at: datetime, text: str, zone: ZoneInfo) -> datetime:
    early, late = (at.replace(tzinfo=zone, fold=side) for side in (0, 1))
    if early.utcoffset() == late.utcoffset():
        return early
    back = early.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    how = "shows it twice" if back == at else "skips it"
    raise Refused("instant", repr(text), f"a time that tells which: the clock of {zone.key} {how}",
                  "Add the offset: " + " or ".join(_offset(each) for each in (early, late)) + ".")


def _offset(at: datetime) -> str:
    return f"{at:%z}"[:3] + ":" + f"{at:%z}"[3:5]


def iso(at: datetime, zone: ZoneInfo) -> str:
    """Give an instant for scripts: ISO 8601 with the site's offset, to the second."""
    return at.astimezone(zone).isoformat(timespec="seconds")
