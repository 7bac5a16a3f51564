"""The project's own daily file, laid over the hours.

    # latitude: 52.1                  where, if not told otherwise: the sun spreads the day
    # longitude: 5.2
    day [Europe/Berlin],tmax [C],tmin [C],dew point [C],wind 10m [m/s],sunshine [h],rain [mm]
    2026-07-01,24.1,12.3,11.0,2.4,9.5,0

A day runs from midnight to midnight of its zone (of the site, where the head names none); an
hour belongs to the day of its midpoint. Only `day`, `tmax` and `tmin` must be there:

    tmax, tmin    C F K                             highest and lowest temperature
    humidity max, humidity min     % share          or
    humidity      % share                           mean relative humidity, or
    dew point     C F K                             mean dew point, or
    vapour        kPa hPa mbar Pa                   mean vapour pressure
    wind 10m      m/s km/h mph kn                   mean, with the height of the sensor
    radiation     MJ/m2 kWh/m2 J/cm2 W/m2           sum of the day (W/m2: its mean), or
    sunshine      h min 0.1h                        hours of bright sun
    cloud         share % octas tenths              sky covered
    rain          mm in cm 0.1mm                    in the day
    pressure      kPa hPa mbar Pa                   at the place

How a day is spread: temperature as half cosines between sunrise and two hours past noon, the
highest and lowest hour being the day's figures; vapour evenly as far as the air can hold it;
radiation by the height of the sun; rain evenly over all hours, for its time is not known.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.units import LIMITS, check, factor
from advisor.weather import grid, own, series, spread, stamps, table, years
from advisor.weather.judge import DEW_ABOVE_AIR_C
from advisor.weather.refusals import raise_all
from advisor.weather.vapour import saturation_kpa

Floats = NDArray[np.float64]

#: words of a head, the name used here and the quantity whose units and limits it has
NUMBERS = {
    "tmax": ("tmax_c", "temp_c"),
    "tmin": ("tmin_c", "temp_c"),
    "humidity max": ("humidity_max_pct", "humidity_pct"),
    "humidity min": ("humidity_min_pct", "humidity_pct"),
    "humidity": ("humidity_pct", "humidity_pct"),
    "dew point": ("dew_c", "dew_c"),
    "vapour": ("vapour_kpa", "vapour_kpa"),
    "wind": ("wind_ms", "wind_ms"),
    "radiation": ("ghi_day_mjm2", "ghi_day_mjm2"),
    "sunshine": ("sunshine_h", "sunshine_h"),
    "cloud": ("cloud_share", "cloud_share"),
    "rain": ("rain_day_mm", "rain_day_mm"),
    "pressure": ("pressure_kpa", "pressure_kpa"),
}
#: refraction and flat ground show the sun this much longer than geometry [h], [J] .2 to 1
SUNSHINE_SLACK_H = 1.0


@dataclass(frozen=True)
class Position:
    """A place on the earth [°], north and east positive."""

    latitude_deg: float
    longitude_deg: float

    def __post_init__(self) -> None:
        check("latitude_deg", self.latitude_deg)
        check("longitude_deg", self.longitude_deg)


@dataclass(frozen=True)
class Days:
    """A daily file: checked figures by day, NaN where not known, and its hours."""

    figures: pd.DataFrame
    hours: pd.DatetimeIndex  # UTC
    day: NDArray[np.int64]  # row of the day of each hour

    def figure(self, name: str) -> Floats:
        """Give a figure of each day; NaN throughout where the file has none."""
        if name not in self.figures:
            return np.full(len(self.figures), np.nan)
        return self.figures[name].to_numpy(dtype=np.float64)


def read(
    path: Path, *, site_zone: str | None = None, position: Position | None = None
) -> series.Series:
    """Read the project's own daily file and spread its days over the hours.

    Parameters
    ----------
    path : Path
        The file.
    site_zone : str or None
        Zone of its days where its head names none.
    position : Position or None
        Where it was taken, if its remarks do not say.

    Raises
    ------
    Refused, ManyRefused
        Whatever keeps it from being one, by line and column; no zone; no place.
    """
    sheet = table.sheet(path)
    zone_name = _zone(sheet, site_zone)
    place = _position(sheet, position)
    found = table.columns(
        sheet, {words: name for words, (name, _) in NUMBERS.items()}, dict(NUMBERS.values())
    )
    days = _days(sheet, zone_name, _figures(sheet, found))
    sun = spread.sun(days.hours, place.latitude_deg, place.longitude_deg)
    _check_sun(sheet, days, sun)
    hours = series.build(
        series.Raw(
            _hourly(days, sun),
            name=sheet.name,
            bad="set aside",
            origin=series.SPREAD,
            latitude_deg=place.latitude_deg,
            wind_height_m=own.wind_height(sheet, found),
        )
    )
    told = own.told(sheet, hours)
    return replace(
        told,
        notes=told.notes + _estimated_note(days),
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
    )


def _zone(sheet: table.Sheet, site_zone: str | None) -> str:
    """Give the zone of the days: the file's own, else the site's."""
    _, zone_name = own.time_head(sheet, "day")
    zone_name = zone_name or site_zone
    if zone_name is None:
        raise Refused(
            f"{sheet.name}, column 'day'",
            "no time zone",
            "the zone of its days",
            "Write it in the head: 'day [Europe/Berlin]'.",
        )
    return zone_name


def _position(sheet: table.Sheet, position: Position | None) -> Position:
    latitude, longitude = sheet.number("latitude"), sheet.number("longitude")
    if latitude is not None and longitude is not None:
        return Position(latitude, longitude)
    if position is None:
        raise Refused(
            sheet.name,
            "days without a place",
            "latitude and longitude",
            "Write '# latitude: 52.1' and '# longitude: 5.2' above the head.",
        )
    return position


def _figures(sheet: table.Sheet, found: list[table.Column]) -> pd.DataFrame:
    """Give the figures of each row in the units used inside; refuse the impossible."""
    figures = pd.DataFrame(table.numbers(sheet, found))
    refusals = []
    for column in found:
        times, plus = factor(column.quantity, column.head.unit or "")
        written = figures[column.name]
        figures[column.name] = written * times + plus
        limit = LIMITS[column.quantity]
        bad = written.notna() & ~figures[column.name].between(limit.low, limit.high)
        refusals += [
            _refusal(
                sheet,
                i,
                column.head.words,
                f"{written[i]:g} {column.head.unit}",
                f"{limit.low:g} to {limit.high:g} {limit.unit}",
            )
            for i in _rows(bad)
        ]
    for name in ("tmax", "tmin"):
        if NUMBERS[name][0] not in figures:
            raise Refused(
                sheet.name,
                f"no column '{name}'",
                "tmax and tmin in every daily file",
                f"Add a column '{name} [C]'.",
            )
    raise_all(
        sheet.name,
        [*refusals, *_against_each_other(sheet, figures)],
        "Check these numbers and their units.",
    )
    return figures


def _against_each_other(sheet: table.Sheet, figures: pd.DataFrame) -> list[Refused]:
    """Find figures of one day that contradict each other."""
    pairs = (
        ("tmax", "tmin", 0.0, "°C"),
        ("humidity max", "humidity min", 0.0, "%"),
        ("tmax", "dew point", -DEW_ABOVE_AIR_C, "°C"),
    )
    refusals = []
    for high, low, least, unit in pairs:
        names = NUMBERS[high][0], NUMBERS[low][0]
        if not set(names) <= set(figures.columns):
            continue
        gap = figures[names[0]] - figures[names[1]]
        refusals += [
            _refusal(
                sheet,
                i,
                f"{high} and {low}",
                f"{figures[names[0]][i]:g} and {figures[names[1]][i]:g} {unit}",
                f"{low} not above {high}",
            )
            for i in _rows(gap < least)
        ]
    return refusals


def _rows(bad: "pd.Series[bool]") -> list[int]:
    return np.flatnonzero(bad).tolist()


def _refusal(sheet: table.Sheet, row: int, words: str, value: str, limit: str) -> Refused:
    where = f"line {sheet.lines[row]}, {sheet.rows[row][0].strip()}, {words}"
    return Refused(where, value, limit, "Check the number and its unit.")


def _days(sheet: table.Sheet, zone_name: str, figures: pd.DataFrame) -> Days:
    """Put the rows in a calendar without holes, and find the hours of its days."""
    stamps.zone(zone_name)
    dates = pd.to_datetime(
        pd.Series([row[0].strip() for row in sheet.rows]), format="%Y-%m-%d", errors="coerce"
    )
    dates = dates.where(dates.dt.year.between(years.FIRST, years.LAST))
    steps = dates.diff().dt.days
    rules = (
        (dates.isna(), "a day such as 2026-07-01"),
        (steps == 0, "each day once"),
        (steps < 0, "days in order"),
        (steps > grid.LONGEST_GAP_D, f"at most {grid.LONGEST_GAP_D} days after the line before"),
    )
    raise_all(
        sheet.name,
        [
            Refused(
                f"line {sheet.lines[i]}, day", sheet.rows[i][0] or "nothing", rule, "Mend the day."
            )
            for bad, rule in rules
            for i in _rows(bad)
        ],
        "Mend these days.",
    )
    calendar = pd.date_range(dates.iloc[0], dates.iloc[-1], freq="D")
    rim = pd.Timedelta(days=1.5)  # zones reach 14 h from UTC
    hours = pd.date_range(calendar[0] - rim, calendar[-1] + 2 * rim, freq="h", tz="UTC")
    middles = (hours + grid.HOUR / 2).tz_convert(zone_name).tz_localize(None).normalize()
    inside = (middles >= calendar[0]) & (middles <= calendar[-1])
    return Days(
        figures.set_axis(dates).reindex(calendar),
        hours[inside].as_unit("ns"),
        calendar.get_indexer(middles[inside]).astype(np.int64),
    )


def _check_sun(sheet: table.Sheet, days: Days, sun: spread.Sun) -> None:
    """Refuse more sunshine than there is day, and more radiation than the sun sends."""
    limits = (
        ("sunshine_h", "sunshine", _sums(days, sun.up) + SUNSHINE_SLACK_H, "h"),
        ("ghi_day_mjm2", "radiation", _sums(days, sun.above) * spread.SECONDS / 1e6, "MJ/m²"),
    )
    raise_all(
        sheet.name,
        [
            Refused(
                f"{days.figures.index[i]:%Y-%m-%d}, {words}",
                f"{days.figure(name)[i]:.1f} {unit}",
                f"at most {most[i]:.1f} {unit} with the sun of that day",
                "Check the number, its unit and the place.",
            )
            for name, words, most, unit in limits
            for i in np.flatnonzero(days.figure(name) > most).tolist()
        ],
        "Check these numbers, their units and the place.",
    )


def _sums(days: Days, hourly: Floats) -> Floats:
    return np.bincount(days.day, weights=hourly, minlength=len(days.figures)).astype(np.float64)


def _hourly(days: Days, sun: spread.Sun) -> pd.DataFrame:
    """Spread every figure over the hours of its day."""
    day = days.day
    temp = spread.temperature(day, days.figure("tmax_c"), days.figure("tmin_c"), sun.elevation)
    return pd.DataFrame(
        {
            "temp_c": temp,
            "vapour_kpa": spread.vapour(day, _vapour_kpa(days), saturation_kpa(temp)),
            "wind_ms": days.figure("wind_ms")[day],
            "ghi_wm2": spread.radiation(day, _radiation_mjm2(days, sun), sun.height),
            "cloud_share": days.figure("cloud_share")[day],
            "rain_mm": spread.evenly(day, days.figure("rain_day_mm")),
            "pressure_kpa": days.figure("pressure_kpa")[day],
        },
        index=days.hours,
    )


def _vapour_kpa(days: Days) -> Floats:
    """Give each day's mean vapour pressure by the best humidity told (FAO-56 Eq. 14, 17, 19)."""
    most, least = saturation_kpa(days.figure("tmax_c")), saturation_kpa(days.figure("tmin_c"))
    highest, lowest = days.figure("humidity_max_pct"), days.figure("humidity_min_pct")
    ways = (
        days.figure("vapour_kpa"),
        saturation_kpa(days.figure("dew_c")),
        (least * highest + most * lowest) / 200.0,
        days.figure("humidity_pct") / 100.0 * (most + least) / 2.0,
    )
    return _first_known(ways)


def _radiation_mjm2(days: Days, sun: spread.Sun) -> Floats:
    """Give each day's radiation as told, else from its sunshine."""
    estimated = spread.radiation_from_sunshine_mjm2(
        days.figure("sunshine_h"),
        _sums(days, sun.up),
        _sums(days, sun.above) * spread.SECONDS / 1e6,
    )
    return _first_known((days.figure("ghi_day_mjm2"), estimated))


def _first_known(ways: tuple[Floats, ...]) -> Floats:
    found = ways[0]
    for way in ways[1:]:
        found = np.where(np.isnan(found), way, found)
    return found


def _estimated_note(days: Days) -> tuple[str, ...]:
    from_sunshine = np.isnan(days.figure("ghi_day_mjm2")) & ~np.isnan(days.figure("sunshine_h"))
    if not from_sunshine.any():
        return ()
    return (f"Days whose radiation is estimated from sunshine: {int(from_sunshine.sum())}.",)
