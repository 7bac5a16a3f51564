"""Why no plan keeps the promise: which trees break it, on which day, and what stands in the way."""

from dataclasses import replace

import numpy as np

from advisor.jobs.away import plan_model as model
from advisor.jobs.away.plan_case import (
    DAYS,
    LIFE,
    LITRES,
    MINUTES,
    REST,
    SAFETY,
    UNDECIDED,
    Case,
    Flags,
    Impossible,
    Ints,
)
from advisor.jobs.away.plan_model import EXCESS, GIVEN_UP, Found, Model, Within


def alone(case: Case) -> Impossible | None:
    """Say which trees could not be kept even if each were the only one; None where all can be.

    Parameters
    ----------
    case : Case
    """
    carry = _carry(case)
    days = _harm_days(case, carry, case.ready)
    for why, value, most in ((MINUTES, case.minutes, case.limits.minutes),
                             (LITRES, case.litres, case.limits.litres)):
        if most is not None and (heavy := (value > most + 1e-9) & (carry[:, 0] < case.end)).any():
            return _first(heavy, carry[:, 0] + 1, why)
    broken = days <= case.end
    if not broken.any():
        return None
    daily = replace(case, allowed=np.ones(case.end + 1, dtype=bool))
    rested = _harm_days(daily, carry, case.ready) > case.end
    free = _harm_days(daily, carry, np.zeros_like(case.ready)) > case.end
    for why, which in ((LIFE, broken & ~free), (REST, broken & free & ~rested)):
        if which.any():
            return _first(which, days, why)
    return _first(broken, days, DAYS)


def _first(which: Flags, days: Ints, why: str) -> Impossible:
    """Name all that break it, and the day of the first of them."""
    trees = np.flatnonzero(which)
    return Impossible(tuple(map(int, trees)), int(days[trees].min()), why)


def _carry(case: Case) -> Ints:
    """Give the last day to which a watering carries with as many weathers lost as may be."""
    return np.asarray(np.partition(case.life, case.may_lose, axis=1)[:, case.may_lose])


def _harm_days(case: Case, carry: Ints, ready: Ints) -> Ints:
    """Give the first day on which each tree comes to harm whatever is done; beyond the end none."""
    reached = np.zeros((case.trees, case.end + 1), dtype=bool)
    reached[:, 0] = True
    harm = np.zeros(case.trees, dtype=np.int64)
    for day in (0, *case.days):
        here = reached[:, day]
        harm = np.where(here, np.maximum(harm, carry[:, day] + 1), harm)
        for to in case.days:
            if to > day:
                reached[:, to] |= here & (carry[:, day] >= to) & (ready[:, day] <= to)
    return harm


def why_safety(case: Case, seconds: float) -> Impossible:
    """Say which trees give up more weathers together than may be given up.

    Parameters
    ----------
    case : Case
    seconds : float
        How long may be searched [s].
    """
    free = replace(case, limits=replace(case.limits, minutes=None, litres=None))
    walkers = model.with_simple(free, model.single(free, ~free.simple))
    found = Model(free, walkers, case.weathers).solve(GIVEN_UP, Within(seconds=seconds))
    if not isinstance(found, Found):
        return Impossible((), case.end, UNDECIDED)
    others = np.flatnonzero(~case.simple)
    mask = np.zeros((case.trees, case.end + 1), dtype=bool)
    mask[:, found.days] = True
    mask[others] = found.mask[:others.size]
    harmed = _harmed(case, mask)
    trees = np.flatnonzero((harmed <= case.end).any(axis=1))
    return Impossible(tuple(map(int, trees)), int(harmed.min()), SAFETY)


def _harmed(case: Case, mask: Flags) -> Ints:
    """Give the day on which each tree comes to harm in each weather; beyond the end none."""
    day = np.full((case.trees, case.weathers), case.end + 1)
    for i in range(case.trees):
        nodes = [0, *map(int, np.flatnonzero(mask[i])), case.end]
        for start, stop in zip(nodes, nodes[1:], strict=False):
            ends = case.life[i, :, start] + 1
            day[i] = np.where(ends <= stop, np.minimum(day[i], ends), day[i])
    return day


def why_limits(case: Case, seconds: float) -> Impossible:
    """Say on which day the limits of a visit do not do, which of them, and for which trees.

    Parameters
    ----------
    case : Case
    seconds : float
        How long may be searched [s].
    """
    everyone = model.with_simple(case, model.single(case, np.ones(case.trees, dtype=bool)))
    found = Model(case, everyone, case.may_lose).solve(EXCESS, Within(seconds=seconds))
    if not isinstance(found, Found):
        return Impossible((), case.end, UNDECIDED)
    over = np.flatnonzero(found.excess > 1e-7)
    day = case.days[int(over[0])] if over.size else case.end
    trees = np.flatnonzero(found.mask[:case.trees, day])
    most = case.limits.minutes
    long = most is not None and case.minutes[trees].sum() > most * (1.0 + 1e-7)
    return Impossible(tuple(map(int, trees)), day, MINUTES if long else LITRES)
