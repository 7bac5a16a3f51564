"""What stands in for missing weather, in the order of FAO-56 (1998) ch. 3, with its name.

Each ladder gives a value for every day and the name of the rule that gave it; the name is ""
where the value was measured. Days are numpy arrays; NaN is unknown.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.demand import air, radiation
from advisor.demand.air import Numbers
from advisor.demand.coefficients import value

Array = NDArray[np.float64]
Names = NDArray[np.str_]
Step = tuple[str, Numbers | None]

#: rule -> where it comes from
RULES: dict[str, str] = {
    "humidity from dew point": "FAO-56 Eq. 14",
    "humidity from its extremes": "FAO-56 Eq. 17",
    "humidity from its mean": "FAO-56 Eq. 19",
    "humidity from Tmin": "FAO-56 Eq. 48",
    "radiation from sunshine": "FAO-56 Eq. 35",
    "radiation from cloud cover": "linear in cloud cover, a judgement of this project",
    "radiation from temperature range": "FAO-56 Eq. 50",
    "wind 2 m/s": "FAO-56 ch. 3",
    "wind height 10 m": "WMO standard exposure, from memory",
    "radiation partly from clear sky": "the day's own share of a clear sky, for its other hours",
    "temperature from part of the hours": "extremes of the hours known",
    "humidity from part of the hours": "mean of the hours known",
    "wind from part of the hours": "mean of the hours known",
    "rain from part of the hours": "sum of the hours known",
    "rain unknown": "no hour known",
    "no temperature": "no hour known: no evapotranspiration is given",
    "part of a day": "the series begins or ends within the day: sums of the hours in it",
}


@dataclass(frozen=True)
class Humidity:
    """What is known of a day's humidity; None or NaN where it is not.

    Attributes
    ----------
    vapour_kpa : float or array, optional
        Mean vapour pressure [kPa].
    dew_c : float or array, optional
        Mean dew point [°C].
    rhmax_pct, rhmin_pct, rhmean_pct : float or array, optional
        Highest, lowest, mean relative humidity [%].
    """

    vapour_kpa: Numbers | None = None
    dew_c: Numbers | None = None
    rhmax_pct: Numbers | None = None
    rhmin_pct: Numbers | None = None
    rhmean_pct: Numbers | None = None


@dataclass(frozen=True)
class Light:
    """What is known of a day's light; None or NaN where it is not.

    Attributes
    ----------
    rs_mj : float or array, optional
        Shortwave radiation [MJ/m²].
    sunshine_h : float or array, optional
        Hours of bright sunshine [h].
    cloud_share : float or array, optional
        Cloud cover of the daylight hours, 0 clear to 1 overcast.
    """

    rs_mj: Numbers | None = None
    sunshine_h: Numbers | None = None
    cloud_share: Numbers | None = None


@dataclass(frozen=True)
class Top:
    """A day's radiation above the clouds.

    Attributes
    ----------
    ra_mj, rso_mj : float or array
        Extraterrestrial and clear-sky radiation [MJ/m²].
    daylight_h : float or array
        Hours of daylight [h].
    """

    ra_mj: Numbers
    rso_mj: Numbers
    daylight_h: Numbers

    @classmethod
    def of(cls, latitude_deg: Numbers, elevation_m: Numbers, day_of_year: Numbers) -> "Top":
        """Compute it for a latitude [°], an elevation [m] and days of the year (Eqs. 21-37)."""
        ra = radiation.extraterrestrial_day(latitude_deg, day_of_year)
        hours = radiation.daylight_hours(latitude_deg, day_of_year)
        return cls(ra, radiation.clear_sky_shortwave(elevation_m, ra), hours)


UNKNOWN_HUMIDITY, UNKNOWN_LIGHT = Humidity(), Light()


def vapour_ladder(
    tmax_c: Numbers, tmin_c: Numbers, humidity: Humidity = UNKNOWN_HUMIDITY
) -> tuple[Array, Names]:
    """Actual vapour pressure [kPa] by the best rule there is data for, with the rule.

    Measured, else dew point, else humidity extremes, else mean humidity, else Tmin taken as
    the dew point.

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature [°C].
    humidity : Humidity
        What is known.
    """
    dew, mean = humidity.dew_c, humidity.rhmean_pct
    high, low = humidity.rhmax_pct, humidity.rhmin_pct
    pair = None
    if high is not None and low is not None:
        pair = air.vapour_from_rh_pair(tmax_c, tmin_c, high, low)
    return _first_known(
        ("", humidity.vapour_kpa),
        ("humidity from dew point", None if dew is None else air.vapour_from_dew_point(dew)),
        ("humidity from its extremes", pair),
        (
            "humidity from its mean",
            None if mean is None else air.vapour_from_rh_mean(tmax_c, tmin_c, mean),
        ),
        ("humidity from Tmin", air.vapour_from_tmin(tmin_c)),
    )


def shortwave_ladder(
    tmax_c: Numbers,
    tmin_c: Numbers,
    top: Top,
    light: Light = UNKNOWN_LIGHT,
    k_rs: float = radiation.INLAND,
) -> tuple[Array, Names]:
    """Shortwave radiation [MJ/m²] by the best rule there is data for, with the rule.

    Measured, else sunshine hours, else cloud cover, else temperature range; the last never
    above a clear sky.

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature [°C].
    top : Top
        The day's radiation above the clouds.
    light : Light
        What is known.
    k_rs : float
        Of Eq. 50: .16 inland, .19 near a coast [1/√°C].
    """
    sun, cloud = light.sunshine_h, light.cloud_share
    from_range = radiation.shortwave_from_range(tmax_c, tmin_c, top.ra_mj, k_rs)
    from_sun = None
    if sun is not None:
        from_sun = radiation.shortwave_from_sunshine(sun, top.daylight_h, top.ra_mj)
    from_cloud = None if cloud is None else radiation.shortwave_from_cloud(cloud, top.rso_mj)
    return _first_known(
        ("", light.rs_mj),
        ("radiation from sunshine", from_sun),
        ("radiation from cloud cover", from_cloud),
        ("radiation from temperature range", np.minimum(from_range, top.rso_mj)),
    )


def wind_ladder(u2_ms: Numbers | None, like: Numbers) -> tuple[Array, Names]:
    """Wind at 2 m [m/s], 2 m/s where unknown, with the rule.

    Parameters
    ----------
    u2_ms : float or array, optional
        Measured wind at 2 m [m/s].
    like : float or array
        Anything with the shape of the days.
    """
    default = np.full(np.shape(like), value("default_wind"))
    return _first_known(("", u2_ms), ("wind 2 m/s", default))


def join(rules: Sequence[Names | Sequence[str]]) -> list[str]:
    """Join the rules of each day with ";", leaving out the empty ones."""
    return [";".join(name for name in day if name) for day in zip(*rules, strict=True)]


def _first_known(*steps: Step) -> tuple[Array, Names]:
    """Take for each day the first step that has a value; no rule where none has."""
    given = [(name, np.asarray(x, dtype=np.float64)) for name, x in steps if x is not None]
    shape = np.broadcast_shapes(*(x.shape for _, x in given))
    result = np.full(shape, np.nan)
    rule = np.full(shape, "", dtype=object)
    for name, x in given:
        open_ = np.isnan(result)
        result = np.where(open_, x, result)
        rule = np.where(open_, name, rule)
    return result, np.where(np.isnan(result), "", rule).astype(str)
