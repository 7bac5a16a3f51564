"""`advisor weather`: files taken in, later ones first, bad ones refused; and what is in store."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, datetime
from math import cos, pi
from pathlib import Path

import numpy as np
import pvlib
import pytest
import sunny

from advisor.garden.store import Garden

TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
DERIVED = ("site_day", "place_hours", "derived_from", "weather", "weather_source")
SHORT = 20  # days of weather


@pytest.fixture
def file(tmp_path):
    return tmp_path / "w.csv"


@pytest.fixture
def fair(garden, file):
    """Fair weather from 20 June to 10 July."""
    garden.tell("weather", "add", str(sunny.write(file, "2026-06-20", SHORT)))
    return garden


def state(grower):
    """Give all that weather touches in a garden's file."""
    with Garden.open(grower.path, readonly=True) as garden:
        rows = {table: garden._rows(f"SELECT * FROM {table}") for table in DERIVED}  # noqa: S608
        return garden.revision(), garden.weather_revision(), rows


def refused(grower, path, *args):
    """Give the message of a refused file, having made sure that nothing was written."""
    before = state(grower)
    result = grower.run("weather", "add", str(path), *args)
    assert (result.exit_code, result.stdout) == (1, "")
    assert "Traceback" not in result.stderr
    assert state(grower) == before
    return result.stderr.strip()


def temperatures(grower, day):
    """Give the site's temperatures of a day in UTC."""
    start = datetime.fromisoformat(day).replace(tzinfo=UTC).timestamp()
    with Garden.open(grower.path, readonly=True) as garden:
        hours = garden.hours("")
    here = (hours["hour"] >= start) & (hours["hour"] < start + 86400)
    return hours["temp_c"][here]


# --- added -----------------------------------------------------------------------------


def test_a_file_of_ones_own_is_taken_in(garden, file):
    sunny.write(file, "2026-06-20", SHORT, remarks="# source: my own station")
    assert garden.tell("weather", "add", str(file)) == (
        "w.csv: 480 hours from 2026-06-20 02:00 to 2026-07-10 02:00 (my own station).\n")
    assert temperatures(garden, "2026-07-01").max() == pytest.approx(24.0, abs=0.1)


def test_a_daily_file_takes_zone_and_place_from_the_site(garden, file):
    days = "".join(f"2026-06-{day},24,12,11,20\n" for day in range(10, 31))
    file.write_text("day,tmax [C],tmin [C],dew point [C],radiation [MJ/m2]\n" + days)
    told = garden.tell("weather", "add", str(file))
    assert told.startswith("w.csv: 504 hours from 2026-06-10 00:00 to 2026-07-01 00:00 (")
    shown = json.loads(garden.tell("weather", "show", "--json"))["days"]
    assert [day["tmax_c"] for day in shown if day["date"] == "2026-06-29"] == [24.0]
    assert all(day["rain_mm"] is None for day in shown if day["date"] <= "2026-06-30")


def test_a_typical_year_stands_for_the_year_told(grower):
    grower.tell("start", "--latitude", "36.1", "--longitude", "-79.95", "--elevation", "273",
                "--time-zone", "America/New_York", "--at", "2026-03-01T09:00")
    told = grower.tell("weather", "add", str(TMY3), "--year", "2027")
    assert told.startswith("723170TYA.CSV: 8760 hours from 2027-01-01 00:00 to 2028-01-01 00:00 "
                           "(typical year (TMY3), station 723170 Greensboro")
    assert "measured" not in told.split("\nNote: ")[-1]


def test_a_typical_year_of_another_continent_does_not_fit_the_sun(garden):
    assert refused(garden, TMY3, "--year", "2026").endswith(
        "check the time zone of the stamps and the longitude.")


def test_the_later_file_wins_and_the_rest_stays(fair, tmp_path):
    later = sunny.write(tmp_path / "later.csv", "2026-07-01", 2,
                        change=lambda n: {"temp": "15.5"})
    fair.tell("weather", "add", str(later))
    assert set(temperatures(fair, "2026-07-01")) == {15.5}
    assert temperatures(fair, "2026-07-05").max() == pytest.approx(24.0, abs=0.1)
    names = [each["name"] for each in json.loads(fair.tell("weather", "show", "--json"))["sources"]]
    assert names == ["later.csv", "w.csv"]


def test_an_empty_cell_of_the_later_file_hides_nothing(fair, tmp_path):
    later = sunny.write(tmp_path / "later.csv", "2026-07-01", 1,
                        change=lambda n: {"rain": "", "temp": "15.5"})
    fair.tell("weather", "add", str(later))
    day = next(each for each in json.loads(fair.tell("weather", "show", "--json"))["days"]
               if each["date"] == "2026-07-01")
    assert day["rain_mm"] == 0.0


def test_the_same_file_again_changes_nothing(fair, file):
    before = state(fair)
    fair.tell("weather", "add", str(file))
    assert state(fair) == before


