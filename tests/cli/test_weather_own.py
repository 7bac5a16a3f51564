"""Own instruments: a gauge, a thermometer, a station's file told once."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import sunny

from advisor.garden.store import Garden

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)  # Wednesday, 07:00 in Berlin
HEAD = "Time;Out temp;Hum;Wind;Rain;Sun;Battery\n"
TOLD = ("--time", "Time", "--form", "%d.%m.%Y %H:%M", "--decimal-comma", "--wind-height", "2",
        "--column", "Out temp=temperature °C", "--column", "Hum=humidity %",
        "--column", "Wind=wind km/h", "--column", "Rain=rain mm", "--column", "Sun=radiation W/m2")


def series(grower, hours_back=72, column="rain_mm"):
    with Garden.open(grower.path, readonly=True) as garden:
        found = garden.weather(NOW - timedelta(hours=hours_back), NOW)
    return found["hour"], found[column], found[f"{column}_source"]


@pytest.fixture
def fair(garden, tmp_path):
    """Fair weather, with two hours of rain on Tuesday at 12:00 and 13:00 UTC."""
    path = sunny.write(tmp_path / "w.csv", "2026-06-20", 20, change=lambda n: {
        "rain": {250 + 2: "3", 250 + 3: "1"}.get(n, "0")})
    garden.tell("weather", "add", str(path))
    return garden


def station_file(path, first, hours, temps=("21,5", "22,5")):
    """Half-hourly rows in local time, each marking its end; an hour of each temperature."""
    rows, first = [], datetime.fromisoformat(first)
    for k in range(1, 2 * hours + 1):
        at = first + timedelta(minutes=30 * k)
        rows.append(f"{at:%d.%m.%Y %H:%M};{temps[(k - 1) // 2 % len(temps)]};60;7,2;0,1;0;ok\n")
    path.write_text(HEAD + "".join(rows))
    return path


# --- gauge, thermometer ------------------------------------------------------------------


def test_a_gauge_overrules_the_file_and_keeps_its_hours(fair):
    told = fair.tell("weather", "gauge", "14", "--since", "monday 08:00")
    assert told == ("Entered: rain gauge, 14 mm, Mon 29 Jun 08:00 to Wed 1 Jul 07:00.\n"
                    "Other sources had 4.0 mm then: spread as it fell there.\n")
    _, rain, source = series(fair)
    assert rain.sum() == pytest.approx(14.0)
    assert sorted(rain[rain > 0.0]) == pytest.approx([3.5, 10.5])
    assert set(source[-40:]) == {"rain gauge"}


def test_it_can_be_taken_back(fair):
    fair.tell("weather", "gauge", "14", "--since", "mon 8:00", "--until", "yesterday 20:00")
    fair.tell("undo")
    assert series(fair)[1].sum() == pytest.approx(4.0)


def test_inches_are_taken_and_rain_of_a_dry_record_is_spread_evenly(fair):
    told = fair.tell("weather", "gauge", "1 in", "--since", "2026-06-22T08:00", "--until",
                     "2026-06-23T08:00")
    assert "Other sources had 0.0 mm then: spread evenly." in told
    with Garden.open(fair.path, readonly=True) as garden:
        rain = garden.weather(NOW - timedelta(days=12), NOW - timedelta(days=5))["rain_mm"]
    assert rain.max() == pytest.approx(25.4 / 24)
    assert rain.sum() == pytest.approx(25.4)


def test_a_gauge_alone_is_kept_for_later(garden):
    assert "No other source told of rain then" in garden.tell(
        "weather", "gauge", "14", "--since", "monday 08:00")
    assert garden.tell("weather", "show").startswith("No weather yet.")
    assert "rain        rain gauge 100 %" in garden.tell("weather", "check")


def test_a_file_that_may_only_be_read_is_shown_as_it_stands(fair, monkeypatch):
    before = fair.tell("weather", "show", "--json")
    fair.tell("weather", "gauge", "14", "--since", "monday 08:00")
    monkeypatch.setattr("os.access", lambda path, mode: False)
    assert fair.tell("weather", "show", "--json") == before
    assert fair.tell("weather", "check")


def test_the_round_is_worked_out_anew(fair):
    fair.tell("weather", "gauge", "30", "--since", "yesterday 08:00")
    days = json.loads(fair.tell("weather", "show", "--json"))["days"]
    assert sum(day["rain_mm"] for day in days) == pytest.approx(30.0)


def test_a_thermometer_stretches_the_day(fair):
    assert fair.tell("weather", "thermometer", "--min", "-1.5", "--max", "86 F", "--since",
                     "yesterday 07:00", "--until", "2026-07-01T07:00") == (
        "Entered: min-max thermometer, -1.5 to 30.0 °C, Tue 30 Jun 07:00 to Wed 1 Jul 07:00.\n")
    hour, temp, _ = series(fair, 24, "temp_c")
    assert (temp.min(), temp.max()) == pytest.approx((-1.5, 30.0))
    assert len(hour) == 24


@pytest.mark.parametrize(("args", "said"), [
    (("gauge", "14", "--since", "noon"), "instant: 'noon'. Wanted: a day and a time"),
    (("gauge", "14", "--since", "friyay 08:00"), "Write it as 'monday 08:00'"),
    (("gauge", "14", "--since", "2026-07-01T09:00"), "Wanted: one that has been. It is 1 July"),
    (("gauge", "wet", "--since", "monday 08:00"), "'wet'. Wanted: a number in mm"),
    (("gauge", "-1", "--since", "monday 08:00"), "0 to 1900 mm"),
    (("gauge", "900", "--since", "06:00"), "900 mm. Wanted: at most 150 mm in this span"),
    (("gauge", "3", "--since", "2026-03-01T06:00"), "Wanted: 1 to 1080 hours"),
    (("thermometer", "--min", "9", "--max", "3", "--since", "yesterday 08:00"),
     "9 to 3 °C. Wanted: the lowest, then the highest"),
    (("thermometer", "--min", "cold", "--max", "3", "--since", "yesterday 08:00"),
     "--min: 'cold'. Wanted: a number in °C"),
    (("thermometer", "--min", "1", "--max", "9", "--since", "monday 08:00"), "1 to 36 hours"),
])
def test_what_cannot_be_is_refused(fair, args, said):
    if args[1] == "-1":
        args = (args[0], "--since", args[3], "--", "-1")
    assert said in fair.refused("weather", *args)


def test_spans_that_meet_are_refused_with_local_times(fair):
    fair.tell("weather", "gauge", "3", "--since", "monday 08:00", "--until", "yesterday 08:00")
    assert ("meets the reading from 2026-06-29 08:00 to 2026-06-30 08:00. Wanted: spans that "
            "follow one another.") in fair.refused("weather", "gauge", "5", "--since",
                                                  "monday 20:00")


def test_this_weekday_is_last_weeks_where_its_hour_is_to_come(fair):
    told = fair.tell("weather", "gauge", "3", "--since", "wednesday 08:00")
    assert "Wed 24 Jun 08:00" in told


# --- station -------------------------------------------------------------------------------


def test_a_station_is_told_once(fair, tmp_path):
    first = station_file(tmp_path / "log.csv", "2026-06-30 06:00", 10)
    told = fair.tell("weather", "station", "shed", str(first), *TOLD)
    assert told.startswith("shed: 10 hours from 2026-06-30 06:00 to 2026-06-30 16:00, 10 of them "
                           "new.\n")
    later = station_file(tmp_path / "log.csv", "2026-06-30 06:00", 14)
    told = fair.tell("weather", "station", "Shed", str(later))
    assert told.startswith("shed: 14 hours from 2026-06-30 06:00 to 2026-06-30 20:00, 4 of them "
                           "new.\n")
    hour, temp, source = series(fair, 48, "temp_c")
    assert temp[source == "shed"].tolist() == [21.5, 22.5] * 7
    with Garden.open(fair.path, readonly=True) as garden:
        wind = garden.weather(NOW - timedelta(hours=24), NOW - timedelta(hours=23))
    assert wind["wind_ms"].tolist() == [2.0]
    assert wind["wind_height_m"].tolist() == [2.0]
    assert wind["wind_ms_kind"].tolist() == ["instrument"]


def test_the_same_file_again_brings_nothing_new(fair, tmp_path):
    file = station_file(tmp_path / "log.csv", "2026-06-30 06:00", 5)
    fair.tell("weather", "station", "shed", str(file), *TOLD)
    before = fair.path.read_bytes()
    told = replace(fair, now=NOW + timedelta(hours=2)).tell("weather", "station", "shed",
                                                            str(file))
    assert told.endswith("none of them new.\n")
    with Garden.open(fair.path, readonly=True) as garden:
        assert [each.kind for each in garden.weather_sources()] == ["instrument", "file"]
    assert fair.path.read_bytes() == before


def test_a_stuck_sensor_is_set_aside_and_told(fair, tmp_path):
    file = station_file(tmp_path / "log.csv", "2026-06-29 06:00", 24, temps=("21,5",))
    fair.tell("weather", "station", "shed", str(file), *TOLD)
    _, _, source = series(fair, 48, "temp_c")
    assert "shed" not in set(source)
    rows = json.loads(fair.tell("weather", "show", "--doubts", "--json"))["doubts"]
    row = next(each for each in rows if each["what"] == "temperature")
    assert row == {"from": "2026-06-29T06:00:00+02:00", "to": "2026-06-30T06:00:00+02:00",
                   "hours": 24, "what": "temperature", "value": "21.5 °C", "source": "shed",
                   "why": "stuck for 24 h", "instead": ["w.csv"]}
    assert ("Mon 29 Jun 06:00 to Tue 30 Jun 06:00: temperature 21.5 °C from shed, stuck for 24 h; "
            "used instead: w.csv") in fair.tell("weather", "show", "--doubts")
    table = fair.tell("weather", "show", "--doubts", "--csv")
    assert table.startswith("from,to,hours,what,value,source,why,instead\n")
    assert "temperature,21.5 °C,shed,stuck for 24 h,w.csv" in table


def test_columns_told_can_be_undone_and_a_file_is_nothing_without_them(fair, tmp_path):
    file = station_file(tmp_path / "log.csv", "2026-06-30 06:00", 5)
    fair.tell("weather", "station", "shed", str(file), *TOLD)
    fair.tell("undo")
    said = fair.refused("weather", "station", "shed", str(file))
    assert said == ("station 'shed': its columns are not known yet. Wanted: what they hold; in "
                    "log.csv there are Time, Out temp, Hum, Wind, Rain, Sun, Battery. Name them: "
                    "--time HEAD --column 'HEAD=temperature °C'.")


@pytest.mark.parametrize(("column", "said"), [
    ("Out temp", "--column: 'Out temp'. Wanted: its head, what it holds, and the unit"),
    ("Out temp=temprature °C", "--column: 'temprature'. Wanted: temperature, dew point"),
    ("Out temp=temperature furlong", "unit of air temperature: furlong. Known: C, °C, F"),
    ("Outer=temperature °C", "log.csv, column 'Outer': not there. Wanted: Time, Out temp"),
    ("Wind=wind m/s", "wind of a station: no height. Wanted: the sensor's height"),
])
def test_columns_that_cannot_be_are_refused(fair, tmp_path, column, said):
    file = station_file(tmp_path / "log.csv", "2026-06-30 06:00", 5)
    assert said in fair.refused("weather", "station", "shed", str(file), "--time", "Time",
                                "--form", "%d.%m.%Y %H:%M", "--column", column)


def test_how_times_are_written_belongs_to_columns(fair, tmp_path):
    file = station_file(tmp_path / "log.csv", "2026-06-30 06:00", 5)
    assert "Name the columns too" in fair.misused("weather", "station", "shed", str(file),
                                                  "--zone", "UTC")


# --- taken back ----------------------------------------------------------------------------


def test_a_wrong_file_is_taken_back_and_brought_back(fair, tmp_path):
    wrong = sunny.write(tmp_path / "wrong.csv", "2026-06-29", 2,
                        change=lambda n: {"temp": "35"})
    fair.tell("weather", "add", str(wrong))
    rows = json.loads(fair.tell("weather", "show", "--sources", "--json"))["sources"]
    assert [(row["number"], row["name"], row["taken_back"]) for row in rows] == [
        (2, "wrong.csv", False), (1, "w.csv", False)]
    assert rows[0]["hours"] == 48
    told = fair.tell("weather", "remove", "2")
    assert told == "Taken back: 2, wrong.csv. `advisor undo` brings it back.\n"
    assert series(fair, 24, "temp_c")[1].max() < 30.0
    assert "wrong.csv" not in fair.tell("weather", "show")
    assert "   2  wrong.csv: 48 hours from 2026-06-29 02:00 to 2026-07-01 02:00" in fair.tell(
        "weather", "show", "--sources")
    assert "(taken back)" in fair.tell("weather", "show", "--sources")
    fair.tell("undo")
    assert series(fair, 24, "temp_c")[1].max() == 35.0
    days = {day["date"]: day for day in json.loads(fair.tell("weather", "show", "--json"))["days"]}
    assert days["2026-06-30"]["tmax_c"] == 35.0


def test_a_file_taken_back_can_be_added_again(fair, tmp_path):
    fair.tell("weather", "remove", "1")
    assert series(fair)[0].size == 0
    assert fair.tell("weather", "show").startswith("No weather yet.")
    fair.tell("weather", "add", str(tmp_path / "w.csv"))
    assert series(fair)[0].size == 72


def test_the_last_file_taken_back_leaves_none(fair):
    assert fair.tell("weather", "remove", "1").endswith("No weather is left.\n")
    assert "none in this garden yet" in fair.run("morning").stderr


@pytest.mark.parametrize("number", ["7", "1"])
def test_only_what_counts_can_be_taken_back(fair, number):
    fair.tell("weather", "remove", "1")
    assert "See advisor weather show --sources." in fair.refused("weather", "remove", number)


def test_no_file_no_doubt(garden):
    assert "No file of weather was added yet" in garden.tell("weather", "show", "--sources")
    assert garden.tell("weather", "show", "--doubts").startswith("Nothing was set aside")
    assert json.loads(garden.tell("weather", "show", "--doubts", "--json")) == {"doubts": []}
    assert "not both" in garden.misused("weather", "show", "--doubts", "--sources")


# --- what the month rests on -----------------------------------------------------------------


def test_the_month_says_what_it_rests_on(garden, tmp_path):
    path = sunny.write(tmp_path / "w.csv", "2026-06-20", 20,
                       change=lambda n: {"radiation": "", "wind 10m": "" if n % 24 == 5 else "2"})
    garden.tell("weather", "add", str(path))
    later = replace(garden, now=NOW + timedelta(days=2))
    month = json.loads(later.tell("weather", "check", "--json"))["this_month"]
    assert (month["month"], month["hours"]) == ("2026-07", 55)
    rests = month["rests_on"]
    assert list(rests) == ["temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "rain_mm"]
    assert rests["temp_c"] == {"w.csv": 1.0}
    assert rests["ghi_wm2"] == {"radiation from temperature range": 1.0}
    assert set(rests["wind_ms"]) == {"w.csv", "between neighbours"}
    assert all(np.isclose(sum(words.values()), 1.0, atol=1e-3) for words in rests.values())
    assert "  radiation   radiation from temperature range 100 %" in later.tell("weather", "check")


def test_no_weather_rests_on_nothing(garden):
    month = json.loads(replace(garden, now=NOW + timedelta(days=1)).tell(
        "weather", "check", "--json"))["this_month"]
    assert month["rests_on"]["temp_c"] == {"not known": 1.0}
