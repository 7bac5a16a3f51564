"""Imported weather: all is kept, the newest source wins value by value."""

from datetime import timedelta

import numpy as np
import pytest
from garden.told import NOW, start
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.schema import WEATHER_VALUES
from advisor.garden.store import Garden, Source
from advisor.garden.weather_store import WITH_ORIGIN

NAN = np.nan
FIRST = to_seconds(NOW.replace(minute=0))
HOUR = timedelta(hours=1)


def table(first, **columns):
    n = len(next(iter(columns.values())))
    return {"hour": first + 3600 * np.arange(n),
            **{name: np.asarray(values) for name, values in columns.items()}}


def span(garden, hours=100, at=None):
    start = from_seconds(FIRST) - 50 * HOUR
    return garden.weather(start, start + (50 + hours) * HOUR, at)


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        yield garden


def test_no_weather_is_empty_columns(garden):
    found = span(garden)
    assert set(found) == {"hour", *WEATHER_VALUES, *(f"{n}_from" for n in WITH_ORIGIN),
                          *(f"{n}_source" for n in WITH_ORIGIN)}
    assert all(len(column) == 0 for column in found.values())
    assert garden.weather_revision() == 0


def test_a_table_comes_back_with_its_origins(garden):
    words = np.array(["measured", "between neighbours", ""], dtype=object)
    garden.save_weather(Source("station"), table(FIRST, temp_c=[1.5, 2.25, NAN], temp_c_from=words,
                                                 rain_mm=[0.0, NAN, 1.0]), NOW)
    found = span(garden)
    np.testing.assert_array_equal(found["hour"], FIRST + 3600 * np.arange(3))
    np.testing.assert_array_equal(found["temp_c"], [1.5, 2.25, NAN])
    assert found["temp_c_from"].tolist() == words.tolist()
    assert found["temp_c_source"].tolist() == ["station", "station", ""]
    np.testing.assert_array_equal(found["rain_mm"], [0.0, NAN, 1.0])
    assert np.isnan(found["ghi_wm2"]).all()


def test_the_newest_source_wins_where_it_knows_something(garden):
    garden.save_weather(Source("old"), table(FIRST, temp_c=[1.0, 2.0, 3.0], wind_ms=[4.0, 4.0, 4.0],
                                             wind_height_m=[10.0, 10.0, 10.0]), NOW)
    garden.save_weather(Source("new"), table(FIRST + 3600, temp_c=[20.0, NAN], wind_ms=[1.0, NAN],
                                             wind_height_m=[NAN, 2.0]), NOW)
    found = span(garden)
    np.testing.assert_array_equal(found["temp_c"], [1.0, 20.0, 3.0])
    assert found["temp_c_source"].tolist() == ["old", "new", "old"]
    np.testing.assert_array_equal(found["wind_ms"], [4.0, 1.0, 4.0])
    np.testing.assert_array_equal(found["wind_height_m"], [10.0, NAN, 10.0])  # goes with the wind
    assert garden._rows("SELECT count(*) FROM weather") == [(5,)]  # both are kept


def test_hours_between_two_tables_are_unknown(garden):
    garden.save_weather(Source("a"), table(FIRST, temp_c=[1.0]), NOW)
    garden.save_weather(Source("b"), table(FIRST + 3 * 3600, temp_c=[4.0]), NOW)
    np.testing.assert_array_equal(span(garden)["temp_c"], [1.0, NAN, NAN, 4.0])


def test_the_end_is_left_out(garden):
    garden.save_weather(Source("a"), table(FIRST, temp_c=[1.0, 2.0, 3.0]), NOW)
    first = from_seconds(FIRST)
    assert garden.weather(first + HOUR, first + 2 * HOUR)["temp_c"].tolist() == [2.0]


def test_a_forecast_issued_later_does_not_count(garden):
    garden.save_weather(Source("file"), table(FIRST, temp_c=[1.0]), NOW)
    garden.save_weather(Source("forecast", issued_at=NOW), table(FIRST, temp_c=[9.0]), NOW)
    assert span(garden, at=NOW - HOUR)["temp_c"].tolist() == [1.0]
    assert span(garden, at=NOW)["temp_c"].tolist() == [9.0]
    assert span(garden)["temp_c"].tolist() == [9.0]


def test_the_newest_source_given_again_is_not_kept_twice(garden):
    one, two = Source("a", digest="1"), Source("b", digest="2")
    first = garden.save_weather(one, table(FIRST, temp_c=[1.0]), NOW)
    assert garden.save_weather(one, table(FIRST, temp_c=[1.0]), NOW) == first
    garden.save_weather(two, table(FIRST, temp_c=[2.0]), NOW)
    garden.save_weather(one, table(FIRST, temp_c=[1.0]), NOW)
    assert span(garden)["temp_c"].tolist() == [1.0]
    assert garden.weather_revision() == 3


def test_sources_and_revisions_are_told(garden):
    revision = garden.revision()
    source = Source("s", "a station", "CC BY 4.0", "d", NOW, 52.0, 13.0, 40.0)
    garden.save_weather(source, table(FIRST, temp_c=[1.0]), NOW)
    assert garden.weather_sources() == [source]
    assert (garden.revision(), garden.weather_revision()) == (revision + 1, 1)


def test_a_table_is_kept_whole_or_not_at_all(garden):
    wrong = {"hour": np.array([FIRST]), "temp_c": np.ones(1), "rain_mm": np.zeros(2)}
    with pytest.raises(ValueError, match="zip"):
        garden.save_weather(Source("a"), wrong, NOW)
    assert garden.weather_sources() == []


@pytest.mark.parametrize("hours", [[0, 0], [3600, 0], [0, 1800]])
def test_hours_out_of_order_are_a_slip_of_the_caller(garden, hours):
    with pytest.raises(ValueError, match="order"):
        garden.save_weather(Source("a"), {"hour": np.array(hours), "temp_c": np.ones(2)}, NOW)


def test_a_read_only_garden_takes_no_weather(garden):
    with Garden.open(garden.path, readonly=True) as other, pytest.raises(
            Refused, match="read-only"):
        other.save_weather(Source("a"), table(FIRST, temp_c=[1.0]), NOW)


VALUES = st.lists(st.floats(-50, 50) | st.just(NAN), min_size=6, max_size=6)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 20), VALUES), min_size=1, max_size=4))
def test_merging_is_laying_one_over_the_other(tmp_path_factory, tables):
    expected = {}
    with start(tmp_path_factory.mktemp("w") / "garden.db") as garden:
        for k, (shift, values) in enumerate(tables):
            garden.save_weather(Source(str(k)), table(FIRST + shift * 3600, temp_c=values), NOW)
            for i, value in enumerate(values):
                if not np.isnan(value):
                    expected[FIRST + (shift + i) * 3600] = (value, str(k))
        found = span(garden)
    known = ~np.isnan(found["temp_c"])
    stamps = found["hour"][known].tolist()
    assert dict(zip(stamps, zip(found["temp_c"][known], found["temp_c_source"][known],
                                strict=True), strict=True)) == expected
    assert np.all(np.diff(found["hour"]) == 3600)
