import numpy as np
import pandas as pd
import pytest
from demand.weather_made import Somewhere, fair_hours
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import air, et0, ladder, radiation
from advisor.demand.brightness import impossible_radiation, set_aside_radiation
from advisor.demand.days import place_hours, site_days
from advisor.demand.ladder import RULES, Humidity, Light, Top
from advisor.demand.place import Spot
from advisor.demand.sun import sun_path
from advisor.errors import Refused

SITE = Somewhere()
HOURS = fair_hours()  # three whole days from 1 July 2026, local
DAY2 = slice(24, 48)


def with_gap(column: str, rows: slice = DAY2, value: float = np.nan) -> pd.DataFrame:
    hours = HOURS.copy()
    hours.iloc[rows, hours.columns.get_loc(column)] = value
    return hours


def rules_of(hours: pd.DataFrame, day: int = 1) -> list[str]:
    return [name for name in site_days(SITE, hours)["rules"].iloc[day].split(";") if name]


# --- whole days


def test_a_day_is_the_fao_day() -> None:
    days = site_days(SITE, HOURS)
    day = HOURS.iloc[DAY2]
    assert list(days.columns) == [
        "tmax_c", "tmin_c", "tmean_c", "rain_mm", "et0_mm", "rs_mj", "rules", "hours_known",
    ]  # fmt: skip
    assert [str(d.date()) for d in days.index] == ["2026-07-01", "2026-07-02", "2026-07-03"]
    assert (days["rules"] == "").all()
    assert (days["hours_known"] == 24).all()
    rs_mj = day["ghi_wm2"].sum() * 0.0036
    expected = et0.daily_et0(
        day["temp_c"].max(),
        day["temp_c"].min(),
        1.3,
        rs_mj,
        air.wind_at_2m(3.0, 10.0),
        elevation_m=SITE.elevation_m,
        latitude_deg=SITE.latitude_deg,
        day_of_year=183,
    )
    assert days["et0_mm"].iloc[1] == pytest.approx(float(expected), abs=1e-12)
    assert days["rs_mj"].iloc[1] == pytest.approx(rs_mj)
    assert days["tmean_c"].iloc[1] == pytest.approx(day["temp_c"].mean())


def test_place_keeps_the_index_it_was_given() -> None:
    local = HOURS.tz_convert("Asia/Kolkata")
    table = place_hours(SITE, local, Spot())
    assert table.index.equals(local.index)
    assert table["et0_mm"].to_numpy() == pytest.approx(
        place_hours(SITE, HOURS, Spot())["et0_mm"].to_numpy()
    )


@pytest.mark.parametrize(
    ("zone", "longitude", "day", "length"),
    [
        ("Europe/Berlin", 13.4, "2026-03-29", 23),
        ("Europe/Berlin", 13.4, "2026-10-25", 25),
        ("America/New_York", -74.0, "2026-03-08", 23),
        ("America/New_York", -74.0, "2026-11-01", 25),
        ("Australia/Lord_Howe", 159.1, "2026-04-05", 24),  # 24.5 hours, 24 midpoints
        ("Australia/Lord_Howe", 159.1, "2026-10-04", 24),  # 23.5 hours, 24 midpoints
        ("Asia/Kathmandu", 85.3, "2026-07-01", 24),
        ("Pacific/Auckland", 179.0, "2026-04-05", 25),
        ("Pacific/Chatham", -179.0, "2026-09-27", 23),
    ],
)
def test_days_of_any_length_are_whole(zone: str, longitude: float, day: str, length: int) -> None:
    site = Somewhere(-31.5 if zone.startswith(("Aus", "Pac")) else 40.0, longitude, 10.0, zone)
    start = pd.Timestamp(day, tz=zone).tz_convert("UTC").floor("h") - pd.Timedelta("24h")
    hours = fair_hours(start.isoformat(), 74, site)
    days = site_days(site, hours)
    assert days.index.is_unique
    assert days.loc[day, "hours_known"] == length
    assert "part of a day" not in days.loc[day, "rules"]
    by_hour = place_hours(site, hours, Spot())["et0_mm"]
    local = (by_hour.index + pd.Timedelta("30min")).tz_convert(zone).tz_localize(None)
    summed = by_hour.groupby(local.normalize()).sum()
    assert summed.loc[day] == pytest.approx(days.loc[day, "et0_mm"])
    assert by_hour.sum() == pytest.approx(days["et0_mm"].sum())


def test_29_february_is_a_day() -> None:
    days = site_days(SITE, fair_hours("2028-02-27T23:00Z", 72))
    assert [str(d.date()) for d in days.index] == ["2028-02-28", "2028-02-29", "2028-03-01"]
    assert np.all(np.diff(days["rs_mj"]) > 0.0)


