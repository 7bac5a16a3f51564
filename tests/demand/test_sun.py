import math

import numpy as np
import pandas as pd
import pytest
from demand.weather_made import Somewhere
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import sun
from advisor.errors import Refused

NORTH = Somewhere()
SOUTH = Somewhere(-33.9, 151.2, 20.0, "Australia/Sydney")
SUMMER = pd.date_range("2026-06-20T22:00Z", periods=24, freq="h")


def test_noon_of_the_solstice_stands_where_the_latitude_says() -> None:
    moments = pd.date_range("2026-06-21T10:00Z", "2026-06-21T13:00Z", freq="min")
    elevation, azimuth, _ = sun.positions(Somewhere(50.0, 0.0, 0.0, "UTC"), moments)
    top = int(np.argmax(elevation))
    assert elevation[top] == pytest.approx(90 - 50 + 23.44, abs=0.02)
    assert azimuth[top] == pytest.approx(180.0, abs=0.5)


@pytest.mark.parametrize("longitude_deg", [179.0, -179.0, 179, -179])
def test_both_sides_of_the_date_line_see_one_sun(longitude_deg: float) -> None:
    site = Somewhere(-17, longitude_deg, 0, "Pacific/Auckland")
    noon = pd.DatetimeIndex(["2026-12-21T00:00Z"])
    elevation, _, _ = sun.positions(site, noon)
    assert elevation[0] == pytest.approx(83.5, abs=1.0)


def test_times_without_a_zone_are_refused() -> None:
    naive = pd.DatetimeIndex(["2026-06-21 12:00"])
    with pytest.raises(Refused, match="without a time zone"):
        sun.positions(NORTH, naive)
    with pytest.raises(Refused, match="without a time zone"):
        sun.sun_path(NORTH, naive)


def test_path_is_bright_by_day_and_dark_by_night() -> None:
    path = sun.sun_path(NORTH, SUMMER)
    assert path.elevation_deg.shape == (24, 4)
    assert path.clear_wm2[0] == 0.0
    assert path.extra_wm2[0] == 0.0
    assert np.all(path.clear_wm2 <= path.extra_wm2 + 1e-9)
    assert np.array_equal(path.up, path.zenith_deg < 90)
    daylight_sum = path.clear_wm2.sum() * 0.0036
    assert daylight_sum == pytest.approx(0.75 * path.extra_wm2.sum() * 0.0036, rel=0.08)


def test_humid_air_dims_a_clear_sky() -> None:
    temp = np.full(24, 25.0)
    dry = sun.sun_path(NORTH, SUMMER, temp, np.full(24, 0.6)).clear_wm2
    humid = sun.sun_path(NORTH, SUMMER, temp, np.full(24, 2.6)).clear_wm2
    assert dry.sum() > humid.sum() * 1.03
    unknown = sun.sun_path(NORTH, SUMMER, temp, np.full(24, np.nan)).clear_wm2
    assert np.array_equal(unknown, sun.sun_path(NORTH, SUMMER).clear_wm2)


def test_diffuse_is_part_of_global_and_all_of_it_under_cloud() -> None:
    path = sun.sun_path(NORTH, SUMMER)
    bright = sun.diffuse_light(path.clear_wm2, path)
    assert np.all((bright >= 0) & (bright <= path.clear_wm2 + 1e-9))
    dull = sun.diffuse_light(0.1 * path.clear_wm2, path)
    assert dull.sum() > 0.97 * 0.1 * path.clear_wm2.sum()
    assert bright[13] < 0.3 * path.clear_wm2[13]


# --- skylines


def test_flat_ground_takes_nothing() -> None:
    path = sun.sun_path(NORTH, SUMMER)
    assert np.all(sun.beam_share((), path) == 1.0)
    assert sun.sky_view(()) == 1.0
    assert sun.sky_view([(0, 0)]) == 1.0


@pytest.mark.parametrize("high_deg", [10.0, 30.0, 60.0, 90.0])
def test_sky_view_of_a_round_wall(high_deg: float) -> None:
    """A level wall all round leaves cos² of its height (the integral, by hand)."""
    assert sun.sky_view([(0, high_deg)]) == pytest.approx(math.cos(math.radians(high_deg)) ** 2)


def test_sky_view_of_half_a_wall() -> None:
    wall = [(0.0, 45.0), (179.99, 45.0), (180.0, 0.0), (359.99, 0.0)]
    assert sun.sky_view(wall) == pytest.approx(0.75, abs=0.003)


def test_skyline_runs_straight_and_closes_at_north() -> None:
    line = [(350, 10), (10, 30)]
    assert sun.horizon_at(line, np.array([0.0, 350.0, 10.0, 180.0])) == pytest.approx(
        [20.0, 10.0, 30.0, 20.0]
    )


