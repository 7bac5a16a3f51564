"""The year of a tree, north and south, by date, by warmth and by what the grower saw."""

import gzip

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from places import shared_data

from advisor.demand import groups, season, year
from advisor.demand.season import LeafDates
from advisor.errors import Refused

NORTH, SOUTH = 52.0, -52.0
YEAR = np.arange("2023-01-01", "2024-01-01", dtype="datetime64[D]")
SOUTHERN_YEAR = np.arange("2023-07-01", "2024-06-30", dtype="datetime64[D]")
WARMTH = 11.0 - 9.0 * np.cos(2 * np.pi * (np.arange(365) - 20) / 365)
DECIDUOUS = [group for group in groups.table().values() if not group.evergreen]
EVERGREEN = [group for group in groups.table().values() if group.evergreen]


def day(text):
    return np.datetime64(text, "D")


def at(values, text, days=YEAR):
    return float(values[np.flatnonzero(days == day(text))[0]])


def in_leaf(*told):
    return season.leaf_share(*told) > 0.0


@pytest.mark.parametrize(
    ("date", "low", "high"),
    [
        ("2023-05-01", 0.95, 0.95),
        ("2023-06-15", 0.95, 0.95),
        ("2023-07-31", 0.95, 0.95),
        ("2023-09-15", 0.6175, 0.6175),  # .65 of .95
        ("2023-01-10", 0.15 * 0.95, 0.25 * 0.95),
        ("2023-12-15", 0.15 * 0.95, 0.25 * 0.95),
    ],
)
def test_pine_through_the_year(date, low, high):
    # FAO-56 Table 17 for .95; September and winter: growers' course, a judgement
    value = at(season.kcb(groups.find("pine"), YEAR, None, NORTH), date)
    assert low - 1e-9 <= value <= high + 1e-9


@pytest.mark.parametrize("group", groups.table().values(), ids=lambda group: group.name)
@pytest.mark.parametrize("tmean_c", [None, WARMTH], ids=["by date", "by warmth"])
@pytest.mark.parametrize("latitude", [60.0, 52.0, 35.0, 5.0, -34.0])
def test_no_jump_and_never_above_the_height(group, tmean_c, latitude):
    value = season.kcb(group, YEAR, tmean_c, latitude)
    # Ends of leap years and of half-years included: the south's season turns on 1 July.
    assert np.abs(np.diff(value)).max() <= 0.05
    assert value.max() <= group.kcb_peak + 1e-12
    assert value.min() >= min(season.LEAFLESS_KCB, group.kcb_peak * group.winter_share) - 1e-12


@pytest.mark.parametrize("group", DECIDUOUS, ids=lambda group: group.name)
def test_deciduous_bare_in_january_full_in_june_bare_at_new_year(group):
    value = season.kcb(group, YEAR, WARMTH, NORTH)
    assert at(value, "2023-01-15") == season.LEAFLESS_KCB
    assert at(value, "2023-06-25") == pytest.approx(group.kcb_peak)
    assert at(value, "2023-12-31") == pytest.approx(season.LEAFLESS_KCB)


def test_leafing_takes_six_weeks():
    noted = LeafDates(bud_break=day("2023-04-20"))
    leaf = season.leaf_share(groups.find("maple"), YEAR, None, NORTH, noted)
    assert at(leaf, "2023-04-20") == 0.0
    assert at(leaf, "2023-05-11") == pytest.approx(0.5)
    assert at(leaf, "2023-06-01") == 1.0


def test_autumn_follows_the_orchard_row():
    # FAO-56 Table 17, apple and cherry with killing frost: Kcb mid .90, end .65
    leaf = season.leaf_share(groups.find("apple"), YEAR, None, 40.0)
    assert at(leaf, "2023-10-31") == pytest.approx(0.65 / 0.90, abs=0.005)


@pytest.mark.parametrize("group", groups.table().values(), ids=lambda group: group.name)
def test_south_mirrors_north_by_half_a_year(group):
    for warmth in (None, WARMTH):
        north = season.kcb(group, YEAR, warmth, NORTH)
        south = season.kcb(group, SOUTHERN_YEAR, warmth, SOUTH)
        np.testing.assert_array_equal(north, south)


def test_southern_summer_is_in_january():
    days = np.arange("2022-07-01", "2024-07-01", dtype="datetime64[D]")
    maple = season.kcb(groups.find("maple"), days, None, -34.0)
    assert at(maple, "2023-01-01", days) == pytest.approx(1.19)
    assert at(maple, "2023-07-15", days) == season.LEAFLESS_KCB
    assert np.abs(np.diff(maple)).max() <= 0.05


def test_leap_day_has_a_value_and_makes_no_jump():
    days = np.arange("2024-01-01", "2025-01-05", dtype="datetime64[D]")
    for name in ("pine", "maple", "olive"):
        value = season.kcb(groups.find(name), days, None, NORTH)
        assert len(value) == 370
        assert np.abs(np.diff(value)).max() <= 0.05
        assert at(value, "2024-02-28", days) <= at(value, "2024-02-29", days)


