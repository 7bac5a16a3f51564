"""A pot at rest stays at rest, a flooded one comes to rest, and nothing exceeds its demand."""

import numpy as np
import pytest
from flows import Bench
from hypothesis import given, settings
from hypothesis import strategies as st
from soils import ball_pot, dry_days, filled, members, pot_of, quiet, straight, task

from advisor.balance import layout
from advisor.balance.run import partly, run, water_mm
from advisor.pot.materials import table
from advisor.pot.mix import blend

NAMES = [row.name for row in table()]
GRANULAR = [name for name in NAMES if blend([(name, 1.0)]).granular]
STILL = 1e-12
LANES = members(
    capacity=np.array([0.7, 1.0, 1.3]), k_c_cmh=np.array([1e-6, 1e-3, 0.5]), threshold=0.35
)


@pytest.mark.parametrize("depth_mm", [12.0, 41.0, 80.0, 150.0, 230.0])
@pytest.mark.parametrize("name", NAMES)
def test_a_pot_at_rest_stays(name, depth_mm):
    for base_share in (1.0, 0.7, 1.2):
        start = task(pot_of(name, depth_mm, base_share), quiet(240), LANES)
        path = run(start)
        assert np.abs(path.state - start.state).max() < STILL
        assert np.abs(path.totals_mm).max() < 240 * STILL
        assert path.left == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("h0_cm", [0.0, 1.0, 10.0])
@pytest.mark.parametrize("name", NAMES)
def test_rest_over_a_drainage_layer_stays(name, h0_cm):
    start = task(filled(blend([(name, 1.0)]), straight(60.0), h0_cm), quiet(240), LANES)
    assert np.abs(run(start).state - start.state).max() < STILL


@pytest.mark.parametrize("name", NAMES)
def test_the_redistribution_step_alone_keeps_rest(name):
    curve = blend([(name, 1.0)])
    bench = Bench(curve, 8.0 - np.arange(16) / 2.0 - 0.25, thickness_mm=5.0)
    before = bench.theta
    for _ in range(240):
        bench.step(0.0, 1.0, base_cm=-1.0)
    assert np.abs(bench.theta - before).max() < STILL


@pytest.mark.parametrize(
    ("mix", "ball"), [("akadama", "akadama"), ("akadama", "loam"), ("pumice", "clay loam")]
)
def test_ball_and_grains_at_rest_stay(mix, ball):
    start = task(ball_pot(mix, ball, 0.5), quiet(240), LANES)
    assert np.abs(run(start).state - start.state).max() < STILL


@pytest.mark.parametrize("depth_mm", [41.0, 150.0])
@pytest.mark.parametrize("name", NAMES)
def test_a_flooded_pot_comes_to_its_capacity(name, depth_mm):
    pot = pot_of(name, depth_mm)
    full = np.full((1, pot.layers.shape[0], 1), blend([(name, 1.0)]).theta_s)
    start = task(pot, quiet(240), state=full)
    path = run(start)
    assert path.state[0, :, 0] == pytest.approx(pot.rest[0, 0], abs=1e-12)
    ran_out = water_mm(pot, start.members, full) - water_mm(pot, start.members, path.state)
    assert path.totals_mm[1] == pytest.approx(ran_out, abs=1e-9)


@pytest.mark.parametrize("name", GRANULAR)
def test_grains_drain_within_the_hour(name):
    pot = pot_of(name)
    full = np.full((1, pot.layers.shape[0], 1), blend([(name, 1.0)]).theta_s)
    drained = run(task(pot, quiet(1), state=full)).state[0, :, 0]
    assert drained == pytest.approx(pot.rest[0, 0], abs=1e-12)


