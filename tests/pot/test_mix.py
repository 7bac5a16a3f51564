from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.garden.records import CONDITIONS
from advisor.pot.capacity import container_capacity
from advisor.pot.materials import find, table
from advisor.pot.mix import BROKEN, WETTING, blend, broken_down, measured
from advisor.pot.packing import MIXING, governing, shrinkage
from advisor.pot.shape import from_inside

NAMES = [row.name for row in table()]
THIRDS = [("akadama", 1 / 3), ("pumice", 1 / 3), ("lava", 1 / 3)]


def held(curve, depth_mm=50.0):
    return container_capacity(curve, from_inside(200, 200, depth_mm))


def pair(fine_mm, coarse_mm, fine_share):
    """Two materials alike but for their size, and their shares."""
    pumice = find("pumice")
    parts = [replace(pumice, d50_mm=fine_mm), replace(pumice, d50_mm=coarse_mm)]
    return parts, np.array([fine_share, 1 - fine_share])


@st.composite
def mixes(draw):
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique=True))
    weights = [draw(st.floats(0.02, 1.0)) for _ in names]
    return [(name, weight / sum(weights)) for name, weight in zip(names, weights, strict=True)]


@settings(max_examples=60, deadline=None)
@given(parts=mixes(), condition=st.sampled_from(list(BROKEN)))
def test_any_mix_is_a_possible_substrate(parts, condition):
    curve = blend(parts, condition)
    assert 0 < curve.theta_wp < held(curve) <= curve.theta_s < 1
    assert curve.theta_s < 1.02 - curve.density_kgl / 2.8
    assert curve.k_c_low_cmh < curve.k_c_cmh < curve.k_c_high_cmh
    theta = np.linspace(0.0, curve.theta_s, 999)
    assert np.abs(curve.content(curve.tension_cm(theta)) - theta).max() < 1e-12


@settings(max_examples=30, deadline=None)
@given(parts=mixes(), data=st.data())
def test_order_and_repetition_of_parts_do_not_matter(parts, data):
    halves = [(name, share / 2) for name, share in parts]
    shuffled = data.draw(st.permutations(halves + halves))
    assert held(blend(shuffled)) == pytest.approx(held(blend(parts)), rel=1e-9)


@pytest.mark.parametrize("fine", ["akadama 1-3", "sand", "peat", "loam"])
def test_there_is_no_step_as_fines_are_added(fine):
    shares = np.arange(0.0, 0.5, 0.01)
    capacity = [held(blend([(fine, share), ("pumice 5-10", 1 - share)])) for share in shares]
    assert np.abs(np.diff(capacity)).max() < 0.05 * 0.6
    assert capacity[40] > capacity[5]


def test_fines_govern_between_a_tenth_and_three_tenths():
    for share, weight in [(0.05, 0.0), (0.10, 0.0), (0.20, 0.5), (0.30, 1.0), (0.60, 1.0)]:
        parts, shares = pair(1.0, 4.0, share)
        assert governing(parts, shares) == pytest.approx([weight, 1 - weight], abs=1e-12)


def test_equal_sizes_govern_by_their_shares():
    parts, shares = pair(3.0, 3.0, 0.25)
    assert governing(parts, shares) == pytest.approx([0.25, 0.75])


@pytest.mark.parametrize(
    ("fine_mm", "share", "ideal", "tolerance"),
    [
        (4.0, 0.3, 1.0, 1e-12),
        (3.5, 0.3, 0.99, 0.005),
        (1.0, 0.3, 0.85, 0.005),
        (4e-9, 0.2, 0.8, 1e-3),  # dust vanishes in the voids (Furnas 1931, from memory)
    ],
)
def test_fines_fill_voids(fine_mm, share, ideal, tolerance):
    parts, shares = pair(fine_mm, 4.0, share)
    hand_filled = 1 - MIXING["hand_filled"].value * (1 - ideal)
    assert shrinkage(parts, shares) == pytest.approx(hand_filled, abs=tolerance)


def test_parts_add_up_in_a_mix_of_equal_grains():
    curve = blend(THIRDS)
    assert curve.density_kgl == pytest.approx(0.67, abs=0.005)
    assert curve.k_c_cmh == pytest.approx(1e-5)
    assert curve.lambda_mm == pytest.approx(WETTING["mineral"].lambda_mm)
    assert curve.granular


def test_contact_conductivity_is_a_log_mean():
    curve = blend([("akadama 1-3", 0.5), ("akadama 2-5", 0.5)])
    assert curve.k_c_cmh == pytest.approx(10**-4.5)


def test_heavy_soil_does_not_drain_within_the_hour():
    assert not blend([("loam", 1.0)]).granular
    assert not blend([("loam", 0.5), ("pumice", 0.5)]).granular
    assert blend([("loam", 0.1), ("pumice", 0.9)]).granular


