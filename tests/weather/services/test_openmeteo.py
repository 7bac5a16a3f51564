"""Open-Meteo: what is asked, both shapes, nulls, members, refusals."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
import services_made as made

from advisor.errors import Refused
from advisor.weather import series
from advisor.weather.services import openmeteo

BEFORE, LATER = made.START - timedelta(hours=1), made.START + timedelta(days=1)


def test_what_is_asked(site) -> None:
    asked = openmeteo.request(site, made.CONTACT)
    assert asked.url == "https://api.open-meteo.com/v1/forecast"
    assert (asked.params["latitude"], asked.params["longitude"]) == ("52.1000", "5.1800")
    assert {k: asked.params[k] for k in ("elevation", "wind_speed_unit", "timezone")} == {
        "elevation": "2",
        "wind_speed_unit": "ms",
        "timezone": "GMT",
    }
    assert asked.params["temperature_unit"] == "celsius"
    assert asked.params["precipitation_unit"] == "mm"
    assert len(asked.params["hourly"].split(",")) <= 10
    assert asked.headers["User-Agent"].startswith("advisor/")
    assert asked.headers["User-Agent"].endswith(made.CONTACT)
    assert asked.headers["Accept-Encoding"] == "gzip"


@pytest.mark.parametrize(("name", "days"), [("past_days", 93), ("forecast_days", 17)])
def test_more_days_than_it_gives(site, name: str, days: int) -> None:
    with pytest.raises(Refused, match=f"{days}"):
        openmeteo.request(site, "", **{name: days})


def test_the_archive_is_asked_by_the_year(site) -> None:
    asked = openmeteo.archive_requests(site, "", date(2023, 11, 5), date(2025, 2, 3))
    spans = [(each.params["start_date"], each.params["end_date"]) for each in asked]
    assert spans == [
        ("2023-11-05", "2023-12-31"),
        ("2024-01-01", "2024-12-31"),
        ("2025-01-01", "2025-02-03"),
    ]
    assert {each.interface for each in asked} == {"archive"}
    assert len({each.key for each in asked}) == 3


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (date(2025, 2, 1), date(2025, 1, 1)),
        (date(1939, 1, 1), date(1941, 1, 1)),
        (date(2000, 1, 1), date(2025, 1, 1)),
    ],
)
def test_days_the_archive_is_not_asked_for(site, first: date, last: date) -> None:
    with pytest.raises(Refused, match="archive"):
        openmeteo.archive_requests(site, "", first, last)


def test_ensembles_name_their_model(site) -> None:
    asked = openmeteo.ensemble_request(site, "", model="ncep_gefs025", forecast_days=35)
    assert asked.params["models"] == "ncep_gefs025"
    with pytest.raises(Refused, match="36"):
        openmeteo.ensemble_request(site, "", forecast_days=36)


def test_past_and_coming_hours_are_told_apart() -> None:
    """An hour that is not over yet is forecast."""
    answers = openmeteo.read(
        made.body(made.open_meteo()), issued_at=made.START + timedelta(minutes=90)
    )
    assert [answer.kind for answer in answers] == ["analysis", "forecast"]
    past, coming = (answer.series.hours for answer in answers)
    assert past.index[-1] == pd.Timestamp(made.START)
    assert coming.index[0] == pd.Timestamp(made.START + made.HOUR)
    assert set(past["temp_c_from"]) == {"open-meteo analysis"}
    assert set(coming["temp_c_from"]) == {"open-meteo forecast"}
    assert set(coming["pressure_kpa_from"]) == {""}


def test_the_archive_is_called_so() -> None:
    (answer,) = openmeteo.read(made.body(made.open_meteo()), issued_at=LATER, interface="archive")
    assert answer.kind == "analysis"
    assert set(answer.series.hours["temp_c_from"]) == {"open-meteo archive"}


def test_a_list_of_places() -> None:
    answers = openmeteo.read(
        made.body([made.open_meteo(), made.open_meteo() | {"latitude": 48.0}]), issued_at=LATER
    )
    assert [answer.series.latitude_deg for answer in answers] == [52.1, 48.0]


def test_a_tail_of_nulls_is_left_out() -> None:
    document = made.open_meteo()
    for name, values in document["hourly"].items():
        values += ["2026-06-01T14:00", "2026-06-01T15:00"] if name == "time" else [None, None]
    (answer,) = openmeteo.read(made.body(document), issued_at=LATER)
    assert answer.series.hours.index[-1] == pd.Timestamp("2026-06-01T12:00Z")


def test_nothing_but_nulls() -> None:
    document = made.open_meteo()
    for name, values in document["hourly"].items():
        if name != "time":
            values[:] = [None] * len(values)
    with pytest.raises(Refused, match=r"api\.open-meteo\.com: not one value"):
        openmeteo.read(made.body(document), issued_at=LATER)


def test_sea_level_pressure_is_not_taken_for_the_place() -> None:
    document = made.open_meteo()
    document["hourly"]["pressure_msl"] = [1013.0] * 4
    document["hourly_units"]["pressure_msl"] = "hPa"
    (answer,) = openmeteo.read(made.body(document), issued_at=LATER)
    assert answer.series.hours["pressure_kpa"].isna().all()


def test_pressure_at_the_place() -> None:
    document = made.open_meteo()
    document["hourly"]["surface_pressure"] = [1000.0] * 4
    document["hourly_units"]["surface_pressure"] = "hPa"
    (answer,) = openmeteo.read(made.body(document), issued_at=LATER)
    assert answer.series.hours["pressure_kpa"].to_numpy() == pytest.approx(100.0)


@pytest.mark.parametrize("unit", ["furlongs", "undefined", None])
def test_an_unknown_unit(unit: str | None) -> None:
    document = made.open_meteo()
    document["hourly_units"]["wind_speed_10m"] = unit
    with pytest.raises(Refused, match=r"api\.open-meteo\.com: wind speed in"):
        openmeteo.read(made.body(document), issued_at=LATER)


def test_an_impossible_value_is_set_aside() -> None:
    document = made.open_meteo()
    document["hourly"]["precipitation"][2] = 400.0
    (answer,) = openmeteo.read(made.body(document), issued_at=LATER)
    row = answer.series.hours.loc["2026-06-01T11:00Z"]
    assert np.isnan(row["rain_mm"])
    assert row["rain_mm_from"].startswith(series.ASIDE)


def with_members(suffixes: list[str]) -> dict[str, object]:
    document = made.open_meteo()
    for name in ("temperature_2m", "precipitation"):
        values = document["hourly"].pop(name)
        unit = document["hourly_units"].pop(name)
        for k, suffix in enumerate(suffixes):
            document["hourly"][name + suffix] = [v if v is None else v + k for v in values]
            document["hourly_units"][name + suffix] = unit
    return document


def test_members() -> None:
    document = with_members(["", "_member01", "_member02"])
    answers = openmeteo.read(made.body(document), issued_at=BEFORE, interface="ensemble")
    assert [(a.kind, a.member) for a in answers] == [("ensemble", i) for i in (0, 1, 2)]
    temps = [a.series.hours["temp_c"].loc[made.START] for a in answers]
    assert temps == [12.5, 13.5, 14.5]
    assert set(answers[1].series.hours["temp_c_from"]) == {"open-meteo ensemble"}


def test_members_of_several_models() -> None:
    suffixes = ["_ncep_gefs025", "_member01_ncep_gefs025", "_icon_eu_eps", "_member01_icon_eu_eps"]
    answers = openmeteo.read(
        made.body(with_members(suffixes)), issued_at=BEFORE, interface="ensemble"
    )
    named = {a.series.source: a.series.hours["temp_c"].get(made.START) for a in answers}
    assert named["open-meteo ensemble icon_eu_eps, member 1"] == 15.5
    assert named["open-meteo ensemble ncep_gefs025, member 0"] == 12.5
    members = [a.member for a in answers]
    assert members == sorted(set(members))


def test_a_member_says_nothing_of_hours_that_are_over() -> None:
    answers = openmeteo.read(
        made.body(made.open_meteo()),
        issued_at=made.START + 2 * made.HOUR,
        interface="ensemble",
    )
    assert answers[0].series.hours.index[0] == pd.Timestamp(made.START + 2 * made.HOUR)


@pytest.mark.parametrize(
    "reason",
    [
        "Parameter 'start_date' is out of allowed range from 2026-02-22 to 2026-06-16",
        "Past days is invalid. Allowed range 0 to 93. Given 120.",
        "Latitude must be in range of -90 to 90°. Given: 95.0.",
        "Invalid timezone",
        "No data is available for this location",
        "Cannot initialize WeatherVariable from invalid String value tempeture_2m for key hourly",
        "Hourly API request limit exceeded. Please try again in the next hour.",
        "Too many concurrent requests",
        "The service is overloaded",
    ],
)
def test_a_documented_refusal(reason: str) -> None:
    with pytest.raises(Refused) as caught:
        openmeteo.read(made.body({"error": True, "reason": reason}), issued_at=LATER)
    assert reason in str(caught.value)
    assert "api.open-meteo.com" in str(caught.value)
