"""Instants as the file keeps them, whole seconds since 1970 in UTC, and as growers read them."""

from datetime import UTC, datetime, timedelta, tzinfo
from functools import lru_cache
from typing import Final

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_SECOND = timedelta(seconds=1)
MONTHS: Final = ("January", "February", "March", "April", "May", "June", "July", "August",
                 "September", "October", "November", "December")


def to_seconds(at: datetime) -> int:
    """Give whole seconds since 1970-01-01 UTC [s], rounded down.

    Raises
    ------
    ValueError
        `at` is naive: it names no time zone.
    """
    if at.tzinfo is None:
        raise ValueError(f"instant without a time zone: {at.isoformat()}")
    return (at - _EPOCH) // _SECOND


@lru_cache(maxsize=4096)  # a round waters many trees at one instant
def from_seconds(seconds: int) -> datetime:
    """Give the aware UTC instant of whole seconds since 1970 [s]."""
    return _EPOCH + timedelta(seconds=seconds)


def day_words(at: datetime, zone: tzinfo) -> str:
    """Give the local day: "10 September 2026"."""
    local = at.astimezone(zone)
    return f"{local.day} {MONTHS[local.month - 1]} {local.year}"


def instant_words(at: datetime, zone: tzinfo) -> str:
    """Give day and clock: "10 September 2026, 07:00"."""
    return f"{day_words(at, zone)}, {at.astimezone(zone):%H:%M}"
