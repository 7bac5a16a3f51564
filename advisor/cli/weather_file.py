"""`advisor weather add`: a file of weather, taken into the garden."""

import hashlib
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.session import Session, at_option, pass_session
from advisor.errors import Refused

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from pandas import DataFrame

    from advisor.garden.store import Garden

NEAR_KM: Final = 100.0  # a file from farther away is worth a word [J]
TYPICAL: Final = ("tmy3", "epw")
BACK_YEARS: Final = 60  # of hours taken, before this year and after it [J]
AHEAD_YEARS: Final = 2
MOST_SAID: Final = 10  # hours set aside that are told one by one


@click.command()
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
    refuse_other_years(file.name, series.hours, at)
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


def refuse_other_years(name: str, hours: "DataFrame", at: datetime) -> None:
    """Refuse hours so far from now that a year is written wrongly: all in between is worked out.

    Raises
    ------
    Refused
        Hours more than `BACK_YEARS` back or `AHEAD_YEARS` ahead.
    """
    first, last = (hours.index[i].to_pydatetime() for i in (0, -1))
    years = range(at.year - BACK_YEARS, at.year + AHEAD_YEARS + 1)
    if first.year not in years or last.year not in years:
        raise Refused(f"{name}, time", f"{first:%Y-%m-%d} to {last:%Y-%m-%d}",
                      f"hours of the years {years[0]} to {years[-1]}",
                      "Look at the year of its stamps.")


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
