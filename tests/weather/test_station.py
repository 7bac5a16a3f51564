"""Tables of private stations: read by a layout that was told once."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from advisor.errors import ManyRefused, Refused
from advisor.weather import station
from advisor.weather.station import Column, Layout
from advisor.weather.vapour import saturation_kpa

Write = Callable[[str], Path]
TEMP = Column("Out temp", "temp_c", "°C")
PLAIN = Layout("time", (TEMP,))


def rows(start: str, count: int, step: str = "5min", **columns: object) -> str:
    """Write a table with a stamp at the end of each interval."""
    at = pd.date_range(start, periods=count, freq=step)
    table = pd.DataFrame({name: np.broadcast_to(np.asarray(values), count)
                          for name, values in columns.items()}, index=at)
    return table.to_csv(index_label="time", date_format="%Y-%m-%d %H:%M")


def hours(path: Path, layout: Layout) -> pd.DataFrame:
    return station.read(path, layout).hours


def test_readings_become_means_of_the_hour_they_end_in(written: Write) -> None:
    values = np.repeat([10.0, 14.0], 12)
    found = hours(written(rows("2026-07-01 05:05", 24, **{"Out temp": values})), PLAIN)
    assert found["temp_c"].tolist() == [10.0, 14.0]
    assert found.index[0] == pd.Timestamp("2026-07-01 05:00", tz="UTC")
    assert (found["temp_c_from"] == "own station").all()


def test_a_stamp_may_mark_the_start(written: Write) -> None:
    text = rows("2026-07-01 05:00", 24, **{"Out temp": np.repeat([10.0, 14.0], 12)})
    found = hours(written(text), replace(PLAIN, period="start"))
    assert found["temp_c"].tolist() == [10.0, 14.0]


def test_units_zone_form_and_commas_are_as_told(written: Write) -> None:
    path = written("Zeit;Temperatur;Feuchte;Wind;Druck;Regen;Sonne;Batterie\n"
                   "01.07.2026 08:00;21,5;60;18,0;1001,5;0,4;500;3,1\n"
                   "01.07.2026 09:00;68;50;9,0;1000;---;600;leer\n".replace("68;", "20,0;"))
    layout = Layout("Zeit", (
        Column("Temperatur", "temp_c", "°C"), Column("Feuchte", "humidity_pct", "%"),
        Column("Wind", "wind_ms", "km/h"), Column("Druck", "pressure_kpa", "hPa"),
        Column("Regen", "rain_mm", "mm"), Column("Sonne", "ghi_wm2", "W/m2"),
    ), "Europe/Berlin", "%d.%m.%Y %H:%M", wind_height_m=2.0, decimal_comma=True)
    found = hours(path, layout)
    assert found.index.tolist() == list(pd.date_range("2026-07-01 05:00", periods=2, freq="h",
                                                      tz="UTC"))
    assert found["temp_c"].tolist() == [21.5, 20.0]
    np.testing.assert_allclose(found["vapour_kpa"],
                               [0.6 * saturation_kpa(21.5), 0.5 * saturation_kpa(20.0)])
    assert found["wind_ms"].tolist() == pytest.approx([5.0, 2.5])
    assert found["wind_height_m"].tolist() == [2.0, 2.0]
    assert found["pressure_kpa"].tolist() == pytest.approx([100.15, 100.0])
    np.testing.assert_array_equal(found["rain_mm"], [0.4, np.nan])
    assert found["ghi_wm2"].tolist() == [500.0, 600.0]


RAIN = Layout("time", (TEMP, Column("Rain", "rain_mm", "mm")))


def test_rain_of_intervals_adds_up(written: Write) -> None:
    text = rows("2026-07-01 05:05", 24, **{"Out temp": 10.0, "Rain": 0.2})
    assert hours(written(text), RAIN)["rain_mm"].tolist() == pytest.approx([2.4, 2.4])


def test_a_counter_of_rain_may_be_set_back(written: Write) -> None:
    counter = [*np.arange(12) * 0.5, 5.5, *[0.0] * 5, *[1.0] * 6]  # set back at half past six
    text = rows("2026-07-01 05:05", 24, **{"Out temp": 10.0, "Rain": counter})
    found = hours(written(text), replace(RAIN, rain="counter"))
    assert found["rain_mm"].tolist() == pytest.approx([5.5, 1.0])


def test_an_hour_hardly_seen_is_not_known(written: Write) -> None:
    text = rows("2026-07-01 05:05", 36, **{"Out temp": 10.0, "Rain": 0.1})
    lines = text.splitlines(keepends=True)
    found = hours(written("".join(lines[:14] + lines[18:])), RAIN)  # four of the second hour lost
    assert found["rain_mm"].isna().tolist() == [False, True, False]
    found = hours(written("".join(lines[:14] + lines[17:])), RAIN)  # three
    assert found["rain_mm"].notna().all()


def test_readings_beyond_all_limits_are_left_out_and_told(written: Write) -> None:
    values = np.full(12, 20.0)
    values[3] = 999.9
    read = station.read(written(rows("2026-07-01 05:05", 12, **{"Out temp": values})), PLAIN)
    assert read.hours["temp_c"].tolist() == [20.0]
    assert read.notes == ("1 readings of air temperature beyond -60 to 60 °C left out.",)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "Australia/Lord_Howe", "America/New_York"])
@pytest.mark.parametrize("day", ["2026-10-25", "2026-04-05", "2026-11-01", "2026-03-29"])
def test_a_day_of_a_clock_change_has_all_its_hours(written: Write, zone: str, day: str) -> None:
    begin = pd.Timestamp(day).tz_localize(zone)
    end = (pd.Timestamp(day) + pd.Timedelta(days=1)).tz_localize(zone)
    at = pd.date_range(begin, end, freq="10min", inclusive="right")
    text = "time,Out temp,Rain\n" + "".join(
        f"{stamp:%Y-%m-%d %H:%M},10,0.5\n" for stamp in at)
    found = hours(written(text), replace(RAIN, zone=zone))
    assert found["rain_mm"].sum() == pytest.approx(0.5 * len(at), abs=1.51)  # half hours at ends
    assert (found.index[1:] - found.index[:-1] == pd.Timedelta(hours=1)).all()


def test_a_row_still_being_written_is_left_out(written: Write) -> None:
    text = rows("2026-07-01 05:05", 12, **{"Out temp": 10.0, "Rain": 0.1})
    read = station.read(written(text + "2026-07-01 06:05,10"), RAIN)
    assert len(read.hours) == 1
    assert read.notes == ("The last line of weather.csv is not whole and was left out.",)


WIND = Column("w", "wind_ms", "m/s")


@pytest.mark.parametrize(("layout", "said"), [
    (Layout("time", ()), "columns of a station: none"),
    (Layout("time", (Column("x", "snow_cm", "cm"),)), "snow_cm"),
    (Layout("time", (Column("x", "temp_c", "hPa"),)), "Known: C, °C"),
    (Layout("time", (TEMP, replace(TEMP, head="In"))), "air temperature twice"),
    (Layout("time", (WIND,)), "no height"),
    (Layout("time", (WIND,), wind_height_m=0.1), "0.5 to 100"),
    (Layout("time", (TEMP,), zone="Mars/North"), "Mars/North"),
])
def test_a_layout_that_cannot_be_is_refused(layout: Layout, said: str) -> None:
    with pytest.raises(Refused, match=said):
        station.check(layout)


GOOD = rows("2026-07-01 05:05", 12, **{"Out temp": 10.0, "Rain": 0.1})


@pytest.mark.parametrize(("text", "said"), [
    ("", "an empty file"),
    ("time,Out temp\n", "no rows below its head"),
    (GOOD.replace("Out temp", "Out tmp"), "Did you mean 'out tmp'"),
    (GOOD.replace("time,", "when,"), "column 'time': not there"),
    (GOOD.replace("05:10,", "05:1x,"), "line 3, hour: 2026-07-01 05:1x"),
    (GOOD.replace("05:10,10.0", "05:10,warm"), "line 3, out temp: 'warm'"),
    (GOOD.replace("05:10,10.0", "05:10,10.0,7"), "line 3: 4 fields"),
    (GOOD.replace("05:10", "05:05"), "line 3, time: 2026-07-01T05:05Z"),
    (rows("2026-07-01 03:00", 12, "3h", **{"Out temp": 1.0, "Rain": 0}), "3 h apart"),
    (GOOD.replace("10.0", ""), "no hour seen"),
    ("\0\1\2", "a binary file"),
])
def test_a_file_that_cannot_be_read_says_why(written: Write, text: str, said: str) -> None:
    layout = replace(RAIN, columns=(replace(TEMP, head="out temp"),)) if "warm" in text else RAIN
    if "no hour" in said:
        layout = PLAIN
    with pytest.raises(Refused, match=said):
        station.read(written(text), layout)


def test_all_bad_rows_are_told_at_once(written: Write) -> None:
    with pytest.raises(ManyRefused) as told:
        station.read(written(GOOD.replace("10.0", "hot")), RAIN)
    assert len(told.value.refusals) == 12


def test_a_layout_is_kept_as_plain_words() -> None:
    layout = replace(RAIN, wind_height_m=2.0, zone="Europe/Berlin", rain="counter")
    assert Layout.of(layout.told()) == layout
