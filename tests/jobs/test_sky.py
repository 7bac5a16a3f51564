from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import BERLIN, DAY, FIRST, HOUR, changed, hours, sky, until

from advisor.errors import Refused
from advisor.jobs.sky import CARRY_ON_DAYS, LIKE_DAYS, STALE_DAYS, local_days, sky_of

NOW = FIRST + 20 * DAY + 5 * HOUR


@pytest.mark.parametrize(("zone", "day", "count"), [
    ("Europe/Berlin", "2026-03-29", 23), ("Europe/Berlin", "2026-10-25", 25),
    ("Europe/Berlin", "2026-07-01", 24), ("America/New_York", "2026-03-08", 23),
    ("America/New_York", "2026-11-01", 25), ("America/St_Johns", "2026-03-08", 23),
    # days of 23.5 and 24.5 hours hold 24 midpoints of whole UTC hours each
    ("Australia/Lord_Howe", "2026-10-04", 24), ("Australia/Lord_Howe", "2026-04-05", 24),
    ("Asia/Kathmandu", "2026-07-01", 24), ("Pacific/Apia", "2011-12-30", 0),
])
def test_hours_of_a_day_by_their_midpoints(zone, day, count):
    start = datetime.fromisoformat(f"{day}T00:00+00:00") - 3 * DAY
    index, dates = local_days(int(start.timestamp()), 24 * 7, ZoneInfo(zone))
    found = np.bincount(index, minlength=dates.size)[dates == np.datetime64(day)]
    assert found.tolist() == [count]


@settings(max_examples=60, deadline=None)
@given(st.integers(300_000, 500_000), st.integers(1, 24 * 40), st.sampled_from([
    "Europe/Berlin", "Australia/Lord_Howe", "America/New_York", "Pacific/Kiritimati",
    "America/St_Johns", "Asia/Kathmandu", "UTC"]))
def test_each_hour_counts_to_the_date_of_its_midpoint(first, count, name):
    zone = ZoneInfo(name)
    index, dates = local_days(3600 * first, count, zone)
    by_clock = Counter(datetime.fromtimestamp(3600 * (first + i) + 1800, zone).date()
                       for i in range(count))
    assert dict(Counter(dates[index].tolist())) == by_clock
    assert (np.diff(index) >= 0).all()


def test_a_date_that_a_zone_skipped_has_the_mean_of_the_day_before():
    start = datetime(2011, 12, 20, tzinfo=UTC)
    at = start + 15 * DAY
    seen = sky_of(hours(16, start), "Pacific/Apia", at, at + DAY)
    skipped = int(np.flatnonzero(seen.dates == np.datetime64("2011-12-30"))[0])
    assert seen.tmean_c[skipped] == seen.tmean_c[skipped - 1]
    assert not np.isnan(seen.tmean_c).any()


# --- where weather ends, or has holes ------------------------------------------------------


def test_past_the_newest_hour_last_week_is_carried_on_without_rain():
    weather = hours()
    seen = sky(until(weather, NOW), NOW)
    now = seen.index(NOW)
    assert seen.newest == NOW
    assert seen.hours == now + 24 * CARRY_ON_DAYS
    assert seen.guessed.tolist() == [False] * now + [True] * (24 * CARRY_ON_DAYS)
    assert seen.rain_mm[now:].sum() == 0.0
    like = [now - 24 * back for back in range(1, LIKE_DAYS + 1)]
    for values, known in ((seen.temp_c, weather.temp_c),
                          (seen.et0_mm["bench"], weather.et0_mm["bench"])):
        assert values[now] == pytest.approx(known[like].mean(), rel=1e-12)
        assert values[:now].tobytes() == known[:now].tobytes()


def test_it_is_carried_on_to_a_few_days_from_now_however_old_it_is():
    weather = until(hours(), NOW - 10 * DAY)
    seen = sky(weather, NOW)
    assert seen.instant(seen.hours) == NOW + CARRY_ON_DAYS * DAY
    assert seen.newest == NOW - 10 * DAY
    assert seen.guessed[seen.index(NOW)]


def test_weather_that_reaches_past_now_is_known():
    seen = sky(hours(), NOW)
    assert not seen.guessed.any()
    assert seen.instant(seen.hours) == NOW + 12 * DAY
    assert seen.rain_mm[seen.index(NOW):].sum() > 0.0


