import subprocess
import sys

import numpy as np
import pytest
from demand.weather_made import Somewhere, fair_hours
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import place, radiation
from advisor.demand.days import place_hours, site_days
from advisor.demand.place import Spot
from advisor.demand.sky import sky_of
from advisor.errors import Refused

SITE = Somewhere()
HOURS = fair_hours()
TOLD = sky_of(SITE, HOURS)
WALL = ((0.0, 35.0), (179.9, 35.0), (180.1, 0.0), (359.9, 0.0))


def test_open_place_has_the_sites_light_and_days() -> None:
    light = place.place_light(TOLD.sky, Spot())
    assert light == pytest.approx(HOURS["ghi_wm2"].to_numpy(), abs=1e-9)
    by_day = TOLD.sky.days.total(place.place_et0(TOLD.sky, Spot()))
    assert by_day == pytest.approx(site_days(SITE, HOURS)["et0_mm"].to_numpy())


def test_shade_takes_its_share_of_all_light() -> None:
    shaded = place.place_light(TOLD.sky, Spot(shade=0.4))
    assert shaded == pytest.approx(0.6 * HOURS["ghi_wm2"].to_numpy(), abs=1e-9)


def test_wall_takes_the_morning_and_part_of_the_sky() -> None:
    light = place_hours(SITE, HOURS, Spot(horizon=WALL), sky=TOLD)["ghi_wm2"]
    share = light.to_numpy()[:24] / np.maximum(HOURS["ghi_wm2"].to_numpy()[:24], 1.0)
    assert share[6] < 0.6  # 04-05 UTC: diffuse light alone
    assert 0.8 < share[14] < 1.0  # 12-13 UTC: all the direct, most of the diffuse


def test_shade_is_no_cloud_to_the_longwave_term() -> None:
    """With the shade's own Rs/Rso a deep shade would seem to lose half as much again."""
    spot, sky = Spot(shade=0.8), TOLD.sky
    rs_mj = sky.days.total(place.place_light(sky, spot)) * place.MJ_PER_WM2_HOUR
    right_mm = sky.days.total(place.place_et0(sky, spot))
    terms = sky.by_day
    shaded_rnl = radiation.net_longwave(24.0, 12.0, 1.3, radiation.relative_shortwave(rs_mj, 31.0))
    wrong_mm = place.penman_monteith_day(
        0.77 * rs_mj - shaded_rnl,
        terms.temp_c,
        terms.u2_ms,
        terms.deficit_kpa,
        terms.slope,
        terms.gamma,
    )
    assert np.all(wrong_mm > 1.5 * right_mm)


def test_wind_factor_is_of_the_wind_at_2m() -> None:
    sheltered = place.place_et0(TOLD.sky, Spot(wind_factor=0.5)).sum()
    open_mm = place.place_et0(TOLD.sky, Spot()).sum()
    calmer = HOURS.assign(wind_ms=0.5 * HOURS["wind_ms"])
    assert sheltered == pytest.approx(place.place_et0(sky_of(SITE, calmer).sky, Spot()).sum())
    assert sheltered < open_mm


def test_hours_follow_the_day() -> None:
    by_hour = place_hours(SITE, HOURS, Spot(), sky=TOLD)["et0_mm"].to_numpy()[:24]
    assert by_hour.min() >= 0.0
    assert 12 <= int(np.argmax(by_hour)) <= 16  # after solar noon, 13:40 local
    assert by_hour[:4].sum() < 0.1 * by_hour.sum()


def test_flat_day_follows_the_sun_above_the_air() -> None:
    """A fog at freezing point: the hourly equation has no shape to give."""
    fog = fair_hours("2026-12-20T23:00Z", 24).assign(
        temp_c=np.r_[[0.0], np.full(23, 0.3)], vapour_kpa=0.62, wind_ms=0.1, ghi_wm2=3.0
    )
    told = sky_of(SITE, fog)
    mm = place.place_et0(told.sky, Spot())
    extra = told.sky.path.extra_wm2
    assert mm == pytest.approx(mm.sum() * extra / extra.sum())


def test_polar_night_is_spread_evenly() -> None:
    site = Somewhere(78.2, 15.6, 10.0, "Arctic/Longyearbyen")
    night = fair_hours("2026-12-31T23:00Z", 24, site).assign(
        temp_c=-1.0, vapour_kpa=0.5, ghi_wm2=0.0, wind_ms=0.3
    )
    mm = place.place_et0(sky_of(site, night).sky, Spot())
    assert np.ptp(mm) == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.0, 0.95), st.floats(0.1, 1.5), st.floats(0.0, 85.0), st.floats(0.0, 359.0))
def test_any_place_is_darker_and_its_hours_add_up(
    shade: float, wind: float, high: float, azimuth: float
) -> None:
    spot = Spot(((azimuth, high), ((azimuth + 90) % 360, 0.0)), shade, wind)
    light = place.place_light(TOLD.sky, spot)
    assert np.all(light <= TOLD.sky.ghi_wm2 * (1 - shade) + 1e-9)
    mm = place.place_et0(TOLD.sky, spot)
    assert np.all(mm >= 0.0)
    rs_mj = TOLD.sky.days.total(light) * place.MJ_PER_WM2_HOUR
    terms = TOLD.sky.by_day
    day_mm = place.penman_monteith_day(
        0.77 * rs_mj - terms.rnl_mj,
        terms.temp_c,
        wind * terms.u2_ms,
        terms.deficit_kpa,
        terms.slope,
        terms.gamma,
    )
    assert TOLD.sky.days.total(mm) == pytest.approx(np.maximum(day_mm, 0.0), abs=1e-12)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Spot(shade=1.0), "shade: 1 share of the light taken"),
        (lambda: Spot(wind_factor=0.0), "wind factor: 0 share of the open wind"),
        (lambda: Spot(horizon=((400.0, 10.0),)), "point of the skyline: 400°, 10°"),
        (lambda: Spot(horizon=((10.0, 91.0),)), "azimuth 0 to 360°, elevation 0 to 90°"),
    ],
)
def test_impossible_places_are_refused(make: object, words: str) -> None:
    with pytest.raises(Refused) as refusal:
        make()  # type: ignore[operator]
    assert words in str(refusal.value)


def test_places_share_one_sky() -> None:
    """No timed bound: the sky handed in is used, so a place costs no second sun."""
    other = sky_of(SITE, HOURS.assign(ghi_wm2=0.5 * HOURS["ghi_wm2"]))
    assert place_hours(SITE, HOURS, Spot(), sky=other)["ghi_wm2"].sum() == pytest.approx(
        0.5 * HOURS["ghi_wm2"].sum()
    )


def test_describing_a_place_loads_nothing_heavy() -> None:
    code = (
        "import sys, advisor.demand.place, advisor.demand.crop, advisor.demand.ladder;"
        "print(sorted({'pandas', 'pvlib', 'scipy'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