def test_bud_break_by_warmth_is_where_the_sum_says():
    flat = np.full(365, 10.0)  # 5 degree-days a day: elm, 160, is reached on the 32nd day
    since = season.days_since_bud_break(groups.find("elm"), YEAR, flat, 30.0)
    earliest = groups.find("elm").bud_break_day - 2 * 20 - season.EARLIEST_DAYS
    assert earliest < 31
    assert at(since, "2023-02-01") == 0.0


def test_warm_winters_do_not_break_buds_in_january():
    hot = np.full(365, 20.0)
    assert not in_leaf(groups.find("maple"), YEAR, hot, 36.0)[:20].any()


def test_no_bud_break_while_it_stays_cold():
    cold = np.full(365, 4.0)
    assert not in_leaf(groups.find("maple"), YEAR, cold, NORTH).any()
    assert np.isneginf(season.days_since_bud_break(groups.find("maple"), YEAR, cold, NORTH)).all()


def test_a_series_that_begins_in_march_goes_by_the_table_date():
    days = YEAR[60:]
    since = season.days_since_bud_break(groups.find("maple"), days, WARMTH[60:], 50.0)
    assert at(since, "2023-04-11", days) == 0.0


def test_higher_latitudes_leaf_later_and_shed_earlier():
    leaves = [
        in_leaf(groups.find("beech"), YEAR, None, latitude) for latitude in (35, 50, 60)
    ]
    first = [int(np.argmax(leaf)) for leaf in leaves]
    last = [int(len(leaf) - np.argmax(leaf[::-1])) for leaf in leaves]
    assert first == sorted(first)
    assert last == sorted(last, reverse=True)
    assert first[2] - first[1] == 20  # 2 days a degree


def test_leaf_fall_starts_at_a_fortnight_below_8_degrees():
    cold = day("2023-10-10")
    temperature = np.where(cold > YEAR, 15.0, 1.0)
    # k days at 1 °C among 14 make a mean of 15 - k: below 8 on the eighth, 17 October
    leaf = season.leaf_share(groups.find("maple"), YEAR, temperature, NORTH)
    assert at(leaf, "2023-10-16") - at(leaf, "2023-10-17") < 0.01
    assert at(leaf, "2023-10-17") - at(leaf, "2023-10-18") > 0.02
    assert at(leaf, "2023-11-14") == 0.0
    assert at(leaf, "2023-11-13") > 0.0


def test_leaves_drop_late_in_a_warm_autumn():
    leaf = in_leaf(groups.find("maple"), YEAR, np.full(365, 14.0), 50.0)
    assert at(leaf, "2023-12-25")
    assert not at(leaf, "2023-12-31")


def test_dates_the_grower_saw_rule_their_own_year_only():
    days = np.arange("2022-01-01", "2024-01-01", dtype="datetime64[D]")
    maple = groups.find("maple")
    noted = LeafDates(bud_break=day("2023-05-10"), leaf_fall=[day("2023-10-01")])
    told = season.leaf_share(maple, days, None, NORTH, noted)
    untold = season.leaf_share(maple, days, None, NORTH)
    np.testing.assert_array_equal(told[:365], untold[:365])
    assert at(told, "2023-05-10", days) == 0.0
    assert at(told, "2023-05-11", days) > 0.0
    assert at(told, "2023-09-30", days) > 0.8
    assert at(told, "2023-10-01", days) == 0.0


def test_full_leaf_seen_early_shortens_the_rise():
    leaf = season.leaf_share(
        groups.find("larch"), YEAR, None, NORTH,
        LeafDates(bud_break=day("2023-04-01"), full_leaf=day("2023-04-15")))
    assert at(leaf, "2023-04-08") == pytest.approx(0.5)
    assert at(leaf, "2023-04-15") == 1.0


def test_full_leaf_alone_puts_bud_break_six_weeks_before():
    leaf = in_leaf(groups.find("larch"), YEAR, None, NORTH, LeafDates(full_leaf=day("2023-05-20")))
    assert not at(leaf, "2023-04-08")
    assert at(leaf, "2023-04-09")


def test_dead_leaves_dropped_before_bud_break_say_nothing_of_the_coming_autumn():
    hornbeam = groups.find("hornbeam")
    told = season.leaf_share(hornbeam, YEAR, None, NORTH, LeafDates(leaf_fall=day("2023-03-01")))
    np.testing.assert_array_equal(told, season.leaf_share(hornbeam, YEAR, None, NORTH))


def test_southern_grower_dates_belong_to_the_southern_season():
    days = np.arange("2023-07-01", "2024-06-30", dtype="datetime64[D]")
    leaf = in_leaf(groups.find("maple"), days, None, -34.0, LeafDates(leaf_fall=day("2024-05-01")))
    assert at(leaf, "2024-04-30", days)
    assert not at(leaf, "2024-05-01", days)


