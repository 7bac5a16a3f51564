"""Choosing a pot and a mix: each choice run over the garden's own past years.

The tree is taken as established in each pot. One keeper walks the garden's rounds and waters until
it runs once the tree's limit is reached; another comes once a day and fills whatever is not full:
where that does not last until the next morning, the day wants two waterings. All choices meet the
same weather and the same guesses at what is not known, so that they differ by the choice.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout, members
from advisor.balance.run import Forcing, Task, at_rest, run
from advisor.errors import Refused
from advisor.garden.records import Rounds
from advisor.jobs.describe import TreeModel
from advisor.jobs.potting.choices import Choice, without_drainage
from advisor.jobs.potting.past_weather import (
    COUNT,
    YEAR_H,
    Stage,
    drawn_of,
    kept,
    poured_l,
    waterings,
)
from advisor.pot import capacity
from advisor.pot.shape import layers

Floats = NDArray[np.float64]

LEAST_DAYS: Final = 330  # of weather for a year to stand for the others [J]
AIR_LEAST: Final = 0.10  # of the volume: roots want as much air [M; .10-.20]
DRY_DAYS: Final = 42  # within which a dry depth is waited for [common practice]
#: Month of repotting in the north, conifers and others [common practice].
CONIFER_MONTH, OTHER_MONTH = 9, 3
TRY_DEPTH_MM: Final = 5.0  # by which a soil depth not probed may be off [J]
MOST_HARM_D: Final = 3.0  # days of harm a year at one round a day that still would do [J]
MOST_TWICE: Final = 0.25  # share of days of two waterings that still would do [J]


@dataclass(frozen=True)
class Holds:
    """What a choice holds after watering, and what it weighs; the pot itself not counted."""

    soil_l: float
    soil_depth_mm: float
    held_l: float
    available_l: float
    air_share: float
    wet_base_mm: float
    dry_kg: float
    wet_kg: float
    held_without_drainage_l: float | None


@dataclass(frozen=True)
class Interval:
    """Days between waterings that begin in a month: the middle, and one in ten is shorter."""

    median_d: float
    tenth_d: float


@dataclass(frozen=True, eq=False)
class Outcome:
    """What a choice comes to over the past years.

    Attributes
    ----------
    months : tuple of Interval or None, 12
        January first; None where nothing was watered.
    waterings, litres : float
        A year, by the rounds; what runs through below is counted [L].
    twice_share : float
        Share of the warmest month's days on which one watering in the morning does not last
        until the next: the limit is passed before it [-].
    harm_chance, harm_days : float
        Where the keeper comes once a day: chance that its harm limit is passed in a year, and
        days a year on which it is.
    to_target_d : (low, mid, high) or None
        Days to dry to its target after repotting with the rain kept off; infinite past
        DRY_DAYS. None where it has no target, or no year tells.
    target_mm : float or None
    height_mm, wet, full, wilting : (layers,) arrays
        Heights, water after watering, pores and what roots cannot take [m³/m³].
    """

    choice: Choice
    holds: Holds
    months: tuple[Interval | None, ...]
    waterings: float
    litres: float
    twice_share: float
    harm_chance: float
    harm_days: float
    to_target_d: tuple[float, float, float] | None
    target_mm: float | None
    height_mm: Floats
    wet: Floats
    full: float
    wilting: float

    @property
    def would_do(self) -> bool:
        """Whether one round a day, and now and then two, keeps the tree."""
        return self.harm_days <= MOST_HARM_D and self.twice_share <= MOST_TWICE


@dataclass(frozen=True)
class Moves:
    """How far one thing that is not known moves days between waterings in the warmest month."""

    what: str
    low_d: float
    high_d: float


@dataclass(frozen=True, eq=False)
class Compared:
    """Choices side by side."""

    outcomes: tuple[Outcome, ...]
    moves: tuple[Moves, ...]  # what moves the first choice, the most first
    warm_month: int
    repot_month: int
    years: float
    rounds: tuple[Rounds, ...]
    own_rounds: bool  # told by the grower


def compare(stage: Stage, choices: Sequence[Choice], repot_month: int | None = None,
            progress: Callable[[int], Any] = lambda done: None) -> Compared:
    """Run each choice over the past years.

    Parameters
    ----------
    stage : Stage
    choices : sequence of Choice
    repot_month : int, optional
        Month in which it would be repotted; by its kind where None.
    progress : callable
        Told how many choices are done.

    Raises
    ------
    Refused
        Too little weather, or a pot that holds no soil.
    """
    if stage.hours < 24 * LEAST_DAYS:
        raise Refused("weather of past years", f"{stage.hours / 24.0:.0f} days",
                      f"at least {LEAST_DAYS} days", "Get past years: advisor weather past.")
    models = [stage.model(choice, stage.sky.instant(0)) for choice in choices]
    month = repot_month or _repot_month(models[0], stage.knowledge.site.latitude_deg)
    outcomes = []
    for done, choice in enumerate(choices):
        progress(done)
        outcomes.append(_outcome(stage, choice, month))
    moved = _moves(stage, choices[0])
    progress(len(choices))
    return Compared(tuple(outcomes), moved, stage.warm_month, month, stage.hours / YEAR_H,
                    tuple(stage.knowledge.rounds.values()), stage.own_rounds)


def _repot_month(model: TreeModel, latitude_deg: float) -> int:
    month = CONIFER_MONTH if model.group.conifer else OTHER_MONTH
    return month if latitude_deg >= 0.0 else (month + 5) % 12 + 1


def _outcome(stage: Stage, choice: Choice, repot_month: int) -> Outcome:
    model, happens = stage.happens(choice, stage.sky.instant(0), "none", (0, stage.hours))
    drawn = drawn_of(model)
    usual, once = (kept(model, happens, keeper, drawn)
                   for keeper in (stage.by_rounds, stage.once_a_day))
    watered = waterings(model, happens, stage.by_rounds, usual.left, drawn)
    years = stage.hours / YEAR_H
    day = stage.sky.day[:stage.hours]
    harmed = once.left < model.bears.harm
    blocks = np.arange(stage.hours) * max(round(years), 1) // stage.hours
    column = layers(model.filled.shape)
    curve = model.filled.curve
    return Outcome(
        choice=choice, holds=holds_of(stage, choice),
        months=tuple(interval(stage, watered, m) for m in range(1, 13)),
        waterings=float(watered.sum()) / COUNT / years,
        litres=float(poured_l(model, usual.left, watered, drawn).sum()) / years,
        twice_share=_twice_share(stage, once.left < model.bears.limit),
        harm_chance=float((_by(blocks, harmed) > 0).mean()),
        harm_days=float((_by(day, harmed) > 0).sum()) / COUNT / years,
        to_target_d=_to_target(stage, choice, repot_month),
        target_mm=_target(stage, choice),
        height_mm=column.centre_mm, wet=model.filled.pot.rest[0, layout.REST],
        full=curve.theta_s, wilting=curve.theta_wp)


def _twice_share(stage: Stage, past: NDArray[np.bool_]) -> float:
    """Give the share of the warmest month's mornings after which the limit is passed."""
    comes = stage.once_a_day.comes
    morning = comes & (stage.month == stage.warm_month)
    visit = np.cumsum(comes, dtype=np.int64)
    return float((_by(visit, past)[visit[morning]] > 0).mean())


