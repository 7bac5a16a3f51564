"""Weather files of every kind: told by their content, read into hours.

- hourly: the project's own file, `advisor.weather.own`
- daily: the project's own daily file, `advisor.weather.daily`
- tmy3: a typical meteorological year, `advisor.weather.tmy3`
- epw: a year for building simulation, `advisor.weather.epw`
"""

from pathlib import Path
from typing import Literal, get_args

from advisor.errors import Refused
from advisor.weather import daily, epw, own, table, tmy3
from advisor.weather.daily import Position
from advisor.weather.own import write_csv
from advisor.weather.series import Series

__all__ = ["Kind", "Position", "kind_of", "read", "write_csv"]

Kind = Literal["hourly", "daily", "tmy3", "epw"]


def read(
    path: Path | str,
    *,
    site_zone: str | None = None,
    kind: Kind | None = None,
    year: int | None = None,
    position: Position | None = None,
) -> Series:
    """Read a weather file.

    Parameters
    ----------
    path : path-like
        The file.
    site_zone : str or None
        Zone whose days a daily file means where its head names none ("Europe/Berlin").
    kind : str or None
        What the file is; told by its content where not given.
    year : int or None
        The year a typical year (TMY3, EPW) shall stand for.
    position : Position or None
        Where a daily file was taken, if its remarks do not say: the sun spreads its days.

    Returns
    -------
    Series
        The hourly table and what the file says of itself.

    Raises
    ------
    Refused, ManyRefused
        Unreadable, empty, binary, cut off half-way, no weather, or with impossible values.
    """
    path = Path(path)
    kind = kind_of(path) if kind is None else kind
    if kind == "hourly":
        return own.read(path)
    if kind == "daily":
        return daily.read(path, site_zone=site_zone, position=position)
    if kind == "tmy3":
        return tmy3.read(path, year=year)
    if kind == "epw":
        return epw.read(path, year=year)
    raise Refused(
        "kind of file", kind, "known: " + ", ".join(get_args(Kind)), "Give one of these, or none."
    )


def kind_of(path: Path | str) -> Kind:
    """Tell what a weather file is by its first lines.

    Raises
    ------
    Refused
        It cannot be read, or is no weather file of a known kind.
    """
    path = Path(path)
    start = table.content(path)[:20_000].decode("utf-8-sig", errors="replace")
    lines = table.lines_of(start.lstrip())
    if lines[0].startswith("LOCATION,"):
        return "epw"
    if len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        return "tmy3"
    rows = [line.strip(' "').lower() for line in lines]
    rows = [row for row in rows if row and not row.startswith("#")]
    if rows and rows[0].startswith("hour"):
        return "hourly"
    if rows and rows[0].startswith("day"):
        return "daily"
    table.text(path)  # says so where it is binary
    raise Refused(
        path.name,
        "not a weather file",
        "the own CSV (first column 'hour [UTC]' or 'day'), TMY3 or EPW",
        "Give a file of one of these kinds.",
    )
