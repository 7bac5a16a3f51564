"""How far a forecast may be off, and what many forecasts of one service make of it.

Loads pandas; done when weather changes, and kept.
"""

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.demand.et0 import daily_et0
from advisor.garden.lead import LAST_DAY, LeadError
from advisor.garden.records import Site
from advisor.jobs.sky import local_days
from advisor.jobs.ways import FACTOR_LIMITS, SD_GUESSED, Foretold

Floats = NDArray[np.float64]
Days = NDArray[np.int64]
Dates = NDArray[np.datetime64]

MJ_PER_WM2_DAY: Final = 0.0864
AT_2M: Final = 0.748  # wind at 2 m over that at 10 m (FAO-56 Eq. 47) [S]
LEAST_ET0_MM: Final = 0.3  # below it a factor would say little [mm a day] [J]
#: what a day's ET0 is asked again with, one value off by its error -> where that goes
VALUES: Final = ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2")


def sd_by_lead(site: Site, hours: pd.DataFrame, days: pd.DataFrame,
               errors: Mapping[str, Iterable[LeadError]]) -> Floats:
    """Give the standard deviation of ln ET0 of a day foretold so many days ahead.

    ET0 of a mean day of the series (FAO-56 Eq. 6) is worked out again with each value off by
    its error; the differences are added as independent ones are.

    Parameters
    ----------
    site : Site
    hours : pandas.DataFrame
        Hourly weather of some weeks.
    days : pandas.DataFrame
        Its days, as `advisor.demand.days.site_days` gives them.
    errors : mapping of value to iterable of LeadError
        As `advisor.garden.lead.errors_by_lead` gives them, for each of `VALUES`.

    Returns
    -------
    (16,) array
        For 0 to 15 days ahead [-].
    """
    mean = days.mean(numeric_only=True)
    day = {"tmax_c": mean["tmax_c"], "tmin_c": mean["tmin_c"], "rs_mj": mean["rs_mj"],
           "ea_kpa": hours["vapour_kpa"].mean(), "u2_ms": AT_2M * hours["wind_ms"].mean()}
    if not all(np.isfinite(value) for value in day.values()):
        return np.full(LAST_DAY + 1, SD_GUESSED)
    spread = {value: np.array([error.spread for error in errors[value]]) for value in VALUES}
    off = (
        {"tmax_c": day["tmax_c"] + spread["temp_c"], "tmin_c": day["tmin_c"] + spread["temp_c"]},
        {"ea_kpa": np.maximum(day["ea_kpa"] - spread["vapour_kpa"], 0.0)},
        {"u2_ms": day["u2_ms"] + AT_2M * spread["wind_ms"]},
        {"rs_mj": day["rs_mj"] + MJ_PER_WM2_DAY * spread["ghi_wm2"]},
    )
    where = {"elevation_m": site.elevation_m, "latitude_deg": site.latitude_deg,
             "day_of_year": int(days.index[len(days) // 2].day_of_year)}
    base = max(float(daily_et0(**day, **where)), LEAST_ET0_MM)
    parts = [(daily_et0(**(day | each), **where) - base) / base for each in off]
    return np.asarray(np.minimum(np.sqrt(np.sum(np.square(parts), axis=0)), SD_GUESSED))


def sd_of_hours(lead_d: Floats, by_lead: Floats) -> Floats:
    """Give the standard deviation of ln ET0 of hours foretold so long ahead; 0 where known."""
    ahead = np.minimum(lead_d.astype(int), by_lead.size - 1)
    return np.where(lead_d > 0.0, by_lead[ahead], 0.0)


def foretold_of(site: Site, expected: pd.DataFrame,
                many: Iterable[pd.DataFrame]) -> Foretold | None:
    """Give one service's many forecasts as what they make of rain and ET0.

    Each one's ET0 of a day (FAO-56 Eq. 6) is set against that of the hours the garden goes by;
    what a forecast does not tell is as in those.

    Parameters
    ----------
    site : Site
    expected : pandas.DataFrame
        Hourly weather the garden goes by.
    many : iterable of pandas.DataFrame
        Hourly weather of each forecast.

    Returns
    -------
    Foretold or None
        None where there are no forecasts, or none that reaches beyond `expected`'s first hour.
    """
    tables = [table.reindex(expected.index) for table in many]
    there = np.array([table["temp_c"].notna().to_numpy() for table in tables])
    hours = np.flatnonzero(there.any(axis=0)) if tables else np.empty(0, dtype=int)
    if not hours.size:
        return None
    part = slice(int(hours[0]), int(hours[-1]) + 1)
    base = expected.iloc[part]
    day, dates = local_days(int(base.index[0].timestamp()), len(base), site.zone)
    columns = {name: np.column_stack([base[name], *(
        table[name].to_numpy(float)[part] for table in tables)]) for name in (*VALUES, "rain_mm")}
    for name in VALUES:
        columns[name] = np.where(np.isnan(columns[name]), columns[name][:, :1], columns[name])
    et0 = _daily_et0(site, columns, (day, dates))[day]
    factor = np.where(there.T[part], et0[:, 1:] / et0[:, :1], np.nan)
    return Foretold(int(base.index[0].timestamp()), columns["rain_mm"][:, 1:],
                    np.clip(factor, *FACTOR_LIMITS))


def _daily_et0(site: Site, columns: Mapping[str, Floats], of_day: tuple[Days, Dates]) -> Floats:
    """Give ET0 of each day and forecast [mm], at least LEAST_ET0_MM: (days, forecasts)."""
    day, dates = of_day
    starts = np.flatnonzero(np.diff(day, prepend=-1))
    count = np.diff(starts, append=day.size)[:, None]
    temp, vapour, wind, light = (columns[name] for name in VALUES)
    mean = {name: np.add.reduceat(values, starts, axis=0) / count
            for name, values in (("ea", vapour), ("wind", wind), ("light", light))}
    number = (dates - dates.astype("datetime64[Y]")).astype(int)[day[starts]] + 1
    et0 = daily_et0(np.maximum.reduceat(temp, starts, axis=0),
                    np.minimum.reduceat(temp, starts, axis=0), mean["ea"],
                    np.maximum(mean["light"], 0.0) * MJ_PER_WM2_DAY, AT_2M * mean["wind"],
                    elevation_m=site.elevation_m, latitude_deg=site.latitude_deg,
                    day_of_year=number[:, None])
    return np.maximum(et0, LEAST_ET0_MM)
