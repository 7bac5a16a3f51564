"""Gauges, thermometers, stations' layouts and settings: told by entries, laid over the series."""

from datetime import timedelta

import numpy as np
import pytest
from garden.told import NOW, start

from advisor.errors import Refused
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.store import Source
from advisor.weather.gauge import GaugeTotal, MinMax
from advisor.weather.station import Column, Layout

HOUR = timedelta(hours=1)
FIRST = NOW - 48 * HOUR
STAMPS = to_seconds(FIRST) + 3600 * np.arange(48)


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        yield garden


def served(garden, kind="analysis", **columns):
    hours = {name: np.asarray(values, dtype=float) for name, values in columns.items()}
    garden.save_weather(Source("service", kind=kind, issued_at=FIRST),
                        {"hour": STAMPS[:len(next(iter(hours.values())))], **hours}, FIRST)


def tell(garden, *readings, at=NOW):
    with garden.entry(at, "read an instrument") as entry:
        for reading in readings:
            garden.add_reading(entry.id, reading, at)
    return entry.id


def series(garden, at=None, first=FIRST, hours=48):
    return garden.weather(first, first + hours * HOUR, at)


def test_a_gauge_is_spread_by_the_rain_the_service_saw(garden):
    seen = np.zeros(48)
    seen[[3, 5]] = [1.0, 3.0]
    served(garden, rain_mm=seen)
    tell(garden, GaugeTotal(FIRST, FIRST + 24 * HOUR, 14.0))
    found = series(garden)
    expected = np.zeros(48)
    expected[[3, 5]] = [3.5, 10.5]
    np.testing.assert_allclose(found["rain_mm"], expected)
    assert found["rain_mm_from"][3] == (
        "spread from a gauge of 14 mm, by the rain another source saw")
    assert found["rain_mm_kind"].tolist() == ["instrument"] * 24 + ["analysis"] * 24
    assert found["rain_mm_issued"][0] == np.datetime64(to_seconds(FIRST + 24 * HOUR), "s")
    assert found["rain_mm_issued"][30] == np.datetime64(to_seconds(FIRST), "s")


@pytest.mark.parametrize("seen", [np.zeros(48), np.full(48, np.nan)])
def test_it_is_spread_evenly_where_none_was_seen(garden, seen):
    served(garden, rain_mm=seen, temp_c=np.ones(48))
    tell(garden, GaugeTotal(FIRST, FIRST + 28 * HOUR, 14.0))
    found = series(garden)
    np.testing.assert_allclose(found["rain_mm"][:28], 0.5)
    assert found["rain_mm_from"][0] == "spread from a gauge of 14 mm, evenly"
    np.testing.assert_array_equal(found["rain_mm"][28:], seen[28:])


def test_an_empty_gauge_overrules_the_rain_of_a_service(garden):
    served(garden, rain_mm=np.ones(48))
    tell(garden, GaugeTotal(FIRST, FIRST + 24 * HOUR, 0.0))
    assert series(garden)["rain_mm"].sum() == 24.0


def test_without_any_service_a_gauge_stands_alone(garden):
    tell(garden, GaugeTotal(FIRST + 30 * timedelta(minutes=1), FIRST + 10 * HOUR, 19.0))
    found = series(garden)
    np.testing.assert_allclose(found["rain_mm"], [1.0, *[2.0] * 9])
    assert np.isnan(found["temp_c"]).all()


def test_an_hour_is_the_same_in_whichever_span_it_is_asked_for(garden):
    served(garden, rain_mm=np.arange(48) % 5, temp_c=10 + np.arange(48) % 7)
    tell(garden, GaugeTotal(FIRST, FIRST + 20 * HOUR, 14.0),
         GaugeTotal(FIRST + 20 * HOUR, FIRST + 40 * HOUR, 3.0),
         MinMax(FIRST + 5 * HOUR, FIRST + 25 * HOUR, 2.0, 30.0))
    whole, part = series(garden), series(garden, first=FIRST + 17 * HOUR, hours=9)
    for name, column in part.items():
        np.testing.assert_array_equal(column, whole[name][17:26])


def test_a_reading_made_later_does_not_count(garden):
    served(garden, rain_mm=np.ones(48))
    tell(garden, GaugeTotal(FIRST, FIRST + 24 * HOUR, 0.0))
    assert series(garden, at=FIRST + 23 * HOUR)["rain_mm"].sum() == 48.0
    assert series(garden, at=FIRST + 24 * HOUR)["rain_mm"].sum() == 24.0


