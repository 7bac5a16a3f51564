"""Make the `Sky` of a site from its hourly weather: gaps filled by named rules, terms once.

The result holds whole local days, each with the names of the rules that stood in for what was
not measured (`advisor.demand.ladder.RULES`).
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.demand import air, radiation
from advisor.demand.coefficients import value
from advisor.demand.ladder import (
    Humidity,
    Light,
    Names,
    Top,
    shortwave_ladder,
    vapour_ladder,
    wind_ladder,
)
from advisor.demand.local_days import LocalDays
from advisor.demand.place import MJ_PER_WM2_HOUR, Sky, Terms
from advisor.demand.sun import SiteLike, SunPath, diffuse_light, sun_path
from advisor.errors import Refused

Array = NDArray[np.float64]

#: columns of the hourly weather that are read here -> their word in a rule
COLUMNS = {
    "temp_c": "temperature",
    "vapour_kpa": "humidity",
    "wind_ms": "wind",
    "ghi_wm2": "radiation",
    "rain_mm": "rain",
}
_OTHERS = ("wind_height_m", "cloud_share")
#: origins of an hour's value that its day should name
_CARRIED = ("between neighbours", "spread from the day")
_ENOUGH = 0.5  # share of a day's hours (of its clear-sky light) that must be known, [J] .3 to .8


@dataclass(frozen=True)
class Known:
    """Hourly weather over whole days, NaN where unknown, and its daily sums and extremes.

    Attributes
    ----------
    days : LocalDays
        The days.
    hours : dict of array
        Columns of the hourly table, wind as `u2_ms`.
    tmax_c, tmin_c, tmean_c : array
        Extremes and mean of the known hours [°C].
    """

    days: LocalDays
    hours: dict[str, Array]
    tmax_c: Array
    tmin_c: Array
    tmean_c: Array

    def enough(self, column: str) -> NDArray[np.bool_]:
        """Tell on which days at least half of the series' hours are known."""
        known = self.days.count(~np.isnan(self.hours[column]))
        wanted: NDArray[np.bool_] = known >= np.maximum(
            _ENOUGH * self.days.count(self.days.in_series()), 1
        )
        return wanted

    def partly(self, column: str) -> NDArray[np.bool_]:
        """Tell on which days some of the series' hours, but not all, are known."""
        known = self.days.count(~np.isnan(self.hours[column]))
        return (known > 0) & (known < self.days.count(self.days.in_series()))


@dataclass(frozen=True)
class Told:
    """A site's sky with what its days were made of.

    Attributes
    ----------
    sky : Sky
        What all places share.
    known : Known
        The weather as it was given.
    rules : list of array of str
        Per rule kind, the rule used on each day, or "".
    """

    sky: Sky
    known: Known
    rules: list[Names]


