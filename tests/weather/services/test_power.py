"""NASA POWER: hours beside pvlib's own reader, days, fills, units, local solar time."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
import services_made as made
from pvlib import iotools
from pytest_httpserver import HTTPServer

from advisor.errors import Refused
from advisor.weather import series
from advisor.weather.services import power

LATER = made.START + timedelta(days=9)


def read(document: object) -> series.Series:
    (answer,) = power.read(made.body(document), issued_at=LATER)
    assert answer.kind == "analysis"
    return answer.series


def test_what_is_asked(site) -> None:
    asked = power.request(site, "", date(2026, 6, 1), date(2026, 6, 9))
    assert asked.url == "https://power.larc.nasa.gov/api/temporal/hourly/point"
    assert asked.params["time-standard"] == "UTC"
    assert (asked.params["start"], asked.params["end"]) == ("20260601", "20260609")
    assert len(asked.params["parameters"].split(",")) <= 15
    daily = power.request(site, "", date(1990, 6, 1), date(1990, 6, 9), every="daily")
    assert daily.url == "https://power.larc.nasa.gov/api/temporal/daily/point"
    assert daily.params["time-standard"] == "UTC"
    assert {"T2M_MAX", "T2M_MIN", "PRECTOTCORR"} <= set(daily.params["parameters"].split(","))


@pytest.mark.parametrize(
    ("first", "last", "every"),
    [
        (date(2000, 12, 1), date(2001, 2, 1), "hourly"),
        (date(1980, 1, 1), date(1981, 1, 1), "daily"),
        (date(2026, 2, 1), date(2026, 1, 1), "daily"),
        (date(2024, 1, 1), date(2025, 6, 1), "hourly"),
    ],
)
def test_what_is_not_asked(site, first: date, last: date, every: str) -> None:
    with pytest.raises(Refused, match="past weather"):
        power.request(site, "", first, last, every=every)


def test_hours_are_those_that_pvlib_reads(httpserver: HTTPServer) -> None:
    document = made.power_hours(community="re")
    document["properties"]["parameter"]["T2M"]["2026060112"] = -999.0
    httpserver.expect_request("/point").respond_with_json(document)
    theirs, _ = iotools.get_nasa_power(
        52.1,
        5.18,
        made.START,
        made.START + 2 * made.HOUR,
        ["T2M", "WS2M", "ALLSKY_SFC_SW_DWN", "PRECTOTCORR"],
        map_variables=False,
        url=httpserver.url_for("/point"),
    )
    ours = read(document).hours
    assert ours.index.tolist() == theirs.index.tolist()
    pairs = {
        "T2M": "temp_c",
        "WS2M": "wind_ms",
        "ALLSKY_SFC_SW_DWN": "ghi_wm2",
        "PRECTOTCORR": "rain_mm",
    }
    for name, column in pairs.items():
        np.testing.assert_allclose(ours[column], theirs[name], rtol=1e-12)


@pytest.mark.parametrize("fill", [-999.0, -9999.0])
def test_the_fill_value_is_the_one_the_answer_names(fill: float) -> None:
    document = made.power_hours()
    document["header"]["fill_value"] = fill
    sun = document["properties"]["parameter"]["ALLSKY_SFC_SW_DWN"]
    sun["2026060111"] = sun["2026060112"] = fill
    hours = read(document).hours
    assert hours["ghi_wm2"].isna().tolist() == [False, True, True]
    assert hours["ghi_wm2_from"].iloc[1:].tolist() == ["", ""]
    assert hours["temp_c"].notna().all()


def test_a_tail_of_fills_is_left_out() -> None:
    document = made.power_hours()
    for values in document["properties"]["parameter"].values():
        values["2026060112"] = -999.0
    assert read(document).hours.index[-1] == pd.Timestamp("2026-06-01T11:00Z")


def test_local_solar_time_is_refused() -> None:
    document = made.power_hours()
    document["header"]["time_standard"] = "LST"
    with pytest.raises(Refused, match="time standard LST"):
        read(document)


@pytest.mark.parametrize("unit", ["MJ/m^2/day", "W", "cal"])
def test_an_unknown_unit(unit: str) -> None:
    document = made.power_hours()
    document["parameters"]["ALLSKY_SFC_SW_DWN"]["units"] = unit
    with pytest.raises(Refused, match=r"power\.larc\.nasa\.gov: global radiation in"):
        read(document)


DAYS = ("20260601", "20260602", "20260603")


def daily(**other: object) -> dict:
    columns = {
        "T2M": ([15.0, 16.0, 17.0], "C"),
        "T2M_MAX": ([20.0, 22.0, 21.0], "C"),
        "T2M_MIN": ([10.0, 11.0, 12.0], "C"),
        "T2MDEW": ([8.0, 9.0, 7.0], "C"),
        "RH2M": ([70.0, 70.0, 70.0], "%"),
        "WS2M": ([2.0, 1.0, 3.0], "m/s"),
        "ALLSKY_SFC_SW_DWN": ([21.4, 18.0, -999.0], "MJ/m^2/day"),
        "PRECTOTCORR": ([0.0, 2.4, 12.0], "mm/day"),
        "PS": ([101.2, 101.0, 100.9], "kPa"),
    }
    return made.power_document(DAYS, columns | other)


def test_days_come_back_from_their_hours() -> None:
    hours = read(daily()).hours
    days = hours.groupby(hours.index.floor("D"))
    assert len(hours) == 72
    assert days["temp_c"].max().tolist() == [20.0, 22.0, 21.0]
    assert days["temp_c"].min().tolist() == [10.0, 11.0, 12.0]
    assert days["rain_mm"].sum().to_numpy() == pytest.approx([0.0, 2.4, 12.0])
    assert (days["ghi_wm2"].sum() * 0.0036).iloc[:2].to_numpy() == pytest.approx([21.4, 18.0])
    assert hours["ghi_wm2"].loc["2026-06-03"].isna().all()
    assert hours["wind_height_m"].eq(2.0).all()
    assert set(hours["temp_c_from"]) == {series.SPREAD}


def test_days_in_kilowatt_hours() -> None:
    hours = read(daily(ALLSKY_SFC_SW_DWN=([5.0, 5.0, 5.0], "kW-hr/m^2/day"))).hours
    assert hours["ghi_wm2"].loc["2026-06-01"].sum() == pytest.approx(5000.0)


def test_a_day_that_cannot_be_is_left_out() -> None:
    hours = read(daily(T2M_MIN=([10.0, 30.0, 12.0], "C"))).hours
    assert hours["temp_c"].loc["2026-06-02"].isna().all()
    assert hours["temp_c"].loc["2026-06-03"].notna().all()


@pytest.mark.parametrize(
    "refusal",
    [
        {"header": "Error", "messages": ["One of your parameters is incorrect: T2X"]},
        {"message": "parameters: T2X is not available", "data": {}},
    ],
)
def test_a_documented_refusal_names_the_offender(refusal: dict) -> None:
    with pytest.raises(Refused, match="T2X"):
        read(refusal)