def test_southern_july_is_winter() -> None:
    site = Somewhere(-37.8, 145.0, 30.0, "Australia/Melbourne")
    july = site_days(site, fair_hours("2026-06-30T14:00Z", 24, site))
    january = site_days(site, fair_hours("2025-12-31T13:00Z", 24, site))
    assert january["et0_mm"].iloc[0] > 1.8 * july["et0_mm"].iloc[0]


def test_whole_number_latitude_works() -> None:
    assert site_days(Somewhere(52, 5, 2), HOURS)["et0_mm"].notna().all()


# --- parts of days


def test_a_day_begun_has_the_sums_of_its_hours() -> None:
    whole = place_hours(SITE, HOURS, Spot())["et0_mm"]
    part = HOURS.iloc[:60]  # the third day until noon
    days = site_days(SITE, part)
    assert days["rules"].iloc[2] == "part of a day"
    assert days["hours_known"].iloc[2] == 12
    assert days["rs_mj"].iloc[2] == pytest.approx(part["ghi_wm2"].iloc[48:].sum() * 0.0036)
    # the rest of its sun is taken as clear as its morning: the hours come near the whole day's
    assert days["et0_mm"].iloc[2] == pytest.approx(whole.iloc[48:60].sum(), rel=0.25)
    assert days["et0_mm"].iloc[:2].to_numpy() == pytest.approx(
        site_days(SITE, HOURS)["et0_mm"].iloc[:2].to_numpy()
    )


def test_one_hour_is_a_series() -> None:
    days = site_days(SITE, HOURS.iloc[:1])
    assert len(days) == 1
    assert days["et0_mm"].iloc[0] < 0.1


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 40), st.integers(1, 32))
def test_cutting_a_series_never_loses_or_invents_hours(first: int, length: int) -> None:
    part = HOURS.iloc[first : first + length]
    days = site_days(SITE, part)
    assert days["hours_known"].sum() == length
    table = place_hours(SITE, part, Spot())
    assert len(table) == length
    assert table["et0_mm"].sum() == pytest.approx(days["et0_mm"].sum())
    assert table["ghi_wm2"].to_numpy() == pytest.approx(part["ghi_wm2"].to_numpy())


# --- the ladder, by the hour


@pytest.mark.parametrize(
    ("column", "rule"),
    [
        ("vapour_kpa", "humidity from Tmin"),
        ("wind_ms", "wind 2 m/s"),
        ("wind_height_m", "wind height 10 m"),
        ("ghi_wm2", "radiation from temperature range"),
        ("rain_mm", "rain unknown"),
    ],
)
def test_a_day_without_a_value_names_its_rule(column: str, rule: str) -> None:
    hours = with_gap(column)
    assert rules_of(hours) == [rule]
    assert rules_of(hours, 0) == []
    assert rule in RULES
    assert site_days(SITE, hours)["et0_mm"].notna().all()


@pytest.mark.parametrize(
    ("column", "rule"),
    [
        ("temp_c", "temperature from part of the hours"),
        ("vapour_kpa", "humidity from part of the hours"),
        ("wind_ms", "wind from part of the hours"),
        ("rain_mm", "rain from part of the hours"),
    ],
)
def test_a_few_lost_hours_name_their_rule(column: str, rule: str) -> None:
    assert rules_of(with_gap(column, slice(26, 30))) == [rule]
    assert rule in RULES


def test_a_day_mostly_without_humidity_or_wind_uses_the_ladder() -> None:
    assert rules_of(with_gap("vapour_kpa", slice(24, 40))) == ["humidity from Tmin"]
    assert rules_of(with_gap("wind_ms", slice(24, 40))) == ["wind 2 m/s"]


def test_no_temperature_is_said_and_not_guessed() -> None:
    hours = with_gap("temp_c")
    days = site_days(SITE, hours)
    assert rules_of(hours) == ["no temperature"]
    assert days["et0_mm"].isna().tolist() == [False, True, False]
    assert place_hours(SITE, hours, Spot())["et0_mm"].isna().sum() == 24


def test_no_temperature_and_no_light_leave_the_light_open() -> None:
    hours = with_gap("temp_c")
    hours.iloc[DAY2, hours.columns.get_loc("ghi_wm2")] = np.nan
    assert rules_of(hours) == ["no temperature"]
    assert place_hours(SITE, hours, Spot())["ghi_wm2"].isna().any()


def test_no_temperature_at_all() -> None:
    days = site_days(SITE, HOURS.assign(temp_c=np.nan, vapour_kpa=np.nan))
    assert days["et0_mm"].isna().all()


