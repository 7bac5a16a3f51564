"""Bright Sky: measured and forecast hours apart, borrowed values, sunshine for radiation."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
import services_made as made

from advisor.errors import Refused
from advisor.weather.services import brightsky

ISSUED = made.START + timedelta(hours=2, minutes=10)


def answers_of(document: object) -> dict[str, pd.DataFrame]:
    found = brightsky.read(made.body(document), issued_at=ISSUED)
    return {answer.kind: answer.series.hours for answer in found}


def test_what_is_asked(site) -> None:
    asked = brightsky.request(site, "", made.START, made.START + timedelta(days=2))
    assert asked.url == "https://api.brightsky.dev/weather"
    assert asked.params == {
        "lat": "52.1000",
        "lon": "5.1800",
        "date": "2026-06-01",
        "last_date": "2026-06-04",
        "max_dist": "50000",
        "tz": "Etc/UTC",
        "units": "dwd",
    }
    assert asked.headers["User-Agent"].startswith("advisor/")


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (datetime(2026, 6, 1), datetime(2026, 6, 2)),  # noqa: DTZ001
        (made.START, made.START - timedelta(days=1)),
        (made.START, datetime(2028, 6, 2, tzinfo=UTC)),
    ],
)
def test_what_is_not_asked(site, first: datetime, last: datetime) -> None:
    with pytest.raises(Refused, match="hours asked for"):
        brightsky.request(site, "", first, last)


@pytest.mark.parametrize("kind", ["historical", "current", "synop"])
def test_measured_hours_name_their_station(kind: str) -> None:
    found = answers_of(made.bright_sky(kind=kind))
    assert set(found) == {"station"}
    assert set(found["station"]["temp_c_from"]) == {"station 01766, 16 km"}
    assert set(found["station"]["rain_mm_from"]) == {"station 01766, 16 km", ""}


def test_one_series_goes_from_measured_to_forecast() -> None:
    document = made.bright_sky()
    document["sources"].append(made.bright_sky_source(2, "forecast", 9000.0))
    for row in document["weather"][2:]:
        row["source_id"] = 2
    found = answers_of(document)
    assert set(found) == {"station", "forecast"}
    station, forecast = found["station"], found["forecast"]
    assert station["rain_mm"].loc[made.START :].tolist() == [0.0]
    assert forecast["rain_mm"].tolist() == [1.2, 0.3]
    assert set(forecast["temp_c_from"]) == {"bright-sky forecast, station 01767, 9 km"}


def test_a_borrowed_value_is_told_by_its_own_station() -> None:
    document = made.bright_sky()
    document["sources"].append(made.bright_sky_source(3, "synop", 41000.0))
    for row in document["weather"]:
        row["fallback_source_ids"] = {"solar": 3}
    hours = answers_of(document)["station"]
    assert set(hours["ghi_wm2_from"].loc[made.START :]) == {"station 01768, 41 km"}
    assert set(hours["temp_c_from"]) == {"station 01766, 16 km"}


def test_a_value_borrowed_from_a_forecast_is_none_that_was_measured() -> None:
    document = made.bright_sky()
    document["sources"].append(made.bright_sky_source(2, "forecast"))
    document["weather"][1]["fallback_source_ids"] = {"solar": 2}
    found = answers_of(document)
    assert np.isnan(found["station"]["ghi_wm2"].loc[made.START])
    assert found["forecast"]["ghi_wm2"].loc[made.START] == pytest.approx(400.0)
    assert found["forecast"]["temp_c"].isna().all()


def test_nulls_everywhere() -> None:
    document = made.bright_sky()
    for row in document["weather"]:
        row.update(cloud_cover=None, dew_point=None, solar=None)
    hours = answers_of(document)["station"]
    assert hours[["cloud_share", "vapour_kpa", "ghi_wm2"]].isna().all(axis=None)


def test_sunshine_stands_in_for_radiation() -> None:
    """FAO-56 Eq. 35: full sun gives .75 of what comes in above, none .25."""
    document = made.bright_sky()
    for row, minutes in zip(document["weather"], [0, 60, 0, 60], strict=True):
        row.update(solar=None, sunshine=minutes)
    hours = answers_of(document)["station"]
    bright, dull = hours["ghi_wm2"].loc[made.START], hours["ghi_wm2"].loc[made.START + made.HOUR]
    assert dull / bright == pytest.approx(1 / 3, rel=0.1)  # the sun climbs a little
    assert 700 < bright < 900  # 1 June, about noon by the sun, 52° N
    assert hours["ghi_wm2_from"].loc[made.START].startswith("radiation from sunshine, station")


def test_radiation_is_not_replaced_by_sunshine() -> None:
    document = made.bright_sky()
    for row in document["weather"]:
        row["sunshine"] = 60
    assert answers_of(document)["station"]["ghi_wm2"].loc[made.START] == pytest.approx(400.0)


def test_where_the_station_stands_is_told() -> None:
    (answer,) = brightsky.read(made.body(made.bright_sky()), issued_at=ISSUED)
    assert any("16 km off at 48 m" in note for note in answer.series.notes)
    assert answer.series.hours["pressure_kpa"].isna().all()


@pytest.mark.parametrize(
    "detail",
    [
        "No sources match your criteria",
        [{"loc": ["query"], "msg": "Supply both lat and lon or a station", "type": "value_error"}],
        "Unknown timezone: Mars",
    ],
)
def test_a_documented_refusal(detail: object) -> None:
    with pytest.raises(Refused, match=r"api\.brightsky\.dev"):
        brightsky.read(made.body({"detail": detail}), issued_at=ISSUED)


def test_an_unknown_source_is_another_shape() -> None:
    document = made.bright_sky()
    document["weather"][1]["fallback_source_ids"] = {"solar": 77}
    with pytest.raises(Refused, match=r"api\.brightsky\.dev"):
        brightsky.read(made.body(document), issued_at=ISSUED)
