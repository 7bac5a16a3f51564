"""The calendar file, read back."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from sheets_made import BERLIN, MADE, pot, sheet

from advisor.show.calendar import calendar
from advisor.show.sheet import Sheet, SheetVisit, visit_words

SYDNEY = ZoneInfo("Australia/Sydney")


def read(made: bytes) -> icalendar.Calendar:
    """Read one calendar without forgiving anything."""
    (found,) = icalendar.Calendar.from_ical(made, multiple=True)
    assert [each.errors for each in found.walk() if each.errors] == []
    return found


def events(made: bytes) -> list[icalendar.Event]:
    return list(read(made).walk("VEVENT"))


def across(zone: ZoneInfo, day: str) -> Sheet:
    """Make a sheet with a visit at 19:00 on each of three days around a change of clocks."""
    first = datetime.fromisoformat(f"{day}T19:00").replace(tzinfo=zone)
    visits = tuple(SheetVisit(first + timedelta(days=i), (pot(i),), 20.4) for i in range(3))
    return replace(sheet(), zone=zone, start=first, until=first + timedelta(days=4), visits=visits)


def test_an_event_for_each_visit_with_its_list():
    given = sheet()
    found = events(calendar(given, "garden-2026-07-11", MADE))
    assert [event.decoded("dtstart") for event in found] == [visit.at for visit in given.visits]
    for event, visit in zip(found, given.visits, strict=True):
        assert str(event["description"]) == visit_words(given, visit)
        assert event.decoded("duration") == timedelta(minutes=35)
        assert event.decoded("dtstamp") == MADE
        assert event["sequence"] == 0
        (alarm,) = event.walk("VALARM")
        assert alarm.decoded("trigger") == timedelta(hours=-1)


@pytest.mark.parametrize(("zone", "day", "offsets"), [
    (BERLIN, "2026-10-24", [2, 1, 1]), (BERLIN, "2026-03-28", [1, 2, 2]),
    (SYDNEY, "2026-10-03", [10, 11, 11]), (SYDNEY, "2026-04-04", [11, 10, 10])])
def test_visits_keep_their_time_across_a_change_of_clocks(zone, day, offsets):
    made = calendar(across(zone, day), "x", MADE)
    assert made.count(f"DTSTART;TZID={zone.key}:".encode()) == 3
    starts = [event.decoded("dtstart") for event in events(made)]
    assert [f"{start:%H:%M}" for start in starts] == ["19:00"] * 3
    assert [start.utcoffset() / timedelta(hours=1) for start in starts] == offsets


@pytest.mark.parametrize(("zone", "day"), [(BERLIN, "2026-10-24"), (SYDNEY, "2026-10-03")])
def test_the_zone_in_the_file_says_itself_when_clocks_change(zone, day):
    given = across(zone, day)
    (told,) = read(calendar(given, "x", MADE)).walk("VTIMEZONE")
    assert told["tzid"] == zone.key
    own = told.to_tz()
    for visit in given.visits:
        wall = visit.at.replace(tzinfo=None)
        assert wall.replace(tzinfo=own).utcoffset() == visit.at.utcoffset()


def test_a_later_file_moves_what_an_earlier_one_made():
    given = sheet()
    moved = replace(given, visits=tuple(
        replace(visit, at=visit.at - timedelta(days=1)) for visit in given.visits[:2]))
    old = events(calendar(given, "x", MADE))
    new = events(calendar(moved, "x", MADE + timedelta(hours=1), 1, [given.visits[2].at]))
    assert [event["uid"] for event in new] == [event["uid"] for event in old]
    assert len({event["uid"] for event in old}) == 3
    assert [event["sequence"] for event in new] == [1, 1, 1]
    assert [event["status"] for event in new] == ["CONFIRMED", "CONFIRMED", "CANCELLED"]
    assert new[0].decoded("dtstart") == given.visits[0].at - timedelta(days=1)


def test_two_absences_share_no_uid():
    one, two = (events(calendar(sheet(), key, MADE)) for key in ("a", "b"))
    assert not {event["uid"] for event in one} & {event["uid"] for event in two}


def test_lines_are_as_long_as_the_standard_allows():
    # RFC 5545, 3.1: no more than 75 octets, CRLF at each end.
    made = calendar(sheet(40, 3), "x", MADE)
    assert made.endswith(b"\r\n")
    assert max(len(line) for line in made.split(b"\r\n")) <= 75
    assert made.count(b"\n") == made.count(b"\r\n")


def test_what_the_standard_wants_once_is_there_once():
    # RFC 5545, 3.6 and 3.6.1: VERSION and PRODID; UID, DTSTAMP and DTSTART in each event.
    found = read(calendar(sheet(), "x", MADE))
    assert all(name in found for name in ("version", "prodid"))
    for event in found.walk("VEVENT"):
        names = [name for name, _ in event.property_items(recursive=False)]
        assert all(names.count(name) == 1 for name in ("UID", "DTSTAMP", "DTSTART", "DURATION"))


def test_no_visit_is_an_empty_calendar():
    assert events(calendar(replace(sheet(), visits=()), "x", MADE)) == []
