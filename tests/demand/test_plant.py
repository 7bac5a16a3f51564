"""Crown, surround, recovery and foliage: from ET0 to litres."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import plant
from advisor.errors import Refused
from advisor.garden import records

SHARES = st.floats(0, 1)
WARMTH = st.floats(0, 5000)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (plant.DENSITY, records.DENSITIES),
        (plant.OASIS, records.GROUNDS),
        (plant.ROOT_WORK, records.ROOT_WORK),
        (plant.FOLIAGE_OFF, records.FOLIAGE_OFF),
    ],
    ids=["density", "ground", "root work", "foliage off"],
)
def test_tables_know_every_word_of_the_grower(table, words):
    assert set(table) == set(words)


def test_crown_area():
    # width × depth × π/4 × density
    assert plant.crown_area_m2(60, 40, "medium") == pytest.approx(np.pi / 4 * 0.24 * 0.75)
    assert plant.crown_area_m2(100, 100, "dense") == pytest.approx(np.pi / 4)
    assert plant.crown_area_m2(100, 100, "see-through") == pytest.approx(np.pi / 8)


@pytest.mark.parametrize("size", [0.0, -3.0, 601.0, float("nan")])
def test_impossible_crowns_are_refused(size):
    for crown in ((size, 40.0), (40.0, size)):
        with pytest.raises(Refused, match="crown"):
            plant.crown_area_m2(*crown, "medium")


def test_unknown_density_is_refused():
    with pytest.raises(Refused, match="Did you mean medium"):
        plant.crown_area_m2(40, 40, "mediun")


@pytest.mark.parametrize(
    ("pot", "crown"),
    [((120, 90), (18.0, 13.5)), ((350, 250), (42.0, 30.0)), ((200, 160), (27.0, 21.6))],
)
def test_default_crown(pot, crown):
    assert plant.default_crown_cm(*pot) == pytest.approx(crown)


def test_default_crown_refuses_a_pot_without_size():
    with pytest.raises(Refused, match="pot length"):
        plant.default_crown_cm(0, 200)


@pytest.mark.parametrize(
    ("ground", "grouped", "factor"),
    [
        ("lawn", False, 1.2),
        ("gravel", False, 1.4),
        ("paving", False, 1.6),
        ("wall", False, 1.6),
        ("lawn", True, 1.0),
        ("paving", True, 1.4),
    ],
)
def test_oasis(ground, grouped, factor):
    assert plant.oasis_factor(ground, grouped) == pytest.approx(factor)


def test_unknown_ground_is_refused():
    with pytest.raises(Refused, match="ground: 'sea'"):
        plant.oasis_factor("sea", False)


def test_degree_days_sum_above_six_degrees_while_growing():
    warmth = plant.degree_days([4.0, 6.0, 16.0, np.nan, 8.0])
    assert warmth == pytest.approx([0, 0, 10, 10, 12])
    rest = plant.degree_days([16.0, 16.0, 16.0], [True, False, True])
    assert rest == pytest.approx([10, 10, 20])


@pytest.mark.parametrize(
    ("work", "start"),
    [("slipped over", 0.88), ("edges combed", 0.65), ("half bare", 0.44), ("all bare", 0.19)],
)
def test_uptake_right_after_root_work(work, start):
    # (1 − r)^1.2, printed to two digits
    assert plant.recovery_start(plant.ROOT_WORK[work]) == pytest.approx(start, abs=0.005)


@pytest.mark.parametrize(
    ("work", "low", "high"),
    [("edges combed", 0.6, 0.8), ("half bare", 0.3, 0.5), ("all bare", 0.15, 0.3)],
)
def test_growers_expectation_after_root_work(work, low, high):
    # common practice
    assert low <= plant.recovery_factor(plant.ROOT_WORK[work], 0.0) <= high


def test_back_over_three_to_six_warm_weeks():
    # common practice; 18 °C: 12 °C·d a day, at six weeks nine tenths of a half-bare tree
    assert plant.recovery_factor(0.5, 12 * 21) < 0.85
    assert plant.recovery_factor(0.5, 12 * 42) > 0.9


def test_recovery_by_hand():
    expected = 1 - (1 - 0.5**1.2) * np.exp(-1)
    assert plant.recovery_factor(0.5, 250.0) == pytest.approx(expected)
    assert plant.recovery_factor(0.5, 1000.0, plant.COLLECTED_CD) == pytest.approx(expected)


@settings(max_examples=100, deadline=None)
@given(SHARES, SHARES, WARMTH, WARMTH)
def test_recovery_falls_with_loss_and_rises_with_warmth(one, other, cool, warm):
    less, more = sorted((one, other))
    early, late = sorted((cool, warm))
    assert plant.recovery_factor(more, early) <= plant.recovery_factor(less, early) + 1e-12
    assert plant.recovery_factor(more, late) >= plant.recovery_factor(more, early) - 1e-12
    assert 0 <= plant.recovery_factor(more, early) <= 1
    assert plant.recovery_factor(0.0, early) == 1.0


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_impossible_shares_are_refused(share):
    with pytest.raises(Refused, match="share, roots lost"):
        plant.recovery_factor(share, 0.0)


def test_outside_ball_uptake():
    start = 0.44
    assert plant.outside_ball_uptake(0.4, start, start) == 0.0
    assert plant.outside_ball_uptake(0.4, (start + 0.8) / 2, start) == pytest.approx(0.2)
    assert plant.outside_ball_uptake(0.4, 0.9, start) == pytest.approx(0.4)


def test_a_tree_slipped_over_draws_everywhere_at_once():
    start = plant.recovery_start(plant.ROOT_WORK["slipped over"])
    assert plant.outside_ball_uptake(0.4, start, start) == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("off", "left", "weeks"),
    [("quarter", 0.8, 3), ("half", 0.6, 5), ("most", 0.35, 8), ("all", 0.15, 10)],
)
def test_foliage_off_and_back(off, left, weeks):
    assert plant.foliage_factor(off, 0) == pytest.approx(left)
    assert plant.foliage_factor(off, 3.5 * weeks) == pytest.approx((1 + left) / 2)
    assert plant.foliage_factor(off, 7 * weeks) == 1.0
    assert plant.foliage_factor(off, 500) == 1.0
    rise = np.diff(plant.foliage_factor(off, np.arange(80)))
    assert (rise >= 0).all()
    assert rise.max() < 0.05


def test_unknown_foliage_is_refused():
    with pytest.raises(Refused, match="Did you mean quarter"):
        plant.foliage_factor("quater", 0)


def test_litres_per_millimetre_by_hand():
    crown = plant.Crown(area_m2=0.1, oasis=1.4)
    litres = plant.transpiration_factor(crown, 0.95, cold=0.5, recovery=0.44, foliage=0.6)
    assert litres == pytest.approx(0.1 * 1.4 * 0.95 * 0.5 * 0.44 * 0.6)


def test_litres_broadcast_over_days():
    crown = plant.Crown(area_m2=0.5)
    litres = plant.transpiration_factor(crown, np.array([0.2, 0.95]), cold=np.array([0.1, 1.0]))
    assert litres == pytest.approx([0.01, 0.475])
