"""The hourly table: its columns and units, its checks, its gaps, where each value came from.

A row is the hour that starts at its stamp, in UTC. Temperature, vapour, wind, radiation,
cloud and pressure are means of that hour; rain is the amount that fell in it. There is a row
for every hour from the first to the last; what is not known is NaN.

    temp_c         air temperature [°C]
    vapour_kpa     vapour pressure [kPa], never above saturation
    wind_ms        wind speed [m/s] at the height wind_height_m [m]
    ghi_wm2        global radiation on the level [W/m²]
    cloud_share    sky covered by cloud [share]
    rain_mm        rain in the hour [mm]
    pressure_kpa   air pressure at the place [kPa]

Beside each but the height stands a text column, `temp_c_from` and so on: "file" or "measured",
"spread from the day", "between neighbours", "set aside: why", or "" where nothing is known.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.weather import grid, judge
from advisor.weather.vapour import saturation_kpa

COLUMNS = ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share", "rain_mm", "pressure_kpa")
#: the whole table, in its order
TABLE = (
    *COLUMNS[:3],
    "wind_height_m",
    *COLUMNS[3:],
    *(f"{column}_from" for column in COLUMNS),
)
#: what is read at an instant where a source does not give means
INSTANTS = ("temp_c", "vapour_kpa", "wind_ms", "cloud_share", "pressure_kpa")
#: what may be drawn in a line between two hours
BRIDGED = ("temp_c", "vapour_kpa", "wind_ms")
#: a dry spell this long is a rain gauge that does not report [h], [J]
YEAR_WITHOUT_RAIN_H = 8000
#: from here on a day without sun is possible [°]: the polar circle less refraction, [J]
POLAR_DEG = 65.0

BETWEEN = "between neighbours"
SPREAD = "spread from the day"
ASIDE = judge.ASIDE


@dataclass(frozen=True)
class Series:
    """Hours of one source, with what is known of it.

    Attributes
    ----------
    hours : pandas.DataFrame
        The hourly table.
    source, licence : str
        Where it comes from and on what terms, in words.
    notes : tuple of str
        What the reader had to leave out or take as something else.
    latitude_deg, longitude_deg, elevation_m : float or None
        Where it was taken [°], [°], [m], if the source says.
    """

    hours: pd.DataFrame
    source: str
    licence: str = ""
    notes: tuple[str, ...] = ()
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None


@dataclass(frozen=True)
class Raw:
    """Rows as a source gives them, not yet checked.

    Attributes
    ----------
    values : pandas.DataFrame
        By aware stamp; columns are keys of `units.CONVERSIONS` (temp_c, dew_c, humidity_pct,
        vapour_kpa, wind_ms, wind_height_m, ghi_wm2, cloud_share, rain_mm, pressure_kpa), each
        in the unit that `units` names, and any `…_from` of the hourly table.
    units : mapping
        Unit of each column as written ("°C", "km/h"); without one, the unit used inside.
    name : str
        Of the file or service, for messages.
    period : "start" or "end"
        Which end of its hour a stamp marks.
    instants : bool
        State values were read at the end of the hour rather than averaged over it.
    bad : "refuse" or "set aside"
        What happens to an impossible value.
    origin : str
        Where the values come from, for those that do not say.
    wind_height_m : float
        Height of the wind sensor [m] where no column tells it.
    latitude_deg : float or None
        Where it was taken [°], if known; polar nights are told by it.
    lines : list of int
        Line of each row in the file; counted from 1 where none is given.
    labels : mapping
        Each column's name in the file.
    """

    values: pd.DataFrame
    units: Mapping[str, str] = field(default_factory=dict)
    name: str = "weather"
    period: Literal["start", "end"] = "start"
    instants: bool = False
    bad: Literal["refuse", "set aside"] = "refuse"
    origin: str = "file"
    wind_height_m: float = 10.0
    latitude_deg: float | None = None
    lines: list[int] | None = None
    labels: Mapping[str, str] = field(default_factory=dict)


def build(raw: Raw) -> pd.DataFrame:
    """Check rows and turn them into the hourly table.

    Humidity comes from vapour pressure, else dew point, else relative humidity (FAO-56 Eq. 11,
    14 and 54), row by row. Holes of up to three hours in temperature, vapour and wind are
    bridged and marked. Rain that is nil for a year and radiation that is nil for a whole day
    are set aside: a sensor that does not report.

    Parameters
    ----------
    raw : Raw
        Rows in the order of time.

    Returns
    -------
    pandas.DataFrame
        The hourly table.

    Raises
    ------
    Refused, ManyRefused
        No rows, naive stamps, stamps out of order, an unknown unit, or an impossible value
        where `raw.bad` is "refuse".
    """
    stamps = _stamps(raw)
    lines = raw.lines or list(range(1, len(stamps) + 1))
    grid.check_order(stamps, lines, raw.name)
    values, origins = judge.judged(
        judge.Rows(raw.values, raw.units, raw.labels, lines, raw.name, raw.origin),
        aside=raw.bad == "set aside",
    )
    if "wind_height_m" not in values:
        values["wind_height_m"] = judge.height(raw.wind_height_m, raw.name)
    values, origins = _with_vapour(values, origins)
    starts = stamps - grid.HOUR if raw.period == "end" else stamps
    values, origins = grid.whole_hours(values.set_axis(starts), origins.set_axis(starts))
    _bridge(values, origins)
    if raw.instants:
        _average(values, origins, raw.origin)
    _set_silent_aside(values, origins, raw.latitude_deg)
    return _table(values, origins)


def doubts(hours: pd.DataFrame) -> tuple[str, ...]:
    """List what was bridged, spread or set aside, a line each kind and span.

    Parameters
    ----------
    hours : pandas.DataFrame
        The hourly table.

    Returns
    -------
    tuple of str
        "wind speed: 3 hours between neighbours, 2026-07-01T05:00Z to 2026-07-01T07:00Z".
    """
    found: dict[str, list[str]] = {}
    for column in COLUMNS:
        origin = hours[f"{column}_from"]
        doubtful = origin[origin.str.startswith((BETWEEN, SPREAD, ASIDE))]
        for words, stamps in doubtful.groupby(doubtful).groups.items():
            count = f"{len(stamps)} hour{'s' if len(stamps) > 1 else ''}"
            found.setdefault(f"{count} {words}, {_span(stamps)}", []).append(judge.words(column))
    return tuple(f"{', '.join(columns)}: {words}" for words, columns in found.items())


def _span(stamps: pd.Index) -> str:
    first, last = f"{stamps[0]:%Y-%m-%dT%H:%MZ}", f"{stamps[-1]:%Y-%m-%dT%H:%MZ}"
    return first if first == last else f"{first} to {last}"


def _stamps(raw: Raw) -> pd.DatetimeIndex:
    """Give the stamps in UTC; refuse none, naive ones and what is no stamp."""
    index = raw.values.index
    if len(index) == 0:
        raise Refused(raw.name, "no rows", "at least one hour", "Give a file with weather in it.")
    if not isinstance(index, pd.DatetimeIndex) or index.tz is None or index.hasnans:
        raise Refused(
            f"{raw.name}, stamps",
            str(index[0]),
            "instants that know their zone",
            "Name the zone of the stamps.",
        )
    return index.tz_convert("UTC").as_unit("ns")


def _with_vapour(values: pd.DataFrame, origins: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Bring humidity of any kind to vapour pressure, and every column of the table into being."""
    saturated = pd.Series(saturation_kpa(values["temp_c"]), index=values.index)
    share = values["humidity_pct"].clip(upper=100.0) / 100.0
    ways = {
        "vapour_kpa": values["vapour_kpa"],
        "dew_c": pd.Series(saturation_kpa(values["dew_c"]), index=values.index),
        "humidity_pct": share * saturated,
    }
    vapour = pd.Series(np.nan, index=values.index)
    origin = pd.Series("", index=values.index)
    for column, way in ways.items():
        taken = vapour.isna() & (way.notna() | (origin == ""))
        origin = origin.where(~taken, origins[column])
        vapour = vapour.fillna(way)
    origin = origin.where(vapour.notna() | origin.str.startswith(ASIDE), "")
    values = values.assign(vapour_kpa=vapour.clip(upper=saturated.fillna(np.inf)))
    origins = origins.assign(vapour_kpa=origin)
    return values[[*COLUMNS, "wind_height_m"]], origins[list(COLUMNS)]