@pytest.mark.parametrize(("name", "ks_mmh"), [("loam", 10.4), ("clay loam", 2.6)])
def test_soil_drains_at_its_conductivity(name, ks_mmh):
    # Carsel & Parrish 1988: Ks 24.96 and 6.24 cm/d; deep, so that two hours do not empty it
    pot = pot_of(name, 500.0)
    full = np.full((1, pot.layers.shape[0], 1), blend([(name, 1.0)]).theta_s)
    out = [run(task(pot, quiet(hours), state=full)).totals_mm[1, 0] for hours in (1, 2)]
    assert out == pytest.approx([ks_mmh, 2.0 * ks_mmh], rel=1e-9)


def wetness():
    return st.lists(st.floats(-0.3, 1.0), min_size=16, max_size=16)


def layered(pot, left):
    """A state with its own share of the available water left in every layer."""
    wilting = pot.soil[0, layout.WP]
    theta = wilting + np.array(left) * (pot.rest[0, 0] - wilting)
    return np.maximum(theta, pot.soil[0, layout.AD])[None, :, None].copy()


@settings(max_examples=100, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    left=wetness(),
    evaporation=st.floats(0.0, 2.0),
    transpiration=st.floats(0.0, 3.0),
)
def test_no_hour_takes_more_than_its_demand(name, left, evaporation, transpiration):
    pot, hours = pot_of(name), quiet(1)
    hours[:, layout.EVAPORATION] = evaporation
    hours[:, layout.TRANSPIRATION] = transpiration
    path = run(task(pot, hours, state=layered(pot, left)))
    assert 0.0 <= path.totals_mm[2, 0] <= evaporation * (1 + 1e-12)
    assert 0.0 <= path.totals_mm[3, 0] <= transpiration * (1 + 1e-12)


@settings(max_examples=60, deadline=None)
@given(name=st.sampled_from(GRANULAR), left=wetness(), demand=st.floats(0.0, 3.0))
def test_a_wet_top_meets_the_demand_as_far_as_its_water_goes(name, left, demand):
    pot, hours = pot_of(name), quiet(1)
    hours[:, layout.EVAPORATION] = demand / 10.0
    state = layered(pot, left)
    state[0, 0] = pot.rest[0, 0, 0]  # the top layer at capacity
    s = (state[0, 0, 0] - pot.soil[0, layout.AD]) * pot.soil[0, layout.PER_S]
    assert s >= 0.5
    there = pot.layers[0, layout.STORE] * (state[0, 0, 0] - pot.soil[0, layout.AD])
    evaporated = run(task(pot, hours, state=state)).totals_mm[2, 0]
    assert evaporated == pytest.approx(min(demand / 10.0, there), rel=1e-9)


@pytest.mark.parametrize("days", [1, 2, 4])
@pytest.mark.parametrize("name", NAMES)
def test_without_demand_a_drying_pot_keeps_its_water(name, days):
    pot = pot_of(name)
    dried = run(task(pot, dry_days(days, 2.0, 5.0)))
    rested = run(task(pot, quiet(120), state=dried.state))
    who = members()
    lost = water_mm(pot, who, dried.state) - water_mm(pot, who, rested.state)
    assert np.abs(lost).max() < 1e-10
    assert np.abs(rested.totals_mm).max() < 1e-10


@pytest.mark.parametrize("name", NAMES)
def test_roots_leave_what_wilts_and_the_surface_what_is_air_dry(name):
    pot = pot_of(name)
    wilted = run(task(pot, dry_days(30, 0.0, 9.0))).state
    assert wilted.min() >= pot.soil[0, layout.WP] - 1e-3
    bare = run(task(pot, dry_days(60, 6.0, 0.0))).state
    assert bare.min() >= pot.soil[0, layout.AD] - 1e-9


def test_partly_is_the_share_it_says():
    pot = ball_pot("akadama", "loam", 0.4)
    state = partly(pot, np.array([0.0, 0.3, 1.0]))
    path = run(task(pot, quiet(1), members(count=3), state))
    assert path.left[0] == pytest.approx([0.0, 0.3, 1.0], abs=1e-6)
    assert path.ball_left[0] == pytest.approx([0.0, 0.3, 1.0], abs=1e-6)
