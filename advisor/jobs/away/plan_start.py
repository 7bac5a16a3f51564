"""A first plan of visits by rule, and a better one by moving its visits about.

Quick and never wrong about what it promises, but not shown to be the best: that is
`advisor.jobs.away.plan_model`'s task.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import Final

import numpy as np

from advisor.jobs.away.plan_case import Case, Flags, Ints

FAR: Final = 1_000_000  # more waterings than any plan has: not to be reached
REACH: Final = 4  # days by which a visit is moved at most
WORK: Final = 1.2e8  # tries, by trees and visits squared: some seconds [J]


@dataclass(frozen=True, eq=False)
class Tried:
    """A plan that holds: weathers given up, days, who is watered when, litres carried."""

    lost: Flags
    days: tuple[int, ...]
    mask: Flags
    litres: float


def carries(case: Case, lost: Flags) -> Ints:
    """Give the last day to which each watering carries in every weather that is not given up.

    Parameters
    ----------
    case : Case
    lost : bool array (W,)

    Returns
    -------
    int array (n, D + 1)
    """
    if lost.all():
        return np.full_like(case.ready, case.end)
    return np.asarray(case.life[:, ~lost].min(axis=1))


def latest(case: Case) -> tuple[int, ...] | None:
    """Give visits to all simple trees, each as late as it can be; None if some day is too far.

    No plan has fewer. Where no visit has limits, all trees are simple and no weather may be
    given up, it is a plan.

    Parameters
    ----------
    case : Case
    """
    if not case.simple.any():
        return ()
    together = case.life[case.simple].min(axis=0)
    carry = np.partition(together, case.may_lose, axis=0)[case.may_lose]
    found: list[int] = []
    day = 0
    while carry[day] < case.end:
        reached = [each for each in case.days if day < each <= carry[day]]
        if not reached:
            return None
        day = reached[-1]
        found.append(day)
    return tuple(found)


def thinned(case: Case, carry: Ints, days: Sequence[int], own: Flags | None = None) -> Flags | None:
    """Water each tree as seldom as these visits let it; None where one cannot be kept.

    Parameters
    ----------
    case : Case
    carry : int array (n, D + 1)
    days : sequence of int
    own : bool array (n, D + 1), optional
        On which of the days a tree may be watered; else on all of them.
    """
    nodes = np.array([0, *days, case.end])
    count = np.full((case.trees, nodes.size), FAR)
    before = np.zeros_like(count)
    count[:, 0] = 0
    for j in range(1, nodes.size):
        ok = carry[:, nodes[:j]] >= nodes[j]
        if j < nodes.size - 1:
            ok &= case.ready[:, nodes[:j]] <= nodes[j]
            if own is not None:
                ok &= own[:, nodes[j], None]
        came = np.where(ok, count[:, :j], FAR)
        before[:, j] = came.argmin(axis=1)
        count[:, j] = came.min(axis=1) + 1
    if (count[:, -1] > FAR).any():
        return None
    mask = np.zeros((case.trees, case.end + 1), dtype=bool)
    trees, at = np.arange(case.trees), before[:, -1]
    while at.any():
        mask[trees, nodes[at]] = True
        at = before[trees, at]
    mask[:, 0] = False
    return mask


def fitted(case: Case, carry: Ints, days: Sequence[int]) -> Flags | None:
    """Fill each visit up to its limits, first with what cannot wait; None where that fails."""
    trees = np.arange(case.trees)
    last = np.zeros(case.trees, dtype=np.int64)
    mask = np.zeros((case.trees, case.end + 1), dtype=bool)
    for day, following in zip(days, [*days, case.end][1:], strict=True):
        due, can = carry[trees, last], case.ready[trees, last] <= day
        must = due < following
        if (due < day).any() or (must & ~can).any():
            return None
        taken = _filled(case, np.lexsort((due, ~must)), can)
        if (must & ~taken).any():
            return None
        mask[:, day] = taken
        last[taken] = day
    if (carry[trees, last] < case.end).any():
        return None
    return thinned(case, carry, days, mask)


def _filled(case: Case, order: Ints, can: Flags) -> Flags:
    """Take trees in an order as long as minutes and litres last."""
    minutes = np.inf if case.limits.minutes is None else case.limits.minutes + 1e-9
    litres = np.inf if case.limits.litres is None else case.limits.litres + 1e-9
    taken = np.zeros(case.trees, dtype=bool)
    for i in order[can[order]]:
        if case.minutes[i] <= minutes and case.litres[i] <= litres:
            taken[i] = True
            minutes -= case.minutes[i]
            litres -= case.litres[i]
    return taken


def tried(case: Case, lost: Flags, days: Sequence[int]) -> Tried | None:
    """Make a plan of given visits and given-up weathers; None where none was found."""
    carry = carries(case, lost)
    mask = fitted(case, carry, days) if case.limited else thinned(case, carry, days)
    if mask is None:
        return None
    used = tuple(int(day) for day in np.flatnonzero(mask.any(axis=0)))
    return Tried(lost, used, mask, float(case.litres @ mask.sum(axis=1)))


def dropped(case: Case, lost: Flags) -> Tried | None:
    """Begin with every day that is possible and leave out what can be left out."""
    best = tried(case, lost, case.days)
    for order in (case.days, case.days[::-1]):
        plan = tried(case, lost, case.days)
        for day in order:
            if plan is not None and day in plan.days:
                plan = tried(case, lost, [each for each in plan.days if each != day]) or plan
        if plan is not None and best is not None and _better(plan, best):
            best = plan
    return best


def improved(case: Case, plan: Tried) -> Tried:
    """Move visits, and give up other weathers, as long as that carries less."""
    left = max(int(WORK / (case.trees * (len(plan.days) + 1) ** 2)), 1)
    while True:
        begun = plan
        moves = chain(((plan.lost, days) for days in _moved(case, plan.days)),
                      ((lost, plan.days) for lost in _exchanged(case, plan.lost)))
        for lost, days in islice(moves, left):
            left -= 1
            other = tried(case, lost, days)
            if other is not None and _better(other, plan):
                plan = other
                break
        if plan is begun or left <= 0:
            return plan


def safer(case: Case, plan: Tried) -> Tried:
    """Keep weathers that were given up for nothing: same visits, same carrying."""
    for weather in np.flatnonzero(plan.lost):
        kept = plan.lost.copy()
        kept[weather] = False
        other = tried(case, kept, plan.days)
        if other is not None and not _better(plan, other):
            plan = other
    return plan


def _better(one: Tried, other: Tried) -> bool:
    return (len(one.days), one.litres + 1e-9) < (len(other.days), other.litres)


def _moved(case: Case, days: Sequence[int]) -> Iterator[list[int]]:
    for day in days:
        rest = [each for each in days if each != day]
        yield from (sorted([*rest, to]) for to in case.days
                    if abs(to - day) <= REACH and to not in days)


def _exchanged(case: Case, lost: Flags) -> Iterator[Flags]:
    given, kept = np.flatnonzero(lost), np.flatnonzero(~lost)
    room = given.size < case.may_lose
    for old in given if not room else [-1]:
        for new in kept if case.may_lose else []:
            other = lost.copy()
            other[new] = True
            if old >= 0:
                other[old] = False
            yield other
