"""The fewest visits that keep every tree, then the least carrying."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from advisor.jobs.away import plan_model as model
from advisor.jobs.away.plan_case import UNDECIDED, Case, Flags, Impossible, Plan, lost_in, watered
from advisor.jobs.away.plan_model import CARRYING, VISITS, Found, Model, Within
from advisor.jobs.away.plan_start import (
    Tried,
    carries,
    dropped,
    improved,
    latest,
    safer,
    thinned,
    tried,
)
from advisor.jobs.away.plan_why import alone, why_limits, why_safety

#: How long the search may take beside the first draft: by tree, at least and at most [s] [J].
TREE_S, LEAST_S, MOST_S = 0.125, 2.5, 25.0


def plan(case: Case, seconds: float | None = None) -> Plan | Impossible:
    """Give the fewest visits that keep every tree, then the least carrying.

    Parameters
    ----------
    case : Case
    seconds : float
        How long the search may take [s], else by the number of trees; what it finds in time is
        given, with what is left open.
    """
    *_, last = steps(case, seconds)
    return last


def steps(case: Case, seconds: float | None = None) -> Iterator[Plan | Impossible]:
    """Give plans as they get better: each keeps the promise, the last is the best.

    Parameters
    ----------
    case : Case
    seconds : float
        How long the search may take [s], else by the number of trees.
    """
    seconds = min(max(TREE_S * case.trees, LEAST_S), MOST_S) if seconds is None else seconds
    unkept = alone(case)
    if unkept is not None:
        yield unkept
        return
    quick = dropped(case, _harshest(case))
    if quick is not None:
        yield _told(case, quick, len(latest(case) or ()))
    chain = _chain(case, 0.2 * seconds)
    if isinstance(chain, Impossible):
        yield chain
        return
    lost, days, fewest = chain
    draft, left = _draft(case, lost, days), 0.8 * seconds
    if draft is not None:
        yield _told(case, draft, fewest)
    if draft is None or len(draft.days) > fewest:
        step = _fewest(case, draft, fewest, 0.5 * seconds)
        left = 0.3 * seconds
        if isinstance(step, Impossible):
            yield step
            return
        draft, fewest = step
        yield _told(case, draft, fewest)
    better = improved(case, draft)
    yield _told(case, better, fewest)
    yield _least(case, better, fewest, left)


def _harshest(case: Case) -> Flags:
    """Give as many weathers as may be given up: those in which trees last least."""
    lost = np.zeros(case.weathers, dtype=bool)
    lost[np.argsort(case.life.sum(axis=(0, 2)), kind="stable")[:case.may_lose]] = True
    return lost


def _chain(case: Case, seconds: float) -> tuple[Flags, tuple[int, ...], int] | Impossible:
    """Give weathers to give up and visits as if a visit had no limits, and how few these are.

    Simple trees are then watered together, which makes them one.
    """
    none = np.zeros(case.weathers, dtype=bool)
    days = latest(case)
    if days is None:
        return why_safety(case, seconds)
    if case.may_lose == 0 and case.simple.all():
        return none, days, len(days)
    free = replace(case, limits=replace(case.limits, minutes=None, litres=None))
    walkers = model.with_simple(free, model.single(free, ~free.simple, alike=True))
    found = Model(free, walkers, case.may_lose).solve(VISITS, Within(seconds=seconds))
    if isinstance(found, Found):
        return found.lost, found.days, max(_up(found.bound), len(days))
    return why_safety(case, seconds) if found else (none, case.days, len(days))


def _draft(case: Case, lost: Flags, days: Sequence[int]) -> Tried | None:
    """Give a first plan: of these visits if they do, else of what is left of all days."""
    return tried(case, lost, days) or dropped(case, lost)


def _fewest(case: Case, draft: Tried | None, fewest: int,
            seconds: float) -> tuple[Tried, int] | Impossible:
    """Look for fewer visits than the draft has, within the limits of a visit."""
    most = len(draft.days) - 1 if draft is not None else len(case.days)
    found = _whole(case).solve(VISITS, Within(fewest, most, seconds=seconds))
    if isinstance(found, Found):
        return _tried(case, found), max(fewest, _up(found.bound))
    if draft is not None:
        return draft, len(draft.days) if found else fewest
    return why_limits(case, seconds) if found else Impossible((), case.end, UNDECIDED)


def _least(case: Case, draft: Tried, fewest: int, seconds: float) -> Plan:
    """Look for less carrying in as many visits as the draft has."""
    visits = len(draft.days)
    within = Within(visits, visits, draft.litres + 1e-6, seconds)
    found = _whole(case).solve(CARRYING, within)
    if isinstance(found, Found):
        better = _tried(case, found)
        best = better if better.litres < draft.litres - 1e-9 else draft
        return replace(_told(case, safer(case, best), fewest), least_l=found.bound)
    best = safer(case, draft)
    return replace(_told(case, best, fewest), least_l=draft.litres if found else 0.0)


def _whole(case: Case) -> Model:
    """Give the programme of all trees; those alike walk together where no limit parts them."""
    everyone = np.ones(case.trees, dtype=bool)
    walkers = model.single(case, everyone, alike=not case.limited)
    return Model(case, model.with_simple(case, walkers), case.may_lose)


def _tried(case: Case, found: Found) -> Tried:
    """Make a plan of what the solver found; without limits each tree for itself, exactly."""
    if not case.limited:
        plan_ = tried(case, found.lost, found.days)
        assert plan_ is not None, "the solver's visits keep every tree"
        return plan_
    mask = thinned(case, carries(case, found.lost), found.days, found.mask[:case.trees])
    assert mask is not None, "the solver's waterings keep every tree"
    days = tuple(int(day) for day in np.flatnonzero(mask.any(axis=0)))
    return Tried(found.lost, days, mask, float(case.litres @ mask.sum(axis=1)))


def _told(case: Case, plan_: Tried, fewest: int) -> Plan:
    return Plan(watered(case, plan_.mask), lost_in(case, plan_.mask), fewest)


def _up(bound: float) -> int:
    """Give the least whole number of visits that a bound leaves."""
    return max(int(np.ceil(bound - 1e-6)), 0) if np.isfinite(bound) else 0
