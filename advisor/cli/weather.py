"""`advisor weather`: add a file of weather, or show what is known of it."""

import hashlib
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli import weather_services
from advisor.cli.session import (
    Session,
    at_option,
    csv_option,
    emit,
    emit_csv,
    json_option,
    pass_session,
    refuse_both,
)
from advisor.errors import Refused

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from pandas import DataFrame

    from advisor.garden.store import Garden

NEAR_KM: Final = 100.0  # a file from farther away is worth a word [J]
TYPICAL: Final = ("tmy3", "epw")
SHOWN_DAYS: Final = 10
MOST_SAID: Final = 10  # hours set aside that are told one by one
DAY_COLUMNS: Final = ("date", "tmin_c", "tmax_c", "rain_mm", "et0_mm", "rules")


@click.group()
def weather() -> None:
    """Get weather from services or files, or show what is known of it."""


for _command in (weather_services.get, weather_services.check, weather_services.contact):
    weather.add_command(_command)


@weather.command("add")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--year", type=int,
              help="The year a typical year (TMY3, EPW) shall stand for; for no other file.")
@at_option
@pass_session
def add(session: Session, file: Path, year: int | None, at: str | None) -> None:
    """Read a weather file into the garden; later files win where two overlap.

    FILE is the tool's own CSV, hourly or daily (see sample_weather/README.md), a TMY3 or an
    EPW file; which, is told by its content.
    """
    with session.desk(at) as desk:
        notes = add_file(desk.garden, file, desk.at, year)
    for note in notes:
        click.echo(note)


def add_file(garden: "Garden", file: Path, at: datetime, year: int | None = None) -> list[str]:
    """Read a weather file into a garden, work out each place's hours, say what came of it.

    Raises
    ------
    Refused
        The file, or a value in it, cannot be used; nothing is written.
    """
    from advisor.cli.hours import refresh
    from advisor.demand.brightness import set_aside_radiation
    from advisor.garden.store import Source
    from advisor.jobs import air
    from advisor.weather import files
    from advisor.weather.series import doubts

    knowledge = garden.knowledge(since=at)
    site = knowledge.site
    kind = files.kind_of(file)
    if year is not None and kind not in TYPICAL:
        raise Refused("--year", f"{year}, for a file of {'days' if kind == 'daily' else 'hours'}",
                      "no year: only TMY3 and EPW stand for any",
                      "Leave --year out: the file says its dates itself.")
    series = files.read(file, site_zone=site.time_zone, year=year, kind=kind,
                        position=files.Position(site.latitude_deg, site.longitude_deg))
    hours, refused = set_aside_radiation(site, series.hours)
    source = Source(file.name, series.source, series.licence,
                    hashlib.sha256(file.read_bytes()).hexdigest(), None,
                    series.latitude_deg, series.longitude_deg, series.elevation_m)
    with garden.writing():
        garden.save_weather(source, air.arrays_of(hours), at)
        refresh(garden, site, knowledge.places.values(), at)
    first, last = hours.index[0].to_pydatetime(), hours.index[-1].to_pydatetime()
    zone = site.zone
    said = [f"{file.name}: {len(hours)} hours from {_stamp(first, zone)} to "
            f"{_stamp(last + timedelta(hours=1), zone)} ({series.source})."]
    said += _holes(hours, zone)
    said += [f"Note: {note}" for note in (*series.notes, *doubts(series.hours))]
    said += [f"Set aside: {each}" for each in refused[:MOST_SAID]]
    said += [f"Set aside: {len(refused) - MOST_SAID} more."] * (len(refused) > MOST_SAID)
    return said + _far(site, series)


def _holes(hours: "DataFrame", zone: "ZoneInfo") -> list[str]:
    """Say which hours are missing in between, where any are."""
    import numpy as np

    missing = np.flatnonzero(np.isnan(hours["temp_c"].to_numpy(dtype=float)))
    if not missing.size:
        return []
    first, last = (hours.index[i].to_pydatetime() for i in (missing[0], missing[-1]))
    return [f"Holes: {len(hours) - missing.size} of {len(hours)} hours have a temperature; "
            f"{missing.size} missing between {_stamp(first, zone)} and "
            f"{_stamp(last + timedelta(hours=1), zone)}."]


