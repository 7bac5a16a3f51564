"""`advisor weather station`: the file your own weather station writes."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.cli.values import Quantity, Value
from advisor.errors import Refused
from advisor.garden.naming import closest, fold

if TYPE_CHECKING:
    from advisor.weather.series import Series
    from advisor.weather.station import Layout

#: what a grower calls it -> the quantity inside
QUANTITIES: Final = {
    "temperature": "temp_c", "dew point": "dew_c", "humidity": "humidity_pct",
    "vapour pressure": "vapour_kpa", "wind": "wind_ms", "radiation": "ghi_wm2",
    "cloud": "cloud_share", "rain": "rain_mm", "pressure": "pressure_kpa",
}
_COLUMN: Final = re.compile(r"(.+)=\s*(.+?)\s+(\S+)\s*")
MOST_SAID: Final = 10  # notes told one by one


class Told(Value):
    """A column of the file, as "Out temp=temperature °C"."""

    name = "head=what unit"

    def read(self, text: str) -> tuple[str, str, str]:
        """Read head, quantity and unit."""
        match = _COLUMN.fullmatch(text)
        if match is None:
            raise Refused("column", repr(text), "its head, what it holds, and the unit",
                          "Write it as 'Out temp=temperature °C'.")
        head, what, unit = match[1].strip(), fold(match[2]), match[3]
        if what not in QUANTITIES:
            meant = closest(what, QUANTITIES)
            do = f"Did you mean {meant!r}?" if meant else "Leave out what is none of these."
            raise Refused(f"column {head!r}", repr(what), ", ".join(QUANTITIES), do)
        return head, QUANTITIES[what], unit


@click.command()
@click.argument("name")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--column", "columns", multiple=True, type=Told(), metavar="HEAD=WHAT UNIT",
              help="What a column holds, as 'Out temp=temperature °C'. Repeat it.")
@click.option("--time", "time", metavar="HEAD", help="The column of times; else 'time'.")
@click.option("--form", metavar="FORM", help="How times are written, as '%d.%m.%Y %H:%M'; else as "
              "2026-07-01 08:00.")
@click.option("--zone", metavar="NAME", help="Zone of the times, as UTC; else the garden's.")
@click.option("--starts", is_flag=True, help="A time marks the start of its interval; else the "
              "end.")
@click.option("--counter", is_flag=True, help="Rain is counted up until it is set back.")
@click.option("--wind-height", type=Quantity("wind_height_m", "m"), metavar="M",
              help="Height of the wind sensor above the ground.")
@click.option("--decimal-comma", is_flag=True, help="Numbers are written 2,5.")
@at_option
@pass_session
def station(session: Session, name: str, file: Path, columns: tuple[Any, ...], at: str | None,
            **told: Any) -> None:
    """Read FILE, which your weather station NAME writes (CSV), into the garden.

    The first time, say what its columns are; that is kept, and `advisor weather station NAME
    FILE` reads the next one. Of a file that has grown, the new hours are taken. WHAT is
    temperature, dew point, humidity, vapour pressure, wind, radiation, cloud, rain or pressure (at
    the place, not the sea's). For example: advisor weather station shed log.csv --time Time
    --column "Out temp=temperature °C" --column "Rain=rain mm"
    """
    with session.desk(at) as desk:
        name, kept = _kept(desk, name)
        if not columns and any(told.values()):
            raise click.UsageError("Name the columns too: --column.", click.get_current_context())
        layout = _layout(desk, columns, told) if columns else kept
        if layout is None:
            raise Refused(f"station {name!r}", "its columns are not known yet",
                          f"what they hold; in {file.name} there are {_heads(file)}",
                          "Name them: --time HEAD --column 'HEAD=temperature °C'.")
        for line in _read(desk, name, file, layout, new=layout != kept):
            click.echo(line)


def _kept(desk: Desk, name: str) -> "tuple[str, Layout | None]":
    """Give a station's name as it was written first, and what was told of its file."""
    from advisor.weather.station import Layout

    for known, told in desk.garden.stations().items():
        if fold(known) == fold(name):
            return known, Layout.of(told)
    return name, None


def _layout(desk: Desk, columns: Sequence[tuple[str, str, str]], told: dict[str, Any]) -> "Layout":
    from advisor.weather.station import Column, Layout, check

    return check(Layout(
        told["time"] or "time", tuple(Column(*each) for each in columns),
        zone=told["zone"] or desk.zone.key, stamp_form=told["form"] or "",
        period="start" if told["starts"] else "end",
        rain="counter" if told["counter"] else "interval",
        wind_height_m=told["wind_height"], decimal_comma=told["decimal_comma"]))


def _heads(file: Path) -> str:
    """Give the heads of the columns of a file, for a refusal."""
    from advisor.weather.station import heads

    return ", ".join(heads(file))


def _read(desk: Desk, name: str, file: Path, layout: "Layout", *, new: bool) -> list[str]:
    """Take the hours of a file in, the layout too where it is new, and say what came of it."""
    from advisor.cli.hours import refresh
    from advisor.cli.weather_file import refuse_other_years
    from advisor.demand.brightness import set_aside_radiation
    from advisor.garden.store import Source
    from advisor.jobs import air
    from advisor.weather import quality, station
    from advisor.weather.series import doubts

    site, garden = desk.knowledge.site, desk.garden
    series = station.read(file, layout, name)
    refuse_other_years(file.name, series.hours, desk.at)
    table, _ = set_aside_radiation(site, series.hours)
    hours = quality.set_aside(air.arrays_of(table), site.latitude_deg)
    series = replace(series, hours=air.table_of(hours))
    source = Source(name, station.ORIGIN, issued_at=desk.at, kind="instrument")
    with garden.writing():
        if new:
            with desk.entry(f"columns of station {name}") as entry:
                garden.add_station(entry.id, name, layout.told())
        fresh = garden.save_changed(source, hours, desk.at)
        if fresh:
            refresh(garden, site, desk.knowledge.places.values(), desk.at)
    said = [_words(name, series, fresh, desk)]
    notes = (*series.notes, *doubts(series.hours))
    said += [f"Note: {note}" for note in notes[:MOST_SAID]]
    return said + [f"Note: {len(notes) - MOST_SAID} more."] * (len(notes) > MOST_SAID)


def _words(name: str, series: "Series", fresh: int, desk: Desk) -> str:
    index = series.hours.index
    first, last = (at.to_pydatetime().astimezone(desk.zone) for at in (index[0], index[-1]))
    return (f"{name}: {len(index)} hours from {first:%Y-%m-%d %H:%M} to "
            f"{last + timedelta(hours=1):%Y-%m-%d %H:%M}, {fresh or 'none'} of them new.")
