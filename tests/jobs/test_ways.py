"""The ways in which weather that is not known may go."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import DAY, FIRST, HOUR, hours, sky, until

from advisor.balance.members import MEMBERS
from advisor.jobs import ways
from advisor.jobs.ways import Foretold, past_starts, pick

NOW = FIRST + 20 * DAY + 5 * HOUR
HOURS = 24 * 40


def foretold_hours(lead_d=3.0, sd=0.2):
    """Weather of which everything past now is a forecast."""
    made = hours()
    now = int((NOW.timestamp() - made.first) // 3600)
    ahead = np.where(np.arange(HOURS) >= now, 1.0, 0.0)
    return replace(made, lead_d=lead_d * ahead, sd=sd * ahead)


def of_years(count, now):
    """Weather of some years before now, each day as warm as its number in the year says."""
    return hours(365 * count, now - 365 * count * DAY - now.hour * HOUR)


def test_known_weather_goes_one_way():
    seen = sky(hours(), NOW)
    assert (seen.ways.factor == 1.0).all()
    assert (seen.ways.rain_mm == seen.rain_mm[seen.ways.first:, None]).all()


def test_a_forecast_goes_as_far_off_as_forecasts_do():
    seen = sky(foretold_hours(sd=0.2), NOW)
    coming = np.log(seen.ways.factor[seen.day[seen.index(NOW)] + 1:-1])
    assert coming.std() == pytest.approx(0.2, rel=0.05)
    assert np.median(coming) == pytest.approx(0.0, abs=0.02)
    assert (seen.ways.factor[:seen.day[seen.index(NOW)]] == 1.0).all()


@pytest.mark.parametrize(("lead_d", "misses"), [(1.0, 0.20), (5.0, 0.40), (14.0, 0.60)])
def test_rain_foretold_does_not_come_in_some_ways(lead_d, misses):
    seen = sky(foretold_hours(lead_d), NOW)
    wet = np.flatnonzero(seen.rain_mm[seen.ways.first:] > 0.0)
    wet = wet[seen.sd[seen.ways.first + wet] > 0.0]
    ways_of_rain = seen.ways.rain_mm[wet]
    assert wet.size > 3
    assert (ways_of_rain == 0.0).mean() == pytest.approx(misses, abs=0.02)
    dry = np.flatnonzero(seen.rain_mm[seen.ways.first:] == 0.0)
    assert (seen.ways.rain_mm[dry] == 0.0).all()


def test_it_is_drawn_the_same_whenever_it_is_asked():
    early, late = (sky(foretold_hours(), NOW + i * HOUR) for i in (0, 1))
    assert early.digest("bench", 700) == late.digest("bench", 700)
    other = sky(foretold_hours(sd=0.3), NOW)
    assert other.digest("bench", 700) != early.digest("bench", 700)


def test_many_forecasts_of_a_service_are_the_ways():
    made = foretold_hours()
    first = made.first + 3600 * 24 * 22  # from a day and a half ahead
    factor = np.tile([0.5, 1.0, 1.5], (24 * 4, 1))
    rain = np.tile([0.0, 0.0, 2.0], (24 * 4, 1))
    seen = sky(replace(made, foretold=Foretold(first, rain, factor)), NOW)
    day = seen.day[24 * 22 + 12]
    assert seen.ways.factor[day, :6] == pytest.approx([0.5, 1.0, 1.5] * 2, rel=1e-9)
    at = 24 * 22 + 12 - seen.ways.first
    assert seen.ways.rain_mm[at, :6].tolist() == [0.0, 0.0, 2.0] * 2
    assert seen.digest("bench", seen.ways.first) == sky(made, NOW).digest("bench", seen.ways.first)
    assert seen.digest("bench", 24 * 23) != sky(made, NOW).digest("bench", 24 * 23)


def test_what_is_known_stands_before_many_forecasts():
    made = hours()
    many = Foretold(made.first, np.full((HOURS, 2), 9.0), np.full((HOURS, 2), 3.0))
    seen = sky(replace(made, foretold=many), NOW)
    assert (seen.ways.factor == 1.0).all()
    assert (seen.ways.rain_mm < 9.0).all()


def test_past_years_stand_in_beyond_the_forecast():
    weather = until(of_years(4, NOW), NOW)
    seen = sky(weather, NOW)
    assert seen.instant(seen.hours) >= NOW + 12 * DAY - HOUR
    now = seen.index(NOW)
    assert seen.guessed[now:].all()
    starts = past_starts(weather.known, now, seen.hours - now, now)
    assert len(starts) == seen.past >= 10
    like = np.mean([weather.temp_c[s:s + 24] for s in pick(starts)], axis=0)
    assert seen.temp_c[now:now + 24] == pytest.approx(like)
    fallen = seen.ways.rain_mm[now - seen.ways.first:].sum(axis=0)
    past = {round(float(weather.rain_mm[s:s + seen.hours - now].sum()), 6) for s in starts}
    assert {round(float(each), 6) for each in fallen} == past


@pytest.mark.parametrize("days", [1, 2, 9])
def test_past_years_stand_in_where_the_weather_ended_days_ago(days):
    weather = until(of_years(3, NOW), NOW - days * DAY)
    seen, known = sky(weather, NOW), until(of_years(3, NOW), NOW)
    now = seen.index(NOW)
    starts = pick(past_starts(weather.known, now - 24 * days, seen.hours - now + 24 * days, now))
    from_now = np.array([known.rain_mm[s + 24 * days:s + seen.hours - now + 24 * days].sum()
                         for s in starts])
    ours = seen.ways.rain_mm[now - seen.ways.first:].sum(axis=0)
    assert ours == pytest.approx(from_now)


def test_the_ways_of_a_day_are_the_days_of_past_years():
    weather = until(of_years(3, NOW), NOW)
    seen = sky(weather, NOW)
    now, length = seen.index(NOW), seen.hours - seen.index(NOW)
    starts = pick(past_starts(weather.known, now, length, now))
    day = seen.day[now] + 2
    inside = np.flatnonzero(seen.day == day) - now
    theirs = np.array([sum(et0[s + inside].sum() for et0 in weather.et0_mm.values())
                       for s in starts])
    ours = sum(et0[now + inside].sum() for et0 in seen.et0_mm.values())
    assert seen.ways.factor[day] * ours == pytest.approx(theirs, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 6), st.integers(1, 24 * 60), st.integers(0, 10**6))
def test_past_starts_lie_whole_days_back_and_inside_the_record(years, length, seed):
    size = 24 * 366 * years + 500
    known = np.ones(size, dtype=bool)
    hole = seed % size
    known[hole] = False
    for start in past_starts(known, size, length, size):
        back = (size - start) / 24
        assert back == int(back)
        assert min(abs(back - round(y * 365.2425)) for y in range(1, 8)) <= 10
        assert start + length <= size
        assert not start <= hole < start + length


def test_no_past_year_no_start():
    known = np.ones(24 * 300, dtype=bool)
    assert past_starts(known, known.size, 240, known.size) == []
    assert past_starts(known, known.size, 0, known.size) == []


def test_each_member_meets_past_years_as_often_as_the_others():
    counts = np.unique(pick(list(range(20))), return_counts=True)[1]
    assert counts.sum() == MEMBERS
    assert counts.max() - counts.min() <= 1


def test_a_long_hole_ends_what_is_carried_over():
    weather = of_years(2, NOW)
    begin = weather.known.size - 24 * 100
    weather = replace(weather, temp_c=np.where(
        np.arange(weather.temp_c.size) // 24 == 0, weather.temp_c, weather.temp_c))
    temp = weather.temp_c.copy()
    temp[begin - 24 * 90:begin] = np.nan
    seen = sky(replace(weather, temp_c=temp), NOW - DAY)
    assert seen.first == weather.first + 3600 * begin
    assert not seen.guessed[:24 * 90].any()


def test_the_factor_of_a_day_keeps_its_limits():
    low, high = ways.FACTOR_LIMITS
    seen = sky(foretold_hours(sd=0.4), NOW)
    assert low <= seen.ways.factor.min()
    assert seen.ways.factor.max() <= high
