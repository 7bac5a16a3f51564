"""Invented hourly weather for the tests of `advisor.demand`."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

ORIGINS = ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share", "rain_mm", "pressure_kpa")


@dataclass(frozen=True)
class Somewhere:
    """A site that is no garden's."""

    latitude_deg: float = 52.1
    longitude_deg: float = 5.18
    elevation_m: float = 2.0
    time_zone: str = "Europe/Amsterdam"


def fair_hours(
    start: str = "2026-06-30T22:00Z", hours: int = 72, site: Somewhere | None = None
) -> pd.DataFrame:
    """Fair days: .7 of the sun above the air, 12 to 24 °C by local solar time, light wind."""
    site = site or Somewhere()
    index = pd.date_range(start, periods=hours, freq="h", name="hour")
    solar_h = (index.hour + 0.5 + site.longitude_deg / 15.0).to_numpy() % 24.0
    day = index.day_of_year.to_numpy(dtype=float)
    tilt = np.radians(-23.44 * np.cos(2 * np.pi * (day + 10) / 365.0))
    lat = np.radians(site.latitude_deg)
    sine = np.sin(lat) * np.sin(tilt) + np.cos(lat) * np.cos(tilt) * np.cos(
        np.pi / 12 * (solar_h - 12)
    )
    table = pd.DataFrame(
        {
            "temp_c": 18.0 + 6.0 * np.cos(np.pi / 12 * (solar_h - 15.0)),
            "vapour_kpa": 1.3,
            "wind_ms": 3.0,
            "wind_height_m": 10.0,
            "ghi_wm2": 0.55 * 1361.0 * np.maximum(sine, 0.0),
            "cloud_share": np.nan,
            "rain_mm": 0.0,
            "pressure_kpa": 101.3,
        },
        index=index,
    )
    for column in ORIGINS:
        table[f"{column}_from"] = np.where(table[column].isna(), "", "file")
    return table
