"""What threatens a recovering tree: rain that would soak it, frost, heat and wind."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout
from advisor.jobs.beside import A_DAY_H, FROST_C, HEAVY_L, HOT_C, WET_HOUR_MM
from advisor.jobs.carry import advance
from advisor.jobs.describe import WIND
from advisor.jobs.followed import Followed
from advisor.jobs.potting.window import daily
from advisor.jobs.recovery import Recovery
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Kind = Literal["rain", "frost", "heat", "wind"]

SOAKED_D: Final = 1.0  # rain that puts the drying back by more is told [d] [J]
CHANCE: Final = 0.30  # of that, from which it is told [J]
WAYS: Final = 0.10  # share of the ways in which an hour must be wet to count to a spell [J]
MOST_D: Final = 30.0  # nothing is put back by more: then it hardly dries at all [d] [J]
TIPS_DEG: Final = (10.0, 20.0, 30.0)  # a wedge under a long edge [°] [J]
WINDY_MS: Final = 6.0  # at 2 m: a fresh breeze, 8 m/s at 10 m [S, Beaufort 5; FAO-56 Eq. 47]
LEAST_D: Final = 0.01  # of a pot's water in a day: less is no drying [share] [J]


@dataclass(frozen=True)
class Tip:
    """A pot tipped on a long edge: the angle [°], what that drains and what it holds level [L]."""

    angle_deg: float
    drains_l: float
    holds_l: float


@dataclass(frozen=True)
class Threat:
    """One thing to guard a recovering tree against.

    Attributes
    ----------
    kind : str
    start, end : datetime
    amount : float
        Rain into the pot [mm], the coldest or hottest air [°C], the strongest wind [m/s].
    chance : float
        Of rain: that it puts the drying back by more than a day.
    back_d : float
        Of rain: by how much it then does, as likely more as less [d].
    tip : Tip or None
        Of rain: what could be done where it cannot be kept off.
    """

    kind: Kind
    start: datetime
    end: datetime
    amount: float
    chance: float = 1.0
    back_d: float = 0.0
    tip: Tip | None = None


@dataclass(frozen=True)
class Frosts:
    """In how many past years frost came between this date and the end, and when.

    `earliest` and `middle` are days of the years under way; None where none came.
    """

    years: int
    with_frost: int
    earliest: date | None
    middle: date | None


def threats(followed: Followed, recovery: Recovery, wind_ms: Floats | None) -> tuple[Threat, ...]:
    """Give what threatens a recovering tree in the days foreseen, the earliest first.

    Parameters
    ----------
    followed : Followed
    recovery : Recovery
    wind_ms : (hours,) array or None
        At 2 m in the open, of the hours from now on [m/s].
    """
    sky, now = followed.told.sky, followed.now.index
    last = followed.course.last
    air = sky.temp_c[now:last]
    found = list(_rain(followed)) if recovery.dry else []
    found += _air("frost", air < FROST_C, -air, followed)
    found += _air("heat", air >= HOT_C, air, followed)
    if wind_ms is not None:
        place = followed.told.knowledge.place_of(followed.model.label, followed.told.at)
        reaches = wind_ms[:last - now] * WIND[place.wind if place else "open"]
        found += _air("wind", reaches >= WINDY_MS, reaches, followed)
    return tuple(sorted((each for each in found if each.kind != "rain"
                         or each.start < recovery.ends), key=lambda each: each.start))


def _air(kind: Kind, when: Bools, strength: Floats, followed: Followed) -> Iterator[Threat]:
    """Give the spells in which something is so, with the strongest of it."""
    for begin, end in _spells(when):
        strongest = float(np.nanmax(strength[begin:end]))
        yield Threat(kind, *_span(followed, begin, end),
                     -strongest if kind == "frost" else strongest)


def _span(followed: Followed, begin: int, end: int) -> tuple[datetime, datetime]:
    sky, now = followed.told.sky, followed.now.index
    return max(sky.instant(now + begin), followed.told.at), sky.instant(now + end)


def _spells(when: Bools) -> list[tuple[int, int]]:
    """Give first hour and the one after the last of each spell; a day without ends one."""
    hours = np.flatnonzero(when)
    if not hours.size:
        return []
    parts = np.split(hours, np.flatnonzero(np.diff(hours) > A_DAY_H) + 1)
    return [(int(part[0]), int(part[-1]) + 1) for part in parts]


# --- rain ------------------------------------------------------------------------------------


def _rain(followed: Followed) -> Iterator[Threat]:
    """Give the spells of rain that would put the drying back by more than a day.

    The same days are run without rain: how much wetter a spell leaves the pot, over what it
    dries in a day (without rain, or after the spell, whichever is more), is how far it puts the
    drying back.
    """
    falls = _falls(followed)
    spells = _spells(np.asarray((falls > WET_HOUR_MM).mean(axis=1) >= WAYS))
    if not spells:
        return
    wet = followed.coming.joined("left").astype(np.float64)
    dry = _without_rain(followed)
    wetter, last = wet - dry, len(wet) - 1
    for (begin, end), stop in zip(spells, [*(each[0] for each in spells[1:]), last], strict=True):
        pace = np.maximum(_pace(dry, 0, last), _pace(wet, end, stop))
        back_d = np.minimum((wetter[min(end, last)] - wetter[begin]) / pace, MOST_D)
        soaked = back_d > SOAKED_D
        if soaked.mean() >= CHANCE:
            yield Threat("rain", *_span(followed, begin, end),
                         float(falls[begin:end, soaked].sum(axis=0).mean()),
                         float(soaked.mean()), float(np.median(back_d[soaked])),
                         _tip(followed, float(np.median(pace))))


def _pace(left: Floats, begin: int, end: int) -> Floats:
    """Give how much of its water a pot dries in a day between two hours, (members,) [share/d].

    The least there is where they lie less than a day apart.
    """
    days = (end - begin) / A_DAY_H
    least = np.full(left.shape[1], LEAST_D)
    return np.maximum(least, (left[begin] - left[end]) / days) if days >= 1.0 else least


def _falls(followed: Followed) -> Floats:
    """Give the rain into the pot of every way, (hours, members) [mm]."""
    course, now = followed.course, followed.now.index
    forked = course.falls_mm[max(now - course.forks, 0):]
    expected = followed.coming.rain_mm[:course.last - now - len(forked)]
    count = followed.now.state.shape[-1]
    return np.concatenate([np.repeat(expected[:, None], count, axis=1), forked])


def _without_rain(followed: Followed) -> Floats:
    """Give the share of available water left, were no rain to reach the pot: (hours, members)."""
    course = followed.course
    hours = course.happens.hours.copy()
    hours[:, layout.RAIN] = 0.0
    sheltered = replace(course, happens=replace(course.happens, hours=hours),
                        falls_mm=np.zeros_like(course.falls_mm))
    _, coming = advance(sheltered, followed.now, course.last, keep=True)
    return coming.joined("left").astype(np.float64)


def _tip(followed: Followed, pace: float) -> Tip | None:
    """Give the least angle that drains what the pot dries in a day, else the steepest.

    None where one person cannot tip it, or where it stands tipped.
    """
    model = followed.model
    standing = [angle for _, angle in model.tips()]
    if model.filled.soil_l > HEAVY_L or (standing and standing[-1] > 0.0):
        return None
    level_l, knowledge = model.filled.held_l, followed.told.knowledge
    tipped = [Tip(angle, level_l - model.tipped(knowledge, angle).held_l, level_l)
              for angle in TIPS_DEG]
    a_day_l = pace * model.filled.pot.available_l
    return next((each for each in tipped if each.drains_l >= a_day_l), tipped[-1])


# --- frost -----------------------------------------------------------------------------------


def frosts(sky: Sky, at: datetime, ends: datetime) -> Frosts | None:
    """Say in how many past years frost came between this date and the end of a recovery.

    Parameters
    ----------
    sky : Sky
        With the weather of past years, where any is in store.
    at, ends : datetime

    Returns
    -------
    Frosts or None
        None where no past year is known over all these days.
    """
    today, last = (each.astimezone(sky.zone).date() for each in (at, ends))
    dates, low_c = _known_days(sky, at)
    first_year = dates[0].astype(object).year if dates.size else today.year
    cold, years = [], 0
    for year in range(first_year, today.year):
        start = np.datetime64(_same_day(today, year), "D")
        span = (dates >= start) & (dates <= start + (last - today).days)
        if span.sum() == (last - today).days + 1:
            years += 1
            cold += np.flatnonzero(low_c[span] < FROST_C)[:1].tolist()
    if not years:
        return None
    if not cold:
        return Frosts(years, 0, None, None)
    cold.sort()
    earliest, middle = (today + timedelta(days=cold[i]) for i in (0, (len(cold) - 1) // 2))
    return Frosts(years, len(cold), earliest, middle)


def _known_days(sky: Sky, at: datetime) -> tuple[NDArray[np.datetime64], Floats]:
    """Give the days before an instant of which every hour is known, and the lowest air of each."""
    before = sky.index(sky.midnight(at))
    days = daily(sky, before)
    holes = sky.dates[np.unique(sky.day[:before][sky.guessed[:before]])]
    whole = ~np.isin(days.dates, holes)
    return days.dates[whole], days.low_c[whole]


def _same_day(day: date, year: int) -> date:
    """Give the same date in another year; the day before where that has no 29 February."""
    return day.replace(year=year) if (day.month, day.day) != (2, 29) else date(year, 2, 28)