def test_wall_in_the_east_takes_the_morning_in_quarters() -> None:
    path = sun.sun_path(NORTH, SUMMER)
    wall = [(0, 35.0), (179.9, 35.0), (180.1, 0.0), (359.9, 0.0)]
    share = sun.beam_share(wall, path)
    morning, afternoon = share[4:9], share[13:19]
    assert np.all(morning == 0.0)
    assert np.all(afternoon == 1.0)
    turn = share[(share > 0) & (share < 1)]
    assert len(turn) == 1  # the hour in which it comes over the wall


# --- "sun from … to …"


def lit_hours(site: Somewhere, horizon: sun.Horizon, month: int) -> tuple[float, float]:
    start = pd.Timestamp(2025, month, 21, tz=site.time_zone)
    moments = pd.date_range(start, periods=24 * 60, freq="min")
    elevation, azimuth, _ = sun.positions(site, moments)
    lit = np.flatnonzero(elevation > np.maximum(sun.horizon_at(horizon, azimuth), 0.0))
    return lit[0] / 60, (lit[-1] + 1) / 60


@pytest.mark.parametrize(
    "site",
    [
        NORTH,
        SOUTH,
        Somewhere(36, -80, 270, "America/New_York"),
        Somewhere(-44, -179, 5, "Pacific/Chatham"),
        Somewhere(65, 25.5, 10, "Europe/Helsinki"),
    ],
    ids=["Utrecht", "Sydney", "Carolina", "Chatham", "Oulu"],
)
@pytest.mark.parametrize(
    ("june", "september"), [((10, 15), (10.5, 14.5)), ((11, 14), (11, 14)), ((9.5, 16), (11, 14))]
)
def test_skyline_gives_the_hours_back(
    site: Somewhere, june: tuple[float, float], september: tuple[float, float]
) -> None:
    if site.latitude_deg < 0:  # where June is winter, the longer sun is September's
        june, september = september, june
    horizon = sun.horizon_from_sun_hours(site, june, september)
    assert lit_hours(site, horizon, 6) == pytest.approx(june, abs=0.6)
    assert lit_hours(site, horizon, 9) == pytest.approx(september, abs=0.6)


@pytest.mark.parametrize(("june", "september"), [((9, 15), None), (None, (10, 14))])
def test_one_month_alone_is_exact(
    june: tuple[float, float] | None, september: tuple[float, float] | None
) -> None:
    horizon = sun.horizon_from_sun_hours(NORTH, june, september)
    month, told = (6, june) if june else (9, september)
    assert lit_hours(NORTH, horizon, month) == pytest.approx(told, abs=0.05)


def test_afternoon_sun_alone_hides_the_noon() -> None:
    horizon = sun.horizon_from_sun_hours(NORTH, (15, 20), None)
    assert lit_hours(NORTH, horizon, 6) == pytest.approx((15, 20), abs=0.05)


def test_sun_all_day_is_nearly_an_open_place() -> None:
    horizon = sun.horizon_from_sun_hours(NORTH, (0, 24), (0, 24))
    assert sun.sky_view(horizon) == pytest.approx(1.0, abs=1e-6)
    assert sun.horizon_from_sun_hours(NORTH, None, None) == ()


def test_points_are_a_skyline() -> None:
    horizon = sun.horizon_from_sun_hours(SOUTH, (9, 15), (10, 14))
    assert all(0 <= azimuth < 360 and 0 <= high <= 90 for azimuth, high in horizon)
    # the sun of the south goes through north: what is open is there
    assert sun.horizon_at(horizon, np.array([0.0]))[0] == 0.0
    assert sun.horizon_at(horizon, np.array([180.0]))[0] > 10.0


@pytest.mark.parametrize(
    ("june", "words"),
    [
        ((15, 9), "sun in June: from 15 to 9"),
        ((-1, 9), "sun in June: from -1 to 9"),
        ((9, 25), "two clock hours, 0 to 24"),
        ((float("nan"), 9), "sun in June"),
        ((0, 3), "hours at which the sun is up"),
    ],
)
def test_impossible_hours_are_refused(june: tuple[float, float], words: str) -> None:
    with pytest.raises(Refused, match=words):
        sun.horizon_from_sun_hours(NORTH, june, None)


def test_hours_that_share_no_direction_are_refused() -> None:
    with pytest.raises(Refused, match="June and in September"):
        sun.horizon_from_sun_hours(NORTH, (8, 9), (15, 16))


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 360.0), st.floats(0.0, 80.0), st.floats(0.0, 9.0))
def test_higher_skylines_never_show_more(azimuth: float, high: float, more: float) -> None:
    path = sun.sun_path(NORTH, SUMMER)
    low_line = [(azimuth, high), ((azimuth + 120) % 360, 5.0)]
    high_line = [(azimuth, high + more), ((azimuth + 120) % 360, 5.0)]
    assert np.all(sun.beam_share(high_line, path) <= sun.beam_share(low_line, path) + 1e-12)
    assert sun.sky_view(high_line) <= sun.sky_view(low_line) + 1e-12
