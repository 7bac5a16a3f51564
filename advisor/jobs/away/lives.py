"""How long each tree lasts after each watering, in each way the weather may go.

A tree is run at its 80th-percentile thirst, all else about it at its median, so that only the
weather differs between the columns.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout
from advisor.balance.members import MEMBERS
from advisor.balance.pots import Pot
from advisor.balance.run import Forcing, Path, Task, at_rest, run
from advisor.jobs.almanac import Told
from advisor.jobs.carry import Point
from advisor.jobs.describe import TreeModel
from advisor.jobs.forcing import happening
from advisor.jobs.judge import RUNS_OUT
from advisor.jobs.recovery import FLOOR

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

THIRST_AT: Final = 0.80  # of what is believed of a tree's thirst: stated in the plan [J]
CHUNK_H: Final = 48  # run at once, so that what is past its limit everywhere need not go on
ROUND_H: Final = 24  # what the grower looks ahead on the morning of leaving [J]
NEAR_FLOOR: Final = 0.05  # of the ways in which a floor may be passed before the next visit [J]
NEVER: Final = 1_000_000_000_000  # an hour beyond any
ANY: Final = 2.0  # share left below which every pot is [J: no pot holds twice its water]


@dataclass(frozen=True, eq=False)
class Span:
    """The absence in hours of the sky.

    Attributes
    ----------
    told : Told
        What is known now.
    at_h : (D + 1,) array of int
        Departure, the hour of a visit on each day, return.
    rounds_h : tuple of int
        The grower's rounds before the departure.
    waters : bool
        Whether the grower is there at the departure, and waters what wants it.
    """

    told: Told
    at_h: Ints
    rounds_h: tuple[int, ...] = ()
    waters: bool = True

    @property
    def end(self) -> int:
        """The day of the return."""
        return self.at_h.size - 1

    @property
    def last_h(self) -> int:
        """The hour after the last."""
        return int(self.at_h[-1]) + 1


@dataclass(frozen=True, eq=False)
class Kept:
    """One tree as it is left, and what happens to it from `first` on but for the waterings.

    Attributes
    ----------
    model : TreeModel
    pot : Pot
    params : (4, ways) array
        Thirst, storage, K_c, dryness threshold, alike in all ways.
    forcing : Forcing
    first : int
        Hour of the sky at which `forcing` begins.
    state : (columns, layers, ways) array
        At the departure, before it is watered then.
    watered : bool
        Whether the grower waters it on leaving.
    floor_until : int
        Hour up to which it is kept dry to its target and above its floor; 0 where it is not.
    tray_mm : float
        Water in the tray it stands in after each watering, over the pot's surface [mm].
    """

    model: TreeModel
    pot: Pot
    params: Floats
    forcing: Forcing
    first: int
    state: Floats
    watered: bool
    floor_until: int
    tray_mm: float = 0.0

    @property
    def label(self) -> str:
        """The tree's label."""
        return self.model.label

    def part(self, begin: int, end: int) -> Forcing:
        """Give what happens between two hours of the sky."""
        here = slice(begin - self.first, end - self.first)
        f = self.forcing
        return replace(f, hours=f.hours[here], day=f.rows[here],
                       rain_mm=None if f.rain_mm is None else f.rain_mm[here])

    def in_tray(self, begin: int) -> "Kept":
        """Give the same with a full tray from an hour on: it gives what is drunk, until empty."""
        f, since = self.forcing, begin - self.first
        hours = f.hours[since:]
        drunk = (hours[:, layout.TRANSPIRATION, None] * self.params[0] * f.noise[f.rows[since:]]
                 + hours[:, layout.EVAPORATION, None])
        given = np.diff(np.minimum(np.cumsum(drunk, axis=0), self.tray_mm), axis=0, prepend=0.0)
        alike = np.repeat(f.hours[:, layout.RAIN, None], MEMBERS, axis=1)
        rain = (alike if f.rain_mm is None else f.rain_mm).copy()
        rain[since:] += given
        table = f.hours.copy()
        table[:, layout.RAIN] = rain.max(axis=1)
        return replace(self, forcing=replace(f, hours=table, rain_mm=rain), tray_mm=0.0)

    def past_harm(self, path: Path, begin: int) -> Flags:
        """Tell at which hours each way is past what does harm: (hours, ways)."""
        dry = path.left < self.model.bears.harm
        kept = max(min(self.floor_until - begin, len(dry)), 0)
        dry[:kept] = path.ball_left[:kept] < FLOOR
        return dry