def test_a_mix_is_kept():
    assert blend(THIRDS) is blend(list(THIRDS))


def test_grains_break_down_and_hold_more():
    assert dict(broken_down(THIRDS, "grains")) == pytest.approx(
        {"akadama 2-5": 1 / 3, "pumice 2-5": 1 / 3, "lava 2-6": 1 / 3}
    )
    assert dict(broken_down([("akadama", 0.6), ("lava", 0.4)], "gritty")) == pytest.approx(
        {"akadama 2-5": 0.4, "akadama, broken down": 0.2, "lava 2-6": 0.4}
    )
    assert dict(broken_down([("kanuma", 1.0)], "broken down")) == {"akadama, broken down": 1.0}
    capacity = [held(blend(THIRDS, condition)) for condition in BROKEN]
    assert capacity == sorted(capacity)
    assert capacity[0] < capacity[1] < capacity[2]


@settings(max_examples=40, deadline=None)
@given(parts=mixes(), factor=st.floats(0.8, 1.15), depth_mm=st.floats(20, 200))
def test_measured_mix_holds_what_was_measured(parts, factor, depth_mm):
    fresh = blend(parts)
    capacity = min(held(fresh, depth_mm) * factor, 0.93)
    curve = measured(parts, capacity, depth_mm)
    assert held(curve, depth_mm) == pytest.approx(capacity, abs=1e-5)
    assert curve.theta_s <= MIXING["most_pores"].value + 1e-12


def test_measured_as_computed_changes_nothing():
    fresh = blend(THIRDS)
    curve = measured(THIRDS, held(fresh), 50.0)
    assert curve.theta_s == pytest.approx(fresh.theta_s, rel=1e-6)
    assert curve.theta_wp == pytest.approx(fresh.theta_wp, rel=1e-6)


def test_measured_more_than_simple_scaling_allows_is_squeezed_into_the_pores():
    curve = measured([("peat", 1.0)], 0.95, 50.0)
    assert held(curve) == pytest.approx(0.95, abs=1e-5)
    assert curve.theta_s == pytest.approx(0.98)
    theta = np.linspace(0.0, curve.theta_s, 999)
    assert np.abs(curve.content(curve.tension_cm(theta)) - theta).max() < 1e-12


def test_measured_density_goes_before_the_table():
    assert measured(THIRDS, 0.45, 50.0, 0.81).density_kgl == 0.81


def test_a_fresh_measurement_still_breaks_down():
    fresh, old = (measured(THIRDS, 0.45, 50.0, None, word) for word in ("grains", "broken down"))
    assert held(fresh) == pytest.approx(0.45, abs=1e-5)
    assert held(old) > 0.5


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([("akadama", 0.5), ("lava", 0.4)], r"shares of a mix: 0\.9 in all.*1 in all"),
        ([("akadama", 60), ("lava", 40)], r"share of akadama: 60\. .*0 to 1"),
        ([("akadama", 1.2), ("lava", -0.2)], r"share of akadama: 1\.2"),
        ([("akadama", -0.2), ("lava", 1.2)], r"share of akadama: -0\.2"),
        ([("akadama", float("nan"))], r"share of akadama: nan"),
        ([], r"shares of a mix: 0 in all"),
        ([("unobtainium", 1.0)], r"material: 'unobtainium'"),
    ],
)
def test_impossible_mixes_are_refused(parts, words):
    with pytest.raises(Refused, match=words):
        blend(parts)


@pytest.mark.parametrize("total", [0.996, 1.004])
def test_shares_may_miss_one_by_rounding(total):
    assert held(blend([("lava", total)])) == held(blend([("lava", 1.0)]))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((45.0, 50.0), r"measured capacity: 45\. .*share"),
        ((0.45, 0.5), r"soil depth, measured mix: 0\.5 mm"),
        ((0.45, 50.0, 5.0), r"measured density: 5 kg/L"),
        ((0.70, 50.0, 1.2), r"measured capacity: 0\.70 .*no more than the pores, 0\.55"),
    ],
)
def test_impossible_measurements_are_refused(arguments, words):
    with pytest.raises(Refused, match=words):
        measured(THIRDS, *arguments)


def test_unknown_condition_is_refused():
    with pytest.raises(Refused, match=r"'crumbly'.*grains, gritty, broken down"):
        blend(THIRDS, "crumbly")


def test_words_are_those_the_grower_may_say():
    assert tuple(BROKEN) == CONDITIONS


def test_every_judged_number_stands_within_its_range():
    for row in [*MIXING.values(), *BROKEN.values()]:
        assert row.low <= row.value <= row.high
        assert row.source[:3] in ("S: ", "J: ")
    assert all(kind.source.startswith("J: ") for kind in WETTING.values())
