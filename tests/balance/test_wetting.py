"""What becomes of rain and of what is poured."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soils import dry_days, happens, members, pot_of, quiet, task

from advisor.balance import layout
from advisor.balance.column import EXTRA_MM
from advisor.balance.pots import DRIZZLE_LAMBDA_MM
from advisor.balance.run import partly, run, water_mm
from advisor.pot.materials import table
from advisor.pot.mix import blend

NAMES = [row.name for row in table()]
GRANULAR = [name for name in NAMES if blend([(name, 1.0)]).granular]
BY_CLASS = ["akadama", "lava", "composted bark", "charcoal", "sphagnum peat"]


def air_dry(pot, count=1):
    state = np.ones((pot.soil.shape[0], pot.layers.shape[0], count))
    return state * pot.soil[:, layout.AD][:, None, None]


def once(column, amount):
    hours = quiet(1)
    hours[0, column] = amount
    return hours


def passed(pot, state, hours, **more):
    """The share of what came that ran out."""
    came, ran_out = run(task(pot, hours, state=state, **more)).totals_mm[:2, 0]
    return ran_out / came


def damp(pot):
    """A pot wet enough to take water readily and dry enough to have room."""
    s_hi = pot.soil[0, layout.S_LO] + 1.0 / pot.soil[0, layout.PER_S_RANGE]
    at_s_hi = pot.soil[0, layout.AD] + s_hi / pot.soil[0, layout.PER_S]
    return np.full((1, pot.layers.shape[0], 1), at_s_hi + 1e-6)


@pytest.mark.parametrize("name", BY_CLASS)
@pytest.mark.parametrize("enters", [1.0, 0.6, 0.25])
def test_a_dried_out_pot_lets_water_past(name, enters):
    # what passes all layers: Π (1 - (1 - exp(-Δz/λ))·η_min)
    pot, curve = pot_of(name), blend([(name, 1.0)])
    takes = (1.0 - np.exp(-5.0 / curve.lambda_mm)) * enters * curve.eta_min
    share = passed(pot, air_dry(pot), once(layout.POUR, 0.01), enters=enters)
    assert share == pytest.approx((1.0 - takes) ** 16, rel=1e-3)


@pytest.mark.parametrize("name", ["akadama", "lava", "grit 2-4"])
def test_a_damp_pot_takes_what_its_wetting_depth_says(name):
    pot, curve = pot_of(name), blend([(name, 1.0)])
    share = passed(pot, damp(pot), once(layout.POUR, 0.01))
    assert share == pytest.approx(np.exp(-80.0 / curve.lambda_mm), rel=1e-6)


@pytest.mark.parametrize("name", BY_CLASS)
def test_a_dry_pot_sheds_more_than_a_damp_one(name):
    pot = pot_of(name)
    dry, moist = (passed(pot, state, once(layout.POUR, 5.0)) for state in (air_dry(pot), damp(pot)))
    assert dry > moist + 0.05


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("left", [0.3, 0.6, 0.95])
def test_until_it_ran_fills_a_moist_pot(name, left):
    pot = pot_of(name)
    state = partly(pot, np.array([left]))
    wetness = (state[0, :, 0] - pot.soil[0, layout.AD]) * pot.soil[0, layout.PER_S]
    after = run(task(pot, once(layout.FILL, 1.0), state=state)).left[0, 0]
    if wetness.min() > pot.soil[0, layout.S_LO]:
        assert after == pytest.approx(1.0, abs=1e-6)
    else:
        assert left < after < 1.0


@pytest.mark.parametrize("name", BY_CLASS)
def test_until_it_ran_costs_a_dried_out_pot_more_than_it_keeps(name):
    # two goes, each of what is lacking and 10 mm: of the model's own making, they fill even an
    # air-dry pot where water sinks at once, but half or more of it runs past
    pot = pot_of(name)
    hours = once(layout.FILL, 1.0)
    past = [passed(pot, state, hours) for state in (air_dry(pot), partly(pot, np.array([0.9])))]
    lacking = float(pot.layers[:, layout.STORE] @ (pot.rest[0, 0] - pot.soil[0, layout.AD]))
    came, ran_out = run(task(pot, hours, state=air_dry(pot))).totals_mm[:2, 0]
    assert came == pytest.approx(2.0 * (lacking + EXTRA_MM), rel=1e-9)
    assert past[0] == pytest.approx(ran_out / came)
    assert past[0] > 0.5


@pytest.mark.parametrize("name", BY_CLASS)
def test_until_it_ran_does_not_fill_a_dried_out_pot_off_which_water_runs(name):
    pot, hours = pot_of(name, 40.0), once(layout.FILL, 1.0)
    left = [run(task(pot, hours, state=air_dry(pot), enters=e)).left[0, 0] for e in (0.25, 0.6)]
    assert -1.0 < left[0] < left[1] <= 1.0
    assert left[0] < 0.75


@pytest.mark.parametrize("enters", [0.25, 0.6])
def test_where_water_stands_until_it_ran_is_two_goes(enters):
    # each of what is lacking and some more, taken up by the rule of any pouring
    pot = pot_of("grit 2-4", 40.0)
    state = partly(pot, np.array([0.99]))
    lacking = 0.01 * pot.available_mm
    path = run(task(pot, once(layout.FILL, 1.0), state=state, enters=enters))
    assert path.totals_mm[0, 0] == pytest.approx(2.0 * (lacking + EXTRA_MM), rel=1e-9)
    assert path.left[0, 0] > 0.99


def test_a_fill_counts_what_it_took():
    pot = pot_of("akadama")
    state = partly(pot, np.array([0.5]))
    path = run(task(pot, once(layout.FILL, 1.0), state=state))
    stays = path.totals_mm[0, 0] - path.totals_mm[1, 0]
    assert stays == pytest.approx(0.5 * pot.available_mm, rel=1e-9)
    assert path.totals_mm[1, 0] > 0.0


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    left=st.floats(0.0, 1.0),
    water_mm_=st.floats(0.1, 60.0),
    rain=st.booleans(),
)
def test_wetting_never_takes_water_from_a_pot_nor_fills_it_past_rest(name, left, water_mm_, rain):
    pot = pot_of(name)
    hours = once(layout.RAIN if rain else layout.POUR, water_mm_)
    path = run(task(pot, hours, state=partly(pot, np.array([left]))))
    came, ran_out = path.totals_mm[:2, 0]
    assert came == pytest.approx(water_mm_)
    assert -1e-12 <= ran_out <= came + 1e-9
    assert (came - ran_out) <= (1.0 - left) * pot.available_mm + 1e-9


@pytest.mark.parametrize("name", ["akadama", "pumice", "composted bark", "sphagnum peat"])
def test_drizzle_wets_from_the_top(name):
    pot = pot_of(name)
    state = partly(pot, np.array([0.4]))
    gains = []
    for flag in (0.0, 1.0):
        hours = once(layout.RAIN, 3.0)
        hours[0, layout.DRIZZLE] = flag
        path = run(task(pot, hours, state=state))
        gains.append((path.state - state)[0, :, 0] * pot.layers[:, layout.STORE])
    shower, drizzle = gains
    assert drizzle[:2].sum() > shower[:2].sum()
    assert drizzle.sum() >= shower.sum() - 1e-9


def test_drizzle_on_damp_grains_follows_its_own_depth():
    pot = pot_of("akadama")
    hours = once(layout.RAIN, 0.01)
    hours[0, layout.DRIZZLE] = 1.0
    share = passed(pot, damp(pot), hours)
    assert share == pytest.approx(np.exp(-80.0 / DRIZZLE_LAMBDA_MM), rel=1e-4)


@pytest.mark.parametrize(("name", "ks_mmh"), [("loam", 10.4), ("clay loam", 2.6)])
def test_no_more_enters_a_soil_than_it_conducts(name, ks_mmh):
    pot = pot_of(name)
    path = run(task(pot, once(layout.RAIN, 30.0), state=partly(pot, np.array([0.2]))))
    came, ran_out = path.totals_mm[:2, 0]
    assert 0.5 * ks_mmh < came - ran_out <= ks_mmh * 1.001


@pytest.mark.parametrize("left", [0.2, 0.7, 1.0])
def test_frozen_hours_change_nothing_but_let_rain_run_off(left):
    pot = pot_of("akadama")
    hours = dry_days(2, 3.0, 5.0)
    hours[5, layout.RAIN] = 8.0
    hours[:, layout.FROZEN] = 1.0
    start = task(pot, hours, state=partly(pot, np.array([left])))
    path = run(start)
    assert np.array_equal(path.state, start.state)
    assert path.totals_mm[:, 0] == pytest.approx([8.0, 8.0, 0.0, 0.0])
    assert np.all(path.left == path.left[0])


def test_a_thaw_lets_the_day_go_on():
    pot, hours = pot_of("akadama"), dry_days(2, 3.0, 5.0)
    hours[:24, layout.FROZEN] = 1.0
    thawed = run(task(pot, hours))
    assert np.array_equal(thawed.state, run(task(pot, hours[24:])).state)


@pytest.mark.parametrize("factor", [0.5, 0.8, 1.3, 2.0])
def test_a_capacity_factor_scales_what_is_stored(factor):
    pot = pot_of("akadama")
    plain, scaled = members(), members(capacity=factor)
    start = task(pot, quiet(1))
    assert water_mm(pot, scaled, start.state) == pytest.approx(
        factor * water_mm(pot, plain, start.state)
    )
    filling = once(layout.FILL, 1.0)
    state = partly(pot, np.array([0.5]))
    took = [
        np.subtract(*run(task(pot, filling, who, state)).totals_mm[:2, 0])
        for who in (plain, scaled)
    ]
    assert took[1] == pytest.approx(factor * took[0], rel=1e-9)


def test_more_capacity_lasts_longer_and_more_thirst_less():
    pot, hours = pot_of("pumice"), dry_days(4, 2.0, 5.0)
    factors = np.array([0.6, 0.8, 1.0, 1.25, 1.6])
    by_capacity = run(task(pot, hours, members(capacity=factors))).left[-1]
    by_thirst = run(task(pot, hours, members(thirst=factors))).left[-1]
    assert np.all(np.diff(by_capacity) > 0.0)
    assert np.all(np.diff(by_thirst) < 0.0)


def test_an_unrecorded_watering_reaches_only_members_past_their_limit():
    pot = pot_of("akadama")
    state = partly(pot, np.array([0.2, 0.2, 0.6]))
    hours = once(layout.MAYBE, 1.0)
    start = task(pot, hours, members(count=3), state, limit=0.4)
    coin = np.array([[1.0, 0.0, 1.0]])
    path = run(type(start)(pot, start.members, state, happens(hours, 3, coin=coin, limit=0.4)))
    came = path.totals_mm[0]
    assert came[0] > 0.7 * pot.available_mm
    assert came[1:] == pytest.approx([0.0, 0.0])
    assert path.state[:, :, 0] == pytest.approx(pot.rest[:, 0], abs=1e-9)


def test_a_recovering_tree_may_have_been_watered_at_its_target():
    pot = pot_of("akadama")
    state = partly(pot, np.array([0.9, 0.9]))
    state[0, :5, 1] = pot.soil[0, layout.WP]  # the top 25 mm of the second have dried
    start = task(pot, once(layout.MAYBE, 1.0), members(count=2), state, target_mm=20.0)
    came = run(start).totals_mm[0]
    assert came[0] == 0.0
    assert came[1] > 0.0


@pytest.mark.parametrize("name", GRANULAR)
def test_rain_on_a_pot_at_rest_runs_out(name):
    path = run(task(pot_of(name), once(layout.RAIN, 10.0)))
    assert path.totals_mm[1, 0] == pytest.approx(10.0, abs=1e-9)