def sky_of(site: SiteLike, hours: pd.DataFrame, *, k_rs: float = radiation.INLAND) -> Told:
    """Make the sky of a site from its hourly weather.

    Parameters
    ----------
    site : SiteLike
        Where.
    hours : pandas.DataFrame
        Hourly weather, as `advisor.weather.series` makes it.
    k_rs : float
        Of the temperature range rule: .16 inland, .19 near a coast [1/√°C].

    Raises
    ------
    Refused
        A column is missing, the index has holes or no zone, the time zone is not known.
    """
    known = _known(site, hours)
    days = known.days
    path = sun_path(site, days.index, known.hours["temp_c"], known.hours["vapour_kpa"])
    top = Top.of(site.latitude_deg, site.elevation_m, days.day_of_year())
    mean_vapour = np.where(known.enough("vapour_kpa"), days.mean(known.hours["vapour_kpa"]), np.nan)
    ea, ea_rule = vapour_ladder(known.tmax_c, known.tmin_c, Humidity(vapour_kpa=mean_vapour))
    mean_wind = np.where(known.enough("u2_ms"), days.mean(known.hours["u2_ms"]), np.nan)
    u2, u2_rule = wind_ladder(mean_wind, known.tmax_c)
    ghi, ghi_rule = _fill_light(known, path, top, k_rs)
    rs_mj = np.add.reduceat(ghi, days.starts) * MJ_PER_WM2_HOUR
    gamma = air.psychrometric_constant(air.atmospheric_pressure(site.elevation_m))
    relative = radiation.relative_shortwave(rs_mj, top.rso_mj)
    by_day = Terms(
        temp_c=0.5 * (known.tmax_c + known.tmin_c),
        u2_ms=u2,
        rnl_mj=radiation.net_longwave(known.tmax_c, known.tmin_c, ea, relative),
        deficit_kpa=air.mean_saturation_pressure(known.tmax_c, known.tmin_c) - ea,
        slope=air.saturation_slope(0.5 * (known.tmax_c + known.tmin_c)),
        gamma=gamma,
    )
    by_hour = _by_hour(site, known, path, ghi, (ea, u2, gamma))
    sky = Sky(days, path, ghi, diffuse_light(ghi, path), by_day, by_hour)
    rules = [*_given_rules(known, hours), ea_rule, u2_rule, ghi_rule]
    return Told(sky, known, rules)


def _known(site: SiteLike, hours: pd.DataFrame) -> Known:
    lacking = [name for name in (*COLUMNS, *_OTHERS) if name not in hours]
    if lacking:
        raise Refused(
            "hourly weather",
            "a table without " + ", ".join(lacking),
            "all columns, empty where unknown",
            "Read it through advisor.weather.",
        )
    days = LocalDays.of(hours.index, site.time_zone)
    table = {
        name: days.pad(hours[name].to_numpy(dtype=np.float64)) for name in (*COLUMNS, *_OTHERS)
    }
    height = table["wind_height_m"]
    height = np.where(np.isnan(height), value("default_wind_height"), height)
    table["u2_ms"] = np.asarray(air.wind_at_2m(table["wind_ms"], height))
    temp = table["temp_c"]
    draft = Known(days, table, days.highest(temp), days.lowest(temp), days.mean(temp))
    lost = ~draft.enough("temp_c")
    extremes = (draft.tmax_c, draft.tmin_c, draft.tmean_c)
    return Known(days, table, *(np.where(lost, np.nan, x) for x in extremes))


def _fill_light(known: Known, path: SunPath, top: Top, k_rs: float) -> tuple[Array, Names]:
    """Fill radiation by the hour: the day's own clearness, else the ladder's; with the rule."""
    days, ghi = known.days, known.hours["ghi_wm2"]
    clear_sum = days.total(path.clear_wm2)
    dead = (days.total(ghi) <= 0.0) & (clear_sum * MJ_PER_WM2_HOUR > 1.0)
    ghi = np.where(dead[days.day], np.nan, ghi)  # zero all day: unknown, not dark
    seen = ~np.isnan(ghi)
    seen_clear = days.total(np.where(seen, path.clear_wm2, 0.0))
    mostly = (seen_clear >= _ENOUGH * clear_sum) & (seen_clear > 0.0)
    cloud_weight = np.where(np.isnan(known.hours["cloud_share"]), 0.0, path.clear_wm2)
    cloud_sum = days.total(known.hours["cloud_share"] * cloud_weight)
    weight = days.total(cloud_weight)
    cloud = np.where(weight > 0.0, cloud_sum / np.maximum(weight, 1e-9), np.nan)
    rs_mj, rule = shortwave_ladder(
        known.tmax_c, known.tmin_c, top, Light(cloud_share=cloud), k_rs=k_rs
    )
    from_day = days.total(np.where(seen, ghi, 0.0)) / np.maximum(seen_clear, 1e-9)
    from_ladder = rs_mj / MJ_PER_WM2_HOUR / np.maximum(clear_sum, 1e-9)
    clearness = np.where(mostly, from_day, from_ladder)
    filled = np.where(path.clear_wm2 > 0.0, clearness[days.day] * path.clear_wm2, 0.0)
    wanting = days.count(~seen & days.in_series() & (path.clear_wm2 > 0.0)) > 0
    named = np.where(mostly, "radiation partly from clear sky", rule)
    return np.where(seen, ghi, filled), np.where(wanting, named, "")


