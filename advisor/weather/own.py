"""The project's own hourly file: CSV with the units in its head.

    # source: my own station          remarks, all optional: source, licence, note,
    # latitude: 52.1                   latitude and longitude [°], elevation [m]
    hour [UTC],temp [C],dew point [C],wind 10m [m/s],radiation [W/m2],rain [mm]
    2026-07-01 05:00,14.2,11.9,1.5,212,0
    2026-07-01 06:00,15.0,12.1,,287,0.4

`hour` names the zone of its stamps, which stand for the start of the hour unless it says
`hour end [UTC]`; stamps with an offset of their own (2026-07-01T07:00+02:00) need no zone. An
empty cell is not known. Only `hour` and `temp` must be there. Columns and their units:

    temp         C F K                     air temperature
    dew point    C F K                     or
    humidity     % share                   relative humidity, or
    vapour       kPa hPa mbar Pa           vapour pressure
    wind 10m     m/s km/h mph kn           with the height of the sensor, or
    wind         … and `wind height [m]`   where the height changes from row to row
    radiation    W/m2 kWh/m2 MJ/m2 J/cm2   global radiation: mean or sum of the hour
    cloud        share % octas tenths      sky covered
    rain         mm in cm 0.1mm            in the hour
    pressure     kPa hPa mbar Pa           at the place, not reduced to the sea

A column of words such as `temp from` says where each value came from ("measured", "between
neighbours"); where it is missing or empty, a value is from the "file".
"""

import csv
import io
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.units import CONVERSIONS
from advisor.weather import series, stamps, table

#: words of a head and the quantity behind them
NUMBERS = {
    "temp": "temp_c",
    "dew point": "dew_c",
    "humidity": "humidity_pct",
    "vapour": "vapour_kpa",
    "wind": "wind_ms",
    "wind height": "wind_height_m",
    "radiation": "ghi_wm2",
    "cloud": "cloud_share",
    "rain": "rain_mm",
    "pressure": "pressure_kpa",
}
_WORD = {quantity: words for words, quantity in NUMBERS.items()}
ORIGINS = {f"{_WORD[column]} from": f"{column}_from" for column in series.COLUMNS}
#: unit written and digits kept when a file shall be short
WRITTEN = {
    "temp_c": ("C", 2),
    "vapour_kpa": ("kPa", 3),
    "wind_ms": ("m/s", 2),
    "ghi_wm2": ("W/m2", 0),
    "cloud_share": ("share", 2),
    "rain_mm": ("mm", 1),
    "pressure_kpa": ("kPa", 2),
}
FILE = "file"


def read(path: Path) -> series.Series:
    """Read the project's own hourly file.

    Raises
    ------
    Refused, ManyRefused
        Whatever keeps it from being one, by line and column.
    """
    sheet = table.sheet(path)
    found = table.columns(sheet, NUMBERS | ORIGINS)
    amounts = [column for column in found if column.quantity in CONVERSIONS]
    if "temp_c" not in (column.quantity for column in amounts):
        raise Refused(
            sheet.name,
            "no column 'temp'",
            "a temperature for every file",
            "Add a column 'temp [C]'.",
        )
    period, zone_name = time_head(sheet, "hour")
    written = stamps.Written(sheet.name, [row[0] for row in sheet.rows], sheet.lines)
    index = stamps.to_utc(written, zone_name)
    values = pd.DataFrame(table.numbers(sheet, amounts), index=index)
    for column in found:
        if column not in amounts:
            values[column.name] = [row[column.position].strip() for row in sheet.rows]
    raw = series.Raw(
        values,
        {column.quantity: column.head.unit or "" for column in amounts},
        sheet.name,
        period=period,
        origin=FILE,
        lines=sheet.lines,
        latitude_deg=sheet.number("latitude"),
        wind_height_m=wind_height(sheet, amounts),
        labels={column.quantity: column.head.words for column in amounts},
    )
    return told(sheet, series.build(raw))


def told(sheet: table.Sheet, hours: pd.DataFrame) -> series.Series:
    """Put what the remarks say of source, licence and place beside the hours."""
    notes = sheet.remarks.get("note", ())
    if not sheet.ended:
        notes += (
            f"The last line of {sheet.name} has no line end: if the file was cut off, "
            "its last number is short.",
        )
    return series.Series(
        hours,
        sheet.remark("source") or sheet.name,
        sheet.remark("licence"),
        notes,
        sheet.number("latitude"),
        sheet.number("longitude"),
        sheet.number("elevation"),
    )


