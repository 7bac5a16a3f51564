from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.clock import day_words, instant_words, iso, parse
from advisor.errors import Refused

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)


@pytest.mark.parametrize(("text", "utc"), [
    ("2026-07-01T07:00", "2026-07-01T05:00"),
    ("2026-07-01 07:00", "2026-07-01T05:00"),
    ("2026-01-01T07:00", "2026-01-01T06:00"),
    ("2026-07-01T07:00+00:00", "2026-07-01T07:00"),
    ("2026-07-01T07:00Z", "2026-07-01T07:00"),
    ("07:00", "2026-07-01T05:00"),
    ("7:00", "2026-07-01T05:00"),
    ("2026-10-25T02:30+01:00", "2026-10-25T01:30"),
])
def test_an_instant_without_an_offset_is_local(text, utc):
    assert parse(text, BERLIN, NOW) == datetime.fromisoformat(utc).replace(tzinfo=UTC)


def test_today_is_the_site_s_day():
    late = datetime(2026, 7, 1, 23, 0, tzinfo=UTC)  # 2 July, 01:00 in Berlin
    assert parse("07:00", BERLIN, late) == datetime(2026, 7, 2, 5, 0, tzinfo=UTC)


@pytest.mark.parametrize(("text", "said"), [
    ("2026-10-25T02:30", "the clock of Europe/Berlin shows it twice"),
    ("2026-03-29T02:30", "the clock of Europe/Berlin skips it"),
    ("2026-07-01", "Add the time: 2026-07-01T07:00."),
    ("2026-02-30T07:00", "Write it as 2026-07-01T07:00."),
    ("yesterday", "Write it as 2026-07-01T07:00."),
    ("25:00", "Write it as 2026-07-01T07:00."),
    ("", "Write it as 2026-07-01T07:00."),
])
def test_what_is_no_instant_is_refused(text, said):
    with pytest.raises(Refused) as refused:
        parse(text, BERLIN, NOW)
    assert said in str(refused.value)


def test_a_day_stands_for_its_noon_and_today_for_now():
    assert parse("2026-06-30", BERLIN, NOW, day=True) == datetime(2026, 6, 30, 10, tzinfo=UTC)
    assert parse("2026-07-01", BERLIN, NOW, day=True) == NOW


@settings(max_examples=100, deadline=None)
@given(st.integers(-600_000_000, 4_000_000_000), st.sampled_from(
    ["Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "UTC"]))
def test_what_is_written_reads_back_as_the_same_instant(seconds, zone):
    at = datetime.fromtimestamp(seconds, UTC)
    assert parse(iso(at, ZoneInfo(zone)), BERLIN, NOW) == at


def test_instants_are_written_with_the_site_s_offset():
    assert iso(NOW, BERLIN) == "2026-07-01T07:00:00+02:00"
    assert instant_words(NOW, BERLIN) == "1 July 2026, 07:00"
    assert day_words(datetime(2026, 7, 1, 23, tzinfo=UTC), BERLIN) == "2 July 2026"


@pytest.mark.parametrize("text", ["0001-01-01T07:00", "9999-12-31T23:59", "0001-01-01",
                                  "1899-12-31T12:00", "2101-01-01T00:00+14:00"])
def test_years_no_garden_has_seen_are_refused(text):
    with pytest.raises(Refused, match="a year from 1900 to 2100"):
        parse(text, BERLIN, NOW, day=True)
