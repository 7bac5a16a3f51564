"""A forecast without radiation, from the service's document to ET0, on two real summers.

De Bilt (KNMI, CC0 / CC BY 4.0, "Source: KNMI"), April to September of 2015 and 2016, is written
down as MET Norway would forecast it: hourly readings, cloud cover, no radiation. Its ET0 stands
beside that of the same readings with the station's radiation. What cloud costs there from 2010
to 2019 by this project's own study of the daily figures: bias -.11, MAE .29 mm/d, 1.1 mm in the
sum of seven days. All ten summers come to -.109, .286 and 1.12 this way too; but the bias is
within .04 up to 2014 and -.2 to -.3 from 2016 on, so that two summers stand for ten only where
they lie across the change.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import services_made as made
from places import shared_data

from advisor.demand.days import site_days
from advisor.weather import files
from advisor.weather.services import metno

BIAS, MAE, WEEK = -0.11, 0.29, 1.1  # mm/d, mm/d, mm
FIRST, LAST = "2015-04-01", "2016-09-30"


@dataclass(frozen=True)
class DeBilt:
    latitude_deg: float = 52.1
    longitude_deg: float = 5.18
    elevation_m: float = 2.0
    time_zone: str = "UTC"


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> pd.DataFrame:
    """Give the station's days, laid over their hours, with its radiation and its cloud."""
    source = shared_data("knmi/etmgeg_260_DeBilt_2010-.txt.gz")
    table = pd.read_csv(source, skiprows=47, skipinitialspace=True, low_memory=False)
    table.columns = [name.strip("# ") for name in table.columns]
    table.index = pd.to_datetime(table["YYYYMMDD"].astype(str))
    days = table.loc[FIRST:LAST].apply(pd.to_numeric, errors="coerce")
    path: Path = tmp_path_factory.mktemp("knmi") / "days.csv"
    pd.DataFrame(
        {
            "tmax [C]": days["TX"] / 10,
            "tmin [C]": days["TN"] / 10,
            "humidity max [%]": days["UX"],
            "humidity min [%]": days["UN"],
            "wind 10m [m/s]": days["FG"] / 10,
            "radiation [J/cm2]": days["Q"],
            "cloud [octas]": days["NG"].where(days["NG"] < 9),
            "rain [0.1mm]": days["RH"].clip(lower=0),
        }
    ).to_csv(path, index_label="day [UTC]")
    path.write_text("# latitude: 52.1\n# longitude: 5.18\n" + path.read_text())
    return files.read(path).hours


@pytest.fixture(scope="module")
def forecast(measured: pd.DataFrame) -> pd.DataFrame:
    """Read the same hours as the service would forecast them."""
    known = measured[measured["temp_c"].notna()]
    saturated = 0.6108 * np.exp(17.27 * known["temp_c"] / (known["temp_c"] + 237.3))
    columns = {
        "air_temperature": known["temp_c"],
        "relative_humidity": 100 * known["vapour_kpa"] / saturated,
        "wind_speed": known["wind_ms"],
        "cloud_area_fraction": 100 * known["cloud_share"],
    }
    states = pd.DataFrame(columns).astype(object).where(pd.DataFrame(columns).notna(), None)
    steps = [
        made.met_step(stamp, state, rain_1h=rain)
        for stamp, state, rain in zip(
            known.index, states.to_dict("records"), known["rain_mm"].tolist(), strict=True
        )
    ]
    issued = datetime(2015, 4, 1, tzinfo=UTC)
    (answer,) = metno.read(made.body(made.met_document(steps)), issued_at=issued)
    return answer.series.hours


@pytest.fixture(scope="module")
def error_mm(measured: pd.DataFrame, forecast: pd.DataFrame) -> pd.Series:
    with_radiation = forecast.assign(
        ghi_wm2=measured["ghi_wm2"], ghi_wm2_from=measured["ghi_wm2_from"]
    )
    ours, theirs = site_days(DeBilt(), forecast), site_days(DeBilt(), with_radiation)
    summer = ours.index.month.isin(range(4, 10))
    ours, theirs = ours[summer], theirs[summer]
    assert len(ours) == 366
    assert ours["rules"].str.contains("radiation from cloud cover").mean() > 0.95
    assert not theirs["rules"].str.contains("radiation from").any()
    return ours["et0_mm"] - theirs["et0_mm"]


def test_the_forecast_has_cloud_and_no_radiation(forecast: pd.DataFrame) -> None:
    assert forecast["ghi_wm2"].isna().all()
    assert forecast["cloud_share"].notna().mean() > 0.9
    assert forecast["temp_c"].notna().all()


def test_et0_from_cloud_is_as_good_as_published(error_mm: pd.Series) -> None:
    assert error_mm.mean() == pytest.approx(BIAS, abs=0.05)
    assert error_mm.abs().mean() == pytest.approx(MAE, abs=0.03)


def test_seven_days_of_it(error_mm: pd.Series) -> None:
    weeks = error_mm.rolling("7D", min_periods=7).sum().dropna()
    assert weeks.abs().mean() == pytest.approx(WEEK, abs=0.15)
