"""Readings: how far off they are, what holds for a full weight, what a pot can weigh."""

import math
from datetime import timedelta

import pytest
from garden.told import DAY, NOW, POTTED, pot
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.garden.readings import (
    DRAINED_WITHIN,
    NUMBERS,
    SPREADS,
    deepest_mm,
    heavier_than,
    heaviest_kg,
    lacking,
    reference_weights,
    spread_of,
)
from advisor.garden.records import PROBES, READINGS, Reading, Watering

HOUR = timedelta(hours=1)


def weight(at, kg, **told):
    return Reading("2", at, "weight", kg, **told)


def full(at):
    return Watering("2", at)


# --- how far off -----------------------------------------------------------------------


@pytest.mark.parametrize(("reading", "expected"), [
    (Reading("2", NOW, "dry depth", 30.0, "skewer"), 4.0),
    (Reading("2", NOW, "dry depth", 30.0, "finger"), 6.0),
    (weight(NOW, 0.9), 0.005),
    (weight(NOW, 10.0), 0.030),
    (weight(NOW, 10.0, sd=0.1), 0.1),
    (Reading("2", NOW, "run-off", 2.0, "ran"), 0.3),
    (Reading("2", NOW, "rain under", 3.0, since=NOW - DAY), 0.5),
    (Reading("2", NOW, "feel", word="moist", depth_mm=20.0), None),
])
def test_a_number_is_as_far_off_as_told_else_by_its_kind(reading, expected):
    assert spread_of(reading) == pytest.approx(expected)


def test_every_kind_in_numbers_has_a_limit_and_a_spread():
    assert set(NUMBERS) <= set(READINGS)
    assert set(SPREADS) == set(NUMBERS) - {"dry depth"} | set(PROBES)


# --- full weights ----------------------------------------------------------------------


def test_the_first_weight_within_three_hours_of_a_full_watering_is_full():
    readings = [weight(NOW - HOUR, 6.0), weight(NOW + HOUR, 6.9), weight(NOW + 2 * HOUR, 6.8),
                weight(NOW + DAY, 6.5)]
    assert reference_weights(readings, [full(NOW)], POTTED) == [(NOW + HOUR, 6.9)]


@pytest.mark.parametrize(("watering", "after"), [
    (full(NOW), timedelta(0)),  # who weighs before watering enters both at one instant
    (full(NOW), DRAINED_WITHIN + timedelta(seconds=1)),
    (full(NOW), -HOUR),
    (Watering("2", NOW, 0.5, until_ran=False), HOUR),
])
def test_other_weights_are_not_full(watering, after):
    assert reference_weights([weight(NOW + after, 6.9)], [watering], POTTED) == []


def test_three_hours_after_is_still_full():
    readings = [weight(NOW + DRAINED_WITHIN, 6.9)]
    assert reference_weights(readings, [full(NOW)], POTTED) == [(NOW + DRAINED_WITHIN, 6.9)]


def test_each_weight_is_held_against_the_newest_full_one_up_to_then():
    readings = [weight(NOW - DAY, 6.4), weight(NOW + HOUR, 6.9), weight(NOW + DAY, 6.5),
                Reading("2", NOW + DAY, "dry depth", 20.0, "skewer"),
                weight(NOW + 2 * DAY + HOUR, 7.0), weight(NOW + 3 * DAY, 6.7)]
    told = lacking(readings, [full(NOW), full(NOW + 2 * DAY)], POTTED)
    assert [(each.reading.value, each.full_kg) for each in told] == [
        (6.9, 6.9), (6.5, 6.9), (7.0, 7.0), (6.7, 7.0)]
    assert [each.lacking_l for each in told] == pytest.approx([0.0, 0.4, 0.0, 0.3])


