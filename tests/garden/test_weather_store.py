"""Imported weather: all is kept, the newest source wins value by value."""

from datetime import timedelta

import numpy as np
import pytest
from garden.told import NOW, start
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.merge import TOLD, WITH_ORIGIN
from advisor.garden.schema import WEATHER_VALUES
from advisor.garden.store import Garden, Source
from advisor.units import LIMITS
from advisor.weather.gauge import GaugeTotal
from advisor.weather.vapour import saturation_kpa

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
    assert set(found) == {"hour", *WEATHER_VALUES,
                          *(f"{n}_{told}" for n in WITH_ORIGIN for told in TOLD)}
    assert all(len(column) == 0 for column in found.values())
    assert garden.weather_revision() == ""


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


def issued(kind, at=NOW, **told):
    return Source(f"a {kind}", kind=kind, issued_at=at, **told)


def test_a_forecast_issued_later_does_not_count(garden):
    garden.save_weather(issued("forecast", NOW - 5 * HOUR), table(FIRST, temp_c=[1.0]), NOW)
    garden.save_weather(issued("forecast"), table(FIRST, temp_c=[9.0]), NOW)
    assert span(garden, at=NOW - HOUR)["temp_c"].tolist() == [1.0]
    assert span(garden, at=NOW)["temp_c"].tolist() == [9.0]
    assert span(garden)["temp_c"].tolist() == [9.0]


KINDS = ("forecast", "analysis", "station", "instrument")


@pytest.mark.parametrize(("low", "high"), list(zip(KINDS, KINDS[1:], strict=False)))
@pytest.mark.parametrize("order", [1, -1])
def test_what_is_nearer_to_the_pot_replaces_what_is_farther(garden, low, high, order):
    tables = [(issued(low, NOW + HOUR), table(FIRST, temp_c=[1.0, 2.0, 3.0])),
              (issued(high), table(FIRST, temp_c=[11.0, NAN, 13.0]))]
    for source, hours in tables[::order]:
        garden.save_weather(source, hours, NOW)
    found = span(garden)
    assert found["temp_c"].tolist() == [11.0, 2.0, 13.0]  # unknown replaces nothing
    assert found["temp_c_kind"].tolist() == [high, low, high]
    assert found["temp_c_source"].tolist() == [f"a {high}", f"a {low}", f"a {high}"]
    whens = [NOW, NOW + HOUR, NOW]
    assert found["temp_c_issued"].astype(int).tolist() == [to_seconds(at) for at in whens]


def test_a_file_counts_like_a_station_and_as_known_at_any_time(garden):
    garden.save_weather(Source("file"), table(FIRST, temp_c=[1.0]), NOW)
    garden.save_weather(issued("forecast", NOW + HOUR), table(FIRST, temp_c=[9.0]), NOW)
    for at in (NOW - 99 * HOUR, NOW + HOUR, None):
        found = span(garden, at=at)
        assert found["temp_c"].tolist() == [1.0]
        assert found["temp_c_kind"].tolist() == ["file"]
        assert np.isnat(found["temp_c_issued"]).all()
    garden.save_weather(issued("station", NOW + HOUR), table(FIRST, temp_c=[2.0]), NOW)
    assert span(garden)["temp_c"].tolist() == [2.0]  # of one rank, the later


def test_what_was_replaced_can_be_asked(garden):
    tuesday = NOW - 48 * HOUR
    garden.save_weather(issued("forecast", tuesday), table(FIRST, temp_c=[5.0], rain_mm=[3.0]),
                        tuesday)
    garden.save_weather(issued("station", NOW + 9 * HOUR), table(FIRST, temp_c=[8.0]), NOW)
    believed, known = span(garden, at=tuesday), span(garden)
    assert (believed["temp_c"].tolist(), known["temp_c"].tolist()) == ([5.0], [8.0])
    assert known["rain_mm"].tolist() == [3.0]
    layers, _ = garden.layers(from_seconds(FIRST), from_seconds(FIRST) + HOUR)
    assert sorted(layer.values["temp_c"].tolist() for layer in layers) == [[5.0], [8.0]]


def test_vapour_of_one_source_is_held_to_the_air_of_another(garden):
    garden.save_weather(issued("forecast"), table(FIRST, temp_c=[30.0], vapour_kpa=[4.0]), NOW)
    garden.save_weather(issued("station"), table(FIRST, temp_c=[10.0]), NOW)
    found = span(garden)
    np.testing.assert_array_equal(found["vapour_kpa"], saturation_kpa(10.0))


def test_possible_futures_are_kept_beside_the_series(garden):
    for at, shift in ((NOW - HOUR, 0.0), (NOW, 10.0)):
        for number in (0, 1):
            garden.save_weather(issued("ensemble", at, member=number),
                                table(FIRST, temp_c=[shift + number]), NOW)
    assert len(span(garden)["hour"]) == 0
    found = garden.possible_futures()
    assert {number: each["temp_c"].tolist() for number, each in found.items()} == {
        0: [10.0], 1: [11.0]}
    earlier = garden.possible_futures(NOW - HOUR)
    assert earlier[1]["temp_c"].tolist() == [1.0]
    assert garden.possible_futures(NOW - 2 * HOUR) == {}


def test_the_same_issue_is_not_kept_twice(garden):
    first = garden.save_weather(issued("forecast"), table(FIRST, temp_c=[1.0]), NOW)
    garden.save_weather(issued("forecast", NOW + HOUR), table(FIRST, temp_c=[2.0]), NOW)
    assert garden.save_weather(issued("forecast"), table(FIRST, temp_c=[1.0]), NOW) == first
    assert garden.weather_revision() == "2.2.0"


