"""A table dropped by a private weather station, read by a layout told once.

The layout names the columns, their units, the zone of the stamps and how rain is counted.
Readings a few minutes apart become hours: means, and sums of rain; an hour that was not seen for
most of its length is not known.
"""

import io
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal, Self

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.units import LIMITS, factor
from advisor.weather import grid, judge, series, stamps, table
from advisor.weather.refusals import raise_all

#: an hour is known where readings cover this share of it, [J] .5 to .9
LEAST_SHARE = 0.75
ORIGIN = "own station"
QUANTITIES = (
    "temp_c",
    "dew_c",
    "humidity_pct",
    "vapour_kpa",
    "wind_ms",
    "ghi_wm2",
    "cloud_share",
    "rain_mm",
    "pressure_kpa",
)
SEPARATORS = (",", ";", "\t")
_NOTHING = ("-", "--", "---", "--.-", "n/a")


@dataclass(frozen=True)
class Column:
    """A column of the file: its head, the quantity in it, and the unit it is written in."""

    head: str
    quantity: str
    unit: str


@dataclass(frozen=True)
class Layout:
    """How a station writes its file.

    Parameters
    ----------
    time : str
        Head of the column of stamps.
    columns : tuple of Column
        Those that are read; all others are left alone.
    zone : str
        Zone of stamps without an offset ("Europe/Berlin").
    stamp_form : str
        How stamps are written, as in strftime ("%d.%m.%Y %H:%M"); ISO 8601 where empty.
    period : "start" or "end"
        Which end of its interval a stamp marks.
    rain : "interval" or "counter"
        Rain of the interval, or a counter that grows until it is set back.
    wind_height_m : float, optional
        Height of the wind sensor [m]; must be told where wind is read.
    decimal_comma : bool
        Numbers are written 2,5.
    """

    time: str
    columns: tuple[Column, ...]
    zone: str = "UTC"
    stamp_form: str = ""
    period: Literal["start", "end"] = "end"
    rain: Literal["interval", "counter"] = "interval"
    wind_height_m: float | None = None
    decimal_comma: bool = False

    def told(self) -> dict[str, Any]:
        """Give the layout as plain words and numbers, to be kept."""
        return asdict(self)

    @classmethod
    def of(cls, told: Mapping[str, Any]) -> Self:
        """Make a layout of what was kept."""
        columns = tuple(Column(**each) for each in told["columns"])
        return cls(**{**told, "columns": columns})


def check(layout: Layout) -> Layout:
    """Give a layout that can be used.

    Raises
    ------
    Refused
        No columns, a quantity or unit that is not known, a quantity twice, an unknown zone,
        wind without a height.
    """
    stamps.zone(layout.zone)
    names = [column.quantity for column in layout.columns]
    if not names:
        raise Refused(
            "columns of a station",
            "none",
            "at least one",
            "Name a column, what it holds and its unit.",
        )
    for column in layout.columns:
        if column.quantity not in QUANTITIES:
            raise Refused(
                f"column '{column.head}'",
                column.quantity,
                ", ".join(QUANTITIES),
                "Give one of these quantities.",
            )
        factor(column.quantity, column.unit)
        if names.count(column.quantity) > 1:
            raise Refused(
                f"column '{column.head}'",
                f"{LIMITS[column.quantity].words} twice",
                "each quantity once",
                "Take one of the two columns out.",
            )
    if "wind_ms" in names:
        if layout.wind_height_m is None:
            raise Refused(
                "wind of a station",
                "no height",
                "the sensor's height",
                "Say how high above the ground it stands.",
            )
        judge.height(layout.wind_height_m, "station")
    return layout


def read(path: Path | str, layout: Layout, name: str = "") -> series.Series:
    """Read a station's file into hours.

    Parameters
    ----------
    path : path-like
        The file.
    layout : Layout
        How it is written.
    name : str
        Of the station; the file's name where empty.

    Returns
    -------
    Series
        Hours; readings beyond all limits are left out, with a note.

    Raises
    ------
    Refused, ManyRefused
        It cannot be read, lacks a column, has stamps or numbers that are none, or readings
        more than an hour apart.
    """
    check(layout)
    path = Path(path)
    sheet, notes = _sheet(path, layout)
    columns = [_found(sheet, column) for column in layout.columns]
    index = _stamps(sheet, layout)
    values = pd.DataFrame(table.numbers(sheet, columns), index=index)
    values, left_out = _inside(values, layout)
    _check_order(index, sheet)
    step = pd.Timedelta(index.to_series().diff().median()) if len(index) > 1 else grid.HOUR
    if step > grid.HOUR:
        raise Refused(
            f"{path.name}, readings",
            f"{step / grid.HOUR:g} h apart",
            "at most an hour apart",
            "Let the station write more often.",
        )
    hours = _hourly(values, step, layout)
    raw = series.Raw(
        hours,
        {},
        path.name,
        bad="set aside",
        origin=ORIGIN,
        wind_height_m=layout.wind_height_m or 10.0,
    )
    return series.Series(series.build(raw), name or path.name, "", (*notes, *left_out))


def heads(path: Path | str) -> tuple[str, ...]:
    """Give the heads of the columns of a file.

    Raises
    ------
    Refused
        It cannot be read.
    """
    first = next((line for line in table.text(Path(path)).splitlines() if line.strip()), "")
    found = next(table.rows_of([first], Path(path).name, separator=_separator(first)), (1, []))
    return tuple(cell.strip() for cell in found[1] if cell.strip())