@pytest.mark.parametrize("group", EVERGREEN, ids=lambda group: group.name)
def test_evergreens_are_always_in_leaf(group):
    assert in_leaf(group, YEAR, WARMTH, NORTH).all()


def test_no_winter_rest_near_the_equator():
    assert season.course(YEAR, 5.0).min() == 1.0
    assert season.course(YEAR, 35.0).min() == 0.0
    assert season.growing(YEAR, 5.0).all()


def test_growing_season():
    days = YEAR[season.growing(YEAR, NORTH)]
    assert day("2023-03-01") < days[0] < day("2023-03-20")
    assert day("2023-10-20") < days[-1] < day("2023-11-10")


@pytest.mark.parametrize(
    ("week_c", "factor"),
    [(-10.0, 0.02), (2.0, 0.02), (3.0, 0.125), (6.0, 0.5), (10.0, 1.0), (25.0, 1.0)],
)
def test_cold_factor(week_c, factor):
    # clip((mean of 7 days - 2)/8, .02, 1)
    assert season.cold_factor(np.full(9, week_c)) == pytest.approx(np.full(9, factor))


def test_cold_factor_remembers_seven_days():
    temperature = np.r_[np.full(10, 20.0), np.full(10, 0.0)]
    factor = season.cold_factor(temperature)
    assert factor[9] == 1.0
    assert factor[12] == pytest.approx((80 / 7 - 2) / 8 if 80 / 7 < 10 else 1.0)
    assert factor[14] == pytest.approx((40 / 7 - 2) / 8)
    assert factor[16] == season.COLD_FLOOR


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-30, 40), min_size=1, max_size=40), st.integers(0, 20))
def test_longer_series_give_the_same_digits(temperatures, extra):
    whole = np.r_[np.full(extra, 3.0), temperatures]
    parts = season.cold_factor(np.array(temperatures))
    longer = season.cold_factor(whole)[extra:]
    np.testing.assert_array_equal(parts[6:], longer[6:])


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(groups.table())),
    st.floats(-90, 90),
    st.integers(0, 20_000),
    st.integers(1, 800),
)
def test_any_days_anywhere_give_a_share(name, latitude, first, count):
    days = np.datetime64("1990-01-01") + np.arange(first, first + count)
    leaf = season.leaf_share(groups.find(name), days, None, latitude)
    assert ((leaf >= 0) & (leaf <= 1)).all()
    starts = year.season_start(days, latitude)
    assert ((days >= starts) & (days - starts <= np.timedelta64(365, "D"))).all()


@pytest.mark.parametrize(
    ("days", "tmean_c", "latitude", "says"),
    [
        (YEAR[[0, 2]], None, 50.0, "days of a season"),
        (YEAR[:0], None, 50.0, "days of a season"),
        (YEAR[:5], np.zeros(4), 50.0, "4 values"),
        (YEAR[:5], None, 91.0, "latitude"),
        (YEAR[:5], None, float("nan"), "latitude"),
    ],
)
@pytest.mark.parametrize("name", ["pine", "maple"])
def test_refusals(days, tmean_c, latitude, says, name):
    with pytest.raises(Refused, match=says):
        season.kcb(groups.find(name), days, tmean_c, latitude)


def test_full_leaf_before_bud_break_is_refused():
    with pytest.raises(Refused, match="full leaf"):
        season.kcb(
            groups.find("maple"),
            YEAR,
            None,
            NORTH,
            LeafDates(bud_break=day("2023-05-01"), full_leaf=day("2023-04-20")))


def test_default_dates_on_real_temperatures():
    """De Bilt 2011-2019: maples leaf in March-April and shed in October-December."""
    days, mean_c = _de_bilt()
    maple = groups.find("maple")
    since = season.days_since_bud_break(maple, days, mean_c, 52.1)
    leaf = in_leaf(maple, days, mean_c, 52.1)
    for spring in range(2011, 2020):
        bud = days[(since == 0.0) & (days.astype("datetime64[Y]") == np.datetime64(str(spring)))]
        assert len(bud) == 1
        assert day(f"{spring}-03-15") <= bud[0] <= day(f"{spring}-05-05")
        own = leaf & (days.astype("datetime64[Y]") == np.datetime64(str(spring)))
        assert day(f"{spring}-11-10") <= days[own][-1] <= day(f"{spring}-12-31")


def _de_bilt():
    days, mean_c = [], []
    with gzip.open(shared_data("knmi/etmgeg_260_DeBilt_2010-.txt.gz"), "rt") as file:
        names = None
        for line in file:
            cells = [cell.strip() for cell in line.split(",")]
            if "YYYYMMDD" in cells and "TG" in cells:
                names = cells
            elif names and len(cells) == len(names) and cells[1].startswith("20"):
                date = cells[1]
                days.append(f"{date[:4]}-{date[4:6]}-{date[6:]}")
                mean_c.append(float(cells[names.index("TG")]) / 10.0)
    return np.array(days, dtype="datetime64[D]"), np.array(mean_c)
