from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.show import moments

BERLIN = ZoneInfo("Europe/Berlin")


def local(text, fold=0):
    return datetime.fromisoformat(text).replace(tzinfo=BERLIN, fold=fold).astimezone(UTC)


NOW = local("2026-07-01T07:00")  # a Wednesday


@pytest.mark.parametrize(("at", "words"), [
    ("2026-07-01T07:00", "this morning"), ("2026-07-01T12:00", "this midday"),
    ("2026-07-01T15:00", "this afternoon"), ("2026-07-01T19:00", "this evening"),
    ("2026-07-01T22:00", "tonight"), ("2026-07-02T02:00", "tonight"),
    ("2026-07-01T03:00", "tonight"),
    ("2026-07-02T05:00", "tomorrow morning"), ("2026-07-02T19:00", "tomorrow evening"),
    ("2026-07-03T02:00", "tomorrow night"), ("2026-07-03T11:00", "Friday midday"),
    ("2026-07-04T01:00", "Friday night"), ("2026-07-07T07:00", "Tuesday morning"),
    ("2026-07-08T07:00", "Wed 8 Jul"), ("2026-06-30T07:00", "Tue 30 Jun"),
    ("2027-01-01T07:00", "Fri 1 Jan 2027"),
])
def test_a_moment_in_words(at, words):
    assert moments.moment(local(at), NOW, BERLIN) == words


@pytest.mark.parametrize(("now", "at", "words"), [
    ("2026-07-01T01:00", "2026-07-01T03:00", "tonight"),
    ("2026-07-01T01:00", "2026-07-01T07:00", "this morning"),
    ("2026-07-01T23:30", "2026-07-02T00:30", "tonight"),
    ("2026-12-31T19:00", "2027-01-01T07:00", "tomorrow morning"),
    ("2026-12-31T19:00", "2027-01-09T07:00", "Sat 9 Jan 2027"),
])
def test_a_moment_as_seen_by_night_and_over_the_new_year(now, at, words):
    assert moments.moment(local(at), local(now), BERLIN) == words


def test_days_are_those_of_the_wall_clock_when_it_changes():
    saturday = local("2026-10-24T23:30")
    assert moments.moment(saturday + timedelta(hours=8), saturday, BERLIN) == "tomorrow morning"
    back = local("2026-10-25T02:30", fold=1)
    assert moments.clock(back, local("2026-10-25T00:30"), BERLIN) == "02:30"
    assert moments.moment(local("2026-03-29T07:00"), local("2026-03-28T07:00"), BERLIN) == (
        "tomorrow morning")


def test_the_day_is_the_zone_s():
    at = datetime(2026, 7, 1, 22, 30, tzinfo=UTC)
    assert moments.clock(at, at, BERLIN) == "00:30"
    assert moments.day(at, at, BERLIN) == "Thu 2 Jul"
    assert moments.day(at, at, ZoneInfo("America/New_York")) == "Wed 1 Jul"


@pytest.mark.parametrize(("at", "words"), [
    ("2026-07-01T19:00", "19:00"), ("2026-07-02T07:00", "Thu 2 Jul 07:00"),
    ("2026-12-31T23:00", "Thu 31 Dec 23:00"), ("2027-01-01T00:00", "Fri 1 Jan 2027 00:00"),
    ("2025-12-31T23:00", "Wed 31 Dec 2025 23:00")])
def test_a_clock_time_has_its_day_and_year_where_they_differ(at, words):
    assert moments.clock(local(at), NOW, BERLIN) == words


def test_a_dated_time_has_its_day_even_today():
    assert moments.dated(NOW, NOW, BERLIN) == "Wed 1 Jul 07:00"
    assert moments.dated(local("2025-12-31T23:00"), NOW, BERLIN) == "Wed 31 Dec 2025 23:00"


def test_the_head_has_the_whole_date():
    assert moments.headline(NOW, BERLIN) == "Wednesday 1 July 2026, 07:00"
    assert moments.headline(local("2024-02-29T09:05"), BERLIN) == "Thursday 29 February 2024, 09:05"


@pytest.mark.parametrize(("amount_l", "words", "gallons"), [
    (0.0, "0 L", "0.00 gal"), (0.001, "0.05 L", "0.01 gal"), (0.149, "0.15 L", "0.04 gal"),
    (0.97, "0.95 L", "0.25 gal"), (0.999, "1 L", "0.26 gal"), (1.26, "1.3 L", "0.34 gal"),
    (9.96, "10 L", "2.64 gal"), (10.2, "10 L", "2.64 gal"), (12.3, "12.5 L", "3.30 gal"),
    (3.785411784, "3.8 L", "1.00 gal")])
def test_litres_are_what_a_can_measures(amount_l, words, gallons):
    assert moments.litres(amount_l) == words
    assert moments.litres(amount_l, us=True) == gallons


@settings(deadline=None)
@given(st.floats(0.0, 500.0))
def test_rounding_stays_near_and_rounds_once(amount_l):
    rounded = moments.round_litres(amount_l)
    assert abs(rounded - amount_l) <= 0.25 + 1e-9
    assert moments.round_litres(rounded) == rounded
    assert (rounded == 0.0) == (amount_l == 0.0)


@pytest.mark.parametrize(("depth_mm", "words", "inches"), [
    (0.0, "0 mm", "0 in"), (25.4, "25 mm", "1 in"), (32.0, "32 mm", "1.25 in"),
    (40.0, "40 mm", "1.5 in"), (77.4, "77 mm", "3 in")])
def test_depths_in_millimetres_and_quarter_inches(depth_mm, words, inches):
    assert moments.depth(depth_mm) == words
    assert moments.depth(depth_mm, us=True) == inches


def test_rain_in_millimetres_and_tenths_of_an_inch():
    assert (moments.rain(12.4), moments.rain(12.7, us=True)) == ("12 mm", "0.5 in")


@pytest.mark.parametrize(("hours", "words"), [
    (0.2, "0 h"), (5.0, "5 h"), (47.4, "47 h"), (48.0, "2 days"), (100.0, "4 days")])
def test_an_age(hours, words):
    assert moments.age(timedelta(hours=hours)) == words


@pytest.mark.parametrize(("hour", "word"), [(4, "night"), (5, "morning"), (11, "midday"),
                                            (14, "afternoon"), (18, "evening"), (22, "night")])
def test_parts_of_the_day(hour, word):
    assert moments.part_of_day(datetime(2026, 7, 1, hour, tzinfo=BERLIN)) == word
