"""Radiation brighter than the sky can be: found, set aside by the hour and by the day.

The limit is a clear sky's (`advisor.demand.sun`): 1.25 of it and 60 W/m² for an hour, since
cloud edges and snow mirror light, 1.15 of it and .5 MJ/m² for a day. Where more than a few days
are impossible as a whole, it is the unit that is wrong, and all is refused.
"""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.demand.coefficients import value
from advisor.demand.local_days import LocalDays
from advisor.demand.place import MJ_PER_WM2_HOUR
from advisor.demand.sun import SiteLike, sun_path
from advisor.errors import Refused

Array = NDArray[np.float64]

_KJ_PER_WH = 3.6
#: Share of the days that may be impossible before the unit is doubted [J; .02-.1]: a unit is
#: wrong on every clear day. De Bilt (KNMI, 2010-2017) has three in 2,981 days, in winter, with
#: .77-.85 of the light above the air.
_FEW = 0.05
_MOST = 0.5  # of a day's sunny hours, or of a clear sky's light in them [J; .3-.7]


class TooBright(NamedTuple):
    """An hour [UTC start], its radiation and the most it could be [W/m²]."""

    hour: pd.Timestamp
    value: float
    limit: float


class _Sky(NamedTuple):
    days: LocalDays
    ghi_wm2: Array
    clear_wm2: Array

    @property
    def limit_wm2(self) -> Array:
        return value("impossible_hour") * self.clear_wm2 + value("impossible_hour_slack")

    @property
    def bad(self) -> NDArray[np.bool_]:
        return np.nan_to_num(self.ghi_wm2) > self.limit_wm2

    def too_bright(self) -> list[TooBright]:
        ghi, limit, index = self.ghi_wm2, self.limit_wm2, self.days.index
        hours = np.flatnonzero(self.bad).tolist()
        return [TooBright(index[at], float(ghi[at]), float(limit[at])) for at in hours]


def impossible_radiation(site: SiteLike, hours: pd.DataFrame) -> list[TooBright]:
    """List the hours whose radiation is above 1.25 of a clear sky and 60 W/m².

    Parameters
    ----------
    site : SiteLike
        Where.
    hours : pandas.DataFrame
        Hourly weather; `ghi_wm2` [W/m²], `temp_c` and `vapour_kpa` are read.
    """
    return _sky(site, hours).too_bright()


def set_aside_radiation(site: SiteLike, hours: pd.DataFrame) -> tuple[pd.DataFrame, list[Refused]]:
    """Set aside single impossible hours, and days that are impossible as a whole.

    A day is, when at least half of its sunny hours are, or the hours in which a clear sky
    would bring half of its light, or when the rest adds up to more than 1.15 of a clear sky
    and .5 MJ/m². The table handed in stays as it is.

    Parameters
    ----------
    site : SiteLike
        Where.
    hours : pandas.DataFrame
        Hourly weather.

    Returns
    -------
    hours : pandas.DataFrame
        With NaN and "set aside: …" as the origin of those hours.
    refusals : list of Refused
        One a day or an hour.

    Raises
    ------
    Refused
        More than one day in twenty is impossible; says what unit its numbers look like.
    """
    sky = _sky(site, hours)
    days = _impossible_days(sky)
    if days.size > _FEW * np.count_nonzero(sky.days.count(~np.isnan(sky.ghi_wm2))):
        raise _impossible(sky, int(days[0]))
    whole = np.isin(sky.days.day, days) & ~np.isnan(sky.ghi_wm2)
    found = [one for one in sky.too_bright() if not whole[sky.days.index.get_loc(one.hour)]]
    if not (found or days.size):
        return hours, []
    kept = hours.copy()
    kept.loc[whole[sky.days.inside], ["ghi_wm2", "ghi_wm2_from"]] = (
        np.nan, "set aside: the day is brighter than a clear sky")
    for hour, bright, limit in found:
        kept.loc[hour, ["ghi_wm2", "ghi_wm2_from"]] = (
            np.nan, f"set aside: {bright:.0f} W/m², at most {limit:.0f}")
    return kept, [*(_impossible(sky, day, "The day is set aside and filled without it.")
                    for day in days.tolist()), *(_refusal(*one) for one in found)]