def _separator(first: str) -> str:
    return max(SEPARATORS, key=first.count)


def _sheet(path: Path, layout: Layout) -> tuple[table.Sheet, tuple[str, ...]]:
    """Read rows of text; a last row that is still being written is left out."""
    text = table.text(path)
    first = text.split("\n", 1)[0]
    lines = io.StringIO(text, newline="")
    rows = list(table.rows_of(lines, path.name, separator=_separator(first)))
    head = tuple(cell.strip() for _, row in rows[:1] for cell in row)
    notes: tuple[str, ...] = ()
    rows = rows[1:]
    if rows and len(rows[-1][1]) < len(head):
        notes = (f"The last line of {path.name} is not whole and was left out.",)
        rows = rows[:-1]
    if not rows:
        raise Refused(
            path.name,
            "no rows below its head",
            "at least one row",
            "Wait until the station has written some.",
        )
    raise_all(
        path.name,
        [
            Refused(
                f"line {number}",
                f"{len(row)} fields",
                f"{len(head)} fields as in the head",
                "Mend this row.",
            )
            for number, row in rows
            if len(row) != len(head)
        ],
        "Mend these rows.",
    )
    cells = [[_cell(cell, layout) for cell in row] for _, row in rows]
    return table.Sheet(path.name, {}, head, cells, [number for number, _ in rows], True), notes


def _cell(written: str, layout: Layout) -> str:
    cell = written.strip()
    if cell.lower() in _NOTHING:
        return ""
    return cell.replace(",", ".") if layout.decimal_comma else cell


def _position(sheet: table.Sheet, head: str) -> int:
    by_small = {name.lower(): i for i, name in enumerate(sheet.head)}
    if head.lower() not in by_small:
        close = get_close_matches(head.lower(), by_small, n=1)
        do = f"Did you mean '{close[0]}'?" if close else "Tell the layout of this file anew."
        raise Refused(f"{sheet.name}, column '{head}'", "not there", ", ".join(sheet.head), do)
    return by_small[head.lower()]


def _found(sheet: table.Sheet, column: Column) -> table.Column:
    return table.Column(
        _position(sheet, column.head),
        column.quantity,
        column.quantity,
        table.Head(column.head, column.unit),
    )


def _stamps(sheet: table.Sheet, layout: Layout) -> pd.DatetimeIndex:
    position = _position(sheet, layout.time)
    texts = [row[position] for row in sheet.rows]
    if layout.stamp_form:
        read = pd.to_datetime(pd.Series(texts), format=layout.stamp_form, errors="coerce")
        texts = [
            text if pd.isna(at) else at.isoformat() for text, at in zip(texts, read, strict=True)
        ]
    return stamps.to_utc(stamps.Written(sheet.name, texts, sheet.lines), layout.zone)


def _check_order(index: pd.DatetimeIndex, sheet: table.Sheet) -> None:
    raise_all(
        sheet.name,
        [
            Refused(
                f"line {sheet.lines[i + 1]}, time",
                f"{index[i + 1]:%Y-%m-%dT%H:%MZ}",
                "later than the line before",
                "Put the rows in order of time, each once.",
            )
            for i in np.flatnonzero(np.diff(index.asi8) <= 0).tolist()
        ],
        "Mend these rows.",
    )


def _inside(values: pd.DataFrame, layout: Layout) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Bring readings to the units used inside; leave out those beyond all limits."""
    made, notes = {}, []
    for column in layout.columns:
        times, plus = factor(column.quantity, column.unit)
        limit = LIMITS[column.quantity]
        inside = values[column.quantity] * times + plus
        counter = column.quantity == "rain_mm" and layout.rain == "counter"
        high = np.inf if counter else limit.high
        bad = (inside < limit.low) | (inside > high)
        if bad.any():
            notes.append(
                f"{int(bad.sum())} readings of {limit.words} beyond {limit.low:g} to "
                f"{high:g} {limit.unit} left out."
            )
        made[column.quantity] = inside.mask(bad)
        if counter:
            made[column.quantity] = _counted(made[column.quantity])
    return pd.DataFrame(made, index=values.index), tuple(notes)


def _counted(counter: pd.Series) -> pd.Series:
    """Give what a counter grew by since the reading before; set back, it starts from nil."""
    grown = counter.diff()
    return grown.where(~(grown < 0), counter)


def _hourly(values: pd.DataFrame, step: pd.Timedelta, layout: Layout) -> pd.DataFrame:
    begins = pd.DatetimeIndex(values.index) - (step if layout.period == "end" else pd.Timedelta(0))
    by_hour = values.groupby(begins.floor("h"))
    seen = by_hour.count() * (step / grid.HOUR)
    hours = by_hour.mean()
    if "rain_mm" in hours:
        hours["rain_mm"] = by_hour["rain_mm"].sum()
    hours = hours.where(seen >= LEAST_SHARE)
    known = hours.dropna(how="all")
    if known.empty:
        raise Refused(
            "readings of a station",
            "no hour seen for most of its length",
            f"at least {LEAST_SHARE:.0%} of one hour",
            "Wait for more readings.",
        )
    return known