def _by_hour(
    site: SiteLike,
    known: Known,
    path: SunPath,
    ghi: Array,
    daily: tuple[Array, Array, air.Numbers],
) -> Terms:
    """Terms of the hourly equation; gaps by the neighbours or the day, for the shape only."""
    ea_day, u2_day, gamma = daily
    day = known.days.day
    temp = _bridged(known.hours["temp_c"])
    vapour, wind = known.hours["vapour_kpa"], known.hours["u2_ms"]
    vapour = np.where(np.isnan(vapour), ea_day[day], vapour)
    vapour = np.minimum(vapour, air.saturation_pressure(temp))
    wind = np.where(np.isnan(wind), u2_day[day], wind)
    rso = radiation.clear_sky_shortwave(site.elevation_m, path.extra_wm2)
    relative = _evening_by_night(np.asarray(radiation.relative_shortwave(ghi, rso)), path)
    return Terms(
        temp_c=temp,
        u2_ms=wind,
        rnl_mj=radiation.net_longwave_hour(temp, vapour, relative),
        deficit_kpa=air.saturation_pressure(temp) - vapour,
        slope=air.saturation_slope(temp),
        gamma=gamma,
    )


def _evening_by_night(relative: Array, path: SunPath) -> Array:
    """Keep through the night Rs/Rso as it was two to three hours before sunset."""
    later = np.r_[path.up, False, False]
    good = path.up & later[1:-1] & later[2:] & ~np.isnan(relative)
    if not good.any():
        return np.full_like(relative, value("relative_shortwave_night"))
    last = np.maximum.accumulate(np.where(good, np.arange(len(good)), -1))
    return relative[np.where(last < 0, int(np.argmax(good)), last)]


def _bridged(values: Array) -> Array:
    known = np.flatnonzero(~np.isnan(values))
    if not known.size:
        return values
    return np.interp(np.arange(len(values)), known, values[known])


def _given_rules(known: Known, hours: pd.DataFrame) -> list[Names]:
    """Rules that tell of the hours themselves: part of a day, gaps, values carried over."""
    days = known.days
    everything = np.diff(np.r_[days.starts, len(days.index)])
    part = days.count(days.in_series()) < everything
    rain = ~np.isnan(known.hours["rain_mm"])
    height = np.isnan(known.hours["wind_height_m"]) & ~np.isnan(known.hours["wind_ms"])
    flags = [
        ("part of a day", part),
        ("no temperature", np.isnan(known.tmax_c)),
        ("temperature from part of the hours", known.partly("temp_c") & ~np.isnan(known.tmax_c)),
        (
            "humidity from part of the hours",
            known.partly("vapour_kpa") & known.enough("vapour_kpa"),
        ),
        ("wind from part of the hours", known.partly("wind_ms") & known.enough("wind_ms")),
        ("wind height 10 m", days.count(height) > 0),
        ("rain from part of the hours", known.partly("rain_mm")),
        ("rain unknown", days.count(rain) == 0),
    ]
    carried = [flag for column in COLUMNS for flag in _carried(days, hours, column)]
    return [np.where(flag, name, "") for name, flag in (*flags, *carried)]


def _carried(
    days: LocalDays, hours: pd.DataFrame, column: str
) -> list[tuple[str, NDArray[np.bool_]]]:
    if f"{column}_from" not in hours:
        return []
    origin = hours[f"{column}_from"]
    found = []
    for words in _CARRIED:
        here = days.pad((origin == words).to_numpy(dtype=np.float64))
        found.append((f"{COLUMNS[column]} {words}", days.total(here) > 0.0))
    return found
