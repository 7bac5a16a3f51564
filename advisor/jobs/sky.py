"""The weather over the garden as the balance takes it: every hour, known or stood in for.

Past the newest known hour days of past years around the same date stand in, where the record
holds any; else the last week is carried on to eight days from now (past the next weekly
round), hour of the day by hour of the day, without rain and with a wider spread. How it may
go otherwise stands in `ways`.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.jobs.ways import (
    SD_GUESSED,
    Coming,
    Foretold,
    Past,
    Ways,
    hours_of,
    past_starts,
    pick,
    ways_of,
)

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

HOUR_S: Final = 3600
CARRY_ON_DAYS: Final = 8  # [J] how long last week stands in for weather that is not known
STALE_DAYS: Final = 60  # [J] weather older than this says nothing of today
LIKE_DAYS: Final = 7  # the days that stand in [J]


@dataclass(frozen=True, eq=False)
class Hours:
    """Stored hours without holes: first hour [s since 1970 UTC], site's air, places' ET0."""

    first: int
    temp_c: Floats
    rain_mm: Floats
    et0_mm: Mapping[str, Floats]
    lead_d: Floats | None = None  # how long before it an hour was foretold [d]; known where None
    sd: Floats | None = None  # standard deviation of ln ET0 for that [-]
    foretold: Foretold | None = None  # many forecasts of one service

    def since(self, index: int) -> "Hours":
        """Give the same without the hours before an index."""
        if index == 0:
            return self
        part = slice(index, None)
        return replace(self, first=self.first + HOUR_S * index, temp_c=self.temp_c[part],
                       rain_mm=self.rain_mm[part],
                       et0_mm={name: et0[part] for name, et0 in self.et0_mm.items()},
                       lead_d=None if self.lead_d is None else self.lead_d[part],
                       sd=None if self.sd is None else self.sd[part])

    @cached_property
    def known(self) -> Bools:
        """The hours of which temperature and every place's ET0 are known."""
        known = ~np.isnan(self.temp_c)
        for et0 in self.et0_mm.values():
            known &= ~np.isnan(et0)
        return known


