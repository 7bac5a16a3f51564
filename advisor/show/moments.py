"""Instants, lengths and volumes in the words of a grower."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

MM_PER_INCH = 25.4
MORNING_H = 5  # until then it is the night of the day before
L_PER_US_GALLON = 3.785411784


def part_of_day(at: datetime) -> str:
    """Give the part of the day of a local instant."""
    for until, word in ((MORNING_H, "night"), (11, "morning"), (14, "midday"), (18, "afternoon"),
                        (22, "evening")):
        if at.hour < until:
            return word
    return "night"


def moment(at: datetime, now: datetime, zone: ZoneInfo) -> str:
    """Say when in words: "this evening", "tomorrow morning", "Thursday morning", "Sat 26 Sep".

    A night belongs to the evening before it: at 07:00, "tonight" is up to 05:00 tomorrow.

    Parameters
    ----------
    at, now : datetime
        Aware instants.
    zone : ZoneInfo
        Whose clock shows on the wall.
    """
    here, today = at.astimezone(zone), now.astimezone(zone)
    part = part_of_day(here)
    on = here.date() - timedelta(days=here.hour < MORNING_H)
    days = (on - today.date()).days
    if days == 0 or (days == -1 and here.date() == today.date()):
        return "tonight" if part == "night" else f"this {part}"
    if days == 1:
        return f"tomorrow {part}"
    if 1 < days < 7:
        return f"{on:%A} {part}"
    return day(at, now, zone)


def day(at: datetime, now: datetime, zone: ZoneInfo) -> str:
    """Say which day: "Sat 26 Sep", or "Fri 1 Jan 2027" in another year than now's."""
    here = at.astimezone(zone)
    year = "" if here.year == now.astimezone(zone).year else f" {here.year}"
    return f"{here:%a} {here.day} {here:%b}{year}"


def clock(at: datetime, now: datetime, zone: ZoneInfo) -> str:
    """Say day and time: "Thu 10 Sep 07:00", or "07:00" on the same day."""
    here = at.astimezone(zone)
    if here.date() == now.astimezone(zone).date():
        return f"{here:%H:%M}"
    return dated(at, now, zone)


def dated(at: datetime, now: datetime, zone: ZoneInfo) -> str:
    """Say day and time, the day even where it is today's: "Thu 10 Sep 07:00"."""
    return f"{day(at, now, zone)} {at.astimezone(zone):%H:%M}"


def headline(at: datetime, zone: ZoneInfo) -> str:
    """Say the whole date: "Thursday 10 September 2026, 07:00"."""
    here = at.astimezone(zone)
    return f"{here:%A} {here.day} {here:%B %Y}, {here:%H:%M}"


def litres(amount_l: float, us: bool = False) -> str:
    """Say a volume as a can can measure it: "0.15 L", "1.3 L", "12 L"."""
    rounded_l = round_litres(amount_l)
    return f"{rounded_l / L_PER_US_GALLON:.2f} gal" if us else f"{rounded_l:g} L"


def round_litres(amount_l: float) -> float:
    """Round a volume [L] to what a can can measure: .05 below 1 L, .1 below 10 L, else .5."""
    step = 0.05 if amount_l < 1.0 else (0.1 if amount_l < 10.0 else 0.5)
    return round(max(round(amount_l / step), 1) * step, 2) if amount_l > 0.0 else 0.0


def depth(depth_mm: float, us: bool = False) -> str:
    """Say a depth: "32 mm", or in quarter inches "1.25 in"."""
    return f"{round(depth_mm / MM_PER_INCH * 4) / 4:g} in" if us else f"{depth_mm:.0f} mm"


def rain(rain_mm: float, us: bool = False) -> str:
    """Say how much rain: "12 mm", or in tenths of an inch "0.5 in"."""
    return f"{rain_mm / MM_PER_INCH:.1f} in" if us else f"{rain_mm:.0f} mm"


def percent(share: float) -> str:
    """Say a share as whole per cent: "35 %"."""
    return f"{100.0 * share:.0f} %"


def age(span: timedelta) -> str:
    """Say how long: "3 h", "2 days"."""
    hours = span.total_seconds() / 3600.0
    return f"{hours:.0f} h" if hours < 48.0 else f"{hours / 24.0:.0f} days"
