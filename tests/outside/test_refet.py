"""Daily and hourly ET0 against `refet` 0.5 (Apache-2.0), which follows the later standard."""

import numpy as np
import pytest
import refet

from advisor.demand import air, radiation
from advisor.demand.et0 import daily_et0


def random_days(size: int = 10_000) -> dict[str, np.ndarray]:
    """Days within what weather does; the same seed in every run."""
    rng = np.random.default_rng(20260701)
    tmin = rng.uniform(-10.0, 22.0, size)
    latitude, day = rng.uniform(-60.0, 60.0, size), rng.integers(1, 366, size)
    elevation = rng.uniform(0.0, 2500.0, size)
    ra = radiation.extraterrestrial_day(latitude, day)
    return {
        "tmax_c": tmin + rng.uniform(1.0, 18.0, size),
        "tmin_c": tmin,
        "ea_kpa": air.saturation_pressure(tmin) * rng.uniform(0.4, 1.0, size),
        "rs_mj": rng.uniform(0.25, 0.75, size) * ra,
        "u2_ms": rng.uniform(0.2, 7.0, size),
        "elevation_m": elevation,
        "latitude_deg": latitude,
        "day_of_year": day,
    }


def of_refet(days: dict[str, np.ndarray]) -> np.ndarray:
    return refet.Daily(
        tmin=days["tmin_c"],
        tmax=days["tmax_c"],
        ea=days["ea_kpa"],
        rs=days["rs_mj"],
        uz=days["u2_ms"],
        zw=2,
        elev=days["elevation_m"],
        lat=days["latitude_deg"],
        doy=days["day_of_year"],
        method="asce",
    ).eto()


def test_ten_thousand_random_days() -> None:
    days = random_days()
    assert daily_et0(**days) == pytest.approx(np.maximum(of_refet(days), 0.0), abs=0.003)


def test_wind_at_10_m_would_show() -> None:
    days = random_days(1000)
    wrong = daily_et0(**(days | {"u2_ms": days["u2_ms"] / 0.748}))
    assert np.mean(wrong - of_refet(days)) > 0.1


@pytest.mark.parametrize("slip", ["MJ as W/m²", "km/h as m/s", "e° of the mean"])
def test_slips_show(slip: str) -> None:
    days = random_days(1000)
    ours = daily_et0(**days)
    if slip == "MJ as W/m²":
        days["rs_mj"] = days["rs_mj"] / 0.0864 / 10.0
    elif slip == "km/h as m/s":
        days["u2_ms"] = days["u2_ms"] * 3.6
    else:
        mean = 0.5 * (days["tmax_c"] + days["tmin_c"])
        lost = air.mean_saturation_pressure(days["tmax_c"], days["tmin_c"])
        days["ea_kpa"] = days["ea_kpa"] + lost - air.saturation_pressure(mean)
    assert np.mean(np.abs(of_refet(days) - ours)) > 0.06
