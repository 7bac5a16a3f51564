"""Radiation on a horizontal surface, one equation of FAO-56 (1998) ch. 3 a function.

Days are MJ/m² per day, hours MJ/m² per hour, angles radians unless the name says `_deg`.
Numbers or arrays that broadcast. The sun of `advisor.demand.sun` is pvlib's and finer; this
one is what the FAO-56 equations were fitted with.
"""

import numpy as np
from numpy.typing import NDArray

from advisor.demand.air import Numbers
from advisor.demand.coefficients import value

_KELVIN = 273.16  # as printed in FAO-56 Eq. 39
INLAND, COASTAL = value("range_interior"), value("range_coastal")  # kRs of Eq. 50
_FLOOR = value("relative_shortwave_floor")


def radians(latitude_deg: Numbers) -> Numbers:
    """Decimal degrees to radians (FAO-56 Eq. 22)."""
    return np.pi / 180.0 * latitude_deg


def inverse_distance(day_of_year: Numbers) -> Numbers:
    """Inverse relative distance [-] from earth to sun (FAO-56 Eq. 23)."""
    return 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * day_of_year)


def declination(day_of_year: Numbers) -> Numbers:
    """Solar declination [rad] (FAO-56 Eq. 24)."""
    return 0.409 * np.sin(2.0 * np.pi / 365.0 * day_of_year - 1.39)


def sunset_angle(latitude_deg: Numbers, day_of_year: Numbers) -> Numbers:
    """Sunset hour angle [rad]; 0 in polar night, π in polar day (FAO-56 Eq. 25).

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, north positive [°].
    day_of_year : int or array
        Day of the year, 1 to 366.
    """
    cosine = -np.tan(radians(latitude_deg)) * np.tan(declination(day_of_year))
    angle: Numbers = np.arccos(np.clip(cosine, -1.0, 1.0))
    return angle


def extraterrestrial_day(latitude_deg: Numbers, day_of_year: Numbers) -> Numbers:
    """Extraterrestrial radiation Ra of a day [MJ/m²] (FAO-56 Eq. 21).

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, north positive [°].
    day_of_year : int or array
        Day of the year, 1 to 366.
    """
    angle, lat, tilt = sunset_angle(latitude_deg, day_of_year), *_angles(latitude_deg, day_of_year)
    sun = angle * np.sin(lat) * np.sin(tilt) + np.cos(lat) * np.cos(tilt) * np.sin(angle)
    per_day = 24.0 * 60.0 / np.pi * value("solar_constant")
    ra: Numbers = per_day * inverse_distance(day_of_year) * sun
    return ra


def _angles(latitude_deg: Numbers, day_of_year: Numbers) -> tuple[Numbers, Numbers]:
    return radians(latitude_deg), declination(day_of_year)


def seasonal_correction(day_of_year: Numbers) -> Numbers:
    """Seasonal correction Sc of solar time [h] (FAO-56 Eq. 32, Eq. 33)."""
    b = 2.0 * np.pi * (day_of_year - 81.0) / 364.0
    return 0.1645 * np.sin(2.0 * b) - 0.1255 * np.cos(b) - 0.025 * np.sin(b)


def solar_angle(
    clock_h: Numbers, longitude_deg: Numbers, zone_deg: Numbers, day_of_year: Numbers
) -> Numbers:
    """Hour angle ω [rad] of the sun at a clock time (FAO-56 Eq. 31).

    Parameters
    ----------
    clock_h : float or array
        Standard clock time at the middle of the period [h].
    longitude_deg, zone_deg : float or array
        Longitude of the site and of the centre of its time zone, **west** positive as in the
        paper [°].
    day_of_year : int or array
        Day of the year, 1 to 366.
    """
    shift_h = 0.06667 * (zone_deg - longitude_deg) + seasonal_correction(day_of_year)
    return np.pi / 12.0 * (clock_h + shift_h - 12.0)


def extraterrestrial_hour(
    latitude_deg: Numbers, day_of_year: Numbers, angle: Numbers, length_h: Numbers = 1.0
) -> Numbers:
    """Extraterrestrial radiation Ra of a period [MJ/m²] (FAO-56 Eq. 28, Eq. 29, Eq. 30).

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, north positive [°].
    day_of_year : int or array
        Day of the year, 1 to 366.
    angle : float or array
        Hour angle at the middle of the period [rad], see `solar_angle`.
    length_h : float or array
        Length of the period [h].
    """
    lat, tilt = _angles(latitude_deg, day_of_year)
    sunset = sunset_angle(latitude_deg, day_of_year)
    start = np.clip(angle - np.pi * length_h / 24.0, -sunset, sunset)
    end = np.clip(angle + np.pi * length_h / 24.0, -sunset, sunset)
    sun = (end - start) * np.sin(lat) * np.sin(tilt)
    sun = sun + np.cos(lat) * np.cos(tilt) * (np.sin(end) - np.sin(start))
    per_day = 12.0 * 60.0 / np.pi * value("solar_constant")
    ra: Numbers = per_day * inverse_distance(day_of_year) * sun
    return ra


def daylight_hours(latitude_deg: Numbers, day_of_year: Numbers) -> Numbers:
    """Hours of daylight N [h] at a latitude [°] (FAO-56 Eq. 34)."""
    return 24.0 / np.pi * sunset_angle(latitude_deg, day_of_year)


