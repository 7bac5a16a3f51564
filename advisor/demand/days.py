"""Days of a site and hours of its places: what the rest of the tool asks for.

`hours` is the hourly weather of `advisor.weather.series`: UTC, the hour starts at its stamp.
An hour belongs to the local date of its midpoint. Whoever asks for several places makes the
sky once (`advisor.demand.sky.sky_of`) and hands it in.
"""

import numpy as np
import pandas as pd

from advisor.demand.ladder import join
from advisor.demand.place import MJ_PER_WM2_HOUR, Spot, place_et0, place_light
from advisor.demand.sky import Told, sky_of
from advisor.demand.sun import SiteLike

OPEN = Spot()


def site_days(site: SiteLike, hours: pd.DataFrame, *, sky: Told | None = None) -> pd.DataFrame:
    """Give the local days of a site: weather, FAO-56 reference evapotranspiration, rules used.

    Parameters
    ----------
    site : SiteLike
        Where.
    hours : pandas.DataFrame
        Hourly weather.
    sky : Told, optional
        Its sky, where it was already made.

    Returns
    -------
    pandas.DataFrame
        Index `date`, local, without a zone. Columns `tmax_c`, `tmin_c`, `tmean_c` (of the
        hours) [°C], `rain_mm`, `et0_mm` (Eq. 6, clipped at 0) [mm], `rs_mj` [MJ/m²], `rules`
        (names of `advisor.demand.ladder.RULES` and of filled hours, ";" between, "" where all
        was measured), `hours_known` (hours with a temperature).
        A day that the series holds only in part has the sums of its hours in the series.

    Raises
    ------
    Refused
        A column is missing, the index has holes or no zone, the time zone is not known.
    """
    told = sky_of(site, hours) if sky is None else sky
    days, known = told.sky.days, told.known
    inside = days.in_series()
    rain = known.hours["rain_mm"]
    no_rain = days.count(~np.isnan(rain)) == 0
    rs = np.where(inside, told.sky.ghi_wm2, 0.0) * MJ_PER_WM2_HOUR
    et0 = np.where(inside, place_et0(told.sky, OPEN), 0.0)
    return pd.DataFrame(
        {
            "tmax_c": known.tmax_c,
            "tmin_c": known.tmin_c,
            "tmean_c": known.tmean_c,
            "rain_mm": np.where(no_rain, np.nan, days.total(rain)),
            "et0_mm": np.add.reduceat(et0, days.starts),
            "rs_mj": np.add.reduceat(rs, days.starts),
            "rules": join(told.rules),
            "hours_known": days.count(~np.isnan(known.hours["temp_c"])),
        },
        index=days.dates,
    )


def place_hours(
    site: SiteLike, hours: pd.DataFrame, spot: Spot, *, sky: Told | None = None
) -> pd.DataFrame:
    """Give the hours of a place: its reference evapotranspiration and its light.

    Parameters
    ----------
    site : SiteLike
        Where.
    hours : pandas.DataFrame
        Hourly weather.
    spot : Spot
        The place's skyline, shade and wind.
    sky : Told, optional
        The site's sky, where it was already made: places share it.

    Returns
    -------
    pandas.DataFrame
        Index as `hours`. Columns `et0_mm` [mm in the hour], whose local day adds up to FAO-56
        Eq. 6 with the place's light and wind, and `ghi_wm2` [W/m²].

    Raises
    ------
    Refused
        A column is missing, the index has holes or no zone, the time zone is not known.
    """
    told = sky_of(site, hours) if sky is None else sky
    inside = told.sky.days.inside
    return pd.DataFrame(
        {
            "et0_mm": place_et0(told.sky, spot)[inside],
            "ghi_wm2": place_light(told.sky, spot)[inside],
        },
        index=hours.index,
    )
