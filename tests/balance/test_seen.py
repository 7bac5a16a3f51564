"""What each member would show, against the kernel's own look and plain sums."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soils import ball_pot, dry_days, mixed, pot_of, quiet, task

from advisor.balance import layout, seen
from advisor.balance.members import Prior, draw
from advisor.balance.run import at_rest, partly, run
from advisor.errors import Refused

COUNT = 64
WHO = draw(1, 2, Prior(1e-5), COUNT)
POTS = {"one column": pot_of("akadama"), "sloping": pot_of("lava", base_share=0.7),
        "two columns": ball_pot("pumice", "loam", 0.4), "one layer": pot_of("pumice", 5.0)}


def after(pot, hours):
    return run(task(pot, hours, WHO)).state


@pytest.mark.parametrize("name", POTS)
@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 2**31))
def test_a_look_is_what_the_path_holds_at_the_hour_s_start(name, seed):
    pot = POTS[name]
    state = after(pot, mixed(seed, 60))
    path, found = run(task(pot, dry_days(1, 2.0, 5.0), WHO, state)), seen.look(pot, WHO, state)
    assert np.array_equal(found.dry_mm, path.dry_mm[0])
    assert np.array_equal(found.left, path.left[0])
    assert np.array_equal(found.ball_left, path.ball_left[0])


def test_a_look_leaves_the_state_as_it_was():
    pot = POTS["two columns"]
    state = after(pot, dry_days(2, 2.0, 5.0))
    before = state.copy()
    seen.look(pot, WHO, state)
    assert np.array_equal(state, before)


@pytest.mark.parametrize("name", POTS)
def test_wetness_is_linear_between_the_centres(name):
    pot = POTS[name]
    state = after(pot, dry_days(3, 1.2, 1.8))
    theta, centre = state[0], pot.layers[:, layout.CENTRE]
    relative = (theta - pot.soil[0, layout.WP]) * pot.soil[0, layout.PER_WP20]
    for depth in (0.0, *centre, *np.linspace(0.0, pot.depth_mm, 23)):
        expected = [np.interp(depth, centre, column) for column in relative.T]
        assert seen.wetness(pot, state, depth) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("name", ["one column", "sloping"])
def test_earth_at_the_dry_depth_is_as_wet_as_what_reads_dry(name):
    pot = POTS[name]
    state = after(pot, dry_days(4, 3.5, 1.0))
    depths = seen.look(pot, WHO, state).dry_mm
    inside = (depths > 5.0) & (depths < pot.depth_mm)
    assert inside.sum() > COUNT / 2
    for j in np.flatnonzero(inside):
        here = seen.wetness(pot, state[..., j:j + 1], float(depths[j]))
        assert here == pytest.approx(WHO[3, j], abs=1e-5)


@pytest.mark.parametrize("depth_mm", [-0.1, 80.1, float("nan")])
def test_a_depth_outside_the_soil_is_refused(depth_mm):
    pot = POTS["one column"]
    with pytest.raises(Refused, match=r"Wanted: 0 to 80 mm of soil\. Give the depth"):
        seen.wetness(pot, at_rest(pot, 1), depth_mm)


@pytest.mark.parametrize("name", POTS)
def test_nothing_is_lacking_at_rest(name):
    pot = POTS[name]
    assert seen.lacking_l(pot, WHO, at_rest(pot, COUNT)) == pytest.approx(0.0, abs=1e-12)
    assert seen.available_l(pot, WHO, at_rest(pot, COUNT)) == pytest.approx(
        pot.available_l * WHO[1], rel=1e-12)


@pytest.mark.parametrize("name", POTS)
def test_what_is_lacking_is_what_was_lost(name):
    pot = POTS[name]
    path = run(task(pot, dry_days(3, 2.0, 5.0), WHO))
    lost_l = path.totals_mm[1:].sum(axis=0) * pot.surface_m2
    assert seen.lacking_l(pot, WHO, path.state) == pytest.approx(lost_l, rel=1e-9)


@pytest.mark.parametrize("name", POTS)
@settings(max_examples=20, deadline=None)
@given(left=st.floats(0.0, 1.0))
def test_available_and_lacking_make_the_whole(name, left):
    pot = POTS[name]
    state = partly(pot, np.full(COUNT, left))
    whole = pot.available_l * WHO[1]
    assert seen.available_l(pot, WHO, state) == pytest.approx(left * whole, abs=1e-9)
    assert seen.lacking_l(pot, WHO, state) == pytest.approx((1.0 - left) * whole, abs=1e-9)
    assert seen.look(pot, WHO, state).left == pytest.approx(left, abs=1e-6)


def test_a_quiet_hour_shows_the_same():
    pot = POTS["sloping"]
    state = after(pot, dry_days(2, 2.0, 2.0))
    assert np.array_equal(seen.look(pot, WHO, state).dry_mm,
                          run(task(pot, quiet(1), WHO, state)).dry_mm[0])
