"""The compiled hours of needle store, snow and frost against the plain one-hour rules."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.balance.pot_weather import pot_weather
from advisor.demand import surface

HOURS = 40


def series(low, high):
    return st.lists(st.floats(low, high), min_size=HOURS, max_size=HOURS).map(np.array)


RAIN = st.lists(st.one_of(st.just(0.0), st.floats(0.0, 12.0)), min_size=HOURS, max_size=HOURS).map(
    np.array
)


@settings(max_examples=100, deadline=None)
@given(
    rain=RAIN,
    air=series(-12.0, 20.0),
    et0=series(0.0, 0.8),
    store=series(0.0, 1.0),
    through=series(0.3, 1.0),
    hours=st.floats(2.0, 24.0),
    start=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 30.0), st.floats(-10.0, 15.0)),
)
def test_hour_by_hour_as_the_plain_rules(rain, air, et0, store, through, hours, start):
    got = pot_weather(rain, air, et0, store, through, hours, np.array(start))
    needles, snow, pot = start
    for t in range(HOURS):
        assert got.carried[t] == pytest.approx((needles, snow, pot), abs=1e-12)
        snow, falls = surface.snow_step(snow, rain[t], air[t])
        needles, passes = surface.needle_store_step(needles, falls, et0[t], store[t])
        pot = surface.pot_temperature_step(pot, air[t], hours)
        assert got.rain_mm[t] == pytest.approx(passes * through[t], abs=1e-12)
        assert got.frozen[t] == (got.carried[t + 1, 2] < surface.FROZEN_BELOW_C)
        wets_top = got.rain_mm[t] > 0.0 and rain[t] <= surface.DRIZZLE_MM_H
        assert got.drizzle[t] == wets_top
    assert got.carried[HOURS] == pytest.approx((needles, snow, pot), abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(rain=RAIN, air=series(-8.0, 12.0), store=st.floats(0.0, 1.0))
def test_without_evaporation_all_that_fell_is_somewhere(rain, air, store):
    still = np.zeros(HOURS)
    got = pot_weather(rain, air, still, still + store, still + 1.0, 6.0, np.zeros(3))
    kept = got.carried[-1, :2].sum()
    assert got.rain_mm.sum() + kept == pytest.approx(rain.sum(), abs=1e-10)
    assert got.carried[:, :2].min() >= 0.0


@settings(max_examples=60, deadline=None)
@given(rain=RAIN, air=series(-8.0, 12.0), et0=series(0.0, 0.8), store=st.floats(0.0, 1.0))
def test_what_is_missing_evaporated_from_the_needles(rain, air, et0, store):
    whole = np.ones(HOURS)
    got = pot_weather(rain, air, et0, store * whole, whole, 6.0, np.zeros(3))
    lost = rain.sum() - got.rain_mm.sum() - got.carried[-1, :2].sum()
    assert -1e-10 <= lost <= et0.sum() + 1e-10


def test_a_shower_of_a_millimetre_stays_on_the_needles():
    # common practice: under 5 mm counts as nothing under dense pads
    hours = np.zeros(3)
    rain, store, through = np.array([1.0, 0.0, 0.0]), hours + 1.0, hours + 0.4
    got = pot_weather(rain, hours + 15.0, hours, store, through, 6.0, np.array([0.0, 0.0, 15.0]))
    assert got.rain_mm == pytest.approx(0.0)
    assert not got.frozen.any()


def test_snow_waits_for_the_thaw():
    # 10 mm of snow, then 5 °C: 2 mm/°C·d melt 10 mm in a day
    air = np.append(np.full(4, -3.0), np.full(24, 5.0))
    rain = np.append([10.0, 0.0, 0.0, 0.0], np.zeros(24))
    still = np.zeros(28)
    got = pot_weather(rain, air, still, still, still + 1.0, 6.0, np.zeros(3))
    assert got.rain_mm[:4] == pytest.approx(0.0)
    assert got.rain_mm[4:] == pytest.approx(np.full(24, 10.0 / 24.0))
    assert got.carried[-1, 1] == pytest.approx(0.0, abs=1e-12)
    assert got.frozen[3]
    assert not got.frozen[-1]


def test_a_larger_pot_freezes_later():
    air, still = np.full(48, -4.0), np.zeros(48)
    first = [
        int(
            np.argmax(
                pot_weather(still, air, still, still, still, hours, np.array([0, 0, 6.0])).frozen
            )
        )
        for hours in (2.0, 6.0, 24.0)
    ]
    assert first == sorted(set(first))