def _set_silent_aside(
    values: pd.DataFrame, origins: pd.DataFrame, latitude_deg: float | None
) -> None:
    """Set aside, in place, a year of no rain and whole days of no sun."""
    rain = values["rain_mm"]
    if rain.count() >= YEAR_WITHOUT_RAIN_H and not rain.any():
        _aside(values, origins, "rain_mm", rain.notna(), "nil all year")
    if latitude_deg is not None and abs(latitude_deg) >= POLAR_DEG:
        return
    day = pd.DatetimeIndex(values.index).floor("D")
    dark = (values["ghi_wm2"] == 0.0).groupby(day).transform("sum") == 24
    _aside(values, origins, "ghi_wm2", dark, "nil all day")


def _aside(
    values: pd.DataFrame, origins: pd.DataFrame, column: str, rows: "pd.Series[bool]", why: str
) -> None:
    values[column] = values[column].mask(rows)
    origins[column] = origins[column].mask(rows, f"{ASIDE}{why}")


def _bridge(values: pd.DataFrame, origins: pd.DataFrame) -> None:
    """Bridge short holes in place, keeping the reason of a value that was set aside."""
    for column in BRIDGED:
        filled = grid.bridged(values[column])
        new = values[column].isna() & filled.notna()
        reason = origins[column].where(origins[column] == "", " (" + origins[column] + ")")
        values[column] = filled
        origins[column] = origins[column].mask(new, BETWEEN + reason)


def _average(values: pd.DataFrame, origins: pd.DataFrame, plain: str) -> None:
    """Turn readings at the end of each hour into means, in place; a doubtful end is told."""
    for column in INSTANTS:
        values[column] = grid.means_of_ends(values[column])
        here = origins[column].where(~origins[column].str.startswith(ASIDE), "")
        before = here.shift(1, fill_value="")
        mean = here.where(here.str.startswith(BETWEEN) | ~before.str.startswith(BETWEEN), before)
        mean = mean.where(mean != "", plain)
        origins[column] = origins[column].where(values[column].isna(), mean)


def _table(values: pd.DataFrame, origins: pd.DataFrame) -> pd.DataFrame:
    """Hold vapour to saturation, and put the columns in their order."""
    saturated = pd.Series(saturation_kpa(values["temp_c"]), index=values.index)
    values["vapour_kpa"] = values["vapour_kpa"].clip(upper=saturated.fillna(np.inf))
    height = values["wind_height_m"].ffill()
    values["wind_height_m"] = height.where(values["wind_ms"].notna())
    named = origins.rename(columns=lambda column: f"{column}_from").astype(str)
    return pd.concat([values.astype(np.float64), named], axis=1)[list(TABLE)]
