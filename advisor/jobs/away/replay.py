"""A plan walked through again: in every way the weather may go, and in every past year."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from advisor.jobs.almanac import Almanac
from advisor.jobs.away.absence import Left
from advisor.jobs.away.lives import Kept, Span, falling, visited
from advisor.jobs.away.plan_case import Plan, lost_in
from advisor.jobs.away.sky import AwaySky, every_year
from advisor.jobs.carry import Point
from advisor.jobs.describe import TreeModel
from advisor.jobs.morning import side_by_side

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Trial:
    """One tree under a plan, in many ways: (ways,) arrays.

    Attributes
    ----------
    limit, harm : bool arrays
        Whether it passed the limit at which it wants water, and what does harm.
    harm_h : int array
        The hour of the sky at which harm began, where it did.
    spare : array
        The least share left, over what does harm [-].
    """

    limit: Flags
    harm: Flags
    harm_h: Ints
    spare: NDArray[np.float64]


@dataclass(frozen=True)
class Risk:
    """One tree's risk.

    Attributes
    ----------
    label : str
    chance : float
        Of harm, over the ways the weather may go.
    years_limit, years_harm : float
        Share of past years in which it would have passed its limit, and come to harm.
    worst : date or None
        The day on which harm most often begins.
    """

    label: str
    chance: float
    years_limit: float
    years_harm: float
    worst: date | None


@dataclass(frozen=True, eq=False)
class Past:
    """The garden under past years.

    Attributes
    ----------
    span : Span
    kept : tuple of Kept
    years, starts : (k,) arrays of int
        How many years before, and the departure's hour in the record, of the first k ways.
    """

    span: Span
    kept: tuple[Kept, ...]
    years: Ints
    starts: Ints

    @property
    def count(self) -> int:
        """How many years."""
        return int(np.unique(self.years).size)


def under_past_years(left: Left, away: AwaySky,
                     begun: Sequence[tuple[TreeModel, Point]]) -> Past | None:
    """Put the garden as it is left under every past year in store; None where there is none."""
    span, whole = left.span, left.span.told.sky
    leaves = int(span.at_h[0])
    midnight = whole.index(whole.midnight(whole.instant(leaves)))
    sky, years, starts = every_year(away, midnight)
    if not years.size:
        return None
    almanac = Almanac(sky, span.told.knowledge.site.latitude_deg)
    under = replace(span, told=replace(span.told, almanac=almanac))

    def one(i: int) -> Kept:
        model, point = begun[i]
        return replace(left.kept[i], forcing=falling(model, under, point))

    return Past(under, tuple(side_by_side(one, range(len(begun)))), years,
                starts + (leaves - midnight))


def planned(plan: Plan, trees: int, days: int) -> Flags:
    """Give the waterings of a plan as a table: (n, D + 1)."""
    mask = np.zeros((trees, days), dtype=bool)
    for visit in plan.visits:
        mask[list(visit.trees), visit.day] = True
    return mask


def trial(kept: Kept, span: Span, watered: Flags) -> Trial:
    """Run one tree through the absence, watered on some days in some ways.

    Parameters
    ----------
    kept : Kept
    span : Span
    watered : (D + 1, ways) bool array
    """
    begin = int(span.at_h[0])
    path = visited(kept, span, watered)
    past = kept.past_harm(path, begin)
    wants = path.left < kept.model.limit_at(span.told.sky.instant(begin))
    limit, harm = np.asarray(wants.any(axis=0)), np.asarray(past.any(axis=0))
    return Trial(limit, harm, begin + past.argmax(axis=0),
                 np.asarray((path.left - kept.model.bears.harm).min(axis=0), dtype=np.float64))


def trials(kept: Sequence[Kept], span: Span, mask: Flags) -> list[Trial]:
    """Run all trees through a plan: the same waterings in all ways."""
    ways = kept[0].params.shape[1]
    return side_by_side(
        lambda i: trial(kept[i], span, np.repeat(mask[i][:, None], ways, axis=1)),
        range(len(kept)))


def risks(left: Left, plan: Plan, past: Past | None) -> tuple[list[Risk], list[Trial]]:
    """Give each tree's risk under a plan, and the trials under past years.

    Parameters
    ----------
    left : Left
    plan : Plan
    past : Past or None
    """
    case = left.case()
    mask = planned(plan, case.trees, case.end + 1)
    under = trials(past.kept, past.span, mask) if past is not None else []
    told = []
    for i, kept in enumerate(left.kept):
        harmed = _harm_turns(case.life[i], mask[i])
        chance = float((harmed <= case.end).mean())
        days = [left.ask.date(int(turn)) for turn in harmed[harmed <= case.end]]
        limit = harm = 0.0
        if past is not None:
            limit, harm = (_share_of_years(each[:past.years.size], past.years)
                           for each in (under[i].limit, under[i].harm))
            days += _days(under[i], past)
        told.append(Risk(kept.label, chance, limit, harm, max(set(days), key=lambda day: (
            days.count(day), -day.toordinal())) if days else None))
    return told, under


def _harm_turns(life: Ints, watered: Flags) -> Ints:
    """Give the turn by which each way does harm; beyond the end none: (ways,)."""
    end = watered.size - 1
    turns = [0, *map(int, np.flatnonzero(watered)), end]
    found = np.full(life.shape[0], end + 1)
    for since, until in zip(turns, turns[1:], strict=False):
        over = life[:, since] < until
        found = np.where(over, np.minimum(found, life[:, since] + 1), found)
    return found


def _share_of_years(told: Flags, years: Ints) -> float:
    """Give the share of years, each the mean of its windows."""
    return float(np.mean([told[years == year].mean() for year in np.unique(years)]))


def _days(told: Trial, past: Past) -> list[date]:
    sky = past.span.told.sky
    return [sky.date(int(hour)) for hour, harm in
            zip(told.harm_h[:past.years.size], told.harm[:past.years.size], strict=True) if harm]


def any_harm(under: Sequence[Trial], past: Past) -> float:
    """Give the share of past years in which some tree would have come to harm."""
    harm = np.any([each.harm[:past.years.size] for each in under], axis=0)
    return _share_of_years(harm, past.years)


def matters_most(left: Left, plan: Plan) -> int | None:
    """Give the visit that, left out, does harm in the most ways; None where there is none."""
    case = left.case()
    mask = planned(plan, case.trees, case.end + 1)
    lost = []
    for visit in plan.visits:
        without = mask.copy()
        without[:, visit.day] = False
        lost.append(len(lost_in(case, without)))
    return int(np.argmax(lost)) if lost else None

