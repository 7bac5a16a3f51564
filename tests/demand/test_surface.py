"""Evaporation from the pot, rain through the crown, snow and pot temperature."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import groups, plant, surface
from advisor.errors import Refused
from advisor.garden import records

AMOUNT = st.floats(0, 50)


def test_tables_know_every_word_of_the_grower():
    assert set(surface.DRESSING) == set(records.DRESSINGS)
    assert set(surface.WALL) == set(records.WALLS)


@pytest.mark.parametrize(
    ("cover", "dressing", "wet", "factor"),
    [
        (0.0, "none", True, 1.15),
        (1.0, "none", True, 1.15 * 0.4),
        (0.5, "none", False, 1.15 * 0.7),
        (0.0, "sphagnum", True, 1.15 * 0.5),
        (0.0, "moss", True, 1.15),
        (0.0, "moss", False, 1.15 * surface.MOSS_DRY),
    ],
)
def test_surface_demand(cover, dressing, wet, factor):
    # 1.15·(1 − .6·cover)·dressing
    assert surface.surface_factor(cover, dressing, wet) == pytest.approx(factor)


def test_grit_slows_evaporation():
    assert surface.surface_factor(0.0, "grit") < surface.surface_factor(0.0, "none")


def test_unknown_dressing_is_refused():
    with pytest.raises(Refused, match="Did you mean moss"):
        surface.surface_factor(0.0, "mos")


def test_walls():
    assert surface.wall_factor("closed", 0.05, 0.1) == 1.0
    factors = [surface.wall_factor(wall, 0.05, 0.1) for wall in ("timber", "unglazed", "mesh")]
    assert factors == pytest.approx([1.05, 1.125, 1.3])
    with pytest.raises(Refused, match="wall of the pot"):
        surface.wall_factor("glass", 0.05, 0.1)


@pytest.mark.parametrize("area", [0.0, -1.0, float("nan")])
def test_a_pot_without_a_surface_is_refused(area):
    with pytest.raises(Refused, match="surface of the pot"):
        surface.wall_factor("mesh", 0.05, area)
    with pytest.raises(Refused, match="surface of the pot"):
        surface.crown_cover(0.1, area, "dense")


def test_cover_of_the_pot():
    assert surface.crown_cover(0.1, 0.05, "dense") == 1.0
    assert surface.crown_cover(0.1, 0.05, "medium") == 0.75
    assert surface.crown_cover(0.02, 0.08, "dense") == pytest.approx(0.25)


@pytest.mark.parametrize("group", groups.table().values(), ids=lambda group: group.name)
def test_throughfall(group):
    # .3-.6 under dense pads wider than the pot, .6-.8 under a thin crown, about 1 when bare
    dense, thin = (surface.throughfall(group, word, 1.0, 1.0) for word in ("dense", "see-through"))
    assert 0.3 <= dense <= 0.6
    assert 0.6 <= thin <= 0.8
    assert dense < surface.throughfall(group, "medium", 1.0, 1.0) < thin
    assert surface.throughfall(group, "dense", 0.0, 1.0) >= 0.9
    assert surface.throughfall(group, "dense", 1.0, 0.0) == 1.0


def test_needle_store():
    assert surface.needle_store_mm(1.0, 1.0) == pytest.approx(1.0)
    assert surface.needle_store_mm(0.5, 1.0) == pytest.approx(0.5)
    assert surface.needle_store_mm(1.0, np.array([0.0, 1.0])) == pytest.approx([0.2, 1.0])


def test_needle_store_fills_passes_and_dries():
    assert surface.needle_store_step(0.0, 0.6, 0.0, 1.0) == pytest.approx((0.6, 0.0))
    assert surface.needle_store_step(0.6, 0.6, 0.0, 1.0) == pytest.approx((1.0, 0.2))
    assert surface.needle_store_step(1.0, 0.0, 0.3, 1.0) == pytest.approx((0.7, 0.0))
    assert surface.needle_store_step(0.1, 0.0, 0.3, 1.0) == pytest.approx((0.0, 0.0))


@settings(max_examples=100, deadline=None)
@given(AMOUNT, AMOUNT, AMOUNT, AMOUNT)
def test_needle_store_loses_only_what_dries(stored, rain, et0, store):
    held, passed = surface.needle_store_step(stored, rain, et0, store)
    assert 0 <= held <= store
    assert passed >= 0
    dried = stored + rain - held - passed
    assert -1e-9 <= dried <= et0 + 1e-9


@pytest.mark.parametrize(
    ("snow", "rain", "air", "lies", "water"),
    [
        (0.0, 2.0, 0.4, 2.0 - 0.4 / 12, 0.4 / 12),
        (0.0, 2.0, -1.0, 2.0, 0.0),
        (0.0, 2.0, 0.5, 0.0, 2.0),
        (5.0, 0.0, 6.0, 4.5, 0.5),  # 2 mm/°C·d · 6 °C / 24 h
        (0.2, 1.0, 6.0, 0.0, 1.2),
    ],
)
def test_snow(snow, rain, air, lies, water):
    assert surface.snow_step(snow, rain, air) == pytest.approx((lies, water))


@settings(max_examples=100, deadline=None)
@given(AMOUNT, AMOUNT, st.floats(-30, 40))
def test_snow_keeps_its_water(snow, rain, air):
    lies, water = surface.snow_step(snow, rain, air)
    assert lies >= 0
    assert water >= 0
    assert lies + water == pytest.approx(snow + rain)


def test_pot_temperature_follows_the_air_slowly():
    hours = surface.pot_hours(3.0)
    assert hours == pytest.approx(6.0)
    pot_c = 10.0
    for _ in range(6):
        pot_c = surface.pot_temperature_step(pot_c, 0.0, hours)
    assert pot_c == pytest.approx(10.0 / np.e)


def test_larger_pots_are_slower():
    hours = [surface.pot_hours(litres) for litres in (0.1, 0.5, 3.0, 30.0, 300.0)]
    assert hours == sorted(hours)
    assert hours[0] == 2.0
    assert hours[-1] == 24.0
    with pytest.raises(Refused, match="soil volume"):
        surface.pot_hours(0.0)


def test_default_pine_pot_in_july_is_shaded_by_its_crown():
    outline = plant.crown_outline_m2(*plant.default_crown_cm(350, 250))
    assert surface.under_crown(outline, 0.332 * 0.232) == 1.0