def test_new_weather_reaches_the_round(fair, tmp_path):
    before = json.loads(fair.tell("morning", "--json"))
    hot = sunny.write(tmp_path / "hot.csv", "2026-06-29", 5,
                      change=lambda n: {"temp": "33", "dew point": "8"})
    fair.tell("weather", "add", str(hot))
    after = json.loads(fair.tell("morning", "--json"))
    assert after["trees"][0]["available_left"]["mid"] < before["trees"][0]["available_left"]["mid"]


@pytest.mark.parametrize(("latitude", "longitude", "note"), [
    (52.1, 13.2, ""), (52.9, 13.2, ""), (48.0, 13.2, "Note: measured 456 km from the garden.\n"),
    (52.1, 16.2, "Note: measured 205 km from the garden.\n")])
def test_a_file_from_far_away_is_worth_a_word(garden, file, latitude, longitude, note):
    sunny.write(file, "2026-06-20", 2,
                remarks=f"# latitude: {latitude}\n# longitude: {longitude}")
    assert garden.tell("weather", "add", str(file)).partition("\n")[2] == note


def test_the_date_line_is_no_distance(grower, file):
    grower.tell("start", "--latitude", "-16.8", "--longitude", "179.9", "--elevation", "5",
                "--time-zone", "Pacific/Fiji", "--at", "2026-03-01T09:00")
    sunny.write(file, "2026-06-20", 2, remarks="# latitude: -16.8\n# longitude: -179.9",
                change=lambda n: {"radiation": ""})
    assert "measured" not in grower.tell("weather", "add", str(file))


def test_one_impossible_hour_of_sun_is_set_aside_and_said(garden, file):
    sunny.write(file, "2026-06-20", 5,
                change=lambda n: {"radiation": "1500"} if n == 60 else {})
    told = garden.tell("weather", "add", str(file))
    assert "Set aside: shortwave radiation, 2026-06-22 12:00 UTC: 1500 W/m²" in told
    assert told.count("1500") == 1
    days = {day["date"]: day for day in
            json.loads(garden.tell("weather", "show", "--json"))["days"]}
    assert days["2026-06-22"]["et0_mm"] == pytest.approx(days["2026-06-21"]["et0_mm"], abs=0.3)


# --- refused ---------------------------------------------------------------------------


def test_a_wrong_unit(fair, tmp_path):
    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2,
                      head=sunny.HEAD.replace("[m/s]", "[furlong/h]"))
    message = refused(fair, bad)
    assert "furlong/h" in message
    assert "m/s, km/h" in message


@pytest.mark.parametrize(("column", "cell", "says"), [
    ("temp", "99", "99"), ("wind 10m", "-5", "-5"), ("rain", "-1", "-1"), ("rain", "400", "400"),
    ("temp", "warm", "warm")])
def test_an_impossible_value(fair, tmp_path, column, cell, says):
    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2,
                      change=lambda n: {column: cell} if n == 7 else {})
    message = refused(fair, bad)
    assert says in message
    assert "bad.csv" in message
    assert "2026-07-01 07:00" in message or "line 9" in message


def test_days_of_radiation_in_another_unit_are_refused_with_the_hint(fair, tmp_path):
    def hazy(n):  # kJ/m² in the hour
        sun = 0.3 + cos(2.0 * pi * (n % 24 - 11.2) / 24.0)
        return {"radiation": f"{min(max(1700.0 * sun, 0.0), 1590.0):.0f}"}

    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2, change=hazy)
    message = refused(fair, bad)
    assert message.startswith("shortwave radiation, 2026-07-01: ")
    assert "looks like kJ/m² in the hour" in message


def test_a_day_that_is_impossible_in_all_its_bright_hours_is_refused(fair, tmp_path):
    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2, change=lambda n: {
        "radiation": f"{max(1590.0 * cos(2.0 * pi * (n % 24 - 11.2) / 24.0), 0.0):.0f}"})
    message = refused(fair, bad)
    assert message.startswith("shortwave radiation, 2026-07-01: 4")
    assert "MJ/m² in the day" in message


@pytest.mark.parametrize(("hours", "accepted"), [(range(10, 13), True), (range(8, 14), False)])
def test_a_day_is_refused_by_its_hours_where_its_sum_is_possible(fair, tmp_path, hours, accepted):
    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2, change=lambda n: {
        "radiation": "1300" if n in hours else "0"})
    if accepted:
        assert fair.tell("weather", "add", str(bad)).count("Set aside: ") == 3
        return
    assert refused(fair, bad).startswith(
        "shortwave radiation, 2026-07-01: 6 hours above 1.25 of a clear sky and 60 W/m². "
        "Wanted: such hours with less than half of the day's sun. ")


def test_a_days_sum_of_radiation_in_watts_is_refused(garden, file):
    file.write_text("day,tmax [C],tmin [C],radiation [MJ/m2]\n2026-06-30,24,12,326\n")
    result = garden.run("weather", "add", str(file))
    assert (result.exit_code, result.stdout) == (1, "")
    assert "326" in result.stderr
    with Garden.open(garden.path, readonly=True) as kept:
        assert kept.weather_revision() == ""


def test_a_file_cut_off_half_way(fair, tmp_path):
    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2)
    bad.write_text(bad.read_text()[:-25])
    assert "bad.csv" in refused(fair, bad)


