"""The air: pressure, humidity and wind, one equation of FAO-56 (1998) ch. 3 a function.

Every function takes numbers or numpy arrays of any shapes that broadcast, and gives the
broadcast shape back. Nothing is checked here; `advisor.demand.et0` refuses the impossible.
"""

import numpy as np
from numpy.typing import NDArray

from advisor.demand.coefficients import value
from advisor.weather.vapour import TETENS, saturation_kpa

Numbers = float | NDArray[np.float64]

VENTILATED = value("ventilated_wet_bulb")


def atmospheric_pressure(elevation_m: Numbers) -> Numbers:
    """Mean air pressure [kPa] at an elevation [m] (FAO-56 Eq. 7)."""
    ratio = (293.0 - value("lapse_rate") * elevation_m) / 293.0
    return value("sea_level_pressure") * ratio ** value("pressure_exponent")


def psychrometric_constant(pressure_kpa: Numbers) -> Numbers:
    """Psychrometric constant [kPa/°C] at an air pressure [kPa] (FAO-56 Eq. 8)."""
    return value("psychrometric") * pressure_kpa


def saturation_pressure(temp_c: Numbers) -> Numbers:
    """Saturation vapour pressure e° [kPa] at a temperature [°C] (FAO-56 Eq. 11)."""
    return saturation_kpa(temp_c)


def mean_saturation_pressure(tmax_c: Numbers, tmin_c: Numbers) -> Numbers:
    """Give the day's saturation vapour pressure es [kPa] (FAO-56 Eq. 12).

    The mean of e°(Tmax) and e°(Tmin); e° of the mean temperature would be too low.

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature of the day [°C].
    """
    return 0.5 * (saturation_pressure(tmax_c) + saturation_pressure(tmin_c))


def saturation_slope(temp_c: Numbers) -> Numbers:
    """Slope Δ [kPa/°C] of the saturation curve at a temperature [°C] (FAO-56 Eq. 13)."""
    return value("slope_factor") * saturation_pressure(temp_c) / (temp_c + TETENS[2]) ** 2


def vapour_from_dew_point(dew_c: Numbers) -> Numbers:
    """Actual vapour pressure [kPa] from the dew point [°C] (FAO-56 Eq. 14)."""
    return saturation_pressure(dew_c)


def psychrometer_constant(pressure_kpa: Numbers, ventilation: Numbers = VENTILATED) -> Numbers:
    """Constant [kPa/°C] of a psychrometer (FAO-56 Eq. 16).

    Parameters
    ----------
    pressure_kpa : float or array
        Air pressure [kPa].
    ventilation : float or array
        .000662 ventilated, .000800 naturally ventilated, .001200 indoors [1/°C].
    """
    return ventilation * pressure_kpa


def vapour_from_wet_bulb(dry_c: Numbers, wet_c: Numbers, constant_kpa_per_c: Numbers) -> Numbers:
    """Actual vapour pressure [kPa] from a psychrometer (FAO-56 Eq. 15).

    Parameters
    ----------
    dry_c, wet_c : float or array
        Dry and wet bulb temperature [°C].
    constant_kpa_per_c : float or array
        Constant of the instrument [kPa/°C], see `psychrometer_constant`.
    """
    return saturation_pressure(wet_c) - constant_kpa_per_c * (dry_c - wet_c)


def vapour_from_rh_pair(
    tmax_c: Numbers, tmin_c: Numbers, rhmax_pct: Numbers, rhmin_pct: Numbers
) -> Numbers:
    """Actual vapour pressure [kPa] from the day's humidity extremes (FAO-56 Eq. 17).

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature of the day [°C].
    rhmax_pct, rhmin_pct : float or array
        Highest and lowest relative humidity of the day [%].
    """
    morning_kpa = saturation_pressure(tmin_c) * rhmax_pct / 100.0
    afternoon_kpa = saturation_pressure(tmax_c) * rhmin_pct / 100.0
    return 0.5 * (morning_kpa + afternoon_kpa)


def vapour_from_rh_max(tmin_c: Numbers, rhmax_pct: Numbers) -> Numbers:
    """Actual vapour pressure [kPa] from Tmin [°C] and RHmax [%] (FAO-56 Eq. 18)."""
    return saturation_pressure(tmin_c) * rhmax_pct / 100.0


def vapour_from_rh_mean(tmax_c: Numbers, tmin_c: Numbers, rhmean_pct: Numbers) -> Numbers:
    """Actual vapour pressure [kPa] from the mean humidity (FAO-56 Eq. 19).

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature of the day [°C].
    rhmean_pct : float or array
        Mean relative humidity of the day [%].
    """
    return mean_saturation_pressure(tmax_c, tmin_c) * rhmean_pct / 100.0


def vapour_from_tmin(tmin_c: Numbers) -> Numbers:
    """Actual vapour pressure [kPa], the dew point taken as Tmin [°C] (FAO-56 Eq. 48)."""
    return saturation_pressure(tmin_c)


def wind_at_2m(wind_ms: Numbers, height_m: Numbers) -> Numbers:
    """Wind speed [m/s] at 2 m over short grass (FAO-56 Eq. 47).

    Parameters
    ----------
    wind_ms : float or array
        Wind speed at the sensor [m/s].
    height_m : float or array
        Height of the sensor [m].
    """
    factor, offset = value("wind_profile_factor"), value("wind_profile_offset")
    return wind_ms * 4.87 / np.log(factor * height_m - offset)
