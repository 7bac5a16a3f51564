"""Plans of visits against trying everything, and against what must hold for any garden."""

from dataclasses import replace

import numpy as np
import pytest
from gardens_made import drying, fewest, garden, pots, promised
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.jobs.away.plan_case import (
    DAYS,
    LIFE,
    LITRES,
    MINUTES,
    REST,
    SAFETY,
    UNDECIDED,
    Case,
    Impossible,
    Limits,
    Plan,
)
from advisor.jobs.away.plan_model import VISITS, Found, Model, Within, single, with_simple
from advisor.jobs.away.plan_start import latest
from advisor.jobs.away.plan_visits import plan, steps

PARTS = 10
LONG_S = 60.0  # far longer than small gardens take: the search ends by itself


@pytest.mark.parametrize("part", range(PARTS))
def test_as_few_visits_and_as_little_carried_as_trying_everything_finds(part):
    kept = 0
    for seed in range(50 * part, 50 * part + 50):
        rng = np.random.default_rng(seed)
        case = garden(rng, *(int(rng.integers(*span)) for span in ((2, 5), (2, 9), (6, 9))))
        told, best = plan(case, LONG_S), fewest(case)
        if isinstance(told, Impossible):
            assert best is None, seed
            continue
        assert best is not None, seed
        assert (len(told.visits), told.litres) == (best[0], pytest.approx(best[1])), seed
        assert promised(case, told), seed
        assert told.least, seed
        kept += 1
    assert kept > 20


@pytest.mark.parametrize("part", range(PARTS))
def test_larger_gardens_keep_the_promise_and_say_what_is_open(part):
    for seed in range(5):
        rng = np.random.default_rng([part, seed])
        case = garden(rng, int(rng.integers(6, 11)), 16, 14)
        for told in steps(case, 2.0 if case.limited else 10.0):
            if isinstance(told, Impossible):
                assert told.trees or told.why == UNDECIDED
                continue
            assert promised(case, told)
            assert told.at_most_more == len(told.visits) - told.fewest >= 0
            assert told.least_l <= told.litres + 1e-4
        assert isinstance(told, Impossible) or told.proven or case.limited


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.booleans())
def test_in_no_time_at_all_a_plan_keeps_the_promise_too(seed, limited):
    case = simple(seed, 12, 0.8, 16)
    if limited:
        case = replace(case, limits=Limits(minutes=0.9 * float(case.minutes.sum())))
    told = plan(case, 0.0)
    if isinstance(told, Impossible):
        assert limited
        assert told.why == UNDECIDED
        return
    assert promised(case, told)
    assert told.fewest <= len(told.visits)
    assert told.least_l <= told.litres + 1e-4


def simple(seed: int, trees: int, safety: float, end: int = 9) -> Case:
    """Make pots that dry, none of which rests."""
    rng = np.random.default_rng(seed)
    life = np.maximum(drying(rng, (trees, 6, end + 1)), np.arange(end + 1) + 1)
    return Case(life, np.tile(np.arange(end + 1) + 1, (trees, 1)), rng.uniform(0.3, 3.0, trees),
                rng.uniform(0.5, 2.0, trees), np.ones(end + 1, dtype=bool), safety)


CASES = st.builds(simple, st.integers(0, 10_000), st.integers(2, 5),
                  st.sampled_from([1.0, 0.8, 0.6]))


def visits(case: Case) -> float:
    told = plan(case, LONG_S)
    if isinstance(told, Impossible):
        return np.inf
    assert told.proven
    return len(told.visits)


@settings(max_examples=25, deadline=None)
@given(CASES)
def test_as_late_as_possible_is_best_where_nothing_binds(case):
    case = replace(case, safety=1.0)
    days = latest(case)
    whole = with_simple(case, single(case, np.ones(case.trees, dtype=bool)))
    found = Model(case, whole, 0).solve(VISITS, Within(seconds=LONG_S))
    assert isinstance(found, Found)
    assert len(days) == len(found.days) == visits(case)


@settings(max_examples=20, deadline=None)
@given(CASES, st.integers(0, 10_000))
def test_shorter_lives_never_need_fewer_visits(case, seed):
    rng = np.random.default_rng(seed)
    hotter = replace(case, life=case.life - rng.integers(0, 2, case.life.shape))
    assert visits(hotter) >= visits(case)