@pytest.mark.parametrize(("content", "says"), [
    (b"", "empty"), (b"\n\n", "empty"), (bytes(range(256)) * 20, "binary"),
    (b"SQLite format 3\x00" + bytes(200), "binary"), (b"to do:\n- prune the larch\n", "weather"),
    (b"hour [UTC],temp [C]\n", "bad.csv"), (b"hour [UTC],wind 10m [m/s]\n2026-07-01 05:00,3\n",
                                            "no column 'temp'")])
def test_what_is_no_weather_file(fair, tmp_path, content, says):
    bad = tmp_path / "bad.csv"
    bad.write_bytes(content)
    message = refused(fair, bad)
    assert message.startswith("bad.csv")
    assert says in message


@pytest.mark.parametrize("name", ["none.csv", "."])
def test_what_is_no_file(fair, tmp_path, name):
    assert refused(fair, tmp_path / name).count("\n") == 0


def test_many_bad_rows_are_listed_at_once(fair, tmp_path):
    bad = sunny.write(tmp_path / "bad.csv", "2026-07-01", 2,
                      change=lambda n: {"temp": "99"} if n in (3, 30) else {})
    message = refused(fair, bad)
    assert "2 rows refused, nothing written." in message
    assert "lines 5, 32, temp: 99 C." in message


def test_a_garden_that_is_not_there(grower, file):
    assert "advisor start" in grower.refused("weather", "add", str(sunny.write(
        file, "2026-07-01", 1)))


# --- shown -----------------------------------------------------------------------------


def test_the_weather_for_readers(fair):
    told = fair.tell("weather", "show").splitlines()
    assert told[0] == "Known to Fri 10 Jul 2026 02:00."
    assert told[1] == "From w.csv."
    assert told[3].split()[:4] == ["day", "low", "°C", "high"]
    today = [line for line in told if line.endswith("<- today")]
    assert [line[:10] for line in today] == ["2026-07-01"]


def test_the_weather_for_scripts(fair):
    told = json.loads(fair.tell("weather", "show", "--json"))
    assert list(told) == ["at", "newest", "sources", "days"]
    assert (told["at"], told["newest"]) == ("2026-07-01T07:00:00+02:00",
                                            "2026-07-10T02:00:00+02:00")
    assert told["sources"] == [{"name": "w.csv", "kind": "file", "source": "w.csv", "licence": "",
                                "attribution": ""}]
    assert list(told["days"][3]) == ["date", "tmin_c", "tmax_c", "rain_mm", "et0_mm", "rules"]
    dates = [day["date"] for day in told["days"]]
    assert dates == sorted(dates)
    assert (dates[0], dates[-1]) == ("2026-06-21", "2026-07-10")
    assert all(3.0 < day["et0_mm"] < 7.0 for day in told["days"][1:-1])


def test_the_weather_for_a_spreadsheet(fair):
    rows = list(csv.DictReader(io.StringIO(fair.tell("weather", "show", "--csv"))))
    shown = json.loads(fair.tell("weather", "show", "--json"))["days"]
    assert [row["date"] for row in rows] == [day["date"] for day in shown]
    assert np.allclose([float(row["et0_mm"]) for row in rows[1:-1]],
                       [day["et0_mm"] for day in shown[1:-1]])


def test_one_form_at_a_time(fair):
    assert "not both" in fair.misused("weather", "show", "--json", "--csv")


def test_no_weather_is_said(garden):
    assert garden.tell("weather", "show") == (
        "No weather yet. Get it (advisor weather get) or add a file (advisor weather add).\n")
    assert json.loads(garden.tell("weather", "show", "--json"))["days"] == []
    assert garden.tell("weather", "show", "--csv") == "date,tmin_c,tmax_c,rain_mm,et0_mm,rules\n"


def test_what_a_day_leans_on_is_shown(garden, file):
    sunny.write(file, "2026-06-20", SHORT, change=lambda n: {"radiation": "", "dew point": ""})
    garden.tell("weather", "add", str(file))
    days = json.loads(garden.tell("weather", "show", "--json"))["days"]
    assert all(";" in day["rules"] for day in days[1:-1])
    told = garden.tell("morning")
    assert "of the last 7 days.\n" in told
    assert told.count("Leans on: ") >= 2


def test_weather_far_from_now_is_not_shown(fair):
    later = replace(fair, now=datetime(2026, 9, 1, tzinfo=UTC))
    assert json.loads(later.tell("weather", "show", "--json"))["days"] == []


def test_holes_are_told(garden, file):
    file.write_text("hour [UTC],temp [C]\n2026-06-20 05:00,14\n2026-06-20 06:00,14\n"
                    "2026-06-20 12:00,14\n")
    assert ("Holes: 3 of 8 hours have a temperature; 5 missing between 2026-06-20 09:00 and "
            "2026-06-20 14:00.") in garden.tell("weather", "add", str(file))


def test_a_file_that_says_its_dates_takes_no_year(garden, file):
    sunny.write(file, "2026-06-20", 2)
    said = refused(garden, file, "--year", "2020")
    assert said.startswith("--year: 2020, for a file of hours. Wanted: no year")
