"""Weather in words: what is known, what was set aside, what each hour rests on."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from advisor.garden.sources import KeptSource
from advisor.show.lists import together
from advisor.show.moments import clock, dated, percent
from advisor.weather.quality import Doubt

#: A value of the hourly table as it is called on the screen.
VALUES: Final = {"temp_c": "temperature", "vapour_kpa": "humidity", "wind_ms": "wind",
                 "ghi_wm2": "radiation", "cloud_share": "cloud", "rain_mm": "rain",
                 "pressure_kpa": "pressure"}
LEAST_SHARE: Final = 0.005  # less is not told in whole per cent
NO_DOUBTS: Final = "Nothing was set aside, and nothing is missing in between."


def days_text(found: Mapping[str, Any]) -> str:
    """Write the days around now, and the sources they come from."""
    if not found["sources"]:
        return "No weather yet. Get it (advisor weather get) or add a file (advisor weather add)."
    newest = datetime.fromisoformat(found["newest"])
    lines = [f"Known to {newest:%a} {newest.day} {newest:%b %Y %H:%M}."]
    lines += dict.fromkeys(_source_words(**each) for each in found["sources"])
    lines += ["", f"{'day':<12}{'low °C':>8}{'high °C':>9}{'rain mm':>9}{'ET0 mm':>8}  leans on"]
    for day in found["days"]:
        mark = "  <- today" if day["date"] == found["at"][:10] else ""
        cells = [_cell(day[name]) for name in ("tmin_c", "tmax_c", "rain_mm", "et0_mm")]
        lines.append(f"{day['date']:<12}{cells[0]:>8}{cells[1]:>9}{cells[2]:>9}{cells[3]:>8}"
                     f"  {', '.join(together(day['rules'].split(';')))}{mark}".rstrip())
    return "\n".join(lines)


def _source_words(name: str, source: str, attribution: str, licence: str, **_: Any) -> str:
    what = name if source == name else f"{name}: {source}"
    return f"From {what}. {attribution or licence}".rstrip()


def _cell(value: float | None) -> str:
    return "?" if value is None else f"{value:.1f}"


def doubts_text(doubts: Sequence[Doubt], ends: Sequence[tuple[datetime, datetime]], now: datetime,
                zone: ZoneInfo) -> str:
    """Write what was set aside or is missing, a line each.

    Parameters
    ----------
    doubts : sequence of Doubt
    ends : sequence of tuple of datetime
        Start of the first hour and end of the last, of each.
    now : datetime
    zone : ZoneInfo
        Whose clock shows on the wall.
    """
    lines = []
    for doubt, (start, end) in zip(doubts, ends, strict=True):
        what = f"{VALUES[doubt.value]} {doubt.given}".rstrip()
        instead = ", ".join(doubt.instead) or "nothing"
        lines.append(f"{dated(start, now, zone)} to {clock(end, start, zone)}: {what} from "
                     f"{doubt.source}, {doubt.why}; used instead: {instead}")
    return "\n".join(lines) or NO_DOUBTS


def sources_text(kept: Sequence[KeptSource], zone: ZoneInfo) -> str:
    """Write files and stations with their numbers."""
    lines = []
    for each in kept:
        span = "no hours"
        if each.start and each.end:
            span = (f"{each.hours} hours from {each.start.astimezone(zone):%Y-%m-%d %H:%M} to "
                    f"{each.end.astimezone(zone):%Y-%m-%d %H:%M}")
        back = " (taken back)" if each.removed else ""
        lines.append(f"{each.number:>4}  {each.source.name}: {span}, added "
                     f"{each.made_at.astimezone(zone):%Y-%m-%d %H:%M}{back}")
    return "\n".join(lines) or "No file of weather was added yet (advisor weather add FILE)."


def filled_text(shares: Mapping[str, Mapping[str, float]]) -> str:
    """Write what the hours of each value rest on, the largest share first."""
    lines = []
    for name, words in shares.items():
        told = [f"{word} {percent(share)}" for word, share in words.items() if share >= LEAST_SHARE]
        lines.append(f"  {VALUES[name]:<12}{', '.join(told)}")
    return "\n".join(lines)
