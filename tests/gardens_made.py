"""Gardens to be kept through an absence, made at random, and the exact fewest visits to them."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from advisor.jobs.away.plan_case import Case, Limits, Plan


def wandering(rng: np.random.Generator, shape: tuple[int, int, int]) -> np.ndarray:
    """Give lives that keep no order at all."""
    n, weathers, days = shape
    return np.minimum(np.arange(days) + rng.integers(2, days // 2 + 3, shape), days - 1)


def drying(rng: np.random.Generator, shape: tuple[int, int, int]) -> np.ndarray:
    """Give lives of pots that dry at the same pace, each weather at its own."""
    n, weathers, days = shape
    asked = np.exp(rng.normal(0.0, 0.3, (weathers, days)))
    so_far = np.concatenate([np.zeros((weathers, 1)), np.cumsum(asked, axis=1)], axis=1)
    holds = rng.uniform(2.5, 0.7 * days, n)
    life = np.empty(shape, dtype=np.int64)
    for i in range(n):
        for day in range(days):
            left = so_far <= so_far[:, [day]] + holds[i] * (0.8 if day == 0 else 1.0)
            life[i, :, day] = np.minimum(left.sum(axis=1) - 1, days - 1)
    return life


def garden(rng: np.random.Generator, trees: int, weathers: int, end: int) -> Case:
    """Make a garden: of either kind, some trees resting, on some days, with limits or without."""
    shape = (trees, weathers, end + 1)
    life = (drying if rng.random() < 0.7 else wandering)(rng, shape)
    rest = np.where(rng.random(trees) < 0.15, rng.integers(2, 4, trees), 1)
    litres = rng.integers(6, 60, trees) * 0.05
    minutes = rng.integers(2, 9, trees) * 0.25
    limits = Limits()
    if rng.random() < 0.5:
        limits = Limits(max(minutes.max(), rng.uniform(0.5, 1.0) * minutes.sum()),
                        max(litres.max(), rng.uniform(0.5, 1.0) * litres.sum()))
    return Case(life, np.arange(end + 1) + rest[:, None], litres, minutes,
                rng.random(end + 1) < rng.choice([0.8, 1.0]),
                float(rng.choice([1.0, 0.85, 0.75])), limits)


def pots(life_d: int, end: int = 8, trees: int = 2, **more) -> Case:
    """Make pots that last so many days, all alike but for `more`."""
    days = np.arange(end + 1)
    life = np.minimum(np.tile(days + life_d, (trees, 4, 1)), end)
    case = Case(life, np.tile(days + 1, (trees, 1)), np.full(trees, 2.0), np.full(trees, 5.0),
                np.ones(end + 1, dtype=bool), safety=1.0)
    return replace(case, **more)


def promised(case: Case, told: Plan) -> bool:
    """Walk through a plan day by day: every promise kept, everything told as it is."""
    harmed = np.zeros(case.weathers, dtype=bool)
    last = np.zeros(case.trees, dtype=int)
    for visit in told.visits:
        trees = list(visit.trees)
        assert visit.day in case.days
        assert trees
        assert (case.ready[trees, last[trees]] <= visit.day).all()
        harmed |= (case.life[trees, :, last[trees]] < visit.day).any(axis=0)
        last[trees] = visit.day
        assert visit.litres == pytest.approx(case.litres[trees].sum())
        assert visit.minutes == pytest.approx(case.minutes[trees].sum())
        assert visit.litres <= (case.limits.litres or np.inf) + 1e-6
        assert visit.minutes <= (case.limits.minutes or np.inf) + 1e-6
    harmed |= (case.life[np.arange(case.trees), :, last] < case.end).any(axis=0)
    assert told.lost == tuple(np.flatnonzero(harmed))
    return len(told.lost) <= case.may_lose


def fewest(case: Case) -> tuple[int, float] | None:
    """Give visits and litres of the best plan by trying everything; None where there is none.

    A dynamic programme over the day each tree was last watered, for every set of weathers that
    may be given up.
    """
    found = [best for life in _lives(case) if (best := _fewest(case, life)) is not None]
    return min(found) if found else None


def _lives(case: Case) -> list[np.ndarray]:
    """Give the lives left by each set of given-up weathers, but those that others contain."""
    tables = []
    for lost in combinations(range(case.weathers), case.may_lose):
        kept = np.setdiff1d(np.arange(case.weathers), lost)
        tables.append(case.life[:, kept].min(axis=1))
    tables = list(np.unique(tables, axis=0))
    return [one for one in tables
            if not any(other is not one and (other >= one).all() for other in tables)]


def _fewest(case: Case, life: np.ndarray) -> tuple[int, float] | None:
    carry, ready = life.tolist(), case.ready.tolist()
    subsets = list(_subsets(case))
    states = {(0,) * case.trees: (0, 0.0)}
    for day in range(1, case.end):
        following: dict[tuple[int, ...], tuple[int, float]] = {}
        for last, (visits, litres) in states.items():
            may = {i for i, d in enumerate(last) if carry[i][d] >= day and ready[i][d] <= day}
            for trees, more_l in subsets if day in case.days else subsets[:1]:
                if not may.issuperset(trees):
                    continue
                then = tuple(day if i in trees else d for i, d in enumerate(last))
                if any(carry[i][d] <= day for i, d in enumerate(then)):
                    continue
                cost = (visits + bool(trees), litres + more_l)
                if cost < following.get(then, (99, 0.0)):
                    following[then] = cost
        states = following
    ends = [cost for last, cost in states.items()
            if all(carry[i][d] >= case.end for i, d in enumerate(last))]
    return min(ends) if ends else None


def _subsets(case: Case) -> Iterator[tuple[tuple[int, ...], float]]:
    minutes = np.inf if case.limits.minutes is None else case.limits.minutes + 1e-9
    litres = np.inf if case.limits.litres is None else case.limits.litres + 1e-9
    for size in range(case.trees + 1):
        for trees in combinations(range(case.trees), size):
            chosen = list(trees)
            if case.minutes[chosen].sum() <= minutes and case.litres[chosen].sum() <= litres:
                yield trees, float(case.litres[chosen].sum())
