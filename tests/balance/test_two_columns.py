"""An old ball amid new grains: what each gives up, and what passes between them."""

from dataclasses import replace

import numpy as np
import pytest
from soils import ball_pot, dry_days, evenings, members, pot_of, quiet, task

from advisor.balance import layout
from advisor.balance.run import partly, run, water_mm

AUTUMN = (1.2, 1.8)  # evaporation and transpiration [mm/d]


def autumn(days, outside):
    hours = dry_days(days, *AUTUMN)
    hours[:, layout.OUTSIDE] = outside
    return hours


def apart(pot):
    return replace(pot, exchange_per_mm2=0.0)


def test_all_uptake_in_the_ball_dries_it_while_the_grains_stay_damp():
    # physics of the model: day 5, ball nearly dry, new grains read about 10 mm dry
    path = run(task(apart(ball_pot("akadama", "akadama", 0.4)), autumn(5, 0.0)))
    assert path.ball_left[-1, 0] < 0.15
    assert 7.0 <= path.dry_mm[-1, 0] <= 13.0


@pytest.mark.parametrize("ball", ["akadama", "akadama, broken down", "loam", "clay loam"])
def test_grains_give_the_ball_water(ball):
    pot = ball_pot("akadama", ball, 0.4)
    both = [run(task(each, autumn(5, 0.0))) for each in (pot, apart(pot))]
    assert both[0].ball_left[-1, 0] > both[1].ball_left[-1, 0] + 0.02
    assert both[0].dry_mm[-1, 0] >= both[1].dry_mm[-1, 0]


def test_roots_in_the_new_grains_dry_them_and_spare_the_ball():
    pot = ball_pot("akadama", "akadama, broken down", 0.4)
    paths = [run(task(pot, autumn(7, outside))) for outside in (0.0, 0.3, 0.6)]
    dry = [path.dry_mm[-1, 0] for path in paths]
    ball = [path.ball_left[-1, 0] for path in paths]
    assert dry == sorted(dry)
    assert dry[2] > 1.5 * dry[0]
    assert ball == sorted(ball)


@pytest.mark.parametrize("share", [0.25, 0.5, 0.9])
def test_a_ball_of_the_same_soil_with_even_roots_is_no_ball(share):
    hours = dry_days(5, 2.0, 5.0)
    hours[:, layout.OUTSIDE] = 1.0 - share
    hours[30, layout.RAIN] = 4.0
    one = run(task(pot_of("akadama"), hours))
    two = run(task(ball_pot("akadama", "akadama", share), hours))
    assert two.state[0] == pytest.approx(one.state[0], abs=1e-9)
    assert two.state[1] == pytest.approx(one.state[0], abs=1e-9)
    assert two.dry_mm == pytest.approx(one.dry_mm, abs=1e-4)
    assert two.left == pytest.approx(one.left, abs=1e-6)
    assert two.totals_mm == pytest.approx(one.totals_mm, abs=1e-9)


@pytest.mark.parametrize(("drier", "wetter"), [(0, 1), (1, 0)])
def test_water_passes_to_the_drier_side(drier, wetter):
    pot = ball_pot("akadama", "akadama", 0.5)
    state = partly(pot, np.array([0.9]))
    state[drier] = partly(pot, np.array([0.4]))[drier]
    path = run(task(pot, quiet(24), state=state))
    assert path.state[drier].sum() > state[drier].sum()
    assert path.state[wetter].sum() < state[wetter].sum()
    who = members()
    kept = water_mm(pot, who, path.state)[0] + path.totals_mm[1, 0]
    assert kept == pytest.approx(water_mm(pot, who, state)[0], rel=1e-12)


@pytest.mark.parametrize(
    ("mix", "ball"), [("akadama", "akadama"), ("akadama", "loam"), ("pumice", "clay loam")]
)
def test_unequal_sides_settle(mix, ball):
    pot = ball_pot(mix, ball, 0.5)
    state = partly(pot, np.array([0.9]))
    state[1] = partly(pot, np.array([0.4]))[1]
    late = run(task(pot, quiet(100), state=state)).state
    later = run(task(pot, quiet(1), state=late)).state
    assert np.abs(later - late).max() < 2e-3


def test_rain_is_split_by_area():
    # both air-dry, and of one soil: each takes the same depth of what falls on it
    pot = ball_pot("akadama", "akadama", 0.3)
    state = np.repeat(pot.soil[:, layout.AD][:, None, None], 16, axis=1) * np.ones((1, 1, 1))
    hours = quiet(1)
    hours[0, layout.RAIN] = 12.0
    path = run(task(apart(pot), hours, state=np.ascontiguousarray(state)))
    gained = ((path.state - state)[:, :, 0] * pot.layers[:, layout.STORE]).sum(axis=1)
    assert gained[0] == pytest.approx(gained[1], rel=1e-12)
    assert path.totals_mm[0, 0] - path.totals_mm[1, 0] == pytest.approx(gained[0], rel=1e-12)


def test_dry_depth_is_read_in_the_new_mix_and_left_over_both():
    pot = ball_pot("akadama", "loam", 0.4)
    state = partly(pot, np.array([1.0]))
    state[1] = partly(pot, np.array([0.0]))[1]
    path = run(task(pot, quiet(1), state=state))
    water = pot.soil[:, layout.SHARE] * pot.soil[:, layout.FULL]
    assert path.dry_mm[0, 0] == 0.0
    assert path.ball_left[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert path.left[0, 0] == pytest.approx(water[0] / water.sum(), abs=1e-6)


def test_uptake_follows_where_the_roots_are():
    pot = ball_pot("akadama", "akadama", 0.5)
    for outside, touched in ((0.0, 1), (1.0, 0)):
        hours = quiet(1)
        hours[0, layout.TRANSPIRATION], hours[0, layout.OUTSIDE] = 1.0, outside
        start = task(apart(pot), hours)
        path = run(start)
        lost = ((start.state - path.state)[:, :, 0] * pot.layers[:, layout.STORE]).sum(axis=1)
        assert lost[touched] == pytest.approx(2.0, rel=1e-9)  # 1 mm of the pot, half its area
        assert lost[1 - touched] == pytest.approx(0.0, abs=1e-12)


def test_evenings_are_those_of_the_days():
    path = run(task(pot_of("akadama"), dry_days(2, 3.5)))
    assert np.array_equal(evenings(path.dry_mm, 2)[:, 0], path.dry_mm[[24, 48], 0])
