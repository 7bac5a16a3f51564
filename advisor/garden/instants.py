"""Instants as the file keeps them: whole seconds since 1970, in UTC."""

from datetime import UTC, datetime, timedelta
from functools import lru_cache

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_SECOND = timedelta(seconds=1)


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
