"""The visits as a calendar file (iCalendar, RFC 5545)."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from icalendar import Alarm, Calendar, Event

from advisor import __version__
from advisor.show.sheet import Sheet, SheetVisit, amount, visit_words

#: How long an event lasts where the minutes of a visit are not told.
HALF_HOUR: Final = timedelta(minutes=30)
HOUR_BEFORE: Final = timedelta(hours=-1)
#: Before and after the visits, for which the file tells when clocks change.
YEAR: Final = timedelta(days=366)


def calendar(sheet: Sheet, key: str, made: datetime, sequence: int = 0,
             gone: Sequence[datetime] = ()) -> bytes:
    """Give an event for each visit, in the garden's time zone.

    The first visit keeps its UID, and the second, and so on: a calendar that reads a later file
    (higher `sequence`) moves what it has.

    Parameters
    ----------
    sheet : Sheet
    key : str
        What tells this absence from all others.
    made : datetime
        When the file is made.
    sequence : int
        How often the plan was changed before.
    gone : sequence of datetime
        Visits that an earlier file had after as many as there are now: they are cancelled.
    """
    file = Calendar()
    file.add("prodid", f"-//advisor//{__version__}//EN")
    file.add("version", "2.0")
    file.add("method", "PUBLISH")
    starts = [*(visit.at for visit in sheet.visits), *gone]
    for number, start in enumerate(starts):
        event = Event()
        event.add("uid", f"{key}-{number + 1}@advisor")
        event.add("dtstamp", made)
        event.add("sequence", sequence)
        event.add("dtstart", start.astimezone(sheet.zone))
        if number < len(sheet.visits):
            _tell(event, sheet, sheet.visits[number])
        else:
            event.add("status", "CANCELLED")
            event.add("summary", "Water the trees: no longer needed")
        file.add_component(event)
    if starts:
        file.add_missing_timezones(min(starts).date() - YEAR, max(starts).date() + YEAR)
    return bytes(file.to_ical())


def _tell(event: Event, sheet: Sheet, visit: SheetVisit) -> None:
    """Write into an event what a visit takes."""
    told = visit.minutes
    event.add("duration", HALF_HOUR if told is None else timedelta(minutes=max(round(told), 1)))
    event.add("summary", f"Water the trees: {amount(visit.pots, sheet.us)}")
    event.add("description", visit_words(sheet, visit))
    event.add("status", "CONFIRMED")
    if sheet.garden:
        event.add("location", sheet.garden)
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", "Water the trees")
    alarm.add("trigger", HOUR_BEFORE)
    event.add_component(alarm)
