"""Carry each tree on from what was last believed of it, and project the coming days.

A belief is the state of all members at a local midnight whose day is complete, with a
digest of everything it rests on; it holds only while that digest does. Going on from one
gives the same digits as starting anew.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import members
from advisor.balance.belief import absorb, repotted
from advisor.balance.pot_weather import PotWeather
from advisor.balance.pots import Pot
from advisor.balance.run import Forcing, Path, Task, at_rest, partly, run
from advisor.garden.derived import Belief
from advisor.jobs.almanac import Days, Told
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.forcing import happening, watered
from advisor.jobs.observed import KEEP, Observed, Seen, last_hours, observed, packed, unpacked
from advisor.jobs.outlook import AT_TARGET, PAST_LIMIT, After, Outlook
from advisor.jobs.rests import digest, first_hour, last_hour
from advisor.jobs.summary import Passage, outlook_of

Floats = NDArray[np.float64]

#: Share of available water left where a tree's first hour was not a watering [J].
FIRST_LEFT: Final = (0.30, 1.0)
NOT_WATERED_IN: Final = (0.30, 0.70)
KEEP_MIDNIGHTS: Final = 3  # beliefs written on a rebuild, so that a late entry costs little
KEPT: Final = ("state", "members", "carried")  # of a point, in a belief
AFTER_H: Final = 72  # looked past a watering at first [h] [J]
EVERY: Final = 4  # of the members, where only the next watering is asked for


@dataclass(frozen=True, eq=False)
class Point:
    """All members of a tree at an hour: water content, parameters, what weather carries over."""

    index: int
    state: Floats
    members: Floats
    carried: Floats
    seen: tuple[Seen, ...] = ()  # what the last readings told

    def thinned(self, every: int) -> "Point":
        """Give the same for every so many members."""
        return replace(self, state=_each(self.state, every), members=_each(self.members, every))


@dataclass(frozen=True, eq=False)
class Course:
    """What happens to one tree from hour `first` on, whatever its state."""

    model: TreeModel
    told: Told
    days: Days
    first: int
    happens: Forcing
    weather: PotWeather
    falls_mm: Floats  # rain into the pot of every way, (hours, members), of the last hours
    readings: tuple[Observed, ...] = ()

    @property
    def last(self) -> int:
        """The hour after the last."""
        return self.first + len(self.happens.hours)

    @property
    def forks(self) -> int:
        """The hour from which rain differs from way to way."""
        return self.last - len(self.falls_mm)

    def thinned(self, every: int) -> "Course":
        """Give the same for every so many members, who learn nothing more."""
        happens = replace(self.happens, noise=_each(self.happens.noise, every),
                          coin=_each(self.happens.coin, every))
        return replace(self, happens=happens, falls_mm=_each(self.falls_mm, every), readings=())

    def since(self, hour: int) -> "Course":
        """Give what happens from an hour on, letting go of what lies before it."""
        here, rows = slice(hour - self.first, None), self.happens.rows[hour - self.first:]
        day = int(rows[0]) if rows.size else 0
        happens = replace(self.happens, hours=self.happens.hours[here].copy(), day=rows - day,
                          noise=self.happens.noise[day:].copy(),
                          coin=self.happens.coin[day:].copy())
        w, fallen = self.weather, max(hour - self.forks, 0)
        weather = PotWeather(w.rain_mm[here].copy(), w.drizzle[here].copy(),
                             w.frozen[here].copy(), w.carried[here].copy())
        return replace(self, first=hour, happens=happens, weather=weather,
                       falls_mm=self.falls_mm[fallen:].copy())

    def cuts(self, start: int, stop: int) -> list[int]:
        """Give the hours between which pot and keeping stay the same, ends included."""
        recovery = self.model.recovery
        changes = [at for at, _ in (*self.model.tips(), *self.model.ways_in())]
        changes += [recovery.ends] if recovery else []
        inner = [*(self.told.sky.index(at) for at in changes), self.forks]
        return sorted({start, stop, *(hour for hour in inner if start < hour < stop)})


@dataclass(frozen=True)
class Look:
    """How far to look ahead, step by step, and whether what was seen is enough."""

    to: tuple[int, ...]
    enough: Callable[[Outlook], bool]


@dataclass(frozen=True, eq=False)
class Carried:
    """One tree carried on: its coming days, its course, where they start, beliefs to keep."""

    outlook: Outlook
    course: Course  # from the present hour on
    now: Point
    beliefs: tuple[Belief, ...]


def course_of(model: TreeModel, told: Told, start: Point, last: int) -> Course:
    """Give what happens to a tree from a point up to an hour."""
    days = told.almanac.days(model)
    made = happening(model, told, days, (start.index, last), start.carried)
    return Course(model, told, days, start.index, made.forcing, made.weather, made.falls_mm,
                  observed(model, told))


def advance(course: Course, start: Point, stop: int, keep: bool,
            told_to: datetime | None = None) -> tuple[Point, Passage]:
    """Run a tree along its course from a point to an hour.

    Parameters
    ----------
    course : Course
    start : Point
    stop : int
        The hour at which to stop.
    keep : bool
        Whether the path is wanted.
    told_to : datetime, optional
        The last instant of which readings count; those before the start of `stop` where None.
    """
    model, told = course.model, course.told
    before = int((told_to or told.sky.instant(stop) - timedelta(seconds=1)).timestamp())
    known = last_hours(start.seen, int(told.sky.instant(start.index).timestamp()))
    due = [each for each in course.readings if start.index <= each.hour <= stop
           and each.second <= before and each.reading.id not in known]
    cuts = sorted({*course.cuts(start.index, stop), *(each.hour for each in due)})
    point, paths = start, []
    for begin, end in zip(cuts, [*cuts[1:], stop], strict=True):
        pot = model.tipped(told.knowledge, _tip_at(model, told, begin)).pot
        point = learned(pot, point, [each for each in due if each.hour == begin])
        if end > begin:
            path = run(Task(pot, point.members, point.state, _piece(course, begin, end), keep))
            point = replace(point, state=path.state)
            paths.append(path)
    carried = course.weather.carried[stop - course.first]
    return (replace(point, index=stop, carried=carried),
            _passage(course, start.index, stop, paths))


def learned(pot: Pot, point: Point, due: Sequence[Observed]) -> Point:
    """Give what is believed at a point after the readings of its hour."""
    if not due:
        return point
    doubted = [each.told for each in point.seen if not each.told.used]
    taken = absorb(pot, point.members, point.state, [each.reading for each in due], doubted)
    when = {each.reading.id: each.second for each in due}
    seen = (*point.seen, *(Seen(when[told.reading.id], told) for told in taken.told))
    return replace(point, members=taken.members, state=taken.state, seen=seen[-KEEP:])


def _passage(course: Course, begin: int, end: int, paths: Sequence[Path] = ()) -> Passage:
    """Give paths from an hour on, with the weather up to another."""
    weather, here = course.weather, slice(begin - course.first, end - course.first)
    return Passage(begin, paths, weather.rain_mm[here], weather.frozen[here],
                   weather.carried[1:, 2][here])


def _piece(course: Course, begin: int, end: int) -> Forcing:
    """Give the part of a course between two hours, with the keeping of that time."""
    model, happens = course.model, course.happens
    here = slice(begin - course.first, end - course.first)
    at = course.told.sky.instant(begin)
    forked = slice(begin - course.forks, end - course.forks)
    rain = course.falls_mm[forked] if begin >= course.forks else None
    return replace(happens, hours=happens.hours[here], day=happens.rows[here], rain_mm=rain,
                   enters=model.enters_at(at), limit=model.limit_at(at),
                   target_mm=model.dry_target_mm(at) or 0.0)


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
    drawn = _of_this_tree(model, told)
    count = members.MEMBERS
    from_potting = told.sky.instant(index) <= model.potting.at
    if from_potting and model.potting.watered_in:
        state = at_rest(model.filled.pot, count)
    else:
        low, high = NOT_WATERED_IN if from_potting else FIRST_LEFT
        state = partly(model.filled.pot, members.shares(model.potting_seed, low, high))
    air = told.sky.temp_c[max(index - 23, 0):index + 1]  # of the past: what comes is guessed
    return Point(index, state, drawn, np.array([0.0, 0.0, float(air.mean())]))


def _of_this_tree(model: TreeModel, told: Told) -> Floats:
    """Give the parameters at a potting: thirst as learned in the pots before, the rest new."""
    drawn, potted = drawn_members(model), model.potting.at
    taught = [each for each in told.knowledge.readings[model.label] if each.at < potted]
    at = potted - timedelta(seconds=1)
    if not taught or told.knowledge.potting_of(model.label, at) is None:
        return drawn
    before = describe(told.knowledge, model.label, at)
    if before is None or told.sky.index(potted) <= 0:
        return drawn
    start = beginning(before, told)
    course = course_of(before, told, start, max(told.sky.index(potted), start.index))
    return repotted(advance(course, start, course.last, keep=False)[0].members, drawn)


def from_belief(belief: Belief, told: Told) -> Point:
    """Give the point that a belief holds."""
    state, members_, carried = (np.array(belief.numbers[name]) for name in KEPT)
    return Point(told.sky.index(belief.midnight), state, members_, carried,
                 unpacked(np.asarray(belief.numbers["seen"])))


def _each(values: Floats, every: int) -> Floats:
    """Give every so many members of an array whose last axis is theirs."""
    return np.ascontiguousarray(values[..., ::every])


def carry(model: TreeModel, told: Told, belief: Belief | None,
          look: Look | None = None) -> Carried:
    """Carry a tree to the midnight before `told.at` and project it from there.

    Parameters
    ----------
    model : TreeModel
    told : Told
    belief : Belief or None
        The newest one that still holds; without one the story starts anew.
    look : Look, optional
        What is enough to know; everything where None.
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
    hour = min(max(sky.index(told.at), point.index), course.last)
    now, today = advance(course, point, hour, keep=True, told_to=told.at)
    outlook = _ahead(course, now, today, look)
    return Carried(outlook, course.since(hour), now, tuple(beliefs))


