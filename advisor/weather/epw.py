"""EnergyPlus weather files (EPW), through `pvlib.iotools`.

Source: EnergyPlus documentation, "Auxiliary programs", weather file section (missing-value
codes from memory [M]). Hours are counted 1 to 24 and end at their number; `read_epw` makes
them start at the stamp. Radiation is the mean of the hour, all else was read at its end.
Rain in such files is seldom measured: nil or 999 throughout is taken as not known.
"""

import io
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib import iotools

from advisor.errors import Refused
from advisor.weather import series, table, years

HEAD_LINES = 8
HOURS = (8760, 8784)
#: fields of a row: 35 today, 32 in old files, [M]
FEWEST_FIELDS = 32
#: quantity -> name in pvlib, unit, and the number from which on it means "not there" [M]
COLUMNS: dict[str, tuple[str, str, float]] = {
    "temp_c": ("temp_air", "C", 99.9),
    "dew_c": ("temp_dew", "C", 99.9),
    "humidity_pct": ("relative_humidity", "%", 999.0),
    "wind_ms": ("wind_speed", "m/s", 999.0),
    "ghi_wm2": ("ghi", "Wh/m2", 9999.0),
    "cloud_share": ("total_sky_cover", "tenths", 99.0),
    "rain_mm": ("liquid_precipitation_depth", "mm", 999.0),
    "pressure_kpa": ("atmospheric_pressure", "Pa", 999999.0),
}


def read(path: Path, *, year: int | None = None) -> series.Series:
    """Read an EPW file and lay it on one year.

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
    rows = [line.split(",") for line in table.lines_of(text)[HEAD_LINES:]]
    fields = [len(row) - 1 for row in rows]
    head = max(fields[0] if fields else 0, FEWEST_FIELDS - 1)
    years.check_whole(path.name, fields, head, HOURS, HEAD_LINES + 1)
    try:
        found = sorted({int(row[0]) for row in rows})
        year = years.wanted(path.name, found, year)
        columns, meta = iotools.read_epw(io.StringIO(text), coerce_year=year)
        hours = _hours(columns, path.name, meta["latitude"])
    except Refused:
        raise
    except years.NOT_READ as error:
        raise years.unreadable(path.name, "EPW", error) from None
    return series.Series(
        hours,
        f"typical year (EPW), {meta['city']}, {meta['country']}",
        "as the file's maker says",
        (*years.notes(found, year, hours), _rain_note(hours["rain_mm"])),
        meta["latitude"],
        meta["longitude"],
        meta["altitude"],
    )


def _hours(found: pd.DataFrame, name: str, latitude_deg: float) -> pd.DataFrame:
    """Give the hourly table of the file's rows."""
    values = {
        ours: _known(found[theirs], missing) for ours, (theirs, _, missing) in COLUMNS.items()
    }
    units = {ours: unit for ours, (_, unit, _) in COLUMNS.items()}
    raw = series.Raw(
        pd.DataFrame(values),
        units,
        name,
        instants=True,
        bad="set aside",
        latitude_deg=latitude_deg,
    )
    return series.build(raw)


def _known(values: pd.Series, missing: float) -> pd.Series:
    """Give numbers, NaN where the code says that there is none."""
    numbers = values.astype(np.float64)
    return numbers.where(numbers < missing)


def _rain_note(rain: pd.Series) -> str:
    if rain.isna().all():
        return "Rain is nil or missing in the whole file: taken as not known, not as dry."
    return f"Rain, {rain.sum():.0f} mm in all, is seldom measured in EPW files: check it."
