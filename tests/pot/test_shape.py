import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.garden import records
from advisor.pot.shape import (
    OUTLINES,
    TAKE_OFFS,
    Shape,
    from_inside,
    from_litres,
    from_outside,
    layers,
)

shapes = st.builds(
    Shape,
    outline=st.sampled_from(list(OUTLINES)),
    length_mm=st.floats(50, 900),
    width_mm=st.floats(40, 600),
    depth_mm=st.floats(6, 400),
    base_share=st.floats(0.3, 1.3),
    mound_mm=st.one_of(st.just(0.0), st.floats(5, 150)),
    rock_share=st.floats(0, 0.6),
)
slabs = st.builds(
    Shape,
    outline=st.just("oval"),
    length_mm=st.floats(100, 900),
    width_mm=st.floats(100, 600),
    depth_mm=st.just(0.0),
    mound_mm=st.floats(10, 200),
)


@settings(max_examples=100, deadline=None)
@given(shape=st.one_of(shapes, slabs))
def test_volume_is_the_integral_of_the_area(shape):
    litres = 0.0
    for low, high in [(0.0, shape.depth_mm), (shape.depth_mm, shape.height_mm)]:
        middles = low + (np.arange(2000) + 0.5) * (high - low) / 2000
        litres += shape.area_share(middles).mean() * (high - low) * shape.surface_m2
    assert shape.volume_l == pytest.approx(litres, rel=1e-6)


@settings(max_examples=100, deadline=None)
@given(shape=st.one_of(shapes, slabs))
def test_layers_add_up_to_the_pot(shape):
    column = layers(shape)
    litres = column.thickness_mm * column.area_ratio * shape.surface_m2
    assert litres.sum() == pytest.approx(shape.volume_l, rel=1e-12)
    assert column.thickness_mm.sum() == pytest.approx(shape.height_mm, rel=1e-12)
    assert (column.area_ratio > 0).all()
    assert (np.diff(column.centre_mm) < 0).all()
    assert column.distance_mm == pytest.approx(-np.diff(column.centre_mm))
    assert column.centre_mm[-1] == pytest.approx(column.thickness_mm[-1] / 2)


@pytest.mark.parametrize(
    ("depth_mm", "count", "top_mm", "bottom_mm"),
    [
        (6.0, 2, 3.0, 3.0),
        (41.0, 8, 5.125, 5.125),
        (80.0, 16, 5.0, 5.0),
        (104.0, 21, 104 / 21, 104 / 21),
        (120.0, 22, 5.0, 10.0),
        (300.0, 40, 5.0, 10.0),
    ],
)
def test_layers_are_fine_on_top(depth_mm, count, top_mm, bottom_mm):
    thickness = layers(from_inside(200, 150, depth_mm)).thickness_mm
    assert len(thickness) == count
    assert thickness[[0, -1]] == pytest.approx([top_mm, bottom_mm])


def test_known_volumes():
    assert from_inside(300, 200, 50).volume_l == pytest.approx(3.0)
    assert from_inside(200, 200, 100, "round").volume_l == pytest.approx(math.pi)
    cone_frustum = math.pi * 100 / 3 * (100**2 + 100 * 50 + 50**2) / 1e6
    assert from_inside(200, 200, 100, "round", 0.5).volume_l == pytest.approx(cone_frustum)
    paraboloid = math.pi / 4 * 300 * 200 * 80 / 2 / 1e6
    slab = Shape("oval", 300, 200, 0, mound_mm=80)
    assert slab.volume_l == pytest.approx(paraboloid)
    assert from_inside(300, 200, 50, rock_share=0.4).volume_l == pytest.approx(1.8)


def test_a_mound_leaves_the_opening_as_it_is():
    plain, mounded = from_inside(300, 200, 50), from_inside(300, 200, 50, mound_mm=30)
    assert mounded.surface_m2 == plain.surface_m2 == pytest.approx(0.06)
    assert mounded.volume_l == pytest.approx(plain.volume_l + 0.06 * 30 / 2)
    assert layers(mounded).area_ratio[0] < 0.2


def test_outside_of_a_pot_is_not_its_soil():
    # Common practice: 350 x 250 x 60 mm outside holds about 2.9 L, 41 mm deep, not 5.25 L.
    shape = from_outside(350, 250, 60)
    assert shape.volume_l == pytest.approx(2.9, abs=0.05)
    assert shape.depth_mm == pytest.approx(41, abs=0.5)


@settings(max_examples=100, deadline=None)
@given(length_mm=st.floats(30, 1500), width_mm=st.floats(30, 1500), height_mm=st.floats(20, 800))
def test_soil_fits_in_its_pot(length_mm, width_mm, height_mm):
    shape = from_outside(length_mm, width_mm, height_mm)
    share = shape.volume_l / (length_mm * width_mm * height_mm / 1e6)
    assert 0.35 < share < 0.95


@settings(max_examples=50, deadline=None)
@given(height_mm=st.floats(20, 400), more_mm=st.floats(1, 50))
def test_a_higher_pot_is_deeper_inside(height_mm, more_mm):
    low, high = (from_outside(200, 150, mm).depth_mm for mm in (height_mm, height_mm + more_mm))
    assert low < high


@settings(max_examples=50, deadline=None)
@given(litres=st.floats(0.2, 60), depth_mm=st.floats(30, 300))
def test_litres_and_depth_alone_are_enough(litres, depth_mm):
    shape = from_litres(litres, depth_mm)
    assert shape.volume_l == pytest.approx(litres)
    assert shape.depth_mm == depth_mm


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: from_inside(300, 200, 0), r"soil depth: 0 mm"),
        (lambda: from_inside(300, 0, 50), r"pot width: 0 mm"),
        (lambda: from_inside(-300, 200, 50), r"pot length: -300 mm"),
        (lambda: from_inside(float("nan"), 200, 50), r"pot length: nan mm"),
        (lambda: from_inside(300, 200, 50, "star"), r"'star'.*rectangle, oval, round"),
        (lambda: from_inside(300, 200, 50, base_share=0), r"length at the base"),
        (lambda: from_inside(300, 200, 50, rock_share=1.0), r"share of rock: 1\. "),
        (lambda: from_inside(300, 200, 50, mound_mm=-5), r"mound: -5 mm"),
        (lambda: from_outside(300, 200, 0), r"pot height: 0 mm"),
        (lambda: from_outside(300, 200, 12, "star"), r"'star'"),
        (lambda: from_litres(0, 50), r"soil volume: 0 L"),
        (lambda: from_litres(3, 0), r"soil depth: 0 mm"),
        (lambda: from_litres(900, 5), r"pot length: \S+ mm"),
    ],
)
def test_pots_that_hold_nothing_are_refused(make, words):
    with pytest.raises(Refused, match=words):
        make()


def test_outlines_are_those_the_grower_may_say():
    assert tuple(OUTLINES) == records.OUTLINES


def test_every_take_off_stands_within_its_range():
    for row in TAKE_OFFS.values():
        assert row.low <= row.value <= row.high
        assert row.source.startswith("J: ")