def _ahead(course: Course, now: Point, today: Passage, look: Look | None) -> Outlook:
    """Look ahead from now; no further than is enough."""
    model, told, days = course.model, course.told, course.days
    stops = () if look is None or model.dry_target_mm(told.at) else look.to
    point, so_far = now, today
    for stop in stops:
        if point.index < stop < course.last:
            point, coming = advance(course, point, stop, keep=True)
            so_far = so_far.then(coming)
            left = _passage(course, stop, course.last)
            outlook = outlook_of(model, told, days, so_far.then(left))
            if look is not None and look.enough(outlook):
                return outlook
    _, rest = advance(course, point, course.last, keep=True)
    return outlook_of(model, told, days, so_far.then(rest))


def after_watering(carried: Carried, hour: int) -> After:
    """Project a tree that is watered until it runs in an hour to come (with fewer members)."""
    course = carried.course.thinned(EVERY)
    poured = replace(course, happens=watered(course.happens, hour - course.first))
    start, standing = carried.now.thinned(EVERY), carried.outlook.standing
    comes_up = Look((hour + AFTER_H,), lambda outlook: bool(
        (outlook.rows[PAST_LIMIT] > standing.chance).any()))
    coming = _ahead(poured, start, _passage(course, start.index, start.index), comes_up)
    rows = np.zeros((2, carried.outlook.rows.shape[1]), dtype=np.float32)
    rows[:, course.first - carried.outlook.first:] = coming.rows[[PAST_LIMIT, AT_TARGET]]
    return After(hour, rows)


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
                  dict(zip(KEPT, (point.state, point.members, point.carried), strict=True))
                  | {"seen": packed(point.seen)})
