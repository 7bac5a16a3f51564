"""Daily ET0 against `pyet` 1.5 (MIT) and the published series inside `pcse` 6.0.13 (EUPL-1.2).

Runs in an environment of its own, where only numpy, pandas, pyet and these files are: those
packages pin older libraries. Nothing of the data is copied; it is read where it is installed.
"""

import importlib.metadata
from pathlib import Path

import numpy as np
import pandas as pd
import pyet
import pytest

from advisor.demand import air, radiation
from advisor.demand.et0 import daily_et0

FOLDER = Path(str(importlib.metadata.distribution("pcse").locate_file("pcse/tests/test_data")))


def random_days(size: int, latitude_deg: float, elevation_m: float) -> pd.DataFrame:
    rng = np.random.default_rng(7)
    index = pd.date_range("2000-01-01", periods=size, freq="D")
    tmin = rng.uniform(-10.0, 22.0, size)
    ra = radiation.extraterrestrial_day(latitude_deg, index.day_of_year.to_numpy(dtype=float))
    return pd.DataFrame(
        {
            "tmax": tmin + rng.uniform(1.0, 18.0, size),
            "tmin": tmin,
            "rhmax": rng.uniform(60.0, 100.0, size),
            "rhmin": rng.uniform(20.0, 60.0, size),
            "rs": rng.uniform(0.1, 0.75, size) * ra,
            "u2": rng.uniform(0.0, 7.0, size),
        },
        index=index,
    )


@pytest.mark.parametrize(
    ("latitude_deg", "elevation_m"), [(52.1, 2.0), (-43.6, 500.0), (12.0, 2300.0), (64.5, 37.0)]
)
def test_ten_thousand_random_days_of_pyet(latitude_deg: float, elevation_m: float) -> None:
    days = random_days(2500, latitude_deg, elevation_m)
    theirs = pyet.pm_fao56(
        0.5 * (days["tmax"] + days["tmin"]),
        days["u2"],
        rs=days["rs"],
        tmax=days["tmax"],
        tmin=days["tmin"],
        rhmax=days["rhmax"],
        rhmin=days["rhmin"],
        elevation=elevation_m,
        lat=np.radians(latitude_deg),
    )
    mm = daily_et0(
        days["tmax"],
        days["tmin"],
        air.vapour_from_rh_pair(*(days[c].to_numpy() for c in ("tmax", "tmin", "rhmax", "rhmin"))),
        days["rs"],
        days["u2"],
        elevation_m=elevation_m,
        latitude_deg=latitude_deg,
        day_of_year=days.index.day_of_year,
    )
    assert np.abs(mm - theirs.to_numpy()).max() < 1e-6


#: latitude [°] and elevation [m] as pcse's own test has them; MAE and worst day allowed [mm]
STATIONS = {
    "8011_asturias": (43.5667, 130.0, 0.05, 0.3),
    "2297_sweden": (64.4833, 37.0, 0.05, 0.3),
    "10870_munchen_flughafen": (48.3667, 453.0, 0.05, 0.3),
    "8443_ronda": (36.75, 3.0, 0.07, 0.3),
}


def station(name: str) -> pd.DataFrame:
    text = (FOLDER / f"{name}.csv").read_text().replace(");", "").replace('"', "")
    rows = [line.split(",") for line in text.splitlines() if line.strip()]
    days = pd.DataFrame(rows[1:], columns=rows[0])
    days.index = pd.to_datetime(days.pop("DAY"), format="%d-%b-%y")
    return days.apply(lambda column: pd.to_numeric(column.str.strip(), errors="coerce")).dropna()


@pytest.mark.parametrize("name", STATIONS)
def test_published_series_of_pcse(name: str) -> None:
    latitude_deg, elevation_m, mae, worst = STATIONS[name]
    days = station(name)
    assert len(days) >= 380
    mm = daily_et0(
        days["TEMPERATURE_MAX"],
        days["TEMPERATURE_MIN"],
        days["VAPOURPRESSURE"] / 10.0,
        days["RADIATION"] / 1000.0,
        air.wind_at_2m(days["WINDSPEED_10M"].to_numpy(), 10.0),
        elevation_m=elevation_m,
        latitude_deg=latitude_deg,
        day_of_year=days.index.day_of_year,
    )
    error = np.abs(mm - days["ET0"].to_numpy())
    assert error.mean() <= mae
    assert error.max() <= worst
