"""Readings narrow the members: against the filter's own equations and what a grower expects."""

import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soils import ball_pot, dry_days, pot_of, task

from advisor.balance import belief, layout, seen
from advisor.balance.belief import Reading, absorb, felt, lifted, poured, repotted
from advisor.balance.members import THRESHOLD_LIMITS, Prior, draw
from advisor.balance.run import at_rest, run
from advisor.errors import Refused

COUNT = 64
WHO = draw(1, 2, Prior(1e-5), COUNT)
POTS = {"one column": pot_of("akadama"), "two columns": ball_pot("pumice", "akadama", 0.4)}
POT = POTS["one column"]


@cache
def autumn(name="one column", days=5):
    """A pot some dry autumn days after a thorough watering."""
    return run(task(POTS[name], dry_days(days, 1.2, 1.8), WHO)).state


def lacking(members=WHO, state=None):
    return seen.lacking_l(POT, members, autumn() if state is None else state)


def weighed(kg, sd=0.02, id=1):
    return Reading("lacking", kg, sd, id=id)


def after(*readings, doubted=(), state=None, who=WHO, pot=POT):
    return absorb(pot, who, autumn() if state is None else state, readings, doubted)


def thirst(members):
    return float(np.log(members[0]).mean())


# --- one reading -----------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(depth=st.floats(20.0, 60.0), off=st.floats(-0.05, 0.05), sd=st.floats(0.05, 0.5))
def test_mean_and_spread_are_those_of_bayes_rule(depth, off, sd):
    # wetness is linear in the state: posterior mean (m·R + y·P)/(P + R), variance P·R/(P + R)
    before = seen.wetness(POT, autumn(), depth)
    mean, spread = before.mean(), before.var(ddof=1)
    made = after(Reading("wetness", mean + off, sd, depth))
    found = seen.wetness(POT, made.state, depth)
    assert found.mean() == pytest.approx(mean + off * spread / (spread + sd**2), abs=1e-4)
    assert found.var(ddof=1) == pytest.approx(spread * sd**2 / (spread + sd**2), rel=5e-3)


@pytest.mark.parametrize("kind", ["lacking", "share left", "wetness", "feel"])
def test_a_reading_as_foreseen_narrows_and_does_not_move(kind):
    foreseen = {"lacking": lacking(), "share left": seen.look(POT, WHO, autumn()).left,
                "wetness": seen.wetness(POT, autumn(), 30.0),
                "feel": seen.wetness(POT, autumn(), 30.0) - WHO[3]}[kind]
    made = after(Reading(kind, float(foreseen.mean()), 0.02, 30.0))
    assert np.log(made.members[:3]).mean(axis=1) == pytest.approx(
        np.log(WHO[:3]).mean(axis=1), abs=1e-9)
    assert made.state.mean(axis=2) == pytest.approx(autumn().mean(axis=2), abs=2e-4)
    assert np.log(made.members[0]).std() < 0.97 * np.log(WHO[0]).std()
    assert made.told[0].sd_off == pytest.approx(0.0, abs=1e-9)


def test_a_dry_depth_as_foreseen_narrows_and_hardly_moves():
    depths = seen.look(POT, WHO, autumn()).dry_mm
    made = after(Reading("dry depth", float(np.median(depths)), 3.0))
    found = seen.look(POT, made.members, made.state).dry_mm
    assert np.median(found) == pytest.approx(np.median(depths), abs=3.0)
    assert found.std() < 0.6 * depths.std()
    assert thirst(made.members) == pytest.approx(thirst(WHO), abs=0.25 * np.log(WHO[0]).std())


@settings(max_examples=30, deadline=None)
@given(more=st.floats(0.01, 0.1), sd=st.floats(0.005, 0.1))
def test_a_pot_found_lighter_belongs_to_a_tree_that_drinks_more(more, sd):
    light, heavy = (after(weighed(float(lacking().mean()) + off, sd)) for off in (more, -more))
    assert thirst(light.members) > thirst(WHO) > thirst(heavy.members)
    assert lacking(light.members, light.state).mean() > lacking().mean()
    assert lacking(heavy.members, heavy.state).mean() < lacking().mean()


