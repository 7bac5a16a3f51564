"""Ways in which weather that is not known may go: one a member, the same for all trees.

Where a service gives many forecasts, each is a way; elsewhere a forecast is given the errors
that forecasts have so many days ahead, and beyond it days of past years around the same date
stand in. Everything is drawn from fixed seeds, a day at a time, so that a day can be replayed.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance.members import MEMBERS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SEED: Final = 0x57617472
SD_GUESSED: Final = 0.40  # of ln ET0 on a day that last week stands in for [J; .3-.5]
FACTOR_LIMITS: Final = (0.05, 5.0)  # of a way's ET0 on the expected one [J]
#: Rain foretold may not come: on the first day, more for each further day, and at most [J];
#: half to twice. Services' own verifications commonly give a tenth to a quarter on the first.
DRY_FIRST, DRY_A_DAY, DRY_MOST = 0.15, 0.05, 0.60
SD_LN_RAIN: Final = 0.50  # of what falls where it does come [J; .3-.8]
#: Past years stand in with days so far from the date [d]; issue by issue five ways a year [J].
AROUND_D: Final = (0, -5, 5, -10, 10)
YEAR_D: Final = 365.2425

_NORMAL = NormalDist()
_STRATA = np.array([_NORMAL.inv_cdf((i + 0.5) / MEMBERS) for i in range(MEMBERS)])


@dataclass(frozen=True, eq=False)
class Foretold:
    """Many forecasts of one service, joined to the members.

    Attributes
    ----------
    first : int
        Start of the first hour [s since 1970 UTC].
    rain_mm : (hours, forecasts) array
        Rain in the open [mm].
    factor : (hours, forecasts) array
        Each one's ET0 of the day over that of the series the garden goes by [-].
    """

    first: int
    rain_mm: Floats
    factor: Floats


@dataclass(frozen=True, eq=False)
class Ways:
    """The ways of a sky, member j meeting way j.

    Attributes
    ----------
    factor : (days, members) array
        On ET0 of each of the sky's dates, 1 where its weather is known [-].
    first : int
        Hour of the sky from which the rain of the ways may differ.
    rain_mm : (hours, members) array
        Rain in the open from there [mm].
    """

    factor: Floats
    first: int
    rain_mm: Floats

    def digest(self, before: int, days: int) -> bytes:
        """Give the digest of the ways before an hour, and of so many days."""
        rain = self.rain_mm[:max(before - self.first, 0)]
        made = hashlib.blake2b(rain.tobytes(), digest_size=16)
        made.update(self.factor[:days][np.any(self.factor[:days] != 1.0, axis=1)].tobytes())
        return made.digest()

    @cached_property
    def most_mm(self) -> Floats:
        """The most rain of any way in each hour [mm]."""
        return np.asarray(self.rain_mm.max(axis=1, initial=0.0))


def drawn(day_number: int) -> tuple[Floats, Floats, Floats]:
    """Draw a day's errors, the same whenever it is asked for.

    Parameters
    ----------
    day_number : int
        Local day, counted from 1970-01-01.

    Returns
    -------
    demand, amount, misses : (members,) arrays
        Standard normal values, one from each stratum, for demand and for the amount of rain;
        evenly spread chances below which rain does not come.
    """
    source = np.random.Generator(np.random.Philox(key=SEED, counter=[0, 0, 0, day_number]))
    demand, amount, misses = (source.permutation(MEMBERS) for _ in range(3))
    return _STRATA[demand], _STRATA[amount], (misses + 0.5) / MEMBERS


def demand_factor(day_number: int, sd: float) -> Floats:
    """Give each way's factor on a day's demand, of median one [-]: (members,)."""
    return np.asarray(np.exp(sd * drawn(day_number)[0]))


def rain_factor(day_number: int, lead_d: float) -> Floats:
    """Give each way's factor on a day's rain that was foretold so long ahead [-]: (members,).

    In some ways it does not come; in the others it is as much in the median.
    """
    _, amount, misses = drawn(day_number)
    misses_below = min(DRY_FIRST + DRY_A_DAY * lead_d, DRY_MOST)
    return np.where(misses < misses_below, 0.0, np.exp(SD_LN_RAIN * amount))


def past_starts(known: NDArray[np.bool_], first: int, length: int, now: int) -> list[int]:
    """Give where in the record the same days of past years begin, the nearest year first.

    Parameters
    ----------
    known : (hours,) bool array
        Hours of the record whose weather is known.
    first : int
        Index of the first hour that is to be stood in for.
    length : int
        How many hours.
    now : int
        Index of the present hour: days of this season do not stand in.

    Returns
    -------
    list of int
        Indices of first hours, by whole days: each `AROUND_D` of each past year that the
        record holds without a hole.
    """
    starts: list[int] = []
    if length <= 0:
        return starts
    holes = np.concatenate([[0], np.cumsum(~known)])
    years = 1
    while (of_year := first - 24 * round(years * YEAR_D)) + 24 * max(AROUND_D) >= 0:
        for around in AROUND_D:
            start = of_year + 24 * around
            end = start + length
            if start >= 0 and end <= min(now, known.size) and holes[end] == holes[start]:
                starts.append(start)
        years += 1
    return starts


def pick(starts: Sequence[int]) -> Ints:
    """Give which past start each member meets: all as often as can be, in a fixed order."""
    order = np.random.Generator(np.random.Philox(key=SEED)).permutation(MEMBERS)
    return np.asarray(np.array(starts, dtype=np.int64)[order % len(starts)])


def hours_of(values: Floats, starts: Ints, length: int) -> Floats:
    """Give a column's hours from each start: (length, starts)."""
    return np.asarray(values[starts[None, :] + np.arange(length)[:, None]])


