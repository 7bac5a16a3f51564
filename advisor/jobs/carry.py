"""Carry each tree on from what was last believed of it, and project the coming days.

A belief is the state of all members at a local midnight whose day is complete, with a
digest of everything it rests on; it holds only while that digest does. Going on from one
gives the same digits as starting anew.
"""

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import members
from advisor.balance.run import Task, at_rest, partly, run
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
class Carried:
    """What carrying one tree on gave: its coming days, where they start, and beliefs to keep."""

    outlook: Outlook
    start: Point
    beliefs: tuple[Belief, ...]


def advance(model: TreeModel, told: Told, days: Days, start: Point, end: int, keep: bool,
            refill: int | None = None) -> tuple[Point, Passage]:
    """Run one tree from a point to an hour; the path is kept where asked for.

    `refill` is an hour in which it is watered until it runs, with every EVERYth member only.
    """
    every = 1 if refill is None else EVERY
    drawn = drawn_members(model)[:, ::every]
    changes = [at for at, _ in model.tips()] + ([model.recovery.ends] if model.recovery else [])
    cuts = sorted({start.index, end, *(min(max(told.sky.index(at), start.index), end)
                                       for at in changes)})
    point, paths, skies = replace(start, state=start.state[:, :, ::every]), [], []
    for stop in cuts[1:]:
        pot = model.tipped(told.knowledge, _tip_at(model, told, point.index)).pot
        happens, weather = forcing(model, told, days, (point.index, stop), point.carried)
        if refill is not None:
            happens = watered(happens, refill - point.index, every)
        path = run(Task(pot, drawn, point.state, happens, keep))
        point = Point(stop, path.state, weather.carried[-1])
        paths.append(path)
        skies.append(weather)
    return point, Passage(paths, skies)


def _tip_at(model: TreeModel, told: Told, index: int) -> float:
    """Give the angle at which the pot stands in an hour [°]."""
    angle = 0.0
    for at, tipped in model.tips():
        if told.sky.index(at) <= index and at >= model.potting.at:
            angle = tipped
    return angle


def drawn_members(model: TreeModel) -> Floats:
    """Give the members' parameters of a tree."""
    return members.draw(model.seed, model.potting_seed, model.filled.prior)


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
    air = told.sky.temp_c[index:index + 24]
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
    days = told.almanac.days(model)
    point, beliefs = to_midnight(model, told, days, belief)
    _, passage = advance(model, told, days, point, last_hour(told), keep=True)
    return Carried(outlook_of(model, told, days, point.index, passage), point, beliefs)


def to_midnight(model: TreeModel, told: Told, days: Days,
                belief: Belief | None) -> tuple[Point, tuple[Belief, ...]]:
    """Carry a tree to the midnight before now (or its potting today), keeping beliefs."""
    sky = told.sky
    point = from_belief(belief, told) if belief else beginning(model, told)
    midnight = max(sky.index(sky.midnight(told.at)), point.index)
    beliefs = []
    for stop in _stops(told, point.index, midnight):
        point, _ = advance(model, told, days, point, stop, keep=False)
        if sky.instant(stop) <= sky.newest:
            beliefs.append(_belief(model, told, point))
    return point, tuple(beliefs)


def after_watering(model: TreeModel, told: Told, start: Point, hour: int) -> After:
    """Project a tree that is watered until it runs in an hour to come (with fewer members)."""
    days = told.almanac.days(model)
    _, passage = advance(model, told, days, start, last_hour(told), keep=True, refill=hour)
    rows = outlook_of(model, told, days, start.index, passage).rows
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