@dataclass(frozen=True, eq=False)
class Lives:
    """How long one tree lasts.

    Attributes
    ----------
    life : (ways, D + 1) array of int
        Last day up to which a watering on each day carries it.
    ready : (D + 1,) array of int
        First day on which it may be watered again.
    left : (D + 1, D + 1) array
        Share of available water left on a later day, in the middle of the ways [-].
    """

    life: Ints
    ready: Ints
    left: Floats


def medians(point: Point) -> tuple[Floats, Floats]:
    """Give parameters and state of a tree for as many ways: thirst high, the rest in the middle."""
    params = np.median(point.members, axis=1)
    params[0] = np.quantile(point.members[0], THIRST_AT)
    state = np.median(point.state, axis=2)
    return (np.ascontiguousarray(np.repeat(params[:, None], MEMBERS, axis=1)),
            np.ascontiguousarray(np.repeat(state[:, :, None], MEMBERS, axis=2)))


def left_behind(model: TreeModel, span: Span, point: Point) -> Kept:
    """Carry a tree on to the departure and give what happens to it then.

    Parameters
    ----------
    model : TreeModel
    span : Span
    point : Point
        What is believed of it now.
    """
    told = span.told
    forcing = falling(model, span, point)
    params, state = medians(point)
    leaves = int(span.at_h[0])
    recovery = model.recovering(told.sky.instant(leaves))
    dry = recovery is not None and recovery.dry and recovery.target_mm is not None
    angle = [tipped for at, tipped in model.tips() if model.potting.at <= at <= told.at]
    pot = model.tipped(told.knowledge, angle[-1] if angle else 0.0).pot
    kept = Kept(model, pot, params, forcing, point.index, state, False,
                told.sky.index(recovery.ends) if recovery and dry else 0)
    if leaves > point.index:
        kept = replace(kept, state=_to_departure(kept, span))
    return replace(kept, watered=span.waters and _wants(kept, leaves, span))


def falling(model: TreeModel, span: Span, point: Point) -> Forcing:
    """Give what happens to a tree from now on, the ways of the weather apart."""
    told, days = span.told, span.told.almanac.days(model)
    made = happening(model, told, days, (point.index, span.last_h), point.carried)
    hours = made.forcing.hours
    hours[:, layout.MAYBE] = 0.0
    rows = made.forcing.rows
    noise = np.ones((int(rows[-1]) + 1, MEMBERS))
    ways = told.sky.ways
    if ways is not None:
        day = told.sky.day[point.index]
        noise = np.ascontiguousarray(ways.factor[day:day + len(noise)])
    alike = len(hours) - len(made.falls_mm)
    rain = None
    if len(made.falls_mm):
        known = np.repeat(hours[:alike, layout.RAIN, None], MEMBERS, axis=1)
        rain = np.concatenate([known, made.falls_mm])
    return replace(made.forcing, noise=noise, coin=np.ones_like(noise), rain_mm=rain,
                   limit=0.0, target_mm=0.0)


def _to_departure(kept: Kept, span: Span) -> Floats:
    """Give the state at the departure of a tree whose grower walks the rounds up to it."""
    at = span.told.sky.instant(kept.first)
    part = kept.part(kept.first, int(span.at_h[0]))
    hours = part.hours.copy()
    rounds = np.array(span.rounds_h, dtype=np.int64) - kept.first
    hours[rounds[(rounds >= 0) & (rounds < len(hours))], layout.MAYBE] = 1.0
    target = kept.model.dry_target_mm(at) or 0.0
    tended = replace(part, hours=hours, target_mm=target,
                     limit=_called_at(kept.model.limit_at(at), span))
    return run(Task(kept.pot, kept.params, kept.state, tended, keep=False)).state


def _called_at(limit: float, span: Span) -> float:
    """Give the share left at which rounds water: between two of them nothing may pass its limit."""
    gaps = np.diff(span.rounds_h)
    often = gaps.size == 0 or float(np.median(gaps)) <= ROUND_H / 2
    return limit if often else (1.0 + limit) / 2.0


