"""Units and limits: what each written number is, and whether it can be true."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.units import LIMITS, check, factor
from advisor.weather.refusals import raise_all
from advisor.weather.vapour import saturation_kpa

#: every quantity a source may give by the hour
QUANTITIES = (
    "temp_c",
    "dew_c",
    "humidity_pct",
    "vapour_kpa",
    "wind_ms",
    "wind_height_m",
    "ghi_wm2",
    "cloud_share",
    "rain_mm",
    "pressure_kpa",
)
#: air may seem this much short of saturation by two instruments' errors [°C], [J] .2 to 1
DEW_ABOVE_AIR_C = 0.5
ASIDE = "set aside: "


@dataclass(frozen=True)
class Rows:
    """Written numbers with their units, column names, lines and file."""

    values: pd.DataFrame
    units: Mapping[str, str]
    labels: Mapping[str, str]
    lines: list[int]
    name: str
    origin: str


@dataclass(frozen=True)
class _Fault:
    """A number that cannot be true: its row, column, words and rule."""

    row: int
    column: str
    value: str
    limit: str


def words(column: str) -> str:
    """Give the name of a quantity in words."""
    return LIMITS[column].words


def height(height_m: float, name: str) -> float:
    """Give the height of the wind sensor [m]; refuse one that no mast has."""
    return check("wind_height_m", height_m, name)


def judged(rows: Rows, *, aside: bool) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Bring written numbers to the units used inside and check them.

    Parameters
    ----------
    rows : Rows
        Written numbers; a column that is not there counts as not known.
    aside : bool
        Set impossible values aside instead of refusing the file.

    Returns
    -------
    tuple of pandas.DataFrame
        Numbers, NaN where not known or set aside, and where each came from, for every
        quantity of `QUANTITIES` (the wind's height only where given).

    Raises
    ------
    Refused, ManyRefused
        An impossible value, by line, column, value and rule; an unknown unit.
    """
    values = _converted(rows)
    faults = [*_beyond(rows, values), *_above_saturation(values)]
    if not aside:
        raise_all(
            rows.name,
            [
                Refused(
                    f"line {rows.lines[fault.row]}, {_label(rows, fault.column)}",
                    fault.value,
                    fault.limit,
                    "Check the number and its unit.",
                )
                for fault in faults
            ],
            "Check these numbers and their units.",
        )
    origins = _origins(rows, values)
    for fault in faults:
        stamp = values.index[fault.row]
        values.loc[stamp, fault.column] = np.nan
        if fault.column in origins:
            origins.loc[stamp, fault.column] = f"{ASIDE}{fault.value} ({fault.limit})"
    return values, origins


def _label(rows: Rows, column: str) -> str:
    return rows.labels.get(column, words(column))


def _converted(rows: Rows) -> pd.DataFrame:
    """Give every quantity in the unit used inside; NaN where it is not given."""
    values = pd.DataFrame(index=rows.values.index)
    for column in QUANTITIES:
        if column not in rows.values:
            if column != "wind_height_m":
                values[column] = np.nan
            continue
        unit = rows.units.get(column)
        times, plus = (1.0, 0.0) if unit is None else factor(column, unit)
        values[column] = rows.values[column].astype(np.float64) * times + plus
    return values


def _beyond(rows: Rows, values: pd.DataFrame) -> list[_Fault]:
    """Find numbers beyond the limits of their quantity."""
    faults = []
    for column in values:
        limit = LIMITS[str(column)]
        known = values[column].notna()
        bad = known & ~values[column].between(limit.low, limit.high)
        unit = rows.units.get(str(column), limit.unit)
        faults += [
            _Fault(
                int(row),
                str(column),
                f"{rows.values[column].iloc[row]:g} {unit}",
                f"{limit.low:g} to {limit.high:g} {limit.unit}",
            )
            for row in np.flatnonzero(bad)
        ]
    return faults


def _above_saturation(values: pd.DataFrame) -> list[_Fault]:
    """Find dew points and vapour pressures that the air of that hour cannot hold."""
    limit = LIMITS["temp_c"]
    temp = values["temp_c"].where(values["temp_c"].between(limit.low, limit.high))
    dew = values["dew_c"]
    most_kpa = saturation_kpa(temp + DEW_ABOVE_AIR_C)
    rule = f"at most {DEW_ABOVE_AIR_C:g} °C above the air"
    faults = [
        _Fault(int(row), "dew_c", f"{dew.iloc[row]:.1f} °C", f"{rule}, {temp.iloc[row]:.1f} °C")
        for row in np.flatnonzero(dew > temp + DEW_ABOVE_AIR_C)
    ]
    vapour = values["vapour_kpa"]
    return faults + [
        _Fault(
            int(row),
            "vapour_kpa",
            f"{vapour.iloc[row]:.3f} kPa",
            f"at most {most_kpa[row]:.3f} kPa in air of {temp.iloc[row]:.1f} °C",
        )
        for row in np.flatnonzero(vapour > most_kpa)
    ]


def _origins(rows: Rows, values: pd.DataFrame) -> pd.DataFrame:
    """Tell where each number came from: as the rows say, else their common origin."""
    origins = pd.DataFrame(index=values.index)
    for column in values.columns.drop("wind_height_m", errors="ignore"):
        plain = pd.Series(np.where(values[column].notna(), rows.origin, ""), index=values.index)
        told = rows.values.get(f"{column}_from")
        origins[column] = plain if told is None else told.where(told != "", plain)
    return origins