def _far(site: Any, series: Any) -> list[str]:
    """Say so where a file was measured far from the garden."""
    if series.latitude_deg is None or series.longitude_deg is None:
        return []
    from math import cos, hypot, radians

    north = 111.2 * (series.latitude_deg - site.latitude_deg)
    east = (111.2 * cos(radians(site.latitude_deg))
            * ((series.longitude_deg - site.longitude_deg + 180.0) % 360.0 - 180.0))
    if (away := hypot(north, east)) <= NEAR_KM:
        return []
    return [f"Note: measured {away:.0f} km from the garden."]


def _stamp(at: datetime, zone: "ZoneInfo") -> str:
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"


@weather.command("show")
@at_option
@json_option
@csv_option
@pass_session
def show(session: Session, at: str | None, as_json: bool, as_csv: bool) -> None:
    """Show the weather in store: its sources, and the days around now."""
    refuse_both(as_json, as_csv)
    with session.desk(at, readonly=True) as desk:
        found = shown(desk.garden, desk.at)
    if as_json:
        emit(found)
    elif as_csv:
        emit_csv(DAY_COLUMNS, [[day[name] for name in DAY_COLUMNS] for day in found["days"]])
    else:
        click.echo(_text(found))


def shown(garden: "Garden", at: datetime) -> dict[str, Any]:
    """Give sources, newest hour and the days around an instant, as a document."""
    import numpy as np

    zone = garden.site().zone
    today = at.astimezone(zone).date()
    days = garden.days(today - timedelta(days=SHOWN_DAYS), today + timedelta(days=SHOWN_DAYS))
    rows = []
    for i in range(len(days["date"])):
        row: dict[str, Any] = {"date": str(days["date"][i])}
        for name in DAY_COLUMNS[1:-1]:
            value = float(days[name][i])
            row[name] = None if np.isnan(value) else round(value, 2)
        row["rules"] = str(days["rules"][i])
        rows.append(row)
    hours = garden.hours("")
    newest = None
    if hours["hour"].size:
        known = np.flatnonzero(~np.isnan(hours["temp_c"]))
        end = datetime.fromtimestamp(int(hours["hour"][known[-1]]) + 3600, UTC)
        newest = end.astimezone(zone).isoformat(timespec="seconds")
    return {
        "at": at.astimezone(zone).isoformat(timespec="seconds"), "newest": newest,
        "sources": list(newest_sources(garden).values()),
        "days": rows,
    }


def newest_sources(garden: "Garden") -> dict[str, dict[str, Any]]:
    """Give each source once, as it was heard last."""
    found: dict[str, dict[str, Any]] = {}
    for s in garden.weather_sources():
        found.setdefault(f"{s.name} {s.kind}", {
            "name": s.name, "kind": s.kind, "source": s.words, "licence": s.licence,
            "attribution": s.attribution})
    return found


def _text(found: dict[str, Any]) -> str:
    if not found["sources"]:
        return "No weather yet. Add a file: advisor weather add FILE."
    lines = [f"Known to {found['newest']}."]
    lines += [f"From {s['name']}: {s['source']}. {s['attribution'] or s['licence']}"
              for s in found["sources"]]
    lines += ["", f"{'day':<12}{'low °C':>8}{'high °C':>9}{'rain mm':>9}{'ET0 mm':>8}  leans on"]
    today = found["at"][:10]
    for day in found["days"]:
        mark = "  <- today" if day["date"] == today else ""
        cells = [_cell(day[name]) for name in DAY_COLUMNS[1:-1]]
        lines.append(f"{day['date']:<12}{cells[0]:>8}{cells[1]:>9}{cells[2]:>9}{cells[3]:>8}"
                     f"  {day['rules'].replace(';', ', ')}{mark}".rstrip())
    return "\n".join(lines)


def _cell(value: float | None) -> str:
    return "?" if value is None else f"{value:.1f}"
