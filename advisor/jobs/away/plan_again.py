"""A plan made again with newer weather: as near to the one before as it can be.

Somebody has that one on paper and in a calendar: with no more visits than are needed, its visits
stay where they are if they can.
"""

from collections.abc import Iterator
from itertools import combinations, islice
from typing import Final

import numpy as np

from advisor.jobs.away.plan_case import Case, Flags, Plan, lost_in, watered
from advisor.jobs.away.plan_start import tried

MOST_TRIED: Final = 500  # sets of days [J: a second or so for 200 trees]


def near(case: Case, plan: Plan, before: Flags) -> Plan:
    """Give a plan of as many visits that keeps pots and days, or all days but one, as they were.

    Parameters
    ----------
    case : Case
    plan : Plan
        The best for the newer weather; given back where none that is nearer was found.
    before : bool array (n, D + 1)
        The waterings of the plan before that are still to come.
    """
    visits = len(plan.visits)
    if before.any(axis=0).sum() == visits and _holds(case, before):
        return Plan(watered(case, before), lost_in(case, before), plan.fewest)
    old = [int(day) for day in np.flatnonzero(before.any(axis=0)) if day in case.days]
    given_up = np.isin(np.arange(case.weathers), plan.lost)
    for days in islice(_nearest(case, old, visits), MOST_TRIED):
        for lost in (_lost(case, days), given_up):
            found = tried(case, lost, days) if lost.sum() <= case.may_lose else None
            if found is not None and len(found.days) == visits:
                return Plan(watered(case, found.mask), lost_in(case, found.mask), plan.fewest)
    return plan


def _holds(case: Case, mask: Flags) -> bool:
    """Whether waterings keep the promise within all limits."""
    if len(lost_in(case, mask)) > case.may_lose:
        return False
    for i in range(case.trees):
        days = [0, *map(int, np.flatnonzero(mask[i]))]
        if any(case.ready[i, day] > to for day, to in zip(days, days[1:], strict=False)):
            return False
    minutes, litres = case.limits.minutes or np.inf, case.limits.litres or np.inf
    return all(visit.day in case.days and visit.minutes <= minutes + 1e-9
               and visit.litres <= litres + 1e-9 for visit in watered(case, mask))


def _lost(case: Case, days: list[int]) -> Flags:
    """Tell the weathers in which some tree comes to harm even if all are watered on all days."""
    mask = np.zeros((case.trees, case.end + 1), dtype=bool)
    mask[:, days] = True
    return np.isin(np.arange(case.weathers), lost_in(case, mask))


def _nearest(case: Case, old: list[int], visits: int) -> Iterator[list[int]]:
    """Give sets of days: of the old ones alone, then with one other, the least moved first."""
    if visits <= len(old):
        yield from map(list, combinations(old, visits))
    if not 0 < visits <= len(old) + 1:
        return
    others = [day for day in case.days if day not in old]
    moved = [(min((abs(day - each) for each in old if each not in kept), default=0), day, kept)
             for kept in combinations(old, visits - 1) for day in others]
    for _, day, kept in sorted(moved):
        yield sorted([*kept, day])
