import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.pot.capacity import (
    container_capacity,
    drainage_h0_cm,
    holding,
    rest_contents,
)
from advisor.pot.curve import curve_from, saturation
from advisor.pot.materials import table
from advisor.pot.mix import blend
from advisor.pot.shape import Shape, from_inside, layers

NAMES = st.sampled_from([row.name for row in table()])
DEPTHS = st.floats(10, 300)


def pot(depth_mm, base_share=1.0):
    return from_inside(250, 180, depth_mm, base_share=base_share)


@settings(max_examples=60, deadline=None)
@given(name=NAMES, depth_mm=DEPTHS, more_mm=st.floats(1, 100))
def test_a_deeper_pot_holds_more_litres_and_a_smaller_share(name, depth_mm, more_mm):
    curve, shallow, deep = blend([(name, 1.0)]), pot(depth_mm), pot(depth_mm + more_mm)
    shares = container_capacity(curve, shallow), container_capacity(curve, deep)
    assert shares[0] >= shares[1]
    assert shares[0] * shallow.volume_l <= shares[1] * deep.volume_l


@settings(max_examples=60, deadline=None)
@given(alpha=st.floats(0.02, 2.0), wider=st.floats(1.0, 4.0), depth_mm=DEPTHS)
def test_coarser_pores_never_hold_more(alpha, wider, depth_mm):
    fine, coarse = (
        curve_from(lambda h, a=a: 0.1 + 0.4 * saturation(h, a, 3.0), np.zeros_like)
        for a in (alpha, alpha * wider)
    )
    assert container_capacity(coarse, pot(depth_mm)) <= container_capacity(fine, pot(depth_mm))


@pytest.mark.parametrize(
    ("fine", "coarse"), [("akadama 1-3", "akadama 2-5"), ("pumice 2-5", "pumice 5-10")]
)
@pytest.mark.parametrize("depth_mm", [30, 60, 120])
def test_coarser_grades_hold_less(fine, coarse, depth_mm):
    shares = [container_capacity(blend([(name, 1.0)]), pot(depth_mm)) for name in (coarse, fine)]
    assert shares[0] < shares[1]


@settings(max_examples=60, deadline=None)
@given(name=NAMES, depth_mm=DEPTHS, h0_cm=st.floats(0, 20), base_share=st.floats(0.4, 1.2))
def test_capacity_lies_between_wilting_and_the_pores(name, depth_mm, h0_cm, base_share):
    curve = blend([(name, 1.0)])
    share = container_capacity(curve, pot(depth_mm, base_share), h0_cm)
    assert curve.theta_wp < share <= curve.theta_s
    assert share <= container_capacity(curve, pot(depth_mm, base_share)) + 1e-12


@settings(max_examples=60, deadline=None)
@given(name=NAMES, depth_mm=DEPTHS, h0_cm=st.floats(0, 20))
def test_water_at_rest_hangs_from_the_outlet(name, depth_mm, h0_cm):
    curve, column = blend([(name, 1.0)]), layers(pot(depth_mm))
    theta = rest_contents(curve, column, h0_cm)
    heads_cm = curve.tension_cm(theta) - column.centre_mm / 10.0
    assert heads_cm == pytest.approx(np.full(len(theta), h0_cm), abs=1e-9)


@pytest.mark.parametrize("name", ["akadama", "lava", "loam", "composted bark"])
def test_layers_and_integral_agree(name):
    curve, shape = blend([(name, 1.0)]), pot(80, 0.8)
    column = layers(shape)
    held = holding(curve, column, rest_contents(curve, column, 0.0), shape.surface_m2)
    assert held.total_l / shape.volume_l == pytest.approx(
        container_capacity(curve, shape), abs=0.003
    )


def test_holding_adds_up():
    curve, shape = blend([("pumice", 1.0)]), pot(50)
    column = layers(shape)
    full = np.full(len(column.thickness_mm), curve.theta_s)
    held = holding(curve, column, full, shape.surface_m2)
    assert held.total_l == pytest.approx(curve.theta_s * 2.25)
    assert held.available_l == pytest.approx((curve.theta_s - curve.theta_wp) * 2.25)
    assert held.air_share == pytest.approx(0.0, abs=1e-12)
    wilted = holding(curve, column, full * 0 + curve.theta_wp, shape.surface_m2)
    assert wilted.available_l == 0.0


def test_sloping_sides_take_more_from_the_wet_foot():
    curve = blend([("pumice", 1.0)])
    shares = [container_capacity(curve, pot(80, base)) for base in (0.5, 1.0, 1.3)]
    assert shares == sorted(shares)
    assert shares[0] < shares[2] - 0.01


def test_a_mound_sits_high_and_dry():
    curve = blend([("pumice", 1.0)])
    slab = Shape("oval", 300, 200, 0, mound_mm=80)
    upright = from_inside(300, 200, 80, "oval")
    assert container_capacity(curve, slab) > container_capacity(curve, upright)
    theta = rest_contents(curve, layers(slab), 0.0)
    assert (np.diff(theta) > 0).all()


def test_tipping_drains_the_foot_and_more_so_when_steeper():
    curve, column = blend([("pumice", 1.0)]), layers(pot(50))
    litres = [
        holding(curve, column, rest_contents(curve, column, 0.0, deg, 180.0), 0.045).total_l
        for deg in (0.0, 5.0, 15.0, 30.0)
    ]
    assert litres == sorted(litres, reverse=True)
    assert litres[3] < 0.9 * litres[0]


def test_tipped_layer_is_the_mean_over_its_width():
    curve, column = blend([("akadama", 1.0)]), layers(pot(50))
    x_cm = np.linspace(0, 18, 20_001)
    angle = np.radians(20)
    height_cm = column.centre_mm[3] / 10 * np.cos(angle) + x_cm * np.sin(angle)
    expected = np.trapezoid(curve.content(1.0 + height_cm), x_cm) / 18
    assert rest_contents(curve, column, 1.0, 20.0, 180.0)[3] == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize("tip", [(0.0, 180.0), (20.0, 0.0)])
def test_level_is_level(tip):
    curve, column = blend([("akadama", 1.0)]), layers(pot(50))
    assert (rest_contents(curve, column, 0.5, *tip) == rest_contents(curve, column, 0.5)).all()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: drainage_h0_cm(-1, 8), r"drainage layer: -1 mm"),
        (lambda: drainage_h0_cm(20, 0), r"grain of the drainage layer: 0 mm"),
        (
            lambda: rest_contents(blend([("lava", 1.0)]), layers(pot(50)), 0.0, 80.0, 180.0),
            r"tipped: 80 °",
        ),
    ],
)
def test_impossible_settings_are_refused(call, words):
    with pytest.raises(Refused, match=words):
        call()
