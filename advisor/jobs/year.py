"""The season behind: what each tree drank, was given, caught of the rain, and how dry it stood."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge, local_days
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import advance, beginning, course_of
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.potting.past_weather import RUN_THROUGH, WETS
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]

DRIEST: Final = 3  # days that are named
TOLD_D: Final = 3  # days after an entry for which how dry it stood is counted [J]
SECOND: Final = timedelta(seconds=1)


@dataclass(frozen=True)
class Dry:
    """A day on which a tree stood dry: the least share of its water left [-]."""

    day: date
    left: float


@dataclass(frozen=True)
class Learned:
    """How much a tree drinks beside others of its kind: 5, 50 and 95 % [-]."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True, eq=False)
class TreeYear:
    """One tree's year; litres are the middle of what is likely.

    Attributes
    ----------
    label, place : str
    days : int
        Days of the year with weather on which it stood in a pot.
    waterings : int
        As entered.
    poured_l, drunk_l, rain_l : float
        Given, as much as the soil took and a little that runs through; what went out through
        leaves and soil; rain that reached the soil [L].
    days_told : int
        Of these days, those within three days of a watering or a walk entered: of the others nobody
        knows what was watered, and how dry it stood is not counted.
    driest : tuple of Dry
        The driest first.
    days_past_limit, days_past_harm : int
        Days told on which it likely wanted water, or suffered.
    learned : Learned or None
        None where nothing was read of it.
    month_l : (12,) array
        Drunk, month by month [L].
    """

    label: str
    place: str
    days: int
    waterings: int
    poured_l: float
    drunk_l: float
    rain_l: float
    days_told: int
    driest: tuple[Dry, ...]
    days_past_limit: int
    days_past_harm: int
    learned: Learned | None
    month_l: Floats


@dataclass(frozen=True, eq=False)
class _Part:
    """One potting's part of the year, day by day."""

    dates: NDArray[np.datetime64]
    left: Floats  # the least of the day, as likely above as below
    month_l: Floats  # drunk, January first
    poured_l: float
    rain_l: float
    limit: float
    harm: float


def tree_years(knowledge: Knowledge, sky: Sky, year: int, at: datetime,
               members: Mapping[str, Floats] | None = None) -> Iterator[TreeYear]:
    """Follow every tree through a year, up to an instant.

    Parameters
    ----------
    knowledge : Knowledge
        All of it, waterings of every year among it.
    sky : Sky
    year : int
        A calendar year of the garden.
    at : datetime
        Now.
    members : mapping of label to (4, members) array, optional
        What is believed of each tree of which something was read.

    Raises
    ------
    Refused
        No weather of that year.
    """
    told = Told(knowledge, Almanac(sky, knowledge.site.latitude_deg), at)
    span = _span(sky, year, at)
    for label in knowledge.trees:
        parts = [part for model, first, last in _pottings(knowledge, sky, label, span, at)
                 if (part := _part(model, told, first, last)) is not None]
        if parts:
            seen = (members or {}).get(label)
            yield _summed(knowledge, label, year, parts, None if seen is None else learned(seen))


def learned(members: Floats) -> Learned:
    """Sum up what is believed of a tree's thirst."""
    return Learned(*(float(np.quantile(members[0], q)) for q in (0.05, 0.5, 0.95)))


def _span(sky: Sky, year: int, at: datetime) -> tuple[int, int]:
    """Give the first hour of the year and the one after its last known one."""
    years = sky.dates.astype("datetime64[Y]").astype(np.int64) + 1970
    end = min(sky.index(min(at, sky.newest)), sky.hours)
    inside = np.flatnonzero(years[sky.day[:max(end, 0)]] == year)
    if not inside.size:
        known = (f"{years[0]} to {years[sky.day[max(end - 1, 0)]]}"
                 if end > 0 else "a year with weather")
        raise Refused("year", year, known, "Get past weather: advisor weather past.")
    return int(inside[0]), int(inside[-1]) + 1


def _pottings(knowledge: Knowledge, sky: Sky, label: str, span: tuple[int, int],
              at: datetime) -> Iterator[tuple[TreeModel, int, int]]:
    """Give the tree in each of its pots, with the hours it stood in it within a span."""
    told = knowledge.pottings[label]
    gone = [event.at for event in knowledge.events[label] if event.kind == "gone"]
    until = min([at, *gone])
    for i, potting in enumerate(told):
        end = min(told[i + 1].at if i + 1 < len(told) else until, until)
        if end <= potting.at:
            continue
        model = describe(knowledge, label, end - SECOND)
        first, last = max(sky.index(potting.at), span[0]), min(sky.index(end), span[1])
        if model is not None and first < last:
            yield model, first, last


