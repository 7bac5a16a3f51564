"""A plan made again: as few visits as the best, as many of the old days kept as can be."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from gardens_made import garden, pots, promised

from advisor.jobs.away.plan_again import near
from advisor.jobs.away.plan_case import Case, Flags, Limits, Plan
from advisor.jobs.away.plan_start import carries, thinned
from advisor.jobs.away.plan_visits import plan


def mask(case: Case, *visits: tuple[int, list[int]]) -> Flags:
    """Give waterings of trees by day."""
    found = np.zeros((case.trees, case.end + 1), dtype=bool)
    for day, trees in visits:
        found[trees, day] = True
    return found


def again(case: Case, *visits: tuple[int, list[int]]) -> Plan:
    best = plan(case)
    assert isinstance(best, Plan)
    return near(case, best, mask(case, *visits))


def test_what_holds_stays_as_it_was_pots_and_all():
    """The best would go on days 3 and 6; days 2 and 5 do as well."""
    case = pots(3)
    told = again(case, (2, [0, 1]), (5, [0, 1]))
    assert [(each.day, each.trees) for each in told.visits] == [(2, (0, 1)), (5, (0, 1))]


def test_one_visit_moves_as_little_as_it_can():
    """Days 2 and 6 leave a gap of four days: one of them moves by a day."""
    told = again(pots(3), (2, [0, 1]), (6, [0, 1]))
    assert [each.day for each in told.visits] in ([3, 6], [2, 5])


def test_one_more_visit_leaves_the_others():
    told = again(pots(2), (2, [0, 1]), (6, [0, 1]))
    assert [each.day for each in told.visits] == [2, 4, 6]


def test_a_visit_that_is_not_needed_goes():
    told = again(pots(5), (2, [0, 1]), (4, [0, 1]), (6, [0, 1]))
    assert [each.day for each in told.visits] == [4]


def test_old_pots_that_break_a_limit_are_not_kept():
    case = pots(3, limits=Limits(litres=4.0), trees=3)
    told = again(case, (3, [0, 1, 2]), (6, [0, 1, 2]))
    assert promised(case, told)


@pytest.mark.parametrize("seed", range(40))
def test_the_promise_is_kept_and_nothing_nearer_is_overlooked(seed):
    """Beside trying all sets of days, where no limit parts the trees and none may be lost."""
    rng = np.random.default_rng(seed)
    case = replace(garden(rng, 3, 6, 9), safety=1.0, limits=Limits())
    best = plan(case, 60.0)
    if not isinstance(best, Plan) or not best.visits:
        return
    old = sorted(rng.choice(case.days, size=min(len(best.visits), len(case.days)), replace=False))
    told = near(case, best, mask(case, *((int(day), [0, 1, 2]) for day in old)))
    assert promised(case, told)
    assert len(told.visits) == len(best.visits)
    carry = carries(case, np.zeros(case.weathers, dtype=bool))
    holding = [days for days in combinations(case.days, len(best.visits))
               if thinned(case, carry, days) is not None]
    kept = max(len(set(days) & set(old)) for days in holding)
    if kept >= len(best.visits) - 1:
        assert len({each.day for each in told.visits} & set(old)) == kept