def test_a_thermometer_stretches_the_hours_to_its_range(garden):
    temp = 15 + 5 * np.sin(np.arange(48) / 24 * 2 * np.pi)
    served(garden, temp_c=temp, vapour_kpa=np.full(48, 1.2))
    tell(garden, MinMax(FIRST, FIRST + 24 * HOUR, 8.0, 24.0))
    found = series(garden)
    assert (found["temp_c"][:24].min(), found["temp_c"][:24].max()) == (8.0, 24.0)
    np.testing.assert_allclose(found["temp_c"][:24], 8 + (temp[:24] - 10) * 1.6)
    np.testing.assert_array_equal(found["temp_c"][24:], temp[24:])
    assert found["vapour_kpa"].min() < 1.2  # 8 °C cannot hold it
    assert found["temp_c_source"][0] == "min-max thermometer"


def test_it_leaves_hours_of_an_own_station_alone(garden):
    served(garden, kind="instrument", temp_c=np.arange(48.0) % 20)
    tell(garden, MinMax(FIRST, FIRST + 24 * HOUR, 8.0, 24.0))
    np.testing.assert_array_equal(series(garden)["temp_c"], np.arange(48.0) % 20)


def test_undoing_the_entry_takes_the_reading_back(garden):
    served(garden, rain_mm=np.ones(48))
    before = garden.weather_revision()
    entry = tell(garden, GaugeTotal(FIRST, FIRST + 24 * HOUR, 0.0))
    between = garden.weather_revision()
    garden.undo(NOW, entry)
    assert series(garden)["rain_mm"].sum() == 48.0
    assert garden.readings() == []
    assert len({before, between, garden.weather_revision()}) == 3
    tell(garden, GaugeTotal(FIRST, FIRST + 24 * HOUR, 24.0))  # the span is free again
    assert len(garden.readings()) == 1


@pytest.mark.parametrize("start", [-12, 0, 12, 23])
def test_spans_that_meet_are_refused_and_nothing_is_kept(garden, start):
    tell(garden, GaugeTotal(FIRST, FIRST + 24 * HOUR, 5.0))
    begin = FIRST + start * HOUR
    with pytest.raises(Refused, match="meets the reading from 2026-06-29"):
        tell(garden, GaugeTotal(begin, begin + 20 * HOUR, 1.0))
    assert len(garden.readings()) == 1
    tell(garden, GaugeTotal(FIRST + 24 * HOUR, FIRST + 30 * HOUR, 1.0),
         MinMax(FIRST, FIRST + 24 * HOUR, 1.0, 2.0))
    assert len(garden.readings()) == 3


def test_a_station_s_layout_is_kept_as_it_was_told_last(garden):
    layout = Layout("Zeit", (Column("Temp", "temp_c", "°C"), Column("Wind", "wind_ms", "km/h")),
                    "Europe/Berlin", "%d.%m.%Y %H:%M", wind_height_m=2.0, decimal_comma=True)
    for name, told in (("roof", Layout("t", ())), ("roof", layout), ("shed", Layout("t", ()))):
        with garden.entry(NOW, "told of a station") as entry:
            garden.add_station(entry.id, name, told.told())
    assert list(garden.stations()) == ["roof", "shed"]
    assert Layout.of(garden.stations()["roof"]) == layout
    garden.undo(NOW, entry.id - 1)
    assert Layout.of(garden.stations()["roof"]) == Layout("t", ())


def test_a_setting_is_what_was_set_last(garden):
    assert garden.setting("contact") == ""
    for value in ("a@example.org", "b@example.org"):
        with garden.entry(NOW, "set the contact") as entry:
            garden.add_setting(entry.id, "contact", value)
    assert garden.setting("contact") == "b@example.org"
    garden.undo(NOW)
    assert garden.setting("contact") == "a@example.org"
    with garden.entry(NOW, "unset it") as entry:
        garden.add_setting(entry.id, "contact", "")
    assert garden.setting("contact") == ""


@pytest.mark.parametrize("value", [" a", "a\nb", "x" * 201])
def test_a_setting_of_more_than_a_line_is_refused(garden, value):
    with (pytest.raises(Refused, match="one line of 1 to 200"),
          garden.entry(NOW, "set the contact") as entry):
        garden.add_setting(entry.id, "contact", value)
    assert garden.setting("contact") == ""


def test_a_gauge_makes_no_difference_far_away(garden):
    served(garden, rain_mm=np.ones(48))
    tell(garden, GaugeTotal(FIRST, FIRST + 2 * HOUR, 0.0))
    found = series(garden, first=FIRST + 2 * HOUR, hours=10)
    assert found["hour"][0] == to_seconds(from_seconds(int(STAMPS[2])))
    np.testing.assert_array_equal(found["rain_mm"], np.ones(10))
