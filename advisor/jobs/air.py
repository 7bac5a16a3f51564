"""From the weather in store to each place's hours; loads pandas and pvlib.

Done when weather or a place has changed; the round reads what was kept.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.demand.days import place_hours, site_days
from advisor.demand.place import Spot
from advisor.demand.sky import sky_of
from advisor.demand.sun import horizon_from_sun_hours
from advisor.garden.records import Place, Site
from advisor.jobs.describe import WIND

Arrays = dict[str, NDArray[Any]]


@dataclass(frozen=True, eq=False)
class Air:
    """Hours and days of a site, ready to be kept: arrays by name."""

    hour: NDArray[np.int64]
    site: Arrays
    places: Mapping[str, Arrays]
    days: Arrays


def spot_of(site: Site, place: Place) -> Spot:
    """Turn what the grower told of a place into skyline, shade and wind.

    Raises
    ------
    Refused
        A skyline or sun hours that no place has.
    """
    horizon = place.horizon
    if not horizon and (place.sun_june or place.sun_september):
        horizon = horizon_from_sun_hours(site, place.sun_june, place.sun_september)
    return Spot(horizon, place.shade, WIND[place.wind])


def table_of(weather: Mapping[str, NDArray[Any]]) -> pd.DataFrame:
    """Give merged weather from the store as the hourly table of `advisor.weather.series`."""
    index = pd.DatetimeIndex(pd.to_datetime(weather["hour"], unit="s", utc=True), name="hour")
    columns = {name: column for name, column in weather.items()
               if name != "hour" and not name.endswith(("_source", "_kind", "_issued"))}
    return pd.DataFrame(columns, index=index)


def lead_of(weather: Mapping[str, NDArray[Any]]) -> NDArray[np.float64]:
    """Give how long before each hour its temperature was foretold [d]; 0 where it is known."""
    foretold = weather["temp_c_kind"] == "forecast"
    hour = weather["hour"].astype("datetime64[s]")
    ahead = (hour - weather["temp_c_issued"].astype("datetime64[s]")) / np.timedelta64(1, "D")
    return np.where(foretold, np.maximum(np.nan_to_num(ahead), 0.0), 0.0)


def arrays_of(hours: pd.DataFrame) -> Arrays:
    """Give an hourly table as arrays for the store."""
    stamps = hours.index.as_unit("s").asi8  # type: ignore[attr-defined]
    return {"hour": stamps, **{name: hours[name].to_numpy() for name in hours.columns}}


def work_out(site: Site, places: Iterable[Place], hours: pd.DataFrame,
             lead_d: NDArray[np.float64] | None = None) -> Air:
    """Work out days of the site and hours of its places.

    Parameters
    ----------
    site : Site
    places : iterable of Place
    hours : pandas.DataFrame
        Hourly weather, gaps and all.
    lead_d : array, optional
        How long before each hour it was foretold [d]; known where None.
    """
    lead_d = np.zeros(len(hours)) if lead_d is None else lead_d
    sky = sky_of(site, hours)
    days = site_days(site, hours, sky=sky)
    stamps = arrays_of(hours)["hour"]
    by_day = sky.sky.days.day[sky.sky.days.inside]
    inside, first, count = np.unique(by_day, return_index=True, return_counts=True)
    kept = days.iloc[inside]
    return Air(
        hour=stamps,
        site={"lead_d": lead_d,
              **{name: hours[name].to_numpy(float) for name in ("temp_c", "rain_mm")}},
        places={place.name: {"et0_mm": place_hours(site, hours, spot_of(site, place), sky=sky)
                             ["et0_mm"].to_numpy()} for place in places},
        days={"date": kept.index.to_numpy().astype("datetime64[D]"),
              **{name: kept[name].to_numpy() for name in
                 ("tmax_c", "tmin_c", "tmean_c", "rain_mm", "et0_mm", "rules")},
              "first_hour": stamps[first], "n_hours": count},
    )