def _by(group: NDArray[np.int64], marks: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Count marks by group: (groups, members)."""
    counts = np.zeros((int(group[-1]) + 1, marks.shape[1]), dtype=np.int64)
    row, column = np.nonzero(marks)
    np.add.at(counts, (group[row], column), 1)
    return counts


def holds_of(stage: Stage, choice: Choice) -> Holds:
    """Give what a choice holds after a watering."""
    model = stage.model(choice, stage.sky.instant(0))
    filled, curve = model.filled, model.filled.curve
    column = layers(filled.shape)
    held = capacity.holding(curve, column, filled.pot.rest[0, layout.REST],
                            filled.pot.surface_m2)
    without = None
    if choice.potting.drainage_mm:
        without = holds_of(stage, without_drainage(choice)).held_l
    dry_kg = curve.density_kgl * filled.soil_l
    h0_cm = capacity.drainage_h0_cm(choice.potting.drainage_mm, choice.potting.drainage_grain_mm)
    return Holds(filled.soil_l, filled.pot.depth_mm, held.total_l, held.available_l,
                 held.air_share, _wet_base_mm(curve, h0_cm, filled.pot.depth_mm), dry_kg,
                 dry_kg + held.total_l, without)


def _wet_base_mm(curve: Any, h0_cm: float, depth_mm: float) -> float:
    """Give how high the base has too little air after a watering [mm]."""
    height = np.linspace(0.0, depth_mm, 401)
    airy = curve.theta_s - curve.content(h0_cm + height / 10.0) >= AIR_LEAST
    return float(height[airy.argmax()]) if airy.any() else depth_mm


def interval(stage: Stage, watered: NDArray[np.bool_], month: int) -> Interval | None:
    """Give the days between waterings that begin in a month; None where there are none."""
    months = stage.month[-len(watered):]
    found = []
    for column in watered.T:
        at = np.flatnonzero(column)
        found.append(np.diff(at)[months[at[:-1]] == month] / 24.0)
    gaps = np.concatenate(found)
    if not gaps.size:
        return None
    return Interval(float(np.median(gaps)), float(np.quantile(gaps, 0.1)))


def _target(stage: Stage, choice: Choice) -> float | None:
    at = stage.sky.instant(0)
    return stage.model(choice, at, stage.root_work).dry_target_mm(at)


def _to_target(stage: Stage, choice: Choice, month: int) -> tuple[float, float, float] | None:
    """Give the days from a repotting on the month's 15th until its target is dry."""
    target = _target(stage, choice)
    if target is None:
        return None
    found = []
    for date in stage.sky.dates:
        told = date.astype(object)
        if (told.month, told.day) != (month, 15):
            continue
        first = int(np.searchsorted(stage.sky.day, (date - stage.sky.dates[0]).astype(int))) + 12
        last = first + 24 * DRY_DAYS
        if last <= stage.hours:
            found.append(_dried_d(stage, choice, (first, last), target))
    if not found:
        return None
    days = np.concatenate(found)
    days = np.where(days < DRY_DAYS, days, np.inf)
    low, mid, high = (float(np.quantile(days, q, method="nearest")) for q in (0.05, 0.5, 0.95))
    return low, mid, high


def _dried_d(stage: Stage, choice: Choice, span: tuple[int, int], target_mm: float) -> Floats:
    model, happens = stage.happens(choice, stage.sky.instant(span[0]), stage.root_work, span)
    happens.hours[:, layout.RAIN] = 0.0
    path = run(Task(model.filled.pot, drawn_of(model), at_rest(model.filled.pot, COUNT), happens))
    dry = path.dry_mm >= target_mm
    return np.where(dry.any(axis=0), dry.argmax(axis=0) / 24.0, float(DRY_DAYS))


def _moves(stage: Stage, choice: Choice) -> tuple[Moves, ...]:
    """Move what is not known of a choice one by one, over the last year."""
    span = (max(stage.hours - YEAR_H, 0), stage.hours)
    at = stage.sky.instant(span[0])
    model, happens = stage.happens(choice, at, "none", span)
    prior = model.filled.prior
    names = ("how much this tree drinks", "how much the mix holds",
             "how readily water creeps up in it")
    spreads = (members.SD_LN_THIRST, prior.sd_ln_capacity, prior.sd_ln_k_c)
    middle = np.array([[1.0], [1.0], [prior.k_c_cmh], [members.THRESHOLD]])
    drawn = np.repeat(middle, 6, axis=1)
    for i, sd in enumerate(spreads):
        drawn[i, 2 * i:2 * i + 2] *= np.exp([-sd, sd])
    gaps = _gaps(stage, model, happens, drawn)
    found = [Moves(name, *sorted(gaps[2 * i:2 * i + 2])) for i, name in enumerate(names)]
    if choice.potting.soil_depth_mm is None and model.filled.shape.depth_mm > 2 * TRY_DEPTH_MM:
        depths = []
        for by in (-TRY_DEPTH_MM, TRY_DEPTH_MM):
            depth = model.filled.shape.depth_mm + choice.potting.drainage_mm + by
            other = replace(choice, potting=replace(choice.potting, soil_depth_mm=depth))
            depths += _gaps(stage, *stage.happens(other, at, "none", span), middle)
        found.append(Moves("how deep the soil is, by a few millimetres", *sorted(depths)))
    return tuple(sorted(found, key=lambda each: each.low_d / max(each.high_d, 1e-9)))


def _gaps(stage: Stage, model: TreeModel, happens: Forcing, drawn: Floats) -> list[float]:
    """Give mean days between waterings in the warmest month, a guess."""
    count = drawn.shape[1]
    even = np.ones((len(happens.noise), count))
    path = kept(model, replace(happens, noise=even, coin=even), stage.by_rounds, drawn)
    warm = stage.month[-len(path.left):] == stage.warm_month
    marks = waterings(model, happens, stage.by_rounds, path.left, drawn) & warm[:, None]
    return [float(warm.sum() / 24.0 / max(n, 1)) for n in marks.sum(axis=0)]