def test_single_hours_of_light_are_filled_from_their_day() -> None:
    lost = slice(33, 37)
    hours = with_gap("ghi_wm2", lost)
    filled = place_hours(SITE, hours, Spot())["ghi_wm2"].iloc[lost].to_numpy()
    assert rules_of(hours) == ["radiation partly from clear sky"]
    assert filled == pytest.approx(HOURS["ghi_wm2"].iloc[lost].to_numpy(), rel=0.1)
    # a gap by night is no gap
    assert rules_of(with_gap("ghi_wm2", slice(24, 26))) == []


def test_cloud_cover_counts_by_day_only() -> None:
    hours = with_gap("ghi_wm2")
    cloud = hours.columns.get_loc("cloud_share")
    hours.iloc[DAY2, cloud] = 0.5
    assert rules_of(hours) == ["radiation from cloud cover"]
    sum_mj = site_days(SITE, hours)["rs_mj"].iloc[1]
    top = Top.of(SITE.latitude_deg, SITE.elevation_m, np.array([183.0]))
    assert sum_mj == pytest.approx(float(radiation.shortwave_from_cloud(0.5, top.rso_mj)[0]))
    hours.iloc[24:26, cloud] = 1.0  # 00 to 02 local
    assert site_days(SITE, hours)["rs_mj"].iloc[1] == pytest.approx(sum_mj)


def test_a_day_of_zeros_is_unknown_not_dark() -> None:
    assert rules_of(with_gap("ghi_wm2", DAY2, 0.0)) == ["radiation from temperature range"]


@pytest.mark.parametrize("origin", ["between neighbours", "spread from the day"])
def test_values_carried_over_are_named(origin: str) -> None:
    hours = HOURS.copy()
    hours.iloc[25, hours.columns.get_loc("temp_c_from")] = origin
    assert rules_of(hours) == [f"temperature {origin}"]


# --- the ladder, by the day

TOP = Top(ra_mj=40.0, rso_mj=30.0, daylight_h=16.0)


@pytest.mark.parametrize(
    ("known", "value", "rule"),
    [
        (Humidity(1.5, 10.0, 90.0, 50.0, 70.0), 1.5, ""),
        (
            Humidity(None, 10.0, 90.0, 50.0, 70.0),
            air.saturation_pressure(10.0),
            "humidity from dew point",
        ),
        (
            Humidity(np.nan, np.nan, 90.0, 50.0, 70.0),
            air.vapour_from_rh_pair(25, 12, 90, 50),
            "humidity from its extremes",
        ),
        (
            Humidity(rhmax_pct=90.0, rhmean_pct=70.0),
            air.vapour_from_rh_mean(25, 12, 70),
            "humidity from its mean",
        ),
        (Humidity(), air.saturation_pressure(12.0), "humidity from Tmin"),
    ],
)
def test_humidity_in_the_order_of_the_paper(known: Humidity, value: float, rule: str) -> None:
    ea, name = ladder.vapour_ladder(25.0, 12.0, known)
    assert ea == pytest.approx(value)
    assert name == rule
    assert not rule or rule in RULES


@pytest.mark.parametrize(
    ("known", "value", "rule"),
    [
        (Light(20.0, 8.0, 0.5), 20.0, ""),
        (Light(np.nan, 8.0, 0.5), 20.0, "radiation from sunshine"),
        (Light(cloud_share=0.0), 30.0, "radiation from cloud cover"),
        (Light(), 0.16 * 40 * np.sqrt(13.0), "radiation from temperature range"),
    ],
)
def test_light_in_the_order_of_the_paper(known: Light, value: float, rule: str) -> None:
    rs, name = ladder.shortwave_ladder(25.0, 12.0, TOP, known)
    assert rs == pytest.approx(value)
    assert name == rule
    assert not rule or rule in RULES


def test_temperature_range_never_beats_a_clear_sky() -> None:
    rs, _ = ladder.shortwave_ladder(40.0, 5.0, TOP, k_rs=radiation.COASTAL)
    assert rs == 30.0


def test_each_day_climbs_as_far_as_it_must() -> None:
    dew = np.array([np.nan, 10.0, np.nan])
    _, names = ladder.vapour_ladder(
        np.full(3, 25.0), np.array([12.0, 12.0, np.nan]), Humidity(dew_c=dew)
    )
    assert names.tolist() == ["humidity from Tmin", "humidity from dew point", ""]


def test_wind_falls_back_to_2_ms() -> None:
    u2, names = ladder.wind_ladder(np.array([3.0, np.nan]), np.zeros(2))
    assert u2.tolist() == [3.0, 2.0]
    assert names.tolist() == ["", "wind 2 m/s"]
    assert ladder.wind_ladder(None, np.zeros(2))[0].tolist() == [2.0, 2.0]