def time_head(sheet: table.Sheet, word: str) -> tuple[Literal["start", "end"], str | None]:
    """Read the head of the time column: which end of the hour, and which zone."""
    parts = table.head(sheet.head[0])
    periods: dict[str, Literal["start", "end"]] = {
        word: "start",
        f"{word} start": "start",
        f"{word} end": "end",
    }
    if parts.words not in periods:
        raise Refused(
            f"{sheet.name}, column '{sheet.head[0]}'",
            sheet.head[0],
            f"'{word} [UTC]' or '{word} end [Europe/Berlin]'",
            "Mend the head.",
        )
    if parts.unit is not None:
        stamps.zone(parts.unit, f"{sheet.name}, zone of '{word}'")
    return periods[parts.words], parts.unit


def wind_height(sheet: table.Sheet, amounts: list[table.Column]) -> float:
    """Give the height in the wind column's head; refuse a wind that has none."""
    heads = {column.quantity: column.head for column in amounts}
    if "wind_ms" not in heads or "wind_height_m" in heads:
        return 10.0  # not used
    if heads["wind_ms"].height_m is None:
        raise Refused(
            f"{sheet.name}, column 'wind'",
            "no height",
            "the sensor's height",
            "Write it in the head: 'wind 10m [m/s]' or 'wind 2m [m/s]'.",
        )
    return heads["wind_ms"].height_m


def write_csv(weather: series.Series, path: Path | str, *, short: bool = False) -> None:
    """Write hours as the project's own file; reading it gives the same hours again.

    Parameters
    ----------
    weather : Series
        Hours and what is known of them.
    path : path-like
        Where to write.
    short : bool
        Round to what instruments tell, so that the file stays small; not the same hours
        again then.
    """
    out = io.StringIO()
    for key, value in _remarks(weather):
        out.write(f"# {key}: {' '.join(value.split())}\n")
    columns = _columns(weather.hours, short)
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*columns.values(), strict=True))
    Path(path).write_text(out.getvalue(), encoding="utf-8")


def _remarks(weather: series.Series) -> list[tuple[str, str]]:
    numbers = (
        ("latitude", weather.latitude_deg),
        ("longitude", weather.longitude_deg),
        ("elevation", weather.elevation_m),
    )
    words = (("source", weather.source), ("licence", weather.licence))
    return [
        *((key, value) for key, value in words if value),
        *((key, repr(value)) for key, value in numbers if value is not None),
        *(("note", note) for note in weather.notes),
    ]


def _columns(hours: pd.DataFrame, short: bool) -> dict[str, list[str]]:
    """Give the cells of each column that has something in it, by its head."""
    index = pd.DatetimeIndex(hours.index)
    columns = {"hour [UTC]": index.strftime("%Y-%m-%d %H:%M").tolist()}
    for quantity, (unit, digits) in WRITTEN.items():
        values = hours[quantity].to_numpy(dtype=np.float64)
        cells = [_cell(value, digits if short else None) for value in values.tolist()]
        origins = hours[f"{quantity}_from"]
        if quantity != "temp_c" and not any(cells) and not (origins != "").any():
            continue
        words = _WORD[quantity]
        if quantity == "wind_ms":
            words, heights = _wind_words(hours["wind_height_m"])
            columns |= heights
        columns[f"{words} [{unit}]"] = cells
        if (origins != np.where(np.isnan(values), "", FILE)).any():
            columns[f"{_WORD[quantity]} from"] = origins.tolist()
    return columns


def _wind_words(heights: pd.Series) -> tuple[str, dict[str, list[str]]]:
    """Give the wind's words with its height, or else a column of heights that change."""
    known = heights.dropna().unique().tolist()
    if len(known) == 1:
        return f"wind {_cell(known[0], None)}m", {}
    return "wind", {"wind height [m]": [_cell(height, None) for height in heights.tolist()]}


def _cell(value: float, digits: int | None) -> str:
    """Write the shortest text that reads back as the same number; nothing for NaN."""
    if np.isnan(value):
        return ""
    written = repr(float(value) if digits is None else round(float(value), digits))
    return written.removesuffix(".0")