@pytest.mark.parametrize("depth_mm", [10.0, 20.0, 30.0, 45.0, 60.0])
def test_a_skewer_draws_the_dry_depth_to_what_it_read(depth_mm):
    before = np.median(seen.look(POT, WHO, autumn()).dry_mm)
    made = after(Reading("dry depth", depth_mm, 3.0))
    found = np.median(seen.look(POT, made.members, made.state).dry_mm)
    assert abs(found - depth_mm) <= max(0.5 * abs(before - depth_mm), 3.0)


def test_a_skewer_tells_where_most_depths_lie_at_an_end():
    # dry nowhere yet, or to the base already: how wet the earth is differs all the same
    wet, dry = autumn(days=2), run(task(POT, dry_days(5, 2.0, 5.0), WHO)).state
    assert np.mean(seen.look(POT, WHO, wet).dry_mm == 0.0) > 0.25
    assert np.mean(seen.look(POT, WHO, dry).dry_mm == POT.depth_mm) > 0.5
    found = after(Reading("dry depth", 12.0, 3.0), state=wet)
    assert seen.wetness(POT, found.state, 5.0).mean() < seen.wetness(POT, wet, 5.0).mean() - 0.05
    found = after(Reading("dry depth", 30.0, 3.0), state=dry)
    assert seen.wetness(POT, found.state, 50.0).mean() > seen.wetness(POT, dry, 50.0).mean() + 0.1


@pytest.mark.parametrize("read_mm", [0.0, 2.0, 40.0, 80.0, 85.0])
def test_a_skewer_in_a_pot_of_any_depth(read_mm):
    shallow = pot_of("akadama", 5.0)
    made = absorb(shallow, WHO, at_rest(shallow, COUNT), [Reading("dry depth", read_mm, 3.0)])
    assert np.isfinite(made.state).all()


def test_a_wet_top_says_nothing_of_how_wet():
    state = at_rest(POT, COUNT)
    made = after(Reading("dry depth", 0.0, 3.0), state=state)
    assert np.array_equal(made.state, state)
    assert made.told[0].used


# --- sides and words -------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(bound=st.floats(-2.0, 2.0), soft=st.floats(0.1, 2.0), side=st.sampled_from(["below",
                                                                                   "above"]))
def test_a_side_only_gives_the_moments_of_the_cut_distribution(bound, soft, side):
    # by sums over a fine grid: a standard normal times the chance that it lies on that side
    x = np.linspace(-9.0, 9.0, 20_001)
    sign = 1.0 if side == "below" else -1.0
    chance = np.array([0.5 * math.erfc(-sign * (bound - v) / soft / math.sqrt(2.0)) for v in x])
    weight = np.exp(-0.5 * x**2) * chance
    mean = (x * weight).sum() / weight.sum()
    variance = ((x - mean) ** 2 * weight).sum() / weight.sum()
    foreseen = np.linspace(-1.0, 1.0, COUNT)
    foreseen /= foreseen.std(ddof=1)
    value, noise = belief._as_value(0.0, 1.0, belief._Compared(foreseen, bound, soft, side))
    assert value / (1.0 + noise) == pytest.approx(mean, abs=1e-6)
    assert noise / (1.0 + noise) == pytest.approx(variance, abs=1e-6)


@pytest.mark.parametrize("far", [5.0, 40.0, 400.0])
def test_a_side_long_known_changes_nothing_and_one_far_off_stays_finite(far):
    known = belief._Compared(np.array([-1.0, 0.0, 1.0]), far, 0.1, "below")
    assert belief._as_value(0.0, 1.0, known)[1] > 1e4
    against = belief._Compared(np.array([-1.0, 0.0, 1.0]), -far, 0.1, "below")
    assert all(map(math.isfinite, belief._as_value(0.0, 1.0, against)))