def _wants(kept: Kept, leaves: int, span: Span) -> bool:
    """Whether the grower waters a tree on leaving: it would be past its limit within a day."""
    model, end = kept.model, min(leaves + ROUND_H, span.last_h)
    path = run(Task(kept.pot, kept.params, kept.state, kept.part(leaves, end)))
    target = model.dry_target_mm(span.told.sky.instant(leaves))
    if target:
        chance = model.chance_at(span.told.sky.instant(leaves))
        floor = (path.ball_left < FLOOR).any(axis=0).mean() >= chance
        return bool(floor or np.median(path.dry_mm[0]) >= target)
    limit = model.limit_at(span.told.sky.instant(leaves))
    return bool((path.left < limit).any(axis=0).mean() >= model.bears.chance)


def lives(kept: Kept, span: Span) -> Lives:
    """Work out how long a tree lasts after a watering on each day.

    Once a watering carries it to the return in all ways, a later one does too, and none need
    follow.
    """
    days = span.end + 1
    life = np.full((MEMBERS, days), span.end, dtype=np.int64)
    ready = np.zeros(days, dtype=np.int64)
    left = np.zeros((days, days))
    for day in range(span.end):
        life[:, day], ready[day], left[day] = life_from(kept, span, day)
        if day and (life[:, day] == span.end).all():
            ready[day:] = days if kept.floor_until else 0
            for later in range(day + 1, days):
                left[later, later:] = left[day, day:days - later + day]
            break
    return Lives(life, ready, left)


def life_from(kept: Kept, span: Span, day: int) -> tuple[Ints, int, Floats]:
    """Run a tree on from one day until it is past what does harm in every way.

    Returns
    -------
    life : (ways,) array of int
    ready : int
    left : (D + 1,) array
    """
    full = day > 0 or kept.watered
    state = at_rest(kept.pot, MEMBERS) if full else kept.state
    begin, visits = int(span.at_h[day]), span.at_h
    harmed = np.full(MEMBERS, NEVER)
    left = np.full((visits.size, MEMBERS), kept.model.bears.harm)
    dry = np.zeros_like(left)
    kept = kept.in_tray(begin) if kept.tray_mm else kept
    while begin < span.last_h and (harmed == NEVER).any():
        end = min(begin + CHUNK_H, span.last_h)
        path = run(Task(kept.pot, kept.params, state, kept.part(begin, end)))
        past = kept.past_harm(path, begin)
        first = np.where(past.any(axis=0), begin + past.argmax(axis=0), NEVER)
        harmed = np.minimum(harmed, first)
        here = np.flatnonzero((visits >= begin) & (visits < end))
        left[here], dry[here] = (each[visits[here] - begin] for each in (path.left, path.dry_mm))
        begin, state = end, path.state
    life = np.maximum(np.searchsorted(visits, harmed, side="left") - 1, day)
    return life, _ready(kept, span, day, np.median(dry, axis=1), life), np.median(left, axis=1)


def _ready(kept: Kept, span: Span, day: int, dry: Floats, life: Ints) -> int:
    """Give the first day on which a tree may be watered again after a watering on a day.

    That is when it is dry to its target in the middle of the ways, or when its floor is near.
    """
    target = kept.model.dry_target_mm(span.told.sky.instant(int(span.at_h[day])))
    if not target or span.at_h[day] >= kept.floor_until:
        return 0
    later = np.arange(span.end + 1) > day
    may = later & ((dry >= target) | (span.at_h >= kept.floor_until))
    at_target = int(np.argmax(may)) if may.any() else span.end + 1
    near_floor = int(np.quantile(life, NEAR_FLOOR, method="lower"))
    return min(at_target, max(near_floor, day + 1))


def visited(kept: Kept, span: Span, watered: Flags) -> Path:
    """Run a tree through the absence, watered on some days in some ways.

    Parameters
    ----------
    kept : Kept
    span : Span
    watered : (D + 1, ways) bool array
        The departure's and the return's are left aside.
    """
    begin = int(span.at_h[0])
    part = kept.part(begin, span.last_h)
    hours, coin = part.hours.copy(), np.zeros_like(part.noise)
    for day in range(1, span.end):
        if watered[day].any():
            hour = int(span.at_h[day]) - begin
            hours[hour, layout.MAYBE] = 1.0
            coin[part.rows[hour]] = watered[day]
    state = at_rest(kept.pot, MEMBERS) if kept.watered else kept.state
    part = replace(part, hours=hours, coin=coin, limit=ANY)
    return run(Task(kept.pot, kept.params, state, part))


def litres(pot: Pot, left: float) -> float:
    """Give what a pot takes with so much left, and what runs out below while it is poured [L]."""
    return max(1.0 - left, 0.0) * pot.available_l / (1.0 - RUNS_OUT)