def day_sums(values: Floats, day: Ints, days: int) -> Floats:
    """Add hours up to days: (days, columns)."""
    sums = np.zeros((days, values.shape[1]))
    np.add.at(sums, day, values)
    return sums


@dataclass(frozen=True, eq=False)
class Coming:
    """What the sky expects over its hours, and where it may go otherwise.

    Attributes
    ----------
    first : int
        Start of the first hour [s since 1970 UTC].
    day : (hours,) array of int
        Index of each hour's local day; `dates` (days,) are those days.
    et0_mm, rain_mm : (hours,) arrays
        Expected ET0 of the site, any place or sum of places, and rain [mm].
    sd : (hours,) array
        Standard deviation of ln ET0 of the hour's day: 0 where it is known.
    lead_d : (hours,) array
        How long before it an hour was foretold [d]; 0 where it is known.
    today : int
        First hour of the local day of now.
    """

    first: int
    day: Ints
    dates: NDArray[np.datetime64]
    et0_mm: Floats
    rain_mm: Floats
    sd: Floats
    lead_d: Floats
    today: int


@dataclass(frozen=True, eq=False)
class Past:
    """Days of past years that stand in from hour `first` of the sky: (hours, members)."""

    first: int
    et0_mm: Floats
    rain_mm: Floats


def ways_of(coming: Coming, foretold: Foretold | None, past: Past | None) -> Ways:
    """Give the ways in which what is not known may go.

    Parameters
    ----------
    coming : Coming
    foretold : Foretold, optional
        Forecasts of one service, used in the hours that are not known.
    past : Past, optional
        Past years, used beyond the forecast.
    """
    days = coming.dates.size
    sd = np.zeros(days)
    np.maximum.at(sd, coming.day, coming.sd)
    factor = np.ones((days, MEMBERS))
    number = coming.dates.astype(np.int64)
    for i in np.flatnonzero(sd > 0.0):
        factor[i] = demand_factor(int(number[i]), float(sd[i]))
    here = slice(coming.today, None)
    et0, rain = _ways_today(coming, factor, here)
    if foretold is not None:
        _lay_foretold(coming, foretold, et0, rain)
    if past is not None:
        begin = max(past.first, coming.today)
        et0[begin - coming.today:] = past.et0_mm[begin - past.first:]
        rain[begin - coming.today:] = past.rain_mm[begin - past.first:]
    day = coming.day[here]
    if day.size:
        first = int(day[0])
        expected = np.bincount(day - first, coming.et0_mm[here])
        sums = day_sums(et0, day - first, expected.size)
        ratio = np.ones_like(sums)
        np.divide(sums, expected[:, None], out=ratio, where=expected[:, None] > 0.0)
        factor[first:first + expected.size] = np.clip(ratio, *FACTOR_LIMITS)
    return Ways(factor, coming.today, rain)


def _ways_today(coming: Coming, factor: Floats, here: slice) -> tuple[Floats, Floats]:
    """Give every way's hours from today on, forecasts with the errors they commonly have."""
    unknown = coming.sd[here] > 0.0
    et0 = np.repeat(coming.et0_mm[here][:, None], MEMBERS, axis=1)
    rain = np.repeat(coming.rain_mm[here][:, None], MEMBERS, axis=1)
    day = coming.day[here]
    et0[unknown] *= factor[day[unknown]]
    wet = unknown & (coming.rain_mm[here] > 0.0)
    lead = np.zeros(coming.dates.size)
    np.maximum.at(lead, day, coming.lead_d[here])
    for i in np.flatnonzero(np.bincount(day[wet])):  # np.unique would load masked arrays
        rain[wet & (day == i)] *= rain_factor(int(coming.dates[i].astype(np.int64)), lead[i])
    return et0, rain


def _lay_foretold(coming: Coming, foretold: Foretold, et0: Floats, rain: Floats) -> None:
    """Lay one service's many forecasts over the hours that are not known."""
    start = (foretold.first - coming.first) // 3600
    begin = max(start, coming.today)
    end = min(start + len(foretold.rain_mm), coming.day.size)
    if begin >= end:
        return
    theirs, ours = slice(begin - start, end - start), slice(begin - coming.today,
                                                             end - coming.today)
    which = np.arange(MEMBERS) % foretold.rain_mm.shape[1]
    use = ((coming.sd[begin:end] > 0.0)[:, None]
           & np.isfinite(foretold.rain_mm[theirs][:, which])
           & np.isfinite(foretold.factor[theirs][:, which]))
    expected = coming.et0_mm[begin:end][:, None]
    et0[ours] = np.where(use, expected * foretold.factor[theirs][:, which], et0[ours])
    rain[ours] = np.where(use, foretold.rain_mm[theirs][:, which], rain[ours])
