"""Carry each tree on from what was last believed of it, and project the coming days.

A belief is the state of all members at a local midnight whose day is complete, with a
digest of everything it rests on; it holds only while that digest does. Going on from one
gives the same digits as starting anew.
"""

from dataclasses import dataclass, replace
from datetime import timedelta
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import members
from advisor.balance.pot_weather import PotWeather
from advisor.balance.run import Forcing, Task, at_rest, partly, run
from advisor.garden.derived import Belief
from advisor.jobs.almanac import Days, Told
from advisor.jobs.describe import TreeModel
from advisor.jobs.forcing import forcing, watered
from advisor.jobs.outlook import AT_TARGET, PAST_LIMIT, After, Outlook
from advisor.jobs.rests import digest, first_hour, last_hour
from advisor.jobs.summary import Passage, outlook_of

Floats = NDArray[np.float64]

#: Share of available water left where a tree's first hour was not a watering [J].
FIRST_LEFT: Final = (0.30, 1.0)
NOT_WATERED_IN: Final = (0.30, 0.70)
KEEP_MIDNIGHTS: Final = 3  # beliefs written on a rebuild, so that a late entry costs little
EVERY: Final = 4  # of the members, where only the next watering is asked for


@dataclass(frozen=True, eq=False)
class Point:
    """All members of a tree at an hour: water content, and what its weather carries over."""

    index: int
    state: Floats
    carried: Floats


@dataclass(frozen=True, eq=False)
class Course:
    """What happens to one tree from hour `first` on, whatever its state."""

    model: TreeModel
    told: Told
    days: Days
    first: int
    happens: Forcing
    weather: PotWeather

    @property
    def last(self) -> int:
        """The hour after the last."""
        return self.first + len(self.happens.hours)

    def since(self, hour: int) -> "Course":
        """Give what happens from an hour on, letting go of what lies before it."""
        here, rows = slice(hour - self.first, None), self.happens.rows[hour - self.first:]
        day = int(rows[0]) if rows.size else 0
        happens = replace(self.happens, hours=self.happens.hours[here].copy(), day=rows - day,
                          noise=self.happens.noise[day:].copy(),
                          coin=self.happens.coin[day:].copy())
        w = self.weather
        weather = PotWeather(w.rain_mm[here].copy(), w.drizzle[here].copy(),
                             w.frozen[here].copy(), w.carried[here].copy())
        return replace(self, first=hour, happens=happens, weather=weather)

    def cuts(self, start: int, stop: int) -> list[int]:
        """Give the hours between which pot and keeping stay the same, ends included."""
        recovery = self.model.recovery
        changes = [at for at, _ in self.model.tips()] + ([recovery.ends] if recovery else [])
        inner = (self.told.sky.index(at) for at in changes)
        return sorted({start, stop, *(hour for hour in inner if start < hour < stop)})


@dataclass(frozen=True, eq=False)
class Carried:
    """One tree carried on: its coming days, its course, where they start, beliefs to keep."""

    outlook: Outlook
    course: Course
    start: Point
    beliefs: tuple[Belief, ...]


def course_of(model: TreeModel, told: Told, start: Point, last: int) -> Course:
    """Give what happens to a tree from a point up to an hour."""
    days = told.almanac.days(model)
    happens, weather = forcing(model, told, days, (start.index, last), start.carried)
    return Course(model, told, days, start.index, happens, weather)


def advance(course: Course, start: Point, stop: int, keep: bool,
            every: int = 1) -> tuple[Point, Passage]:
    """Run a tree along its course from a point to an hour.

    Parameters
    ----------
    course : Course
    start : Point
    stop : int
        The hour at which to stop.
    keep : bool
        Whether the path is wanted.
    every : int
        Run every so many members only; the course is thinned already.
    """
    model, told = course.model, course.told
    drawn = np.ascontiguousarray(drawn_members(model)[:, ::every])
    state, paths = np.ascontiguousarray(start.state[:, :, ::every]), []
    cuts = course.cuts(start.index, stop)
    for begin, end in zip(cuts, cuts[1:], strict=False):
        pot = model.tipped(told.knowledge, _tip_at(model, told, begin)).pot
        path = run(Task(pot, drawn, state, _piece(course, begin, end), keep))
        state = path.state
        paths.append(path)
    here = slice(start.index - course.first, stop - course.first)
    carried = course.weather.carried[stop - course.first]
    return Point(stop, state, carried), Passage(
        start.index, paths, course.weather.rain_mm[here], course.weather.frozen[here],
        course.weather.carried[1:, 2][here])


