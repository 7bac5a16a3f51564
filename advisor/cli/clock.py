"""Instants as growers write and read them: local, 24 hours."""

import re
from datetime import UTC, date, datetime, time
from typing import Final
from zoneinfo import ZoneInfo

from advisor.errors import Refused

_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_CLOCK: Final = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")
_INSTANT: Final = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}.*")
MONTHS: Final = ("January", "February", "March", "April", "May", "June", "July", "August",
                 "September", "October", "November", "December")
NOON: Final = time(12)


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
            return _noon(date.fromisoformat(written), text, zone, now, day)
        if _CLOCK.fullmatch(written):
            clock = time.fromisoformat(written.zfill(5))
            at = datetime.combine(now.astimezone(zone).date(), clock)
        elif _INSTANT.fullmatch(written):
            at = datetime.fromisoformat(written)
        else:
            raise ValueError(text)
        return (_local(at, text, zone) if at.tzinfo is None else at).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        if isinstance(error, Refused):
            raise
        raise Refused("instant", repr(text), "a day and a time of the clock",
                      "Write it as 2026-07-01T07:00.") from None


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
    raise Refused("instant", repr(text), f"the clock of {zone.key} {how}",
                  "Add the offset: " + " or ".join(_offset(each) for each in (early, late)) + ".")


def _offset(at: datetime) -> str:
    return f"{at:%z}"[:3] + ":" + f"{at:%z}"[3:5]


def iso(at: datetime, zone: ZoneInfo) -> str:
    """Give an instant for scripts: ISO 8601 with the site's offset, to the second."""
    return at.astimezone(zone).isoformat(timespec="seconds")


def day_words(at: datetime, zone: ZoneInfo) -> str:
    """Give the local day: "10 September 2026"."""
    local = at.astimezone(zone)
    return f"{local.day} {MONTHS[local.month - 1]} {local.year}"


def instant_words(at: datetime, zone: ZoneInfo) -> str:
    """Give day and clock: "10 September 2026, 07:00"."""
    return f"{day_words(at, zone)}, {at.astimezone(zone):%H:%M}"