def test_a_value_beyond_its_limits_is_refused_and_nothing_kept(garden):
    with pytest.raises(Refused, match=r"rain, 2026-07-01T06:00Z: 151 mm in an hour"):
        garden.save_weather(issued("station"), table(FIRST, rain_mm=[1.0, 151.0]), NOW)
    assert garden.weather_sources() == []


def test_a_kind_that_is_none_is_a_slip_of_the_caller(garden):
    with pytest.raises(ValueError, match="no kind"):
        garden.save_weather(issued("rumour"), table(FIRST, temp_c=[1.0]), NOW)


def test_doubts_name_source_reason_and_what_is_used_instead(garden):
    aside = np.array(["", "set aside: stuck for 9 h", "set aside: stuck for 9 h"], dtype=object)
    garden.save_weather(issued("station"), table(
        FIRST, temp_c=[1.0, NAN, NAN], temp_c_from=aside), NOW)
    garden.save_weather(issued("analysis"), table(FIRST, temp_c=[4.0, 5.0, 6.0]), NOW)
    (doubt,) = garden.doubts(from_seconds(FIRST), from_seconds(FIRST) + 9 * HOUR)
    assert (doubt.value, doubt.source, doubt.why) == (
        "temp_c", "a station", "stuck for 9 h")
    assert (doubt.first, doubt.hours, doubt.instead) == (FIRST + 3600, 2, ("a analysis",))
    assert span(garden)["temp_c"].tolist() == [1.0, 5.0, 6.0]


def test_the_newest_source_given_again_is_not_kept_twice(garden):
    one, two = Source("a", digest="1"), Source("b", digest="2")
    first = garden.save_weather(one, table(FIRST, temp_c=[1.0]), NOW)
    assert garden.save_weather(one, table(FIRST, temp_c=[1.0]), NOW) == first
    garden.save_weather(two, table(FIRST, temp_c=[2.0]), NOW)
    garden.save_weather(one, table(FIRST, temp_c=[1.0]), NOW)
    assert span(garden)["temp_c"].tolist() == [1.0]
    assert garden.weather_revision() == "3.3.0"


def test_sources_and_revisions_are_told(garden):
    revision = garden.revision()
    source = Source("s", "a station", "CC BY 4.0", "d", NOW, 52.0, 13.0, 40.0, "station", 3,
                    "Data from S")
    garden.save_weather(source, table(FIRST, temp_c=[1.0]), NOW)
    assert garden.weather_sources() == [source]
    assert (garden.revision(), garden.weather_revision()) == (revision + 1, "1.1.0")


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


LIKELY = {"temp_c": st.floats(-20, 40), "vapour_kpa": st.floats(0, 7), "rain_mm": st.floats(0, 150)}
HOURS = 6


@st.composite
def arrivals(draw):
    """Draw a mixture of sources with gaps: (source, hours, when it came)."""
    told = []
    for k in range(draw(st.integers(1, 5))):
        kind = draw(st.sampled_from([*KINDS, "file", "ensemble"]))
        at = NOW + draw(st.integers(-3, 3)) * HOUR
        source = Source(draw(st.sampled_from("ab")), kind=kind,
                        issued_at=None if kind == "file" else at)
        columns = {name: draw(st.lists(each | st.just(NAN), min_size=HOURS, max_size=HOURS))
                   for name, each in LIKELY.items()}
        hours = table(FIRST + 3600 * draw(st.integers(0, 12)), **columns)
        told.append((source, hours, NOW + timedelta(seconds=k)))
    return told


@settings(max_examples=40, deadline=None)
@given(arrivals(), st.randoms(use_true_random=False),
       st.lists(st.tuples(st.integers(0, 9), st.floats(0, 100)), max_size=1))
def test_any_mixture_gives_one_series_whatever_came_first(tmp_path_factory, told, chance, gauge):
    shuffled = chance.sample(told, len(told))
    found = []
    for k, order in enumerate((told, shuffled)):
        with start(tmp_path_factory.mktemp("w") / f"{k}.db") as garden:
            for source, hours, at in order:
                garden.save_weather(source, hours, at)
            for first, mm in gauge:
                begin = from_seconds(FIRST) + first * HOUR
                late = begin + 99 * HOUR
                with garden.entry(late, "read the gauge") as entry:
                    garden.add_reading(entry.id, GaugeTotal(begin, begin + 3 * HOUR, mm), late)
            found.append(span(garden))
    one, other = found
    for name, column in one.items():
        np.testing.assert_array_equal(column, other[name])
    assert np.all(np.diff(one["hour"]) == 3600)  # complete, in order, each once
    for name in WEATHER_VALUES:
        known = one[name][~np.isnan(one[name])]
        assert ((known >= LIMITS[name].low) & (known <= LIMITS[name].high + 1e-9)).all()
    both = ~np.isnan(one["temp_c"]) & ~np.isnan(one["vapour_kpa"])
    assert (one["vapour_kpa"][both] <= saturation_kpa(one["temp_c"][both])).all()
    for name in WITH_ORIGIN:
        assert ((one[f"{name}_kind"] == "") == np.isnan(one[name])).all()


def test_a_revision_at_an_instant_counts_what_was_issued_by_then(garden):
    garden.save_weather(issued("forecast"), table(FIRST, temp_c=[1.0]), NOW)
    then = garden.weather_revision(NOW)
    garden.save_weather(issued("forecast", NOW + HOUR), table(FIRST, temp_c=[2.0]), NOW + HOUR)
    assert garden.weather_revision(NOW) == then != garden.weather_revision()