def _sky(site: SiteLike, hours: pd.DataFrame) -> _Sky:
    days = LocalDays.of(hours.index, site.time_zone)
    columns = ("ghi_wm2", "temp_c", "vapour_kpa")
    ghi, temp, vapour = (days.pad(hours[c].to_numpy(dtype=np.float64)) for c in columns)
    return _Sky(days, ghi, sun_path(site, days.index, temp, vapour).clear_wm2)


def _impossible_days(sky: _Sky) -> NDArray[np.intp]:
    """Give the days, counted from the first, that are impossible as a whole."""
    days, bad = sky.days, sky.bad
    known = ~np.isnan(sky.ghi_wm2)
    sunny = known & (sky.clear_wm2 > 0.0)
    most_hours = days.count(bad) >= _MOST * days.count(sunny)
    light = days.total(np.where(known, sky.clear_wm2, 0.0))
    most_light = days.total(np.where(bad, sky.clear_wm2, 0.0)) >= _MOST * light
    several = days.count(bad) > 1
    rest = days.total(np.where(bad, 0.0, sky.ghi_wm2))
    too_much = rest > _most_whm2(days.total(np.where(known & ~bad, sky.clear_wm2, 0.0)))
    return np.flatnonzero(several & (most_hours | most_light) | too_much)


def _most_whm2(clear_whm2: Array) -> Array:
    """Give the most that may come in a day, from what a clear sky brings; both [Wh/m²]."""
    return value("impossible_day") * clear_whm2 + value("impossible_day_slack") / MJ_PER_WM2_HOUR


def _impossible(sky: _Sky, day: int, done: str = "") -> Refused:
    """Refuse a day by its sum, or where that is possible by its hours."""
    light_whm2 = float(sky.days.total(
        np.where(np.isnan(sky.ghi_wm2), 0.0, sky.clear_wm2))[day])
    days, what = sky.days, f"shortwave radiation, {sky.days.dates[day].date().isoformat()}"
    total = float(days.total(sky.ghi_wm2)[day]) * MJ_PER_WM2_HOUR
    most = float(_most_whm2(np.array(light_whm2))) * MJ_PER_WM2_HOUR
    hint = done or _hint(sky, day, total, most)
    if total > most:
        return Refused(what, f"{total:.1f} MJ/m² in the day",
                       f"at most {most:.1f} MJ/m², 1.15 of a clear sky", hint)
    bad = int(days.count(sky.bad)[day])
    return Refused(what, f"{bad} hours above 1.25 of a clear sky and 60 W/m²",
                   "such hours with less than half of the day's sun", hint)


def _hint(sky: _Sky, day: int, total_mj: float, most_mj: float) -> str:
    here = sky.days.day == day
    night = here & (sky.clear_wm2 <= 0.0)
    by_night = np.nansum(np.where(night, sky.ghi_wm2, 0.0))
    if by_night > 0.3 * np.nansum(np.where(here, sky.ghi_wm2, 0.0)):
        return "Much of it falls at night: check the time zone of the stamps and the longitude."
    if total_mj / _KJ_PER_WH <= most_mj:
        peak = float(np.nanmax(np.where(here, sky.ghi_wm2, np.nan)))
        return (
            f"{peak:.0f} looks like kJ/m² in the hour, a mean of {peak / _KJ_PER_WH:.0f} W/m²; "
            f"the day's sum would be {total_mj / _KJ_PER_WH:.1f} MJ/m²."
        )
    return "Check the unit: a row is the hour's mean in W/m²."


def _refusal(hour: pd.Timestamp, bright_wm2: float, limit_wm2: float) -> Refused:
    return Refused(
        f"shortwave radiation, {hour.strftime('%Y-%m-%d %H:%M')} UTC",
        f"{bright_wm2:.0f} W/m²",
        f"at most {limit_wm2:.0f} W/m², 1.25 of a clear sky and 60",
        "The hour is set aside and filled from the rest of its day.",
    )
