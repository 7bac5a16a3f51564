"""Doubts: each fault of a sensor is found, and real weather gives none."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from places import shared_data

from advisor.weather import files, judge, quality, series, spread
from advisor.weather.quality import JUMPS, STUCK, VALUES, doubts, runs, set_aside
from advisor.weather.vapour import saturation_kpa

Arrays = dict[str, NDArray[Any]]
N = 240


def lively(n: int = N, **changes: NDArray[Any]) -> Arrays:
    """Give hours of weather that moves as weather does."""
    t = np.arange(n)
    temp = np.round(15 + 6 * np.sin((t - 8) / 24 * 2 * np.pi) + 2 * np.sin(t / 37), 1)
    percent = 65 - 20 * np.sin((t - 8) / 24 * 2 * np.pi) + 3 * np.sin(t / 11)
    hours = {
        "hour": 3600 * t, "temp_c": temp, "vapour_kpa": percent / 100 * saturation_kpa(temp),
        "wind_ms": np.round(2 + np.sin(t / 5), 1),
        "ghi_wm2": np.round(np.maximum(0, 700 * np.sin((t % 24 - 5) / 15 * np.pi)), 1),
        "rain_mm": np.where(t % 50 < 8, 0.4, 0.0), "pressure_kpa": 100 + np.sin(t / 40),
        "cloud_share": np.full(n, 1.0),
    }
    return hours | changes


def held(column: NDArray[Any], start: int, hours: int, value: float) -> NDArray[Any]:
    made = column.copy()
    made[start:start + hours] = value
    return made


def found(hours: Arrays, **told: Any) -> list[tuple[str, int, int, str]]:
    return [(d.value, d.first // 3600, d.hours, d.why)
            for d in doubts(set_aside(hours, **told), "station")]


def test_lively_weather_gives_no_doubts() -> None:
    hours = lively()
    assert found(hours) == []
    for name, column in set_aside(hours).items():
        if name in hours:
            np.testing.assert_array_equal(column, hours[name])


@pytest.mark.parametrize(("name", "value"), [("temp_c", 15.3), ("wind_ms", 2.5), ("rain_mm", 2.2),
                                             ("ghi_wm2", 350.0), ("pressure_kpa", 100.1)])
@pytest.mark.parametrize("more", [0, 1])
def test_a_sensor_is_stuck_after_so_many_hours(name: str, value: float, more: int) -> None:
    hours = lively()
    long = STUCK[name].longest_h + more
    start = 106  # ten in the morning
    hours[name] = held(hours[name], start, long, value)
    expected = [(name, start, long, f"stuck for {long} h")] if more else []
    assert [each for each in found(hours) if "jumps" not in each[3]] == expected


@pytest.mark.parametrize(("percent", "hours_long", "expected"), [
    (61.0, 13, True), (61.0, 12, False), (99.0, 40, False)])
def test_a_humidity_sensor_is_stuck_while_the_air_warms(
        percent: float, hours_long: int, expected: bool) -> None:
    hours = lively()
    rows = slice(100, 100 + hours_long)
    hours["vapour_kpa"][rows] = percent / 100 * saturation_kpa(hours["temp_c"][rows])
    told = [("vapour_kpa", 100, hours_long, f"stuck for {hours_long} h")]
    assert found(hours) == (told if expected else [])


def test_steady_humidity_in_steady_air_is_not_doubted() -> None:
    hours = lively()
    rows = slice(100, 116)
    hours["temp_c"][rows] = np.round(15 + 0.1 * (np.arange(16) % 2), 1)
    hours["vapour_kpa"][rows] = 0.61 * saturation_kpa(hours["temp_c"][rows])
    assert found(hours) == []


def test_whole_degrees_may_stand_still_for_longer() -> None:
    hours = lively()
    hours["temp_c"] = held(np.round(hours["temp_c"]), 100, 20, 15.0)
    assert [each for each in found(hours) if each[0] == "temp_c"] == []
    hours["temp_c"] = held(hours["temp_c"], 100, 31, 15.0)
    assert ("temp_c", 100, 31, "stuck for 31 h") in found(hours)


def test_a_dead_radiation_sensor_is_found_but_near_the_poles() -> None:
    hours = lively()
    hours["ghi_wm2"] = held(hours["ghi_wm2"], 60, 72, 0.0)
    (doubt,) = found(hours)
    assert doubt[0] == "ghi_wm2"
    assert doubt[2] >= 72
    assert doubt[3] == f"no light at all for {doubt[2]} h"
    assert found(hours, latitude_deg=-52.0) == [doubt]
    assert found(hours, latitude_deg=70.0) == []


def test_a_seized_wind_wheel_is_found_and_calm_nights_are_not() -> None:
    hours = lively()
    calm = hours | {"wind_ms": held(hours["wind_ms"], 50, 96, 0.0)}
    assert found(calm) == []
    calm["wind_ms"] = held(hours["wind_ms"], 50, 97, 0.0)
    assert found(calm) == [("wind_ms", 50, 97, "no wind at all for 97 h")]


@pytest.mark.parametrize("value", [151.0, 200.0, 400.0, -0.1])
def test_rain_that_never_fell_is_set_aside(value: float) -> None:
    hours = lively()
    hours["rain_mm"][7] = value
    told = [("rain_mm", 7, 1, "beyond 0 to 150 mm in an hour")]
    assert found(hours) == told
    assert found(hours, sensor=False) == told


@pytest.mark.parametrize(("long", "set_aside_h"), [(1, 1), (2, 2), (3, 3), (9, 3)])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_jump_is_held_back_until_it_proves_real(long: int, set_aside_h: int, sign: int) -> None:
    hours = lively()
    hours["temp_c"][100:100 + long] += sign * 25.0
    said = [each for each in found(hours) if each[1] == 100]
    assert said == [("temp_c", 100, set_aside_h, "jumps by more than 10 °C in an hour")]


@pytest.mark.parametrize("name", JUMPS)
def test_a_change_the_air_makes_is_no_jump(name: str) -> None:
    hours = lively()
    base = hours[name][100]
    hours[name][101:] += 0.99 * JUMPS[name] - (hours[name][101] - base)
    assert [each for each in found(hours) if "jumps" in each[3]] == []


def test_a_forecast_is_only_held_to_limits() -> None:
    hours = lively()
    hours["temp_c"] = held(hours["temp_c"], 100, 40, 15.0)
    assert found(hours, sensor=False) == []


def test_hours_that_no_sensor_gave_are_not_looked_at() -> None:
    hours = lively()
    hours["temp_c"] = held(hours["temp_c"], 100, 20, 15.3)
    hours["temp_c_from"] = np.full(N, "spread from the day", dtype=object)
    assert found(hours) == []


def test_a_doubt_says_what_was_set_aside() -> None:
    hours = lively()
    hours["temp_c"] = held(hours["temp_c"], 100, 9, 15.3)
    hours["rain_mm"][7:9] = 400.0, 200.0
    told = [(each.value, each.given) for each in doubts(set_aside(hours), "station")]
    assert told == [("temp_c", "15.3 °C"), ("rain_mm", "200 to 400 mm")]


@pytest.mark.parametrize(("origin", "expected"), [
    ("set aside: 75 m/s (0 to 60 m/s)", ("75 m/s", "0 to 60 m/s")),
    ("set aside: nil all day", ("", "nil all day")), ("unknown", ("", "unknown"))])
def test_an_origin_parts_into_what_and_why(origin: str, expected: tuple[str, str]) -> None:
    assert quality.parted(origin) == expected


def test_what_was_handed_in_stays_as_it_is() -> None:
    hours = lively()
    hours["rain_mm"][7] = 400.0
    before = {name: column.copy() for name, column in hours.items()}
    made = set_aside(hours)
    assert np.isnan(made["rain_mm"][7])
    assert made["rain_mm_from"][7] == "set aside: 400 mm (beyond 0 to 150 mm in an hour)"
    for name, column in hours.items():
        np.testing.assert_array_equal(column, before[name])


@pytest.mark.parametrize(("start", "long", "told"), [(100, 3, True), (100, 2, False),
                                                     (0, 30, False), (N - 30, 30, False)])
def test_holes_are_told_and_open_ends_are_not(start: int, long: int, told: bool) -> None:
    hours = lively()
    hours["wind_ms"][start:start + long] = np.nan
    assert found(hours) == ([("wind_ms", start, long, f"unknown for {long} h")] if told else [])


def test_runs_by_hand() -> None:
    values = np.array([1, 1, 1, np.nan, 2, 2.04, 2.08, 2.12, 3])
    assert runs(values, 0.0, 1) == [(0, 3)]
    assert runs(values, 0.05, 1) == [(0, 3), (4, 6), (6, 8)]
    assert runs(np.empty(0), 0.0, 1) == []


def test_words_agree_with_those_of_the_series() -> None:
    assert quality.ASIDE == judge.ASIDE == series.ASIDE
    assert quality.MADE[0] == series.BETWEEN
    assert series.SPREAD.startswith(quality.MADE[1])
    assert series.COLUMNS == VALUES


# --- false alarms ------------------------------------------------------------------------


def arrays(hours: pd.DataFrame) -> Arrays:
    stamps = hours.index.as_unit("s").asi8  # type: ignore[attr-defined]
    return {"hour": stamps, **{name: hours[name].to_numpy() for name in hours.columns}}


def alarms(hours: Arrays, latitude_deg: float | None) -> list[quality.Doubt]:
    """Give what is newly set aside."""
    before = set(doubts(hours, "real"))
    return [each for each in doubts(set_aside(hours, latitude_deg), "real") if each not in before]


SAMPLE = Path(__file__).parents[2] / "sample_weather" / "greensboro_2026.csv"


def test_the_sample_year_gives_no_alarm() -> None:
    year = files.read(SAMPLE)
    assert alarms(arrays(year.hours), year.latitude_deg) == []


def test_a_typical_year_of_an_airport_gives_no_alarm(greensboro: Path) -> None:
    year = files.read(greensboro, year=2026)
    assert alarms(arrays(year.hours), year.latitude_deg) == []


def test_a_foggy_coast_in_whole_degrees_gives_one_and_it_is_right(sand_point: Path) -> None:
    """Its pressure is 101.2 kPa in all 8760 hours: written in, not measured."""
    year = files.read(sand_point, year=2026)
    (alarm,) = alarms(arrays(year.hours), year.latitude_deg)
    assert (alarm.value, alarm.hours) == ("pressure_kpa", 8760)
    assert len(set(year.hours["pressure_kpa"].dropna())) == 1


def test_three_years_of_an_hourly_station_give_no_alarm() -> None:
    table = pd.read_csv(shared_data("svs_soil_covers_quebec/saint_g_hourly.csv.gz"))
    at = pd.DatetimeIndex(pd.to_datetime(table["datetime_utc"], utc=True)).as_unit("s")
    temp = table["Air temperature (degC)"].to_numpy(float)
    hours = {
        "hour": at.asi8, "temp_c": temp,
        "vapour_kpa": table["Relative humidity (%)"].to_numpy(float) / 100 * saturation_kpa(temp),
        "wind_ms": table["Wind speed (m.s-1)"].to_numpy(float),
        "ghi_wm2": table["Shortwave radiation (W.m-2)"].to_numpy(float),
        "rain_mm": table["Precipitation (mm)"].to_numpy(float),
        "pressure_kpa": table["Atmospheric pressure (kPa)"].to_numpy(float),
    }
    assert len(at) == 28492
    assert alarms(hours, 46.0) == []


def test_ten_years_of_days_spread_over_hours_give_no_alarm() -> None:
    """De Bilt: a spread day may be flat where no sensor would be, and its origin says so."""
    path = shared_data("knmi/etmgeg_260_DeBilt_2010-.txt.gz")
    days = pd.read_csv(path, skiprows=48, skipinitialspace=True, header=None)
    days = days[(days[1] >= 20100101) & (days[1] < 20200101)]
    number = np.repeat(np.arange(len(days)), 24)
    index = pd.date_range("2010-01-01", periods=24 * len(days), freq="h", tz="UTC")
    sun = spread.sun(index, 52.1, 5.18)
    tenths = {name: pd.to_numeric(days[k]).to_numpy(float) for name, k in
              {"low": 12, "high": 14, "sun": 20}.items()}
    temp = spread.temperature(number, tenths["high"] / 10, tenths["low"] / 10, sun.elevation)
    hours = {"hour": index.as_unit("s").asi8, "temp_c": temp,
             "ghi_wm2": spread.radiation(number, tenths["sun"] / 100, sun.height),
             "temp_c_from": np.full(len(index), series.SPREAD, dtype=object)}
    assert len(days) == 3652
    assert alarms(hours, 52.1) == []