def test_a_full_weight_is_renewed_monthly_and_holds_until_it_is():
    readings = [weight(NOW + HOUR, 6.9), weight(NOW + 31 * DAY, 6.5),
                weight(NOW + 40 * DAY, 6.4)]
    told = lacking(readings, [full(NOW)], POTTED)
    assert [each.renew for each in told] == [False, False, True]
    assert {each.full_kg for each in told} == {6.9}


def test_a_new_potting_has_weights_of_its_own():
    readings = [weight(NOW + HOUR, 6.9), weight(NOW + DAY, 5.2)]
    assert lacking(readings, [full(NOW)], NOW + 12 * HOUR) == []
    assert heavier_than(weight(NOW + 2 * DAY, 9.0), readings, NOW + 36 * HOUR) is None


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 400), max_size=12), st.lists(st.integers(0, 400), max_size=12))
def test_full_weights_are_those_found_one_by_one(weighed, watered):
    readings = [weight(NOW + each * HOUR, 6.0 + each / 1000) for each in sorted(set(weighed))]
    waterings = [full(NOW + each * HOUR) for each in sorted(set(watered))]
    expected = {}
    for watering in waterings:
        after = [r for r in readings if watering.at < r.at <= watering.at + DRAINED_WITHIN]
        expected |= {r.at: r.value for r in after[:1]}
    found = reference_weights(readings, waterings, NOW)
    assert found == sorted(expected.items())
    for each in lacking(readings, waterings, NOW):
        assert (each.full_at, each.full_kg) == max(
            pair for pair in found if pair[0] <= each.reading.at)


# --- heavier than before ---------------------------------------------------------------


@pytest.mark.parametrize(("kg", "sd", "heavier"), [
    (6.0, None, False),  # not heavier
    (6.03, None, False),  # by less than .018 of each
    (6.04, None, True),
    (6.04, 0.1, False),
    (7.0, None, True),
])
def test_heavier_is_by_more_than_both_spreads(kg, sd, heavier):
    before = weight(NOW - DAY, 6.0)
    found = heavier_than(weight(NOW, kg, sd=sd), [weight(NOW - 2 * DAY, 6.9), before], POTTED)
    assert found == (before if heavier else None)


def test_a_weight_entered_late_is_held_against_what_was_before_it():
    readings = [weight(NOW - DAY, 6.0), weight(NOW + DAY, 5.0)]
    assert heavier_than(weight(NOW, 5.5), readings, POTTED) is None
    assert heavier_than(weight(NOW, 6.5), readings, POTTED) == readings[0]


# --- what a pot allows -----------------------------------------------------------------


@pytest.mark.parametrize(("told", "litres"), [
    ({}, 5.25),
    ({"mound_mm": 40.0}, 8.75),
    ({"outside_mm": None, "inside_mm": (300.0, 200.0), "soil_depth_mm": 50.0}, 3.0),
    ({"outside_mm": None, "litres": 2.0, "soil_depth_mm": 50.0}, 2.0),
])
def test_a_pot_weighs_less_than_four_kilograms_a_litre_and_six_beside(told, litres):
    assert heaviest_kg(pot("2", **told)) == pytest.approx(6.0 + 4.0 * litres)


def test_a_pot_of_wet_gravel_passes_and_a_decimal_slip_does_not():
    # gravel and water fill a litre with .6 · 2.65 + .4 · 1.0 = 2 kg
    assert 5.25 * 2.0 + 4.0 < heaviest_kg(pot("2")) < 64.2


@pytest.mark.parametrize("form", ["slab", "root over rock"])
def test_rock_has_no_limit_by_the_size_of_the_pot(form):
    assert heaviest_kg(pot("2", form=form)) == math.inf


@pytest.mark.parametrize(("told", "mm"), [
    ({}, 60.0), ({"mound_mm": 20.0}, 80.0), ({"soil_depth_mm": 45.0}, 45.0)])
def test_a_skewer_goes_as_deep_as_the_pot(told, mm):
    assert deepest_mm(pot("2", **told)) == mm