def _part(model: TreeModel, told: Told, first: int, last: int) -> _Part | None:
    sky = told.sky
    point = beginning(model, told)
    first = max(first, point.index)
    if first >= last:
        return None
    course = course_of(model, told, point, last)
    point, _ = advance(course, point, first, keep=False)
    day = sky.day[first:last]
    month = sky.dates.astype("datetime64[M]").astype(np.int64)[day] % 12
    surface_m2 = model.filled.pot.surface_m2
    hourly, drunk = [], np.zeros(12)
    for stop in _ends(month, first):
        point, passage = advance(course, point, stop, keep=True)
        totals = np.sum([path.totals_mm for path in passage.paths], axis=0)
        hourly.append(passage.joined("left"))
        drunk[month[stop - 1 - first]] += float(np.median(totals[2] + totals[3])) * surface_m2
    left = np.concatenate(hourly)
    rain_mm = course.weather.rain_mm[first - course.first:last - course.first]
    starts = np.flatnonzero(np.diff(day, prepend=-1))
    least = np.minimum.reduceat(np.median(left, axis=1), starts).astype(np.float64)
    poured_l = _poured_mm(left, rain_mm, point.members[1] * model.filled.pot.available_mm)
    return _Part(sky.dates[day[starts]], np.maximum(least, 0.0), drunk, poured_l * surface_m2,
                 float(rain_mm.sum()) * surface_m2, model.limit_at(sky.instant(last - 1)),
                 model.bears.harm)


def _poured_mm(left: NDArray[np.float32], rain_mm: Floats, available_mm: Floats) -> float:
    """Give what was poured: what the soil took up beside rain, and what runs through."""
    rise_mm = np.diff(left, axis=0) * available_mm - rain_mm[:-1, None]
    took_mm = np.where(rise_mm > WETS * available_mm, rise_mm, 0.0).sum(axis=0)
    return float(np.median(took_mm)) * (1.0 + RUN_THROUGH)


def _ends(group: NDArray[np.int64], first: int) -> list[int]:
    """Give the hour after the last of each run of equal groups."""
    return [first + int(stop) for stop in np.flatnonzero(np.diff(group, append=-1)) + 1]


def _of_what_is_told(knowledge: Knowledge, dates: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """Tell on which days a watering or a walk had been entered within the days before."""
    zone = knowledge.site.zone
    others = {each.at for told_of in (knowledge.pottings, knowledge.moves, knowledge.events)
              for those in told_of.values() for each in those}
    told = np.array(local_days([at for at in knowledge.entry_times if at not in others], zone),
                    dtype="datetime64[D]")
    if not told.size:
        return np.zeros(dates.size, dtype=bool)
    last = np.searchsorted(told, dates, side="right") - 1
    since = (dates - told[np.maximum(last, 0)]).astype(np.int64)
    return np.asarray((last >= 0) & (since <= TOLD_D))


def _summed(knowledge: Knowledge, label: str, year: int, parts: Sequence[_Part],
            seen: Learned | None) -> TreeYear:
    dates = np.concatenate([part.dates for part in parts])
    left = np.concatenate([part.left for part in parts])
    limit = np.concatenate([np.full(part.left.size, part.limit) for part in parts])
    harm = np.concatenate([np.full(part.left.size, part.harm) for part in parts])
    month_l = np.sum([part.month_l for part in parts], axis=0)
    told = _of_what_is_told(knowledge, dates)
    order = [i for i in np.argsort(left, kind="stable") if told[i]][:DRIEST]
    zone = knowledge.site.zone
    watered = [w.at for w in knowledge.waterings[label] if w.at.astimezone(zone).year == year]
    place = knowledge.place_of(label)
    return TreeYear(
        label=label, place=place.name if place else "", days=int(np.unique(dates).size),
        waterings=len(watered), poured_l=sum(part.poured_l for part in parts),
        drunk_l=float(month_l.sum()), rain_l=sum(part.rain_l for part in parts),
        driest=tuple(Dry(dates[i].astype(object), float(left[i])) for i in order),
        days_told=int(np.unique(dates[told]).size),
        days_past_limit=int((told & (left < limit)).sum()),
        days_past_harm=int((told & (left < harm)).sum()), learned=seen, month_l=month_l)
