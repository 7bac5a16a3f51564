"""Typical meteorological years of the TMY3 kind, through `pvlib.iotools`.

Source: Wilcox and Marion, "Users manual for TMY3 data sets", NREL/TP-581-43156, 2008. Stamps
mark the end of an hour; radiation is its mean, all else was read at the stamp. Months come
from different years, so the file has to be laid on one.

Rain is read where its quantity is one hour: totals of 3, 6 and 24 hours overlap with each
other. Some files give it in tenths of a millimetre where the manual says millimetres: seen by
its steps, which are hundredths of an inch.
"""

import io
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import iotools

from advisor.errors import Refused
from advisor.weather import series, table, years

HOURS = 8760
#: any number at or below this is "not there" [S: -9900 in the manual]
MISSING = -9000.0
#: rain is in tenths of mm when this share of its numbers are whole hundredths of an inch in
#: tenths of mm, [J] .6 to .97: 39 % are by chance; .98 and .15 in two files looked at
INCH_SHARE = 0.9
#: so many wet hours are needed to tell, [J]
INCH_HOURS = 10
DEPTH, QUANTITY, CLOUD = "Lprecip depth (mm)", "Lprecip quantity (hr)", "TotCld (tenths)"
COLUMNS = {
    "temp_c": ("temp_air", "C"),
    "dew_c": ("temp_dew", "C"),
    "humidity_pct": ("relative_humidity", "%"),
    "wind_ms": ("wind_speed", "m/s"),
    "ghi_wm2": ("ghi", "W/m2"),
    "cloud_share": (CLOUD, "tenths"),
    "pressure_kpa": ("pressure", "mbar"),
}
LICENCE = "US Government work (National Renewable Energy Laboratory), free to use"


def read(path: Path, *, year: int | None = None) -> series.Series:
    """Read a TMY3 file and lay it on one year.

    Parameters
    ----------
    path : Path
        The file.
    year : int or None
        The year it shall stand for; needed where its months come from several.

    Raises
    ------
    Refused
        Cut off, not to be read, or of several years and none named.
    """
    text = table.old_text(path)
    lines = table.lines_of(text)
    years.check_whole(
        path.name,
        [line.count(",") for line in lines[2:]],
        lines[1].count(",") if len(lines) > 1 else 0,
        (HOURS,),
    )
    try:
        found = sorted({int(line[6:10]) for line in lines[2:]})
        year = years.wanted(path.name, found, year)
        rows, meta = iotools.read_tmy3(io.StringIO(text), coerce_year=year, map_variables=True)
        hours, notes = _hours(rows, path.name, meta["latitude"])
    except Refused:
        raise
    except years.NOT_READ as error:
        raise years.unreadable(path.name, "TMY3", error) from None
    return series.Series(
        hours,
        f"typical year (TMY3), station {meta['USAF']} "
        f"{meta['Name'].strip(chr(34)).title()}, {meta['State']}",
        LICENCE,
        (*years.notes(found, year, hours), *notes),
        meta["latitude"],
        meta["longitude"],
        meta["altitude"],
    )


def _hours(
    rows: pd.DataFrame, name: str, latitude_deg: float
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Give the hourly table of the file's rows, and what was left out of it."""
    rows = rows.set_axis(_before_leap_day(pd.DatetimeIndex(rows.index)))
    rows = rows.where(~(rows.select_dtypes("number") <= MISSING), np.nan)
    values = pd.DataFrame({ours: rows[theirs] for ours, (theirs, _) in COLUMNS.items()})
    depth, rain_unit, notes = _rain(rows[DEPTH], rows[QUANTITY])
    units = {ours: unit for ours, (_, unit) in COLUMNS.items()} | {"rain_mm": rain_unit}
    hours = series.build(
        series.Raw(
            values.assign(rain_mm=depth),
            units,
            name,
            period="end",
            instants=True,
            bad="set aside",
            latitude_deg=latitude_deg,
        )
    )
    return hours, notes


def _before_leap_day(stamps: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """Put the end of 28 February back where it was: pvlib moves it past a leap day."""
    moved = (stamps.month == 3) & (stamps.day == 1) & (stamps.hour == 0) & stamps.is_leap_year
    return stamps.where(~moved, stamps - pd.Timedelta(days=1))


def _rain(depth: pd.Series, quantity: pd.Series) -> tuple[pd.Series, str, tuple[str, ...]]:
    """Give the rain of single hours, its unit, and what was left out."""
    hourly = depth.where(quantity == 1)
    longer = int((depth.notna() & quantity.notna() & (quantity != 1)).sum())
    notes = []
    if longer:
        notes.append(f"Rain: {longer} totals of more than one hour overlap and were left out.")
    unknown = int(hourly.isna().sum())
    if unknown:
        notes.append(f"Rain: {unknown} of {len(hourly)} hours are not known.")
    if in_tenths(hourly.dropna().to_numpy(dtype=np.float64)):
        notes.append(
            "Rain stands in the file in tenths of a millimetre, not millimetres: "
            "its steps are hundredths of an inch."
        )
        return hourly, "0.1mm", tuple(notes)
    return hourly, "mm", tuple(notes)


def in_tenths(depths: NDArray[np.float64]) -> bool:
    """Tell whether hourly rain is written in tenths of a millimetre.

    A gauge that counts hundredths of an inch (.254 mm) gives 3, 5, 8, 10, 13 … in tenths of a
    millimetre.

    Parameters
    ----------
    depths : numpy.ndarray
        Known depths, as written.
    """
    wet = depths[(depths > 0) & np.isfinite(depths)]
    if len(wet) < INCH_HOURS or (wet % 1).any():
        return False
    counts = np.round(wet / 2.54)
    return bool((np.round(counts * 2.54) == wet).mean() >= INCH_SHARE)
