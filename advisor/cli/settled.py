"""Hours worked out once stay as they are while the weather before them does.

A garden may hold ten years; each morning brings a day. What was worked out up to a settled
midnight some weeks ago is kept while a digest of the weather before it holds, and only what
follows is worked out again, with the same digits.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from advisor.garden.records import Site

if TYPE_CHECKING:
    from advisor.garden.store import Garden
    from advisor.jobs.air import Air

SETTLED: Final = timedelta(days=60)  # services correct what they said for some days [J]
BEFORE: Final = timedelta(days=3)  # worked out again and left out: a night looks back at its day
Weather = Mapping[str, NDArray[Any]]


def midnight(site: Site, at: datetime) -> datetime:
    """Give the settled local midnight at an instant."""
    local = (at - SETTLED).astimezone(site.zone)
    return local.replace(hour=0, minute=0, second=0, microsecond=0).astimezone(UTC)


def digest(weather: Weather, before: datetime) -> str:
    """Give the digest of all weather before an instant."""
    count = int(np.searchsorted(weather["hour"], int(before.timestamp())))
    made = hashlib.blake2b(digest_size=8)
    for name in sorted(weather):
        column = weather[name][:count]
        words = column.dtype == object
        made.update("\n".join(map(str, column)).encode() if words else column.tobytes())
    return made.hexdigest()


def since(weather: Weather, start: datetime) -> dict[str, NDArray[Any]]:
    """Give the weather from some days before an instant on."""
    first = int(np.searchsorted(weather["hour"], int((start - BEFORE).timestamp())))
    return {name: column[first:] for name, column in weather.items()}


@dataclass(frozen=True, eq=False)
class Joined:
    """What was kept up to an instant, and what was worked out from there."""

    hour: NDArray[np.int64]
    first_new: int
    skipped: int

    @classmethod
    def at(cls, start: datetime, kept: NDArray[np.int64], made: NDArray[np.int64]) -> "Joined":
        """Join at an instant that both hold."""
        stamp = int(start.timestamp())
        first, skipped = int(np.searchsorted(kept, stamp)), int(np.searchsorted(made, stamp))
        return cls(np.concatenate([kept[:first], made[skipped:]]), first, skipped)

    def values(self, kept: Weather, made: Weather) -> dict[str, NDArray[Any]]:
        """Give columns: kept ones, then those made."""
        return {name: np.concatenate([kept[name][:self.first_new], column[self.skipped:]])
                for name, column in made.items()}


def days_joined(garden: "Garden", site: Site, start: datetime, worked: "Air") -> Weather:
    """Give the days kept before a local midnight, and those made from there."""
    day = start.astimezone(site.zone).date()
    old = garden.days(date(1850, 1, 1), day - timedelta(days=1))
    new = worked.days["date"] >= np.datetime64(day, "D")
    return {name: np.concatenate([old[name], column[new]])
            for name, column in worked.days.items()}