def test_words_tell_in_their_order():
    felt_so = [seen.wetness(POT, after(felt(word, 30.0)).state, 30.0).mean()
               for word in ("dry", "moist", "wet")]
    assert felt_so == sorted(felt_so)
    lifted_so = [seen.look(POT, WHO, after(lifted(word)).state).left.mean()
                 for word in ("light", "usual", "heavy")]
    assert lifted_so == sorted(lifted_so)
    assert len({*felt_so, *lifted_so}) == 6


def test_running_or_not_tells_how_much_was_lacking():
    litres = float(lacking().mean())
    ran, not_yet = (after(poured(litres, told)) for told in (True, False))
    assert lacking(ran.members, ran.state).mean() < litres
    assert lacking(not_yet.members, not_yet.state).mean() > litres


def test_running_after_much_tells_nothing():
    made = after(poured(20.0 * float(lacking().mean()), True))
    assert made.state == pytest.approx(autumn(), abs=1e-6)


# --- several readings ------------------------------------------------------------------------

TWO = (weighed(0.65), Reading("wetness", 0.45, 0.1, 20.0, 2))


def test_readings_of_an_instant_come_in_any_order():
    one, other = after(*TWO), after(*reversed(TWO))
    assert np.array_equal(one.members, other.members)
    assert np.array_equal(one.state, other.state)
    assert one.told == other.told


def test_which_of_two_is_taken_first_hardly_matters():
    one = absorb(POT, *_pair(after(TWO[0])), [TWO[1]])
    other = absorb(POT, *_pair(after(TWO[1])), [TWO[0]])
    assert np.log(one.members[0]).mean() == pytest.approx(
        np.log(other.members[0]).mean(), abs=0.1 * np.log(WHO[0]).std())
    assert seen.look(POT, one.members, one.state).left.mean() == pytest.approx(
        seen.look(POT, other.members, other.state).left.mean(), abs=0.005)


def _pair(absorbed):
    return absorbed.members, absorbed.state


def test_the_same_readings_give_the_same_digits_and_leave_what_was_given():
    who, state = WHO.copy(), autumn().copy()
    one, other = after(*TWO), after(*TWO)
    assert np.array_equal(one.members, other.members)
    assert np.array_equal(one.state, other.state)
    assert np.array_equal(who, WHO)
    assert np.array_equal(state, autumn())


def test_no_reading_changes_nothing():
    made = after()
    assert np.array_equal(made.members, WHO)
    assert np.array_equal(made.state, autumn())
    assert made.told == ()


# --- doubtful readings -----------------------------------------------------------------------


def test_a_decimal_slip_is_told_and_not_used():
    kg = float(lacking().mean())
    made = after(weighed(kg - 5.78), Reading("wetness", 0.45, 0.1, 20.0, 2))
    slip = made.told[0]
    assert not slip.used
    assert slip.sd_off < -belief.DOUBTFUL_SD
    assert slip.misfit == pytest.approx(-5.78)
    alone = after(Reading("wetness", 0.45, 0.1, 20.0, 2))
    assert np.array_equal(made.members, alone.members)


@settings(max_examples=30, deadline=None)
@given(off=st.floats(-3.9, 3.9))
def test_a_reading_within_four_spreads_counts(off):
    both = math.hypot(float(lacking().std(ddof=1)), 0.02)
    told = after(weighed(float(lacking().mean()) + off * both)).told[0]
    assert told.used
    assert told.sd_off == pytest.approx(off, abs=1e-6)


def test_a_second_that_agrees_makes_it_count():
    kg = float(lacking().mean()) + 1.0
    first = after(weighed(kg, id=1)).told
    second = after(weighed(kg + 0.03, id=2), doubted=first)
    assert [told.used for told in (*first, *second.told)] == [False, True]
    moved = lacking(second.members, second.state).mean() - lacking().mean()
    assert moved > 0.1
    assert thirst(second.members) > thirst(WHO)