@settings(max_examples=20, deadline=None)
@given(CASES)
def test_more_trees_never_need_fewer_visits(case):
    fewer = replace(case, life=case.life[1:], ready=case.ready[1:], litres=case.litres[1:],
                    minutes=case.minutes[1:])
    assert visits(case) >= visits(fewer)


@settings(max_examples=20, deadline=None)
@given(CASES, st.sets(st.integers(1, 8)), st.booleans())
def test_more_days_never_need_more_visits(case, taken, limited):
    if limited:
        case = replace(case, limits=Limits(minutes=0.7 * float(case.minutes.sum())))
    allowed = case.allowed.copy()
    allowed[list(taken)] = False
    assert visits(case) <= visits(replace(case, allowed=allowed))


@settings(max_examples=12, deadline=None)
@given(CASES)
def test_a_wider_promise_never_needs_fewer_visits(case):
    counts = [visits(replace(case, safety=safety)) for safety in (0.5, 0.7, 0.85, 1.0)]
    assert counts == sorted(counts)


# --- what cannot be done ---------------------------------------------------------------


def test_visits_fall_as_late_as_they_can():
    told = plan(pots(3))
    assert len(told.visits) == 2
    assert told.litres == 8.0
    assert told.lost == ()
    assert told.least


def test_nothing_to_do_is_no_visit():
    assert plan(pots(8)) == Plan((), (), 0, 0.0)


def test_days_too_far_apart():
    allowed = np.isin(np.arange(9), [2, 6])
    assert plan(pots(3, allowed=allowed)) == Impossible((0, 1), 6, DAYS)


def test_a_helper_who_never_comes():
    assert plan(pots(3, allowed=np.zeros(9, dtype=bool))) == Impossible((0, 1), 4, DAYS)


def test_a_pot_that_no_visit_a_day_keeps():
    case = pots(3)
    case.life[1, 2, :] = 0
    assert plan(case) == Impossible((1,), 1, LIFE)


def test_a_recovering_tree_that_may_not_be_watered_in_time():
    case = pots(3)
    case.ready[0] += 4
    assert plan(case) == Impossible((0,), 4, REST)


@pytest.mark.parametrize(("limits", "why"), [
    (Limits(minutes=4.0), MINUTES), (Limits(litres=1.9), LITRES)])
def test_one_tree_alone_is_too_much(limits, why):
    assert plan(pots(3, limits=limits)) == Impossible((0, 1), 4, why)


@pytest.mark.parametrize(("limits", "why"), [
    (Limits(minutes=9.0, litres=9.0), MINUTES), (Limits(minutes=90.0, litres=3.9), LITRES)])
def test_together_too_much_on_one_day(limits, why):
    told = plan(pots(3, trees=3, limits=limits, allowed=np.isin(np.arange(9), [3, 6])))
    assert told.why == why
    assert told.day in (3, 6)
    assert len(told.trees) > 1


def test_each_alone_may_give_one_weather_up_but_not_another_one_each():
    case = pots(3, allowed=np.isin(np.arange(9), [3, 6]), safety=0.75)
    case.life[0, 0, :4] = 1
    case.life[1, 1, :4] = 2
    told = plan(case)
    assert (told.trees, told.why) == ((0, 1), SAFETY)
    assert told.day in (2, 3)


def test_weathers_are_given_up_only_where_that_saves():
    case = pots(4, safety=0.5)
    case.life[:, 3] = np.minimum(np.arange(9) + 2, 8)
    told = plan(case)
    assert (len(told.visits), told.lost) == (1, (3,))
    assert plan(replace(case, life=case.life[:, :3])).lost == ()


@pytest.mark.parametrize("safety", [0.0, -0.1, 1.01, float("nan")])
def test_a_safety_that_is_none(safety):
    with pytest.raises(Refused, match="safety: .*above 0, up to 1"):
        pots(3, safety=safety)


@pytest.mark.parametrize("limits", [{"minutes": 0.0}, {"litres": -1.0}, {"litres": float("nan")}])
def test_limits_in_which_nothing_can_be_done(limits):
    with pytest.raises(Refused, match="a visit: .*above 0"):
        Limits(**limits)


def test_tables_that_do_not_fit():
    with pytest.raises(ValueError, match="does not fit"):
        pots(3, litres=np.ones(3))
