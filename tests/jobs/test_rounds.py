from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import BERLIN, HOBART, utc

from advisor.garden.records import DEFAULT_ROUNDS, WEEKDAYS, Rounds, Site
from advisor.jobs.rounds import EARLY, next_rounds, rounds_between, season_of

NEW_YORK = Site(40.7, -74.0, 10.0, "America/New_York")
HOWE = Site(-31.5, 159.1, 5.0, "Australia/Lord_Howe")
DEFAULT = {rounds.season: rounds for rounds in DEFAULT_ROUNDS}
HOUR = timedelta(hours=1)


def daily(*times: str, weekdays=WEEKDAYS) -> dict[str, Rounds]:
    return {season: Rounds(season, times, weekdays) for season in DEFAULT}


def local(found, site) -> list[str]:
    return [f"{at.astimezone(site.zone):%m-%d %H:%M}" for at in found]


@pytest.mark.parametrize(("month", "north", "south"), [
    (12, "winter", "summer"), (1, "winter", "summer"), (2, "winter", "summer"),
    (3, "spring", "autumn"), (5, "spring", "autumn"), (6, "summer", "winter"),
    (8, "summer", "winter"), (9, "autumn", "spring"), (11, "autumn", "spring"),
])
def test_seasons_of_both_halves_of_the_earth(month, north, south):
    assert season_of(date(2026, month, 1), 50.0) == north
    assert season_of(date(2026, month, 28), -35.0) == south


def test_by_default_twice_a_day_in_summer_and_on_saturdays_in_winter():
    june = rounds_between(DEFAULT, BERLIN, utc("2026-06-01T00:00"), utc("2026-06-02T12:00"))
    assert local(june, BERLIN) == ["06-01 07:00", "06-01 19:00", "06-02 07:00"]
    december = rounds_between(DEFAULT, BERLIN, utc("2026-12-01T00:00"), utc("2026-12-15T00:00"))
    assert local(december, BERLIN) == ["12-05 10:00", "12-12 10:00"]
    south = rounds_between(DEFAULT, HOBART, utc("2026-06-01T00:00"), utc("2026-06-15T00:00"))
    assert local(south, HOBART) == ["06-06 10:00", "06-13 10:00"]


def test_rounds_of_a_new_season_follow_those_of_the_old():
    found = rounds_between(DEFAULT, BERLIN, utc("2026-05-31T00:00"), utc("2026-06-01T20:00"))
    assert local(found, BERLIN) == ["05-31 07:00", "06-01 07:00", "06-01 19:00"]


def test_only_on_the_weekdays_told():
    told = daily("08:00", weekdays=("tue", "fri"))
    found = rounds_between(told, BERLIN, utc("2026-06-01T00:00"), utc("2026-06-10T00:00"))
    assert [f"{at.astimezone(BERLIN.zone):%a}" for at in found] == ["Tue", "Fri", "Tue"]


def test_after_the_start_and_up_to_the_end():
    seven = utc("2026-06-01T05:00")
    told = daily("07:00")
    assert rounds_between(told, BERLIN, seven, seven + 24 * HOUR) == [seven + 24 * HOUR]
    assert rounds_between(told, BERLIN, seven - timedelta(seconds=1), seven) == [seven]
    assert rounds_between(told, BERLIN, seven, seven) == []


@pytest.mark.parametrize(("site", "day", "hours"), [
    (BERLIN, "2026-03-28", 23.0), (BERLIN, "2026-10-24", 25.0),
    (NEW_YORK, "2026-03-07", 23.0), (NEW_YORK, "2026-10-31", 25.0),
    (HOWE, "2026-10-03", 23.5), (HOWE, "2026-04-04", 24.5), (HOWE, "2026-04-06", 24.0),
])
def test_a_round_keeps_its_local_time_when_the_clocks_change(site, day, hours):
    start = datetime.fromisoformat(f"{day}T06:59").replace(tzinfo=site.zone).astimezone(UTC)
    one, two = rounds_between(daily("07:00"), site, start, start + 26 * HOUR)
    assert (two - one) / HOUR == hours
    assert {f"{at.astimezone(site.zone):%H:%M}" for at in (one, two)} == {"07:00"}


@pytest.mark.parametrize(("site", "day", "clock", "shown"), [
    (BERLIN, "2026-03-29", "02:30", "03:30"), (NEW_YORK, "2026-03-08", "02:00", "03:00"),
    (HOWE, "2026-10-04", "02:15", "02:45"),
])
def test_a_time_that_the_clock_skips_is_as_long_after_as_it_would_have_been(
        site, day, clock, shown):
    start = datetime.fromisoformat(f"{day}T00:30").replace(tzinfo=site.zone).astimezone(UTC)
    (found,) = rounds_between(daily(clock), site, start, start + 12 * HOUR)
    assert f"{found.astimezone(site.zone):%H:%M}" == shown


def test_a_time_that_the_clock_shows_twice_is_one_round():
    start = utc("2026-10-24T22:30")
    (found,) = rounds_between(daily("02:30"), BERLIN, start, start + 12 * HOUR)
    assert found == utc("2026-10-25T00:30")


@pytest.mark.parametrize(("early", "following"), [
    (timedelta(0), "19:00"), (EARLY, "19:00"), (EARLY + timedelta(minutes=1), "07:00"),
    (-HOUR, "19:00"), (-12 * HOUR + EARLY, "07:00"),
])
def test_a_round_asked_for_a_little_early_is_the_present_one(early, following):
    at = utc("2026-06-01T05:00") - early
    first = next_rounds(daily("07:00", "19:00"), BERLIN, at, at + 48 * HOUR)[0]
    assert f"{first.astimezone(BERLIN.zone):%H:%M}" == following


@settings(max_examples=60, deadline=None)
@given(st.integers(1_700_000_000, 1_900_000_000), st.integers(0, 40 * 24),
       st.sampled_from([BERLIN, NEW_YORK, HOWE, HOBART]),
       st.sampled_from([("07:00",), ("00:00", "23:59"), ("02:30", "19:00")]))
def test_a_span_cut_in_two_has_the_same_rounds(second, hours, site, times):
    start = datetime.fromtimestamp(second, UTC)
    middle, end = start + hours * HOUR, start + 40 * 24 * HOUR
    whole = rounds_between(daily(*times), site, start, end)
    parts = [rounds_between(daily(*times), site, *span) for span in ((start, middle),
                                                                     (middle, end))]
    assert whole == parts[0] + parts[1]
    assert whole == sorted(set(whole))
    assert len(whole) == pytest.approx(40 * len(times), abs=len(times))
    assert all(at.astimezone(ZoneInfo(site.time_zone)).minute in (0, 30, 59) for at in whole)
