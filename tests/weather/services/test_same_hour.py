"""The same invented hours, in each service's units and labels, become the same rows."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest
import services_made as made
from hypothesis import example, given, settings
from hypothesis import strategies as st

from advisor.weather import series
from advisor.weather.services import brightsky, metno, openmeteo, power
from advisor.weather.vapour import saturation_kpa

LATER = made.START + timedelta(days=1)

READERS: dict[str, tuple[Callable[..., Any], Callable[[made.Truth], Any]]] = {
    "open-meteo": (openmeteo.read, made.open_meteo),
    "open-meteo, US units": (openmeteo.read, lambda t: made.open_meteo(t, us=True)),
    "open-meteo, Berlin": (openmeteo.read, lambda t: made.open_meteo(t, offset_s=7200)),
    "open-meteo, Lord Howe": (openmeteo.read, lambda t: made.open_meteo(t, offset_s=37800)),
    "met-norway": (metno.read, made.met_norway),
    "bright-sky": (brightsky.read, made.bright_sky),
    "power": (power.read, made.power_hours),
    "power, Wh/m²": (power.read, lambda t: made.power_hours(t, community="re")),
}
GIVEN = {
    "open-meteo": ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share", "rain_mm"),
    "met-norway": ("temp_c", "vapour_kpa", "wind_ms", "cloud_share", "rain_mm"),
    "bright-sky": ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share", "rain_mm"),
    "power": ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "rain_mm"),
}


def rows_of(name: str, truth: made.Truth) -> pd.DataFrame:
    """Read it and give the hours between the first and the last stamp."""
    read, write = READERS[name]
    (answer,) = read(made.body(write(truth)), issued_at=LATER)
    hours = answer.series.hours
    return hours.loc[pd.Timestamp(truth.stamps[0]) : pd.Timestamp(truth.stamps[-2])]


def expected(truth: made.Truth) -> dict[str, np.ndarray]:
    return {
        "temp_c": np.array(truth.means("temp_c")),
        "vapour_kpa": np.full(len(truth.rain_mm), saturation_kpa(truth.dew_c)),
        "wind_ms": np.array(truth.means("wind_ms")),
        "ghi_wm2": np.array(truth.ghi_wm2),
        "cloud_share": np.array(truth.means("cloud")),
        "rain_mm": np.array(truth.rain_mm),
    }


def lists(low: float, high: float, count: int) -> st.SearchStrategy[list[float]]:
    return st.lists(st.floats(low, high, width=32), min_size=count, max_size=count)


truths = st.builds(
    made.Truth,
    temp_c=lists(6, 45, 4),
    wind_ms=lists(0, 40, 4),
    cloud=lists(0, 1, 4),
    ghi_wm2=lists(0, 1300, 3),
    rain_mm=lists(0, 60, 3),
    dew_c=st.floats(-20, 5),
)


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=15, deadline=None)
@given(truth=truths)
@example(truth=made.PLAIN)
def test_an_hour_is_the_same_row_from_every_service(name: str, truth: made.Truth) -> None:
    hours, wanted = rows_of(name, truth), expected(truth)
    assert len(hours) == 3
    for column in GIVEN[name.split(",")[0]]:
        np.testing.assert_allclose(hours[column], wanted[column], rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("name", READERS)
def test_heights_of_the_wind(name: str) -> None:
    heights = rows_of(name, made.PLAIN)["wind_height_m"]
    assert (heights == (2.0 if name.startswith("power") else 10.0)).all()


@pytest.mark.parametrize("name", READERS)
def test_what_is_not_given_is_not_known(name: str) -> None:
    absent = set(series.COLUMNS) - set(GIVEN[name.split(",")[0]])
    assert rows_of(name, made.PLAIN)[sorted(absent)].isna().all(axis=None)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "Australia/Lord_Howe", "America/New_York"])
@pytest.mark.parametrize("day", [(2026, 3, 29), (2026, 10, 25), (2026, 4, 5), (2026, 11, 1)])
def test_clock_changes_do_not_reach_the_rows(zone: str, day: tuple[int, int, int]) -> None:
    """One offset holds for a whole reply, also beyond a change: 48 hours stay 48 hours."""
    from zoneinfo import ZoneInfo

    start = datetime(*day, tzinfo=UTC) - timedelta(hours=12)
    stamps = [start + timedelta(hours=i) for i in range(49)]
    asked = datetime(*day, 12, tzinfo=ZoneInfo(zone)).utcoffset()
    document = made.open_meteo()
    document["utc_offset_seconds"] = int(asked.total_seconds())
    document["hourly"] = {
        "time": [f"{stamp + asked:%Y-%m-%dT%H:%M}" for stamp in stamps],
        "temperature_2m": [float(i) for i in range(49)],
    }
    (answer,) = openmeteo.read(made.body(document), issued_at=start + timedelta(days=9))
    hours = answer.series.hours.loc[start:]
    assert len(hours) == 48
    np.testing.assert_allclose(hours["temp_c"], np.arange(48) + 0.5)


def test_seconds_since_1970_are_read_too() -> None:
    document = made.open_meteo()
    document["hourly_units"]["time"] = "unixtime"
    document["hourly"]["time"] = [int(stamp.timestamp()) for stamp in made.PLAIN.stamps]
    (answer,) = openmeteo.read(made.body(document), issued_at=LATER)
    pd.testing.assert_frame_equal(
        answer.series.hours.loc[made.START :], rows_of("open-meteo", made.PLAIN)
    )