def test_a_hole_is_filled_and_marked():
    hole = slice(300, 306)
    weather = changed(hours(), hole, np.nan)
    seen = sky(weather, NOW)
    assert np.flatnonzero(seen.guessed).tolist() == list(range(300, 306))
    assert np.flatnonzero(seen.rain_unknown).tolist() == list(range(300, 306))
    assert seen.rain_mm[hole].sum() == 0.0
    before = np.mean([hours().temp_c[302 - 24 * back] for back in range(1, LIKE_DAYS + 1)])
    assert seen.temp_c[302] == pytest.approx(before)
    wider = np.flatnonzero(seen.ways.factor.std(axis=1) > 0.0)
    assert wider.tolist() == [seen.day[302]]


def test_a_hole_at_the_very_beginning_is_filled_too():
    seen = sky(changed(hours(), slice(0, 30), np.nan), NOW)
    assert np.isfinite(seen.temp_c).all()
    assert seen.guessed[:30].all()


def test_an_hour_counts_as_known_only_where_every_place_is():
    weather = hours()
    shade = weather.et0_mm["shade"].copy()
    shade[200] = np.nan
    seen = sky(replace(weather, et0_mm=dict(weather.et0_mm) | {"shade": shade}), NOW)
    assert np.flatnonzero(seen.guessed).tolist() == [200]
    assert np.isfinite(seen.et0_mm["shade"]).all()


@pytest.mark.parametrize(("at", "said"), [
    (FIRST - HOUR, "weather: it begins on 01 June 2026 02:00. Wanted: an hour before "
                   "01 June 2026 01:00. Add a file that covers the days before"),
    (FIRST + 40 * DAY + STALE_DAYS * DAY + HOUR, "weather: it ends on 11 July 2026 02:00. Wanted: "
                                                 "at most 60 days before"),
])
def test_weather_that_says_nothing_of_now_is_refused(at, said):
    with pytest.raises(Refused) as refused:
        sky(hours(), at)
    assert str(refused.value).startswith(said)


def test_weather_of_sixty_days_ago_is_the_oldest_taken():
    at = FIRST + 40 * DAY + STALE_DAYS * DAY
    assert sky(hours(), at).guessed[-1]


def test_no_known_hour_at_all_is_refused():
    with pytest.raises(Refused, match="weather"):
        sky(changed(hours(), slice(None), np.nan), NOW)


# --- digests, midnights --------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 24 * 30 - 1), st.integers(1, 29), st.sampled_from(
    ["temp_c", "rain_mm", "bench", "shade", "known"]))
def test_a_midnight_s_digest_changes_with_any_hour_before_it_and_none_after(hour, day, column):
    before = 24 * day - 2  # midnight in Berlin in summer
    weather = hours()
    if column in weather.et0_mm:
        values = weather.et0_mm[column].copy()
        values[hour] += 0.01
        other = replace(weather, et0_mm=dict(weather.et0_mm) | {column: values})
    elif column == "known":
        other = changed(weather, slice(hour, hour + 1), np.nan)
    else:
        other = changed(weather, slice(hour, hour + 1), 7.5, column)
    at = FIRST + 32 * DAY
    same = sky(weather, at).digest("bench", before) == sky(other, at).digest("bench", before)
    assert same == (hour >= before or column == "shade")


def test_a_digest_does_not_depend_on_how_far_the_weather_reaches():
    short, long = sky(until(hours(), NOW), NOW), sky(hours(), NOW)
    midnight = short.index(short.midnight(NOW))
    assert short.digest("bench", midnight) == long.digest("bench", midnight)
    assert short.digest("bench", midnight + 24) != long.digest("bench", midnight + 24)


def test_midnight_is_that_of_the_site():
    seen = sky(hours(), NOW)
    assert seen.midnight(NOW).astimezone(BERLIN.zone).isoformat() == "2026-06-21T00:00:00+02:00"
    assert seen.midnight(seen.midnight(NOW)) == seen.midnight(NOW)
    assert seen.midnight(seen.midnight(NOW) - timedelta(seconds=1)) == seen.midnight(NOW) - DAY
    assert seen.date(seen.index(NOW)).isoformat() == "2026-06-21"


@pytest.mark.parametrize("at", [NOW, NOW + timedelta(minutes=59), NOW + HOUR])
def test_an_instant_lies_in_the_hour_that_began_before_it(at):
    seen = sky(hours(), NOW)
    assert seen.instant(seen.index(at)) <= at < seen.instant(seen.index(at) + 1)


def test_days_have_the_mean_of_their_hours():
    seen = sky(hours(), NOW)
    assert seen.tmean_c[10] == pytest.approx(seen.temp_c[seen.day == 10].mean())
