"""Which local day an hour belongs to: the one that holds its midpoint.

The hours of a series are carried on to whole local days at both ends, so that a day begun or
not yet over has its sun, and are cut back to the series at the end. Days of 23, 23.5, 24, 24.5
and 25 hours are days like others.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.errors import Refused

Array = NDArray[np.float64]

HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class LocalDays:
    """Hours of whole local days, and where the series lies in them.

    Attributes
    ----------
    index : pandas.DatetimeIndex
        Starts of the hours, UTC, whole local days.
    inside : slice
        The hours that belong to the series.
    day : array of int
        Number of each hour's day.
    starts : array of int
        First hour of each day.
    dates : pandas.DatetimeIndex
        Local date of each day, without a zone.
    """

    index: pd.DatetimeIndex
    inside: slice
    day: NDArray[np.intp]
    starts: NDArray[np.intp]
    dates: pd.DatetimeIndex

    @classmethod
    def of(cls, hours: "pd.Index[Any]", time_zone: str) -> "LocalDays":
        """Find the local days of an hourly index.

        Raises
        ------
        Refused
            The index is empty, without a zone, or has holes; the time zone is not known.
        """
        utc = _checked(hours)
        zone = _zone(time_zone)
        wide = pd.date_range(utc[0] - 26 * HOUR, utc[-1] + 26 * HOUR, freq=HOUR)
        local = (wide + HOUR / 2).tz_convert(zone).tz_localize(None).normalize()
        before = int(np.argmax(local == local[26]))
        after = len(wide) - int(np.argmax((local == local[-27])[::-1]))
        local = local[before:after]
        change = np.flatnonzero(np.r_[True, local[1:] != local[:-1]])
        lengths = np.diff(np.r_[change, len(local)])
        return cls(
            index=wide[before:after],
            inside=slice(26 - before, 26 - before + len(utc)),
            day=np.repeat(np.arange(len(change)), lengths),
            starts=change,
            dates=pd.DatetimeIndex(local[change], name="date"),
        )

    def pad(self, values: NDArray[Any]) -> Array:
        """Carry hourly values on to whole days, with NaN."""
        wide = np.full(len(self.index), np.nan)
        wide[self.inside] = values
        return wide

    def in_series(self) -> NDArray[np.bool_]:
        """Tell which hours belong to the series."""
        inside = np.zeros(len(self.index), dtype=bool)
        inside[self.inside] = True
        return inside

    def total(self, values: Array) -> Array:
        """Add up each day's hours, unknown ones as nothing."""
        total: Array = np.add.reduceat(np.nan_to_num(values), self.starts)
        return total

    def count(self, which: NDArray[np.bool_]) -> NDArray[np.intp]:
        """Count each day's hours."""
        number: NDArray[np.intp] = np.add.reduceat(which.astype(np.intp), self.starts)
        return number

    def mean(self, values: Array) -> Array:
        """Average each day's known hours; NaN where there is none."""
        number = self.count(~np.isnan(values))
        return np.where(number > 0, self.total(values) / np.maximum(number, 1), np.nan)

    def highest(self, values: Array) -> Array:
        """Give each day's highest known value."""
        top: Array = np.fmax.reduceat(values, self.starts)
        return top

    def lowest(self, values: Array) -> Array:
        """Give each day's lowest known value."""
        bottom: Array = np.fmin.reduceat(values, self.starts)
        return bottom

    def day_of_year(self) -> Array:
        """Number each local day within its year, 1 to 366."""
        return self.dates.day_of_year.to_numpy(dtype=np.float64)


def _checked(hours: "pd.Index[Any]") -> pd.DatetimeIndex:
    if not isinstance(hours, pd.DatetimeIndex) or not len(hours):
        raise Refused(
            "hourly weather", "an empty table", "at least one hour", "Read a weather file first."
        )
    if hours.tz is None:
        raise Refused(
            "hours of the weather",
            f"{hours[0]} without a time zone",
            "instants in UTC",
            "Say which zone the stamps are in.",
        )
    steps = np.asarray(hours[1:] - hours[:-1])
    odd = np.flatnonzero(steps != np.timedelta64(1, "h"))
    if odd.size:
        at = hours[int(odd[0]) + 1]
        raise Refused(
            "hours of the weather",
            f"a step to {at.isoformat()}",
            "one hour after the other",
            "Bring the series to whole hours first.",
        )
    return hours.tz_convert("UTC")


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(
            "time zone", repr(name), "a name such as Europe/Berlin", "Check its spelling."
        ) from None