def _piece(course: Course, begin: int, end: int) -> Forcing:
    """Give the part of a course between two hours, with the keeping of that time."""
    model, happens = course.model, course.happens
    here = slice(begin - course.first, end - course.first)
    at = course.told.sky.instant(begin)
    return replace(happens, hours=happens.hours[here], day=happens.rows[here],
                   limit=model.limit_at(at), target_mm=model.dry_target_mm(at) or 0.0)


def _tip_at(model: TreeModel, told: Told, index: int) -> float:
    """Give the angle at which the pot stands in an hour [°]."""
    angle = 0.0
    for at, tipped in model.tips():
        if told.sky.index(at) <= index and at >= model.potting.at:
            angle = tipped
    return angle


def drawn_members(model: TreeModel) -> Floats:
    """Give the members' parameters of a tree."""
    return _drawn(model.seed, model.potting_seed, model.filled.prior)


@lru_cache(maxsize=4096)
def _drawn(seed: int, potting_seed: int, prior: members.Prior) -> Floats:
    return members.draw(seed, potting_seed, prior)


def beginning(model: TreeModel, told: Told) -> Point:
    """Give the point at which a tree's story starts."""
    index = first_hour(model.potting.at, told)
    count = members.MEMBERS
    from_potting = told.sky.instant(index) <= model.potting.at
    if from_potting and model.potting.watered_in:
        state = at_rest(model.filled.pot, count)
    else:
        low, high = NOT_WATERED_IN if from_potting else FIRST_LEFT
        state = partly(model.filled.pot, members.shares(model.potting_seed, low, high))
    air = told.sky.temp_c[max(index - 23, 0):index + 1]  # of the past: what comes is guessed
    return Point(index, state, np.array([0.0, 0.0, float(air.mean())]))


def from_belief(belief: Belief, told: Told) -> Point:
    """Give the point that a belief holds."""
    return Point(told.sky.index(belief.midnight), np.array(belief.numbers["state"]),
                 np.array(belief.numbers["carried"]))


def carry(model: TreeModel, told: Told, belief: Belief | None) -> Carried:
    """Carry a tree to the midnight before `told.at` and project it from there.

    Parameters
    ----------
    model : TreeModel
    told : Told
    belief : Belief or None
        The newest one that still holds; without one the story starts anew.
    """
    sky = told.sky
    point = from_belief(belief, told) if belief else beginning(model, told)
    course = course_of(model, told, point, last_hour(told))
    midnight = max(sky.index(sky.midnight(told.at)), point.index)
    beliefs = []
    for stop in _stops(told, point.index, midnight):
        point, _ = advance(course, point, stop, keep=False)
        if sky.instant(stop) <= sky.newest:
            beliefs.append(_belief(model, told, point))
    _, passage = advance(course, point, course.last, keep=True)
    outlook = outlook_of(model, told, course.days, passage)
    return Carried(outlook, course.since(point.index), point, tuple(beliefs))


def after_watering(carried: Carried, hour: int) -> After:
    """Project a tree that is watered until it runs in an hour to come (with fewer members)."""
    course = carried.course
    poured = replace(course, happens=watered(course.happens, hour - course.first, EVERY))
    _, passage = advance(poured, carried.start, course.last, keep=True, every=EVERY)
    rows = outlook_of(course.model, course.told, course.days, passage).rows
    return After(hour, np.ascontiguousarray(rows[[PAST_LIMIT, AT_TARGET]]))


def _stops(told: Told, first: int, last: int) -> list[int]:
    """Give the midnights at which beliefs are kept on the way: the last few, and `last`."""
    sky = told.sky
    stops = {last} if last > first else set()
    midnight = sky.instant(last)
    for _ in range(KEEP_MIDNIGHTS - 1):
        midnight = sky.midnight(midnight - timedelta(hours=2))
        if sky.index(midnight) > first:
            stops.add(sky.index(midnight))
    return sorted(stops)


def _belief(model: TreeModel, told: Told, point: Point) -> Belief:
    midnight = told.sky.instant(point.index)
    return Belief(model.label, midnight, digest(model.label, model.potting.at, told, midnight),
                  {"state": point.state, "carried": point.carried})
