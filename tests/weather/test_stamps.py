"""Written stamps become the right instants, or are refused by line."""

import pandas as pd
import pytest

from advisor.errors import Refused
from advisor.weather.stamps import Written, to_utc, zone


def utc(texts: list[str], zone_name: str | None) -> list[str]:
    index = to_utc(Written("a.csv", texts, list(range(2, len(texts) + 2))), zone_name)
    return [f"{stamp:%Y-%m-%dT%H:%MZ}" for stamp in index]


@pytest.mark.parametrize(
    ("text", "zone_name", "expected"),
    [
        ("2026-07-01T05:00Z", None, "2026-07-01T05:00Z"),
        ("2026-07-01 07:00+02:00", None, "2026-07-01T05:00Z"),
        ("2026-07-01T07:00:00+0200", "UTC", "2026-07-01T05:00Z"),
        ("2026-07-01 07:00", "Europe/Berlin", "2026-07-01T05:00Z"),
        ("2026-07-01 05:00", "UTC", "2026-07-01T05:00Z"),
        ("2026-01-15 12:00", "Asia/Kolkata", "2026-01-15T06:30Z"),
        ("2026-01-15 12:00", "Pacific/Chatham", "2026-01-14T22:15Z"),
    ],
)
def test_a_stamp_is_the_instant_of_its_offset_or_zone(
    text: str, zone_name: str | None, expected: str
) -> None:
    assert utc([text], zone_name) == [expected]


def test_offsets_and_local_stamps_may_be_mixed() -> None:
    texts = ["2026-07-01 07:00", "2026-07-01T06:00Z"]
    assert utc(texts, "Europe/Berlin") == ["2026-07-01T05:00Z", "2026-07-01T06:00Z"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "noon",
        "now",
        "today",
        "2026",
        "2026-07-01",
        "2026-13-01 00:00",
        "2026-07-01 24:00",
        "0001-01-01 00:00",
        "9999-01-01 00:00",
        "01/07/2026 05:00",
        "1782880000",
    ],
)
def test_what_is_no_stamp_is_refused_by_line(text: str) -> None:
    with pytest.raises(Refused, match=r"a\.csv, line 3, hour"):
        utc(["2026-07-01 05:00", text], "UTC")


def test_a_stamp_without_zone_is_refused() -> None:
    with pytest.raises(Refused, match="05:00, without a zone. Wanted: a stamp whose zone"):
        utc(["2026-07-01 05:00"], None)


def test_an_unknown_zone_is_refused() -> None:
    with pytest.raises(Refused, match="Europe/Berlin"):
        zone("Europe/Nowhere")
    with pytest.raises(Refused):
        zone("../../etc/passwd")


@pytest.mark.parametrize(
    ("zone_name", "day", "hours"),
    [
        ("Europe/Berlin", "2026-03-29", 23),
        ("Europe/Berlin", "2026-10-25", 25),
        ("America/New_York", "2026-03-08", 23),
        ("America/New_York", "2026-11-01", 25),
        ("Europe/Berlin", "2026-07-01", 24),
    ],
)
def test_local_hours_of_a_day_with_a_change_of_clock_come_back(
    zone_name: str, day: str, hours: int
) -> None:
    start = pd.Timestamp(day, tz=zone_name)
    local = pd.date_range(start, start + pd.DateOffset(days=1), freq="h", inclusive="left")
    assert len(local) == hours
    texts = [f"{stamp:%Y-%m-%d %H:%M}" for stamp in local]
    expected = [f"{stamp:%Y-%m-%dT%H:%MZ}" for stamp in local.tz_convert("UTC")]
    assert utc(texts, zone_name) == expected


@pytest.mark.parametrize(
    ("zone_name", "text"),
    [
        ("Europe/Berlin", "2026-03-29 02:00"),
        ("America/New_York", "2026-03-08 02:30"),
        ("Australia/Lord_Howe", "2026-10-04 02:00"),
    ],
)
def test_a_time_that_the_clock_skips_is_refused(zone_name: str, text: str) -> None:
    with pytest.raises(Refused, match=rf"the clock of {zone_name} skips. Wanted: a time that"):
        utc([text], zone_name)


@pytest.mark.parametrize(
    ("zone_name", "text"),
    [
        ("Europe/Berlin", "2026-10-25 02:00"),
        ("America/New_York", "2026-11-01 01:00"),
        ("Australia/Lord_Howe", "2026-04-05 01:30"),
    ],
)
def test_a_time_that_comes_twice_and_stands_there_once_is_refused(
    zone_name: str, text: str
) -> None:
    with pytest.raises(Refused, match=rf"the clock of {zone_name} shows twice. Wanted: an off"):
        utc([text], zone_name)
    offset = "+02:00" if zone_name == "Europe/Berlin" else "Z"
    assert utc([text.replace(" ", "T") + offset], zone_name)


def test_half_hour_steps_of_a_clock_are_told_apart() -> None:
    texts = ["2026-04-05 01:00", "2026-04-05 01:30", "2026-04-05 01:30", "2026-04-05 02:00"]
    assert utc(texts, "Australia/Lord_Howe") == [
        "2026-04-04T14:00Z",
        "2026-04-04T14:30Z",
        "2026-04-04T15:00Z",
        "2026-04-04T15:30Z",
    ]
