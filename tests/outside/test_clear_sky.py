"""Sun, clear sky and the split of light against pvlib called directly."""

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from demand.weather_made import Somewhere

from advisor.demand import air, sun
from advisor.demand.brightness import impossible_radiation, set_aside_radiation

SITES = [
    Somewhere(36.1, -79.95, 273.0, "America/New_York"),
    Somewhere(-33.9, 151.2, 20.0, "Australia/Sydney"),
    Somewhere(64.5, 25.5, 37.0, "Europe/Helsinki"),
    Somewhere(27.9, 86.8, 5200.0, "Asia/Kathmandu"),
]
HOURS = pd.date_range("2028-02-28T12:00Z", periods=48, freq="h")


@pytest.mark.parametrize("site", SITES, ids=lambda s: s.time_zone)
def test_positions_are_those_of_spa(site: Somewhere) -> None:
    moments = HOURS + pd.Timedelta("7min30s")
    elevation, azimuth, zenith = sun.positions(site, moments)
    table = pvlib.solarposition.spa_python(
        moments, site.latitude_deg, site.longitude_deg, altitude=site.elevation_m,
        pressure=pvlib.atmosphere.alt2pres(site.elevation_m),
    )  # fmt: skip
    assert zenith == pytest.approx(table["zenith"].to_numpy(), abs=1e-6)
    assert azimuth == pytest.approx(table["azimuth"].to_numpy(), abs=1e-6)
    assert elevation == pytest.approx(table["apparent_elevation"].to_numpy(), abs=0.02)


@pytest.mark.parametrize("site", SITES, ids=lambda s: s.time_zone)
def test_an_hour_is_the_mean_of_its_minutes(site: Somewhere) -> None:
    """Four quarters against sixty minutes of the same model; the edge hours are the worst."""
    path = sun.sun_path(site, HOURS)
    minutes = pd.date_range(HOURS[0] + pd.Timedelta("30s"), periods=48 * 60, freq="min")
    place = pvlib.location.Location(site.latitude_deg, site.longitude_deg, "UTC", site.elevation_m)
    day = HOURS.day_of_year.to_numpy(dtype=float).repeat(60)
    extra = pvlib.irradiance.get_extra_radiation(day)
    position = place.get_solarposition(minutes)
    sky = pvlib.clearsky.simplified_solis(
        position["apparent_elevation"].to_numpy(),
        aod700=0.1,
        precipitable_water=1.4,
        pressure=1000 * air.atmospheric_pressure(site.elevation_m),
        dni_extra=extra,
    )
    by_hour = sky["ghi"].reshape(-1, 60).mean(axis=1)
    assert path.clear_wm2 == pytest.approx(by_hour, abs=6.0)
    assert path.clear_wm2.sum() == pytest.approx(by_hour.sum(), rel=0.003)
    cosine = np.maximum(np.cos(np.radians(position["zenith"].to_numpy())), 0.0)
    above = (cosine * extra).reshape(-1, 60).mean(axis=1)
    assert path.extra_wm2 == pytest.approx(above, abs=4.0)


@pytest.mark.parametrize("site", SITES[:3], ids=lambda s: s.time_zone)
def test_another_clear_sky_model_is_near(site: Somewhere) -> None:
    """Ineichen-Perez with a Linke turbidity of 3 (a clean mid-latitude sky), day sums.

    Not at 5200 m, where it gives more than reaches the top of the air.
    """
    path = sun.sun_path(site, HOURS)
    place = pvlib.location.Location(site.latitude_deg, site.longitude_deg, "UTC", site.elevation_m)
    minutes = pd.date_range(HOURS[0], periods=48 * 12, freq="5min")
    position = place.get_solarposition(minutes)
    up = position["apparent_zenith"].to_numpy() < 89.0
    position = position[up]
    relative = pvlib.atmosphere.get_relative_airmass(position["apparent_zenith"].to_numpy())
    absolute = pvlib.atmosphere.get_absolute_airmass(
        relative, pvlib.atmosphere.alt2pres(site.elevation_m)
    )
    extra = pvlib.irradiance.get_extra_radiation(HOURS.day_of_year.to_numpy(dtype=float).repeat(12))
    extra = extra[up]
    other = pvlib.clearsky.ineichen(
        position["apparent_zenith"].to_numpy(), absolute, 3.0, site.elevation_m, extra
    )
    assert path.clear_wm2.sum() == pytest.approx(np.nansum(other["ghi"]) / 12, rel=0.08)


def test_split_is_that_of_pvlib() -> None:
    path = sun.sun_path(SITES[0], HOURS)
    ghi = path.clear_wm2 * np.linspace(0.1, 1.0, 48)
    other = pvlib.irradiance.erbs_driesse(ghi, path.zenith_deg, dni_extra=path.extra_normal_wm2)
    assert sun.diffuse_light(ghi, path) == pytest.approx(other["dhi"], abs=1e-9)


@pytest.mark.parametrize(
    ("file", "zone"),
    [("723170TYA.CSV", "America/New_York"), ("703165TY.csv", "America/Anchorage")],
)
def test_a_year_of_real_light_is_possible(file: str, zone: str) -> None:
    """TMY3 data packaged with pvlib (BSD-3): a limit that refuses them would be too tight."""
    path = Path(pvlib.__file__).parent / "data" / file
    table, about = pvlib.iotools.read_tmy3(path, coerce_year=2026, map_variables=True)
    index = pd.date_range(
        table.index[0].tz_convert("UTC") - pd.Timedelta("1h"), periods=8760, freq="h"
    )
    site = Somewhere(about["latitude"], about["longitude"], about["altitude"], zone)
    hours = pd.DataFrame(
        {
            "ghi_wm2": table["ghi"].to_numpy(dtype=float),
            "temp_c": table["temp_air"].to_numpy(dtype=float),
            "vapour_kpa": air.vapour_from_dew_point(table["temp_dew"].to_numpy(dtype=float)),
        },
        index=index,
    )
    assert impossible_radiation(site, hours) == []
    assert set_aside_radiation(site, hours)[1] == []