@dataclass(frozen=True, eq=False)
class Sky:
    """Weather for all places over consecutive hours, gaps filled.

    Attributes
    ----------
    first : int
        Start of the first hour [s since 1970 UTC].
    temp_c, rain_mm : (hours,) arrays
        Air temperature [°C] and rain in the open [mm].
    et0_mm : mapping of place to (hours,) array
        Reference evapotranspiration of each place [mm].
    guessed : (hours,) bool array
        Hours that are stood in for, not known.
    sd : (hours,) array
        Standard deviation of ln ET0 of the hour's day [-], 0 where it is known.
    day : (hours,) array
        Index of each hour's local day, by its midpoint.
    dates : (days,) array of datetime64[D]
    tmean_c : (days,) array
        Mean of the day's hours [°C].
    newest : datetime or None
        End of the last known hour.
    ways : Ways, optional
        How what is not known may go, member by member; as expected where None.
    past, many : int
        Past days that stand in beyond the newest hour; forecasts of one service laid over.
    """

    first: int
    temp_c: Floats
    rain_mm: Floats
    et0_mm: Mapping[str, Floats]
    guessed: Bools
    sd: Floats
    day: NDArray[np.int64]
    dates: NDArray[np.datetime64]
    tmean_c: Floats
    newest: datetime
    rain_unknown: Bools
    zone: ZoneInfo
    ways: Ways | None = None
    past: int = 0
    many: int = 0
    almanacs: dict[float, Any] = field(default_factory=dict, init=False, repr=False)  # made of it
    _digests: dict[tuple[str, int], bytes] = field(default_factory=dict, init=False, repr=False)

    @property
    def hours(self) -> int:
        """How many hours there are."""
        return self.temp_c.size

    def index(self, at: datetime) -> int:
        """Give the index of the hour in which an instant lies (it may be outside)."""
        return int((at.timestamp() - self.first) // HOUR_S)

    def instant(self, index: int) -> datetime:
        """Give the start of an hour."""
        return datetime.fromtimestamp(self.first + index * HOUR_S, UTC)

    def date(self, index: int) -> date:
        """Give the local day to which an hour counts, or the nearest hour there is."""
        day: date = self.dates[self.day[min(max(index, 0), self.hours - 1)]].item()
        return day

    def midnight(self, at: datetime) -> datetime:
        """Give the start of the first hour that counts to the local day of an instant."""
        index = min(max(self.index(at), 0), self.hours - 1)
        return self.instant(int(np.searchsorted(self.day, self.day[index])))

    def same_hour(self, one: datetime, other: datetime) -> bool:
        """Whether two instants lie inside an hour, of one local day; its first does not."""
        inside = all((each.timestamp() - self.first) % HOUR_S for each in (one, other))
        same_day = one.astimezone(self.zone).date() == other.astimezone(self.zone).date()
        return inside and self.index(one) == self.index(other) and same_day

    def digest(self, place: str, before: int) -> bytes:
        """Give the digest of all the weather of a place before an hour's index."""
        key = (place, before)
        if key not in self._digests:
            made = hashlib.blake2b(digest_size=16)
            for column in (self.temp_c, self.rain_mm, self.et0_mm[place], self.guessed, self.sd):
                made.update(np.ascontiguousarray(column[:max(before, 0)]).data)
            if self.ways is not None and before > 0:
                days = int(self.day[min(before, self.hours) - 1]) + 1
                made.update(self.ways.digest(before, days))
            made.update(str(self.first).encode())
            self._digests[key] = made.digest()
        return self._digests[key]


def sky_of(hours: Hours, zone_name: str, at: datetime, until: datetime) -> Sky:
    """Put the stored hours in order up to an instant, and carry them on where they end.

    Parameters
    ----------
    hours : Hours
        At least one hour; NaN where nothing is known.
    zone_name : str
        Time zone of the site.
    at : datetime
        Now: what is carried on ends CARRY_ON_DAYS after it, or after the newest hour where
        that is later.
    until : datetime
        The end wanted.

    Raises
    ------
    Refused
        No weather at all up to now, or none for STALE_DAYS.
    """
    zone = ZoneInfo(zone_name)
    now = int((at.timestamp() - hours.first) // HOUR_S)
    begins = _begins(hours.known, now)
    record, hours, now = hours, hours.since(begins), now - begins
    known = hours.known
    last = int(np.flatnonzero(known)[-1]) + 1 if known.any() else 0
    _refuse_absent(now, last, hours.first, zone)
    wanted = int(np.ceil((until.timestamp() - hours.first) / HOUR_S))
    past = past_starts(record.known, begins + last, wanted - last, begins + now)
    size = wanted if past else min(wanted, max(last, now) + 24 * CARRY_ON_DAYS)
    starts = pick(past) if past else None
    temp = _stood_in(record.temp_c, hours.temp_c[:last], starts, size)
    et0 = {place: np.maximum(_stood_in(record.et0_mm[place], column[:last], starts, size), 0.0)
           for place, column in hours.et0_mm.items()}
    day, dates = local_days(hours.first, size, zone)
    rain = _fit(hours.rain_mm[:last], size)
    guessed = np.ones(size, dtype=bool)
    guessed[:min(last, size)] = ~known[:min(last, size)]
    sd = np.where(guessed, SD_GUESSED, _up_to(hours.sd, last, size))
    expected = Coming(hours.first, day, dates, np.sum(list(et0.values()), axis=0),
                      np.nan_to_num(rain), sd, _up_to(hours.lead_d, last, size),
                      int(np.searchsorted(day, day[min(max(now, 0), size - 1)])))
    ways = ways_of(expected, hours.foretold, _past(record, starts, last, size))
    return Sky(
        first=hours.first, temp_c=temp, rain_mm=np.nan_to_num(rain), et0_mm=et0,
        guessed=guessed, sd=sd, day=day, dates=dates, tmean_c=_day_means(day, temp),
        newest=datetime.fromtimestamp(hours.first + last * HOUR_S, UTC),
        rain_unknown=np.isnan(rain), zone=zone, ways=ways, past=len(past),
        many=_many(hours.foretold, at),
    )


def _begins(known: Bools, now: int) -> int:
    """Give the hour after the last hole before now that is too long to be carried over."""
    there = np.flatnonzero(known[:max(now, 0)])
    gaps = np.flatnonzero(np.diff(there) > 24 * STALE_DAYS)
    return int(there[gaps[-1] + 1]) if gaps.size else 0


def _stood_in(record: Floats, known: Floats, starts: NDArray[np.int64] | None,
              size: int) -> Floats:
    """Fill holes, and go on with the mean of past years, else with last week carried on."""
    if starts is None or size <= known.size:
        return _carry_on(known, size)
    like = hours_of(record, starts, size - known.size).mean(axis=1)
    return np.concatenate([_carry_on(known, known.size), like])


def _past(record: Hours, starts: NDArray[np.int64] | None, last: int, size: int) -> Past | None:
    """Give the days of past years that stand in, a column a member."""
    if starts is None:
        return None
    et0 = sum(hours_of(column, starts, size - last) for column in record.et0_mm.values())
    return Past(last, np.asarray(et0), np.nan_to_num(hours_of(record.rain_mm, starts, size - last)))


def _many(foretold: Foretold | None, at: datetime) -> int:
    """Count the forecasts of one service that reach beyond now."""
    if foretold is None or foretold.first + HOUR_S * len(foretold.rain_mm) <= at.timestamp():
        return 0
    return int(foretold.rain_mm.shape[1])


def _up_to(values: Floats | None, last: int, size: int) -> Floats:
    """Give a column up to its newest hour, nothing where there is none."""
    column = np.zeros(size)
    if values is not None:
        column[:min(last, size)] = values[:min(last, size)]
    return column


def _refuse_absent(now: int, last: int, first: int, zone: ZoneInfo) -> None:
    """Refuse to judge where the weather begins later than now, or ended long ago."""
    def said(index: int) -> str:
        return f"{datetime.fromtimestamp(first + index * HOUR_S, zone):%d %B %Y %H:%M}"

    if now < 0 or last == 0:
        raise Refused("weather", f"it begins on {said(0)}", f"an hour before {said(now)}",
                      "Add a file that covers the days before (advisor weather add FILE).")
    if now - last > 24 * STALE_DAYS:
        raise Refused("weather", f"it ends on {said(last)}",
                      f"at most {STALE_DAYS} days before {said(now)}",
                      "Add newer weather (advisor weather add FILE).")


def local_days(first: int, hours: int, zone: ZoneInfo) -> tuple[NDArray[np.int64],
                                                                NDArray[np.datetime64]]:
    """Give each hour's local day by its midpoint, as an index into the dates.

    Parameters
    ----------
    first : int
        Start of the first hour [s since 1970 UTC].
    hours : int
        How many.
    zone : ZoneInfo
    """
    middle = first + HOUR_S * np.arange(hours) + HOUR_S // 2
    offset = np.empty(hours)
    for start in range(0, hours, 24):
        stop = min(start + 24, hours) - 1
        ends = [_offset_s(int(middle[i]), zone) for i in (start, stop)]
        offset[start:stop + 1] = ends[0] if ends[0] == ends[1] else [
            _offset_s(int(second), zone) for second in middle[start:stop + 1]]
    number = np.floor((middle + offset) / 86400.0).astype(np.int64)
    # a zone may skip a date altogether: it stays in `dates`, without hours
    return number - number[0], np.arange(number[0], number[-1] + 1).astype("datetime64[D]")


def _day_means(day: NDArray[np.int64], temp_c: Floats) -> Floats:
    """Give the mean of each day's hours [°C]; of a date that a zone skipped, the day before's."""
    count = np.bincount(day)
    means = np.bincount(day, temp_c) / np.maximum(count, 1)
    skipped = np.flatnonzero(count == 0)
    means[skipped] = means[skipped - 1]
    return means


def _offset_s(second: int, zone: ZoneInfo) -> float:
    offset = datetime.fromtimestamp(second, zone).utcoffset()
    return (offset or timedelta()).total_seconds()


def _fit(values: Floats, size: int) -> Floats:
    fitted = np.full(size, np.nan)
    fitted[:min(values.size, size)] = values[:size]
    return fitted


def _carry_on(values: Floats, size: int) -> Floats:
    """Fill holes and what comes after with the same hours of the days before, averaged."""
    filled = _fit(values, size)
    for i in np.flatnonzero(np.isnan(filled)):
        start = max(i - 24 * LIKE_DAYS, i % 24)
        like = filled[start:i:24]
        like = like[~np.isnan(like)]
        if like.size:
            filled[i] = like.mean()
    if np.isnan(filled).any():  # a series that begins with a hole
        known = filled[~np.isnan(filled)]
        filled[np.isnan(filled)] = known.mean() if known.size else 0.0
    return filled
