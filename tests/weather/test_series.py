"""The hourly table: complete, in order, within limits, and honest about its values."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import ManyRefused, Refused
from advisor.units import CONVERSIONS, LIMITS
from advisor.weather.series import COLUMNS, TABLE, Raw, build, doubts
from advisor.weather.vapour import saturation_kpa

START = pd.Timestamp("2026-07-01T05:00Z")


def table(
    columns: dict[str, list[Any]], start: pd.Timestamp = START, **kwargs: Any
) -> pd.DataFrame:
    length = len(next(iter(columns.values())))
    index = pd.date_range(start, periods=length, freq="h")
    return build(Raw(pd.DataFrame(columns, index=index), **kwargs))


def test_the_table_has_its_columns_and_index() -> None:
    hours = table({"temp_c": [14.0, 15.0]})
    assert tuple(hours.columns) == TABLE
    assert hours.index.name == "hour"
    assert str(hours.index.dtype) == "datetime64[ns, UTC]"
    assert list(hours["temp_c_from"]) == ["file", "file"]
    assert list(hours["rain_mm_from"]) == ["", ""]
    assert all(hours[column].dtype == np.float64 for column in COLUMNS)


WRITTEN = {  # one value in every unit, by hand from the units' definitions
    "temp_c": (20.0, {"C": 20, "°C": 20, "F": 68, "°F": 68, "K": 293.15}),
    "dew_c": (10.0, {"C": 10, "°C": 10, "F": 50, "°F": 50, "K": 283.15}),
    "wind_ms": (5.0, {"m/s": 5, "km/h": 18, "mph": 11.184681, "kn": 9.719222}),
    "rain_mm": (25.4, {"mm": 25.4, "in": 1, "0.1mm": 254, "cm": 2.54}),
    "ghi_wm2": (
        500.0,
        {
            "W/m2": 500,
            "W/m²": 500,
            "Wh/m2": 500,
            "kWh/m2": 0.5,
            "MJ/m2": 1.8,
            "J/cm2": 180,
            "langley": 43.021033,
        },
    ),
    "pressure_kpa": (101.3, {"kPa": 101.3, "hPa": 1013, "mbar": 1013, "Pa": 101300}),
    "cloud_share": (0.5, {"share": 0.5, "%": 50, "octas": 4, "tenths": 5}),
    "humidity_pct": (50.0, {"%": 50, "share": 0.5}),
    "vapour_kpa": (1.2, {"kPa": 1.2, "hPa": 12, "mbar": 12, "Pa": 1200}),
    "wind_height_m": (3.048, {"m": 3.048, "ft": 10}),
}


@pytest.mark.parametrize("quantity", WRITTEN)
def test_every_unit_of_a_column_gives_the_same_row(quantity: str) -> None:
    inside, units = WRITTEN[quantity]
    assert set(units) == set(CONVERSIONS[quantity])
    shown = {"dew_c": "vapour_kpa", "humidity_pct": "vapour_kpa"}.get(quantity, quantity)
    expected = {
        "dew_c": float(saturation_kpa(10.0)),
        "humidity_pct": 0.5 * float(saturation_kpa(20.0)),
    }.get(quantity, inside)
    for unit, value in units.items():
        row = {"temp_c": [20.0], "wind_ms": [5.0]} | {quantity: [float(value)]}
        hours = table(row, units={quantity: unit})
        assert hours[shown].iloc[0] == pytest.approx(expected, rel=1e-7)


def test_a_stamp_at_the_end_of_its_hour_moves_to_the_start() -> None:
    hours = table({"temp_c": [14.0], "rain_mm": [2.0]}, period="end")
    assert hours.index[0] == START - pd.Timedelta(hours=1)
    assert hours["rain_mm"].iloc[0] == 2.0


def test_readings_at_the_end_of_the_hour_become_means_of_its_ends() -> None:
    hours = table(
        {"temp_c": [10.0, 14.0, 20.0], "ghi_wm2": [0.0, 100.0, 300.0]}, period="end", instants=True
    )
    assert list(hours["temp_c"]) == [10.0, 12.0, 17.0]
    assert list(hours["ghi_wm2"]) == [0.0, 100.0, 300.0]


def test_a_bridged_reading_is_told_in_both_hours_that_it_touches() -> None:
    hours = table({"temp_c": [10.0, np.nan, 20.0, 20.0]}, period="end", instants=True)
    assert list(hours["temp_c"]) == [10.0, 12.5, 17.5, 20.0]
    assert list(hours["temp_c_from"]) == [
        "file",
        "between neighbours",
        "between neighbours",
        "file",
    ]


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ({"vapour_kpa": [1.0], "dew_c": [10.0], "humidity_pct": [90.0]}, 1.0),
        ({"dew_c": [10.0], "humidity_pct": [90.0]}, 1.2280),  # e°(10 °C), FAO-56 Annex 2 table 2.3
        ({"humidity_pct": [50.0]}, 1.1691),  # half of e°(20 °C) 2.3383
        ({"vapour_kpa": [np.nan], "dew_c": [np.nan], "humidity_pct": [50.0]}, 1.1691),
        ({"humidity_pct": [102.0]}, 2.3383),  # a wet sensor: saturated
        ({"dew_c": [20.4]}, 2.3383),  # within the sensors' errors: saturated
        ({}, np.nan),
    ],
)
def test_vapour_comes_from_the_best_humidity(row: dict[str, list[float]], expected: float) -> None:
    hours = table({"temp_c": [20.0], **row})
    assert hours["vapour_kpa"].iloc[0] == pytest.approx(expected, abs=5e-5, nan_ok=True)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"temp_c": [99.0]}, "air temperature: 99 °C. Wanted: -60 to 60 °C"),
        ({"wind_ms": [-5.0]}, "wind speed: -5 m/s. Wanted: 0 to 60 m/s"),
        ({"wind_ms": [61.0]}, "0 to 60 m/s"),
        ({"humidity_pct": [103.0]}, "0 to 102 %"),
        ({"humidity_pct": [-1.0]}, "0 to 102 %"),
        ({"rain_mm": [-1.0]}, "rain: -1 mm"),
        ({"ghi_wm2": [2000.0]}, "global radiation: 2000 W/m²"),
        ({"cloud_share": [1.2]}, "cloud"),
        ({"pressure_kpa": [1013.0]}, "air pressure at the place: 1013 kPa"),
        ({"temp_c": [float("inf")]}, "inf °C"),
        ({"dew_c": [20.6]}, "dew point: 20.6 °C. Wanted: at most 0.5 °C above the air, 20.0"),
        ({"vapour_kpa": [3.0]}, "vapour pressure: 3.000 kPa"),
        ({"wind_ms": [3.0], "wind_height_m": [0.1]}, "height of the wind sensor: 0.1 m"),
    ],
)
def test_the_impossible_is_refused_by_line_column_value_and_rule(
    row: dict[str, list[float]], words: str
) -> None:
    with pytest.raises(Refused) as refusal:
        table({"temp_c": [20.0]} | row, name="a.csv", lines=[7])
    assert str(refusal.value).startswith("a.csv, line 7, ")
    assert words in str(refusal.value)


def test_every_refused_row_is_listed() -> None:
    with pytest.raises(ManyRefused) as refusal:
        table({"temp_c": [20.0, 99.0, 20.0], "wind_ms": [-1.0, 1.0, 75.0]}, lines=[2, 3, 4])
    assert [str(one).split(":")[0] for one in refusal.value.refusals] == [
        "line 3, air temperature",
        "line 2, wind speed",
        "line 4, wind speed",
    ]


def test_the_impossible_can_be_set_aside_and_is_bridged_and_told() -> None:
    hours = table(
        {"temp_c": [20.0] * 3, "wind_ms": [1.0, 75.0, 3.0], "rain_mm": [0.0, -1.0, 0.0]},
        bad="set aside",
    )
    assert list(hours["wind_ms"]) == [1.0, 2.0, 3.0]
    assert np.isnan(hours["rain_mm"].iloc[1])
    assert doubts(hours) == (
        "wind speed: 1 hour between neighbours (set aside: 75 m/s (0 to 60 m/s)), "
        "2026-07-01T06:00Z",
        "rain: 1 hour set aside: -1 mm in an hour (0 to 150 mm in an hour), 2026-07-01T06:00Z",
    )


@pytest.mark.parametrize(("length", "filled"), [(1, True), (3, True), (4, False)])
def test_holes_of_up_to_three_hours_are_bridged(length: int, filled: bool) -> None:
    temps = [10.0, *[np.nan] * length, 10.0 + length + 1]
    hours = table({"temp_c": temps, "wind_ms": temps, "ghi_wm2": [100.0] * len(temps)})
    inside = hours.iloc[1:-1]
    for column in ("temp_c", "wind_ms"):
        assert inside[column].notna().all() == filled
        assert set(inside[f"{column}_from"]) == {"between neighbours" if filled else ""}
    if filled:
        assert list(hours["temp_c"]) == [10.0 + i for i in range(len(temps))]
        assert hours["wind_height_m"].notna().all()


def test_holes_at_the_ends_and_in_rain_stay() -> None:
    hours = table(
        {
            "temp_c": [np.nan, 10.0, 11.0, np.nan],
            "rain_mm": [0.0, np.nan, 0.0, 0.0],
            "ghi_wm2": [0.0, np.nan, 0.0, 0.0],
        }
    )
    assert list(hours["temp_c"].isna()) == [True, False, False, True]
    assert np.isnan(hours["rain_mm"].iloc[1])
    assert np.isnan(hours["ghi_wm2"].iloc[1])


def test_missing_rows_become_hours() -> None:
    index = pd.DatetimeIndex(["2026-07-01T05:00Z", "2026-07-01T08:00Z", "2026-07-01T20:00Z"])
    hours = build(Raw(pd.DataFrame({"temp_c": [10.0, 13.0, 20.0]}, index=index)))
    assert len(hours) == 16
    assert list(hours["temp_c"].iloc[:4]) == [10.0, 11.0, 12.0, 13.0]
    assert hours["temp_c"].iloc[4:15].isna().all()


@pytest.mark.parametrize(
    ("stamps", "words"),
    [
        (["2026-07-01T05:00Z", "2026-07-01T05:00Z"], "line 2, hour: .*the same hour as the line"),
        (["2026-07-01T05:00Z", "2026-07-01T04:00Z"], "earlier than the line before"),
        (["2026-07-01T05:00Z", "2026-07-01T05:15Z"], "less than an hour"),
        (["2026-07-01T05:00Z", "2062-07-01T05:00Z"], "more than 400 days"),
        (["2026-07-01T05:07Z", "2026-07-01T06:07Z"], "full quarter"),
    ],
)
def test_stamps_out_of_order_are_refused(stamps: list[str], words: str) -> None:
    frame = pd.DataFrame({"temp_c": [10.0, 11.0]}, index=pd.DatetimeIndex(stamps))
    with pytest.raises(Refused, match=words):
        build(Raw(frame))


def test_naive_stamps_and_no_rows_are_refused() -> None:
    naive = pd.DataFrame({"temp_c": [10.0]}, index=pd.DatetimeIndex(["2026-07-01 05:00"]))
    with pytest.raises(Refused, match="instants that know their zone"):
        build(Raw(naive))
    with pytest.raises(Refused, match="no rows"):
        build(Raw(naive.iloc[:0]))


def test_half_hour_zones_are_laid_onto_whole_hours_and_keep_their_rain() -> None:
    start = pd.Timestamp("2026-07-01T05:30Z")
    hours = table({"temp_c": [10.0, 20.0], "rain_mm": [4.0, 2.0]}, start=start)
    assert list(hours.index.hour) == [5, 6, 7]
    assert list(hours["temp_c"]) == [10.0, 15.0, 20.0]
    assert list(hours["rain_mm"]) == [2.0, 3.0, 1.0]
    assert list(hours["temp_c_from"]) == ["file"] * 3


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Australia/Lord_Howe", "2026-04-05", 24.5),
        ("Australia/Lord_Howe", "2026-10-04", 23.5),
        ("Asia/Kathmandu", "2026-07-01", 24.0),
    ],
)
def test_a_day_in_a_zone_of_half_and_quarter_hours_keeps_its_rain(
    zone: str, day: str, hours: float
) -> None:
    start = pd.Timestamp(day, tz=zone)
    end = start + pd.DateOffset(days=1)
    assert (end - start) / pd.Timedelta(hours=1) == hours
    index = pd.date_range(start, end, freq="h", inclusive="left").tz_convert("UTC")
    frame = pd.DataFrame({"temp_c": 12.0, "rain_mm": 1.0}, index=index)
    found = build(Raw(frame))
    assert found["rain_mm"].sum() == pytest.approx(len(index), abs=1e-12)
    assert found["temp_c"].to_numpy() == pytest.approx(12.0)


def test_a_day_without_any_sun_is_not_known_except_in_the_polar_night() -> None:
    columns = {"temp_c": [5.0] * 24, "ghi_wm2": [0.0] * 24}
    midnight = pd.Timestamp("2026-12-01T00:00Z")
    hours = table(columns, start=midnight, latitude_deg=52.0)
    assert hours["ghi_wm2"].isna().all()
    assert set(hours["ghi_wm2_from"]) == {"set aside: nil all day"}
    assert table(columns, start=midnight, latitude_deg=70.0)["ghi_wm2"].notna().all()
    columns["ghi_wm2"][12] = 1.0
    assert table(columns, start=midnight)["ghi_wm2"].notna().all()


def test_a_year_without_any_rain_is_not_known() -> None:
    dry = {"temp_c": [5.0] * 8760, "rain_mm": [0.0] * 8760}
    hours = table(dry)
    assert hours["rain_mm"].isna().all()
    assert "rain: 8760 hours set aside: nil all year" in doubts(hours)[0]
    dry["rain_mm"][100] = 0.2
    assert table(dry)["rain_mm"].notna().all()
    month = {"temp_c": [5.0] * 720, "rain_mm": [0.0] * 720}
    assert table(month)["rain_mm"].notna().all()


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.one_of(st.just(np.nan), st.floats(low, high, width=32))


@st.composite
def rows(draw: st.DrawFn) -> pd.DataFrame:
    steps = draw(st.lists(st.integers(1, 30), min_size=1, max_size=30))
    quarter = draw(st.integers(0, 3))
    start = draw(st.datetimes(pd.Timestamp("1990-01-01"), pd.Timestamp("2040-01-01")))
    first = pd.Timestamp(start).floor("h").tz_localize("UTC") + quarter * pd.Timedelta("15min")
    index = first + pd.to_timedelta(np.cumsum(steps), unit="h")
    wide = {
        "temp_c": (-80, 80),
        "humidity_pct": (-5, 110),
        "dew_c": (-95, 65),
        "wind_ms": (-1, 80),
        "ghi_wm2": (-5, 1700),
        "rain_mm": (-1, 200),
        "cloud_share": (-0.5, 1.5),
        "pressure_kpa": (0, 120),
    }
    return pd.DataFrame(
        {
            column: draw(st.lists(number(*ends), min_size=len(steps), max_size=len(steps)))
            for column, ends in wide.items()
        },
        index=index,
    )


@settings(max_examples=60, deadline=None)
@given(rows(), st.sampled_from(["start", "end"]), st.booleans())
def test_any_rows_give_a_complete_ordered_unique_table_within_limits(
    frame: pd.DataFrame, period: Any, instants: bool
) -> None:
    hours = build(Raw(frame, period=period, instants=instants, bad="set aside"))
    steps = np.diff(hours.index.asi8)  # type: ignore[attr-defined]
    assert (steps == 3_600_000_000_000).all()
    assert not (hours.index.asi8 % 3_600_000_000_000).any()  # type: ignore[attr-defined]
    for column in COLUMNS:
        known = hours[column].dropna()
        limit = LIMITS[column]
        assert known.between(limit.low, limit.high).all()
        told = hours[f"{column}_from"]
        assert (told[known.index] != "").all()
        assert not told[known.index].str.startswith("set aside").any()
        unknown = told[hours[column].isna()]
        assert ((unknown == "") | unknown.str.startswith("set aside")).all()
    both = hours.dropna(subset=["vapour_kpa", "temp_c"])
    assert (both["vapour_kpa"] <= saturation_kpa(both["temp_c"])).all()
    assert (hours["wind_ms"].isna() == hours["wind_height_m"].isna()).all()
