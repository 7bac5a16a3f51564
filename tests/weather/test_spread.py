"""A day laid over its hours gives the day back."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.weather import spread
from advisor.weather.vapour import saturation_kpa


def day_of(hours: int, days: int = 1) -> np.ndarray:
    return np.repeat(np.arange(days, dtype=np.int64), hours)


def elevations(hours: pd.DatetimeIndex, latitude: float = 52.0) -> np.ndarray:
    return spread.sun(hours, latitude, 0.0).elevation


DAY = pd.date_range("2026-06-21", periods=24, freq="h", tz="UTC")


def test_the_sun_stands_highest_at_noon() -> None:
    """Greenwich at the solstice: 90 - 51.48 + 23.44 = 61.96°; up for 16.45 h [M]."""
    sun = spread.sun(DAY, 51.48, 0.0)
    assert int(np.argmax(sun.elevation)) in (11, 12)
    assert sun.elevation.max() == pytest.approx(61.96, abs=1.0)  # mean of an hour
    assert sun.up.sum() == pytest.approx(16.45, abs=0.1)  # geometric


def test_the_coldest_hour_is_sunrise_and_the_warmest_two_after_noon() -> None:
    temp = spread.temperature(day_of(24), np.array([25.0]), np.array([10.0]), elevations(DAY))
    assert int(np.argmin(temp)) == 4  # sunrise 03:52 UTC
    assert int(np.argmax(temp)) in (13, 14)
    assert (np.diff(temp[4:13]) > 0).all()
    assert (np.diff(temp[15:]) < 0).all()


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-30, 40), st.floats(0, 25)), min_size=1, max_size=6),
    st.sampled_from([-70.0, -35.0, 0.0, 52.0, 80.0]),
    st.integers(0, 364),
    st.integers(0, 23),
)
def test_each_days_extremes_are_exactly_its_figures(
    figures: list[tuple[float, float]], latitude: float, first: int, shift: int
) -> None:
    """Anywhere, in any season and in any zone, polar night and day included."""
    coldest = np.array([low for low, _ in figures])
    warmest = np.array([low + span for low, span in figures])
    start = pd.Timestamp("2026-01-01T00:00Z") + pd.Timedelta(days=first, hours=shift)
    hours = pd.date_range(start, periods=24 * len(figures), freq="h")
    day = day_of(24, len(figures))
    temp = spread.temperature(day, warmest, coldest, elevations(hours, latitude))
    assert temp.reshape(-1, 24).max(axis=1).tolist() == warmest.tolist()
    assert temp.reshape(-1, 24).min(axis=1).tolist() == coldest.tolist()


def test_days_that_are_not_known_stay_so_and_do_not_reach_into_others() -> None:
    hours = pd.date_range("2026-06-21", periods=72, freq="h", tz="UTC")
    figures = np.array([25.0, np.nan, 25.0]), np.array([10.0, np.nan, 10.0])
    temp = spread.temperature(day_of(24, 3), *figures, elevations(hours))
    assert np.isnan(temp[24:48]).all()
    alone = spread.temperature(day_of(24), np.array([25.0]), np.array([10.0]), elevations(DAY))
    assert temp[:24] == pytest.approx(alone)
    nothing = spread.temperature(
        day_of(24), np.array([np.nan]), np.array([np.nan]), elevations(DAY)
    )
    assert np.isnan(nothing).all()


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(-20, 35), min_size=23, max_size=25), st.floats(0, 1))
def test_vapour_keeps_its_mean_and_never_passes_saturation(
    temps: list[float], share: float
) -> None:
    most = saturation_kpa(temps)
    mean = share * most.mean()
    laid = spread.vapour(day_of(len(temps)), np.array([mean]), most)
    assert (laid <= most).all()
    assert laid.mean() == pytest.approx(mean, rel=1e-12, abs=1e-15)


def test_vapour_that_no_hour_can_hold_saturates_all() -> None:
    most = saturation_kpa(np.linspace(5, 15, 24))
    laid = spread.vapour(day_of(24), np.array([9.0]), most)
    assert laid.tolist() == most.tolist()


def test_vapour_is_even_where_the_air_can_hold_it_and_where_its_warmth_is_not_known() -> None:
    for most in (np.full(24, 2.0), np.full(24, np.nan)):
        assert set(spread.vapour(day_of(24), np.array([1.25]), most)) == {1.25}


@pytest.mark.parametrize("latitude", [-80.0, -34.0, 0.0, 52.0, 65.0])
def test_radiation_keeps_its_sum_and_is_nil_in_the_dark(latitude: float) -> None:
    sun = spread.sun(DAY, latitude, 0.0)
    laid = spread.radiation(day_of(24), np.array([12.5]), sun.height)
    if sun.height.any():
        assert laid.sum() * 3600 / 1e6 == pytest.approx(12.5, rel=1e-12)
        assert (laid[sun.height == 0] == 0).all()
    else:
        assert (laid == 0).all()


@pytest.mark.parametrize("hours", [23, 24, 25])
def test_an_amount_laid_evenly_keeps_its_sum(hours: int) -> None:
    laid = spread.evenly(day_of(hours), np.array([7.3]))
    assert laid.sum() == pytest.approx(7.3, rel=1e-14)
    assert len(set(laid)) == 1