# --- refusals


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda h: h.tz_localize(None), "without a time zone"),
        (lambda h: h.drop(h.index[5]), "one hour after the other"),
        (lambda h: h.iloc[::-1], "one hour after the other"),
        (lambda h: h.iloc[:0], "an empty table"),
        (lambda h: h.drop(columns="wind_ms"), "a table without wind_ms"),
        (lambda h: h.reset_index(drop=True), "an empty table|at least one hour"),
    ],
)
def test_tables_that_are_none_are_refused(spoil: object, words: str) -> None:
    with pytest.raises(Refused, match=words):
        site_days(SITE, spoil(HOURS))  # type: ignore[operator]


def test_unknown_time_zone_is_refused() -> None:
    for zone in ("Europe/Atlantis", "", "../etc"):
        with pytest.raises(Refused, match="time zone"):
            site_days(Somewhere(time_zone=zone), HOURS)


# --- brighter than the sky


def test_fair_weather_is_possible() -> None:
    assert impossible_radiation(SITE, HOURS) == []
    same, refusals = set_aside_radiation(SITE, HOURS)
    assert same is HOURS
    assert refusals == []


def test_one_bad_hour_is_set_aside_filled_and_told() -> None:
    bad = with_gap("ghi_wm2", slice(36, 37), 1900.0)
    ((hour, value, limit),) = impossible_radiation(SITE, bad)
    assert hour == bad.index[36]
    assert value == 1900.0
    assert 1000.0 < limit < 1300.0
    kept, (refusal,) = set_aside_radiation(SITE, bad)
    assert np.isnan(kept["ghi_wm2"].iloc[36])
    assert kept["ghi_wm2_from"].iloc[36] == f"set aside: 1900 W/m², at most {limit:.0f}"
    assert bad["ghi_wm2"].iloc[36] == 1900.0
    assert "shortwave radiation, 2026-07-02 10:00 UTC: 1900 W/m²" in str(refusal)
    assert rules_of(kept) == ["radiation partly from clear sky"]
    assert site_days(SITE, kept)["rs_mj"].iloc[1] == pytest.approx(
        site_days(SITE, HOURS)["rs_mj"].iloc[1], rel=0.03
    )


def test_light_at_midnight_is_set_aside() -> None:
    kept, refusals = set_aside_radiation(SITE, with_gap("ghi_wm2", slice(25, 26), 400.0))
    assert len(refusals) == 1
    assert place_hours(SITE, kept, Spot())["ghi_wm2"].iloc[25] == 0.0


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda ghi: ghi * 3.6, "looks like kJ/m² in the hour"),
        (lambda ghi: ghi * 30.0, "Check the unit: a row is the hour's mean in W/m²."),
        (lambda ghi: np.roll(ghi, 11), "check the time zone of the stamps"),
    ],
    ids=["kJ", "nonsense", "twelve hours off"],
)
def test_a_whole_day_too_bright_is_refused_with_a_hint(spoil: object, words: str) -> None:
    bad = HOURS.assign(ghi_wm2=spoil(HOURS["ghi_wm2"].to_numpy()))  # type: ignore[operator]
    with pytest.raises(Refused) as refusal:
        set_aside_radiation(SITE, bad)
    assert words in str(refusal.value)
    assert "shortwave radiation, 2026-07-01" in str(refusal.value)


@pytest.mark.parametrize(("days", "bad", "refused"), [(60, 3, False), (60, 4, True)])
def test_a_few_days_too_bright_are_set_aside_more_are_a_wrong_unit(
    days: int, bad: int, refused: bool
) -> None:
    many = fair_hours("2026-05-31T22:00Z", 24 * days)  # local midnight
    path = sun_path(SITE, many.index, many["temp_c"].to_numpy(), many["vapour_kpa"].to_numpy())
    here = slice(24 * 10, 24 * (10 + bad))
    many.iloc[here, many.columns.get_loc("ghi_wm2")] = 1.22 * path.clear_wm2[here]
    if refused:
        with pytest.raises(Refused, match="MJ/m² in the day"):
            set_aside_radiation(SITE, many)
        return
    kept, refusals = set_aside_radiation(SITE, many)
    assert len(refusals) == bad
    assert "2026-06-11" in str(refusals[0])
    assert "The day is set aside" in str(refusals[0])
    np.testing.assert_array_equal(np.isnan(kept["ghi_wm2"]), np.isin(
        np.arange(24 * days), np.arange(here.start, here.stop)))
    assert np.isfinite(site_days(SITE, kept)["rs_mj"]).all()


def test_a_day_a_little_too_bright_in_every_hour_is_refused() -> None:
    """No hour is above its own limit, the day is."""
    day = HOURS.iloc[DAY2]
    path = sun_path(SITE, day.index, day["temp_c"].to_numpy(), day["vapour_kpa"].to_numpy())
    dry = day.assign(ghi_wm2=1.22 * path.clear_wm2)
    assert impossible_radiation(SITE, dry) == []
    with pytest.raises(Refused, match="MJ/m² in the day"):
        set_aside_radiation(SITE, dry)
