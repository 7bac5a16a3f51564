"""The weather of an absence: the ways it may go, and the same days of past years."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance.members import MEMBERS
from advisor.errors import Refused
from advisor.jobs.sky import HOUR_S, Hours, Sky, sky_of
from advisor.jobs.ways import (
    FACTOR_LIMITS,
    YEAR_D,
    Ways,
    day_sums,
    hours_of,
    past_starts,
    pick,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ENOUGH_YEARS: Final = 5  # with fewer, days further from the date stand in as well
#: Student's t at 95 % by years in store, two on [S]; the last holds for all beyond.
STUDENT_95: Final = (6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812, 1.796,
                     1.782, 1.771, 1.761, 1.753, 1.746, 1.740, 1.734, 1.729)
NORMAL_95: Final = 1.645  # the same of the normal distribution [S]
WIDEST: Final = 2.0  # by which few years widen how demand may differ, at most [J]
LEAST_MM: Final = 1e-6  # of ET0 in a day: against division by zero [J]
FURTHER_D: Final = (-5, 0, 5)  # moves of the days that stand in: to 15 days from the date [d] [J]


@dataclass(frozen=True, eq=False)
class AwaySky:
    """The weather of an absence.

    Attributes
    ----------
    sky : Sky
        To the return, with the ways it may go.
    record : Hours
        All that is stored, whole years of it perhaps.
    now : int
        The present hour in the record.
    years : int
        Past years in store that hold the days of the absence.
    stood_in : bool
        Whether past years stand in for some of it.
    """

    sky: Sky
    record: Hours
    now: int
    years: int
    stood_in: bool

    def in_record(self, index: int) -> int:
        """Give where an hour of the sky lies in the record."""
        return index + (self.sky.first - self.record.first) // HOUR_S


def away_sky(record: Hours, zone_name: str, at: datetime, start: datetime,
             until: datetime) -> AwaySky:
    """Give the weather from now to a return.

    Parameters
    ----------
    record : Hours
    zone_name : str
    at : datetime
        Now.
    start, until : datetime
        Departure and return.

    Raises
    ------
    Refused
        The weather in store does not reach so far.
    """
    sky = sky_of(record, zone_name, at, until)
    if sky.index(until) > sky.hours or sky.hours * HOUR_S + sky.first < until.timestamp():
        raise Refused("weather", f"known or to be guessed up to {_said(sky)}",
                      f"to the return on {until.astimezone(sky.zone):%d %B %Y}",
                      "Add the weather of past years (advisor weather past), or ask nearer the "
                      "time.")
    now = int((at.timestamp() - record.first) // HOUR_S)
    made = AwaySky(sky, record, now, 0, sky.newest < until)
    years = len({year for year, _ in windows(made, sky.index(start), 24)})
    made = replace(made, years=years)
    if not made.stood_in or not years:
        return made
    made = _widened(made) if years < ENOUGH_YEARS else made
    last = min(sky.index(sky.newest), sky.hours)
    return replace(made, sky=with_reserve(made.sky, last, years))


def _said(sky: Sky) -> str:
    return f"{sky.instant(sky.hours).astimezone(sky.zone):%d %B %Y}"


def windows(away: AwaySky, index: int, length: int) -> list[tuple[int, int]]:
    """Give past year (as years before) and first hour in the record of each window.

    Parameters
    ----------
    away : AwaySky
    index : int
        Hour of the sky from which past years are wanted.
    length : int
        How many hours of it.
    """
    first = away.in_record(index)
    starts = past_starts(away.record.known, first, length, away.now)
    return [(round((first - start) / (24.0 * YEAR_D)), start) for start in starts]


def _widened(away: AwaySky) -> AwaySky:
    """Let days further from the date stand in too, where there are few past years."""
    sky = away.sky
    last = min(sky.index(sky.newest), sky.hours)
    first, length = away.in_record(last), sky.hours - last
    starts = sorted({start for moved in FURTHER_D for start in past_starts(
        away.record.known, first + 24 * moved, length, away.now)})
    return replace(away, sky=with_past(away, pick(starts), last)) if starts else away


def with_past(away: AwaySky, starts: Ints, index: int) -> Sky:
    """Give the sky with other past hours from an hour on, a start in the record a way.

    Parameters
    ----------
    away : AwaySky
    starts : (members,) array of int
    index : int
        First hour that they replace; days that it divides keep the demand they had.
    """
    sky, length = away.sky, away.sky.hours - index
    before = sky.ways
    if before is None or index < before.first or length <= 0:
        return sky
    rain = before.rain_mm.copy()
    rain[index - before.first:] = np.nan_to_num(hours_of(away.record.rain_mm, starts, length))
    names = [name for name in sky.et0_mm if name in away.record.et0_mm]
    past = np.sum([hours_of(away.record.et0_mm[name], starts, length) for name in names], axis=0)
    expected = np.sum([sky.et0_mm[name][index:] for name in names], axis=0)
    day = sky.day[index:] - sky.day[index]
    days = int(day[-1]) + 1
    sums, mean = day_sums(past, day, days), np.bincount(day, expected, days)
    whole = np.flatnonzero(mean > 0.0)
    whole = whole[(whole > 0) | (index == int(np.searchsorted(sky.day, sky.day[index])))]
    factor = before.factor.copy()
    factor[sky.day[index] + whole] = np.clip(sums[whole] / mean[whole, None], *FACTOR_LIMITS)
    return replace(sky, ways=Ways(factor, before.first, rain))


def widening(years: int) -> float:
    """Give by how much wider than the years in store a year to come may be [-].

    A new value of a normal variable of which n values were seen lies within t √(1 + 1/n) of
    their mean, in place of the normal's z: the prediction interval of Student's t.

    Parameters
    ----------
    years : int
        In store.
    """
    if years < 2:
        return WIDEST
    t = STUDENT_95[min(years - 2, len(STUDENT_95) - 1)]
    return min(t * math.sqrt(1.0 + 1.0 / years) / NORMAL_95, WIDEST)


def with_reserve(sky: Sky, index: int, years: int) -> Sky:
    """Give the sky whose demand differs more from way to way, as few years show too little.

    No day asks more than the one that asks most among all days of all ways: sun and air set a
    bound.

    Parameters
    ----------
    sky : Sky
    index : int
        Hour from whose next day on past years stand in.
    years : int
        In store.
    """
    if sky.ways is None or index >= sky.hours:
        return sky
    factor = sky.ways.factor.copy()
    days = slice(int(sky.day[index]) + 1, None)
    asked = np.bincount(sky.day, np.sum(list(sky.et0_mm.values()), axis=0), sky.dates.size)
    seen, asked = factor[days], np.maximum(asked[days, None], LEAST_MM)
    if not seen.size:
        return sky
    middle = seen.mean(axis=1, keepdims=True)
    wider = np.minimum(middle + widening(years) * (seen - middle), (seen * asked).max() / asked)
    factor[days] = np.clip(wider, *FACTOR_LIMITS)
    return replace(sky, ways=Ways(factor, sky.ways.first, sky.ways.rain_mm))


def every_year(away: AwaySky, index: int) -> tuple[Sky, Ints, Ints]:
    """Give the sky under which each way is a window of a past year from a midnight on.

    Parameters
    ----------
    away : AwaySky
    index : int
        The midnight before the departure.

    Returns
    -------
    Sky
    years, starts : (k,) arrays of int
        How many years before, and the first hour in the record, of the first k ways; the rest
        repeats them.
    """
    found = _spread(windows(away, index, away.sky.hours - index))
    if not found:
        return away.sky, np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    lanes = [found[j % len(found)][1] for j in range(MEMBERS)]
    sky = with_past(away, np.array(lanes, dtype=np.int64), index)
    years, starts = (np.array(column, dtype=np.int64) for column in zip(*found, strict=True))
    return sky, years, starts


def _spread(found: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Give as many windows as there are ways, each year with as many as the others."""
    turns: dict[int, int] = {}
    ranked = []
    for year, start in found:
        turns[year] = turns.get(year, 0) + 1
        ranked.append((turns[year], year, start))
    kept = sorted(ranked)[:MEMBERS]
    return sorted((year, start) for _, year, start in kept)