@pytest.mark.parametrize(("kind", "value"), [("lacking", -1.0), ("lacking", 2.0),
                                             ("share left", -4.0)])
def test_a_second_that_does_not_agree_is_not_used_either(kind, value):
    kg = float(lacking().mean())
    first = after(weighed(kg + 1.0)).told
    second = after(Reading(kind, kg + value, 0.02, id=2), doubted=first)
    assert not second.told[0].used
    assert np.array_equal(second.members, WHO)


def test_what_was_foreseen_is_told():
    told = after(weighed(0.3, id=7)).told[0]
    assert told.reading.id == 7
    assert (told.low, told.mid, told.high) == pytest.approx(
        np.quantile(lacking(), [0.05, 0.5, 0.95]))


# --- limits ----------------------------------------------------------------------------------

READINGS = st.lists(st.one_of(
    st.builds(Reading, st.sampled_from(["dry depth"]), st.floats(0.0, 80.0), st.floats(1.0, 10.0)),
    st.builds(Reading, st.sampled_from(["lacking"]), st.floats(-2.0, 5.0), st.floats(0.001, 1.0),
              side=st.sampled_from(["at", "below", "above"])),
    st.builds(felt, st.sampled_from(["dry", "moist", "wet"]), st.floats(0.0, 80.0)),
    st.builds(lifted, st.sampled_from(["light", "usual", "heavy"])),
), min_size=1, max_size=6)


@pytest.mark.parametrize("name", POTS)
@settings(max_examples=40, deadline=None)
@given(readings=READINGS, days=st.sampled_from([0, 1, 3, 7]))
def test_nothing_leaves_its_limits_whatever_is_read(name, readings, days):
    pot, state = POTS[name], autumn(name, days)
    doubted = after(*readings, pot=pot, state=state).told
    made = after(*readings, pot=pot, state=state, doubted=doubted)
    dry = pot.soil[:, layout.AD][:, None, None]
    assert (made.state >= dry).all()
    assert (made.state <= np.maximum(pot.rest[:, 0, :, None], state) + 1e-15).all()
    assert np.isfinite(made.members).all()
    assert (made.members[:3] > 0.0).all()
    low, high = THRESHOLD_LIMITS
    assert ((made.members[3] >= low) & (made.members[3] <= high)).all()


def test_a_hundred_readings_as_foreseen_leave_some_doubt():
    who, state = WHO, autumn()
    for _ in range(100):
        made = absorb(POT, who, state, [weighed(float(lacking(who, state).mean()))])
        who, state = made.members, made.state
    assert np.log(who[0]).std() > 0.02
    assert thirst(who) == pytest.approx(thirst(WHO), abs=0.05)


def test_thirst_stays_with_the_tree_in_a_new_pot():
    fresh = draw(5, 6, Prior(1e-4), COUNT)
    who = repotted(WHO, fresh)
    assert np.array_equal(who[0], WHO[0])
    assert np.array_equal(who[1:], fresh[1:])


@pytest.mark.parametrize(("make", "said"), [
    (lambda: weighed(float("nan")), "lacking read: nan ± 0.02"),
    (lambda: weighed(0.2, 0.0), "Wanted: a number with a spread above 0"),
    (lambda: Reading("wetness", 0.4, 0.1), "no depth"),
    (lambda: felt("soggy", 20.0), "feel: soggy. Known: dry, moist, wet"),
    (lambda: lifted("featherlight"), "lift: featherlight. Known: light, usual, heavy"),
    (lambda: after(felt("dry", 81.0)), "depth: 81 mm. Wanted: 0 to 80 mm of soil"),
])
def test_what_no_reading_is_is_refused(make, said):
    with pytest.raises(Refused) as refused:
        make()
    assert said in str(refused.value)