def shortwave_from_sunshine(sun_h: Numbers, daylight_h: Numbers, ra_mj: Numbers) -> Numbers:
    """Shortwave radiation Rs [MJ/m²] from hours of sunshine, Ångström (FAO-56 Eq. 35).

    Parameters
    ----------
    sun_h, daylight_h : float or array
        Hours of bright sunshine, and of daylight [h].
    ra_mj : float or array
        Extraterrestrial radiation [MJ/m²].
    """
    share = np.divide(sun_h, np.maximum(daylight_h, 1e-9))
    return (value("angstrom_a") + value("angstrom_b") * np.minimum(share, 1.0)) * ra_mj


def shortwave_from_cloud(cloud_share: Numbers, rso_mj: Numbers) -> Numbers:
    """Shortwave radiation Rs [MJ/m²] from the cloud cover of the daylight hours.

    Linear between an overcast and a clear sky: Rso (.35 + .65 (1 - n)), a judgement of this
    project (see `coefficients`), not of FAO-56.

    Parameters
    ----------
    cloud_share : float or array
        Cloud cover, 0 clear to 1 overcast.
    rso_mj : float or array
        Clear-sky radiation [MJ/m²].
    """
    overcast = value("cloud_overcast")
    return rso_mj * (overcast + (1.0 - overcast) * (1.0 - cloud_share))


def shortwave_from_range(
    tmax_c: Numbers,
    tmin_c: Numbers,
    ra_mj: Numbers,
    k_rs: float = INLAND,
) -> Numbers:
    """Shortwave radiation Rs [MJ/m²] from the day's temperature range (FAO-56 Eq. 50).

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature of the day [°C].
    ra_mj : float or array
        Extraterrestrial radiation [MJ/m²].
    k_rs : float
        .16 inland, .19 near a coast [1/√°C].
    """
    return k_rs * np.sqrt(np.maximum(tmax_c - tmin_c, 0.0)) * ra_mj


def clear_sky_shortwave(elevation_m: Numbers, ra_mj: Numbers) -> Numbers:
    """Clear-sky radiation Rso [MJ/m²] from elevation [m] and Ra [MJ/m²] (FAO-56 Eq. 37)."""
    return (value("clear_sky_share") + value("clear_sky_rise") * elevation_m) * ra_mj


def relative_shortwave(rs_mj: Numbers, rso_mj: Numbers) -> Numbers:
    """Rs/Rso [-] as the long-wave term takes it, between .3 and 1 (FAO-56 Eq. 39).

    FAO-56 states the ceiling; the floor keeps dark days from a negative loss. Where there is
    no sun at all (polar night) it is the floor.
    """
    return np.clip(rs_mj / np.maximum(rso_mj, 1e-9), _FLOOR, 1.0)


def net_shortwave(rs_mj: Numbers) -> Numbers:
    """Net shortwave radiation Rns [MJ/m²] of the reference grass (FAO-56 Eq. 38)."""
    return (1.0 - value("albedo")) * rs_mj


def net_longwave(tmax_c: Numbers, tmin_c: Numbers, ea_kpa: Numbers, relative: Numbers) -> Numbers:
    """Net outgoing longwave radiation Rnl of a day [MJ/m²] (FAO-56 Eq. 39).

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature of the day [°C].
    ea_kpa : float or array
        Actual vapour pressure [kPa].
    relative : float or array
        Rs/Rso, see `relative_shortwave` [-].
    """
    warm, cold = (tmax_c + _KELVIN) ** 2, (tmin_c + _KELVIN) ** 2
    black = value("stefan_boltzmann_day") * 0.5 * (warm * warm + cold * cold)
    return black * (0.34 - 0.14 * np.sqrt(ea_kpa)) * (1.35 * relative - 0.35)


def net_longwave_hour(temp_c: Numbers, ea_kpa: Numbers, relative: Numbers) -> Numbers:
    """Net outgoing longwave radiation of an hour [MJ/m²] (FAO-56 Eq. 39, σ/24).

    Parameters
    ----------
    temp_c : float or array
        Mean air temperature of the hour [°C].
    ea_kpa : float or array
        Actual vapour pressure [kPa].
    relative : float or array
        Rs/Rso; by night that of two to three hours before sunset [-].
    """
    return net_longwave(temp_c, temp_c, ea_kpa, relative) / 24.0


def net_radiation(rns_mj: Numbers, rnl_mj: Numbers) -> Numbers:
    """Net radiation Rn [MJ/m²] (FAO-56 Eq. 40)."""
    return rns_mj - rnl_mj


def soil_heat_month(before_c: Numbers, after_c: Numbers) -> Numbers:
    """Soil heat flux G of a month [MJ/m² per day] (FAO-56 Eq. 43).

    Parameters
    ----------
    before_c, after_c : float or array
        Mean temperature of the month before and of the month after [°C].
    """
    return 0.07 * (after_c - before_c)


def soil_heat_month_so_far(before_c: Numbers, this_c: Numbers) -> Numbers:
    """Soil heat flux G of a month whose next is not known [MJ/m² per day] (FAO-56 Eq. 44).

    Parameters
    ----------
    before_c, this_c : float or array
        Mean temperature of the month before and of this month [°C].
    """
    return 0.14 * (this_c - before_c)


def soil_heat_hour(rn_mj: Numbers, daylight: bool | NDArray[np.bool_]) -> Numbers:
    """Soil heat flux G of an hour [MJ/m²] (FAO-56 Eq. 45 by day, Eq. 46 by night).

    Parameters
    ----------
    rn_mj : float or array
        Net radiation [MJ/m²].
    daylight : bool or array
        Whether the sun is up.
    """
    return np.where(daylight, value("soil_heat_day"), value("soil_heat_night")) * rn_mj
