"""Reference evapotranspiration of FAO-56 (1998): day, hour, and from temperature alone.

`daily_et0` is the one to call: it refuses the impossible and does a million days in a
fraction of a second. `penman_monteith_day` and `penman_monteith_hour` are the bare equations.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from advisor.demand import air, radiation
from advisor.demand.air import Numbers
from advisor.demand.coefficients import value
from advisor.errors import Refused
from advisor.units import LIMITS

Array = NDArray[np.float64]

_CHUNK = 16_384  # elements a pass: the dozen arrays in use stay in the processor's cache
_DAYS = np.arange(1.0, 367.0)
MJ_PER_WM2_DAY = 0.0864  # seconds of a day over 1e6
_WORDS = {"tmax_c": "highest air temperature", "tmin_c": "lowest air temperature"}
_LIMITS = {  # argument -> row of advisor.units.LIMITS
    "tmax_c": "temp_c",
    "tmin_c": "temp_c",
    "ea_kpa": "vapour_kpa",
    "rs_mj": "rs_mj",
    "u2_ms": "wind_ms",
    "elevation_m": "elevation_m",
    "latitude_deg": "latitude_deg",
    "day_of_year": "day_of_year",
}


class DailyTerms(NamedTuple):
    """What a day's ET0 is made of: pressures kPa, radiation MJ/m², ET0 mm."""

    et0_mm: Numbers
    from_radiation_mm: Numbers
    from_air_mm: Numbers
    deficit_kpa: Numbers
    slope_kpa_per_c: Numbers
    psychrometric_kpa_per_c: Numbers
    ra_mj: Numbers
    rso_mj: Numbers
    rns_mj: Numbers
    rnl_mj: Numbers


def penman_monteith_day(
    energy_mj: Numbers,
    tmean_c: Numbers,
    u2_ms: Numbers,
    deficit_kpa: Numbers,
    slope: Numbers,
    gamma: Numbers,
) -> Numbers:
    """Reference evapotranspiration of a day [mm], not clipped (FAO-56 Eq. 6).

    Parameters
    ----------
    energy_mj : float or array
        Net radiation less soil heat flux, Rn - G [MJ/m²].
    tmean_c : float or array
        Mean of the day's highest and lowest temperature [°C].
    u2_ms : float or array
        Wind speed at 2 m [m/s].
    deficit_kpa : float or array
        Vapour pressure deficit es - ea [kPa].
    slope, gamma : float or array
        Slope of the saturation curve, psychrometric constant [kPa/°C].
    """
    return _combine(energy_mj, tmean_c, u2_ms, deficit_kpa, (slope, gamma), "daily_numerator")


def penman_monteith_hour(
    energy_mj: Numbers,
    temp_c: Numbers,
    u2_ms: Numbers,
    deficit_kpa: Numbers,
    slope: Numbers,
    gamma: Numbers,
) -> Numbers:
    """Reference evapotranspiration of an hour [mm], not clipped (FAO-56 Eq. 53).

    The denominator's .34 holds by day and by night, as in FAO-56; the later hourly standard
    (.24 by day, .96 by night) gives 5 % more on a sunny afternoon.

    Parameters
    ----------
    energy_mj : float or array
        Net radiation less soil heat flux, Rn - G [MJ/m² in the hour].
    temp_c : float or array
        Mean temperature of the hour [°C].
    u2_ms : float or array
        Wind speed at 2 m [m/s].
    deficit_kpa : float or array
        Vapour pressure deficit e° - ea [kPa].
    slope, gamma : float or array
        Slope of the saturation curve, psychrometric constant [kPa/°C].
    """
    return _combine(energy_mj, temp_c, u2_ms, deficit_kpa, (slope, gamma), "hourly_numerator")


def _combine(
    energy_mj: Numbers,
    temp_c: Numbers,
    u2_ms: Numbers,
    deficit_kpa: Numbers,
    curve: tuple[Numbers, Numbers],
    numerator: str,
) -> Numbers:
    slope, gamma = curve
    wind_term = gamma * value(numerator) / (temp_c + 273.0) * u2_ms * deficit_kpa
    divisor = slope + gamma * (1.0 + value("denominator") * u2_ms)
    return (value("evaporates") * slope * energy_mj + wind_term) / divisor


def hargreaves(tmax_c: Numbers, tmin_c: Numbers, ra_mj: Numbers) -> Numbers:
    """Reference evapotranspiration of a day [mm] from temperature alone (FAO-56 Eq. 52).

    Parameters
    ----------
    tmax_c, tmin_c : float or array
        Highest and lowest air temperature of the day [°C].
    ra_mj : float or array
        Extraterrestrial radiation [MJ/m²].
    """
    warmth_c = 0.5 * (tmax_c + tmin_c) + 17.8
    range_c = np.maximum(tmax_c - tmin_c, 0.0)
    return value("hargreaves") * warmth_c * np.sqrt(range_c) * value("evaporates") * ra_mj


def daily_et0_terms(
    tmax_c: Numbers,
    tmin_c: Numbers,
    ea_kpa: Numbers,
    rs_mj: Numbers,
    u2_ms: Numbers,
    *,
    elevation_m: Numbers,
    latitude_deg: Numbers,
    day_of_year: Numbers,
) -> DailyTerms:
    """Give a day's ET0 with the terms it is made of (FAO-56 Eq. 6, Eqs. 7-40).

    Takes what `daily_et0` takes and gives the same ET0; slower, for explanations.
    """
    gamma = air.psychrometric_constant(air.atmospheric_pressure(elevation_m))
    tmean_c = 0.5 * (tmax_c + tmin_c)
    slope = air.saturation_slope(tmean_c)
    deficit = air.mean_saturation_pressure(tmax_c, tmin_c) - ea_kpa
    ra = radiation.extraterrestrial_day(latitude_deg, day_of_year)
    rso = radiation.clear_sky_shortwave(elevation_m, ra)
    rns = radiation.net_shortwave(rs_mj)
    relative = radiation.relative_shortwave(rs_mj, rso)
    rnl = radiation.net_longwave(tmax_c, tmin_c, ea_kpa, relative)
    energy = radiation.net_radiation(rns, rnl)
    both = penman_monteith_day(energy, tmean_c, u2_ms, deficit, slope, gamma)
    sun_only = penman_monteith_day(energy, tmean_c, u2_ms, 0.0, slope, gamma)
    return DailyTerms(
        np.maximum(both, 0.0), sun_only, both - sun_only, deficit, slope, gamma, ra, rso, rns, rnl
    )


def daily_et0(
    tmax_c: ArrayLike,
    tmin_c: ArrayLike,
    ea_kpa: ArrayLike,
    rs_mj: ArrayLike,
    u2_ms: ArrayLike,
    *,
    elevation_m: ArrayLike,
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
) -> Array:
    """Reference evapotranspiration of days [mm], clipped at 0 (FAO-56 Eq. 6).

    All arguments broadcast against each other; NaN in, NaN out. G is 0. On a cold, humid,
    dark day the equation gives a little less than nothing (dew): that is given as 0.

    Parameters
    ----------
    tmax_c, tmin_c : array_like
        Highest and lowest air temperature [°C].
    ea_kpa : array_like
        Actual vapour pressure [kPa].
    rs_mj : array_like
        Shortwave radiation [MJ/m² in the day].
    u2_ms : array_like
        Wind speed at 2 m [m/s].
    elevation_m : array_like
        Elevation [m].
    latitude_deg : array_like
        Latitude, north positive [°].
    day_of_year : array_like
        Day of the year, 1 to 366.

    Raises
    ------
    Refused
        A value that cannot be (wind below 0, Tmax below Tmin, radiation in W/m²).

    Examples
    --------
    Example 18 of FAO-56, Uccle on 6 July, printed there as 3.9 mm:

    >>> import advisor
    >>> et0_mm = advisor.daily_et0(21.5, 12.3, 1.409, 22.07, 2.078, elevation_m=100,
    ...                            latitude_deg=50.8, day_of_year=187)
    >>> round(float(et0_mm), 2)
    3.88
    """
    weather = [np.asarray(x, dtype=np.float64) for x in (tmax_c, tmin_c, ea_kpa, rs_mj, u2_ms)]
    place = [np.asarray(x, dtype=np.float64) for x in (elevation_m, latitude_deg, day_of_year)]
    for name, array in zip(_LIMITS, (*weather, *place), strict=True):
        _refuse_outside(name, array)
    shape = np.broadcast_shapes(*(a.shape for a in (*weather, *place)))
    out: Array = np.empty(shape)
    flat = out.reshape(-1)
    for part in _chunks(flat.size):
        cut = [_part(a, shape, part) for a in weather]
        _refuse_inverted(cut[0], cut[1])
        gamma, clear, ra = _place_terms(*(_part(a, shape, part) for a in place))
        _day_into(flat[part], cut, gamma, clear * ra)
    return out


def _chunks(size: int) -> Iterator[slice]:
    return (slice(start, start + _CHUNK) for start in range(0, size, _CHUNK))


def _part(array: Array, shape: tuple[int, ...], part: slice) -> Array:
    """Give one chunk of an array as if it had `shape`; a single number stays one."""
    if array.size == 1:
        return array.reshape(())
    return np.broadcast_to(array, shape).reshape(-1)[part]


def _place_terms(elevation_m: Array, latitude_deg: Array, day: Array) -> tuple[Numbers, ...]:
    """γ [kPa/°C], Rso/Ra [-] and Ra [MJ/m²]: for one latitude, Ra from a table of 366 days."""
    gamma = air.psychrometric_constant(air.atmospheric_pressure(elevation_m))
    clear = radiation.clear_sky_shortwave(elevation_m, 1.0)
    with np.errstate(invalid="ignore"):  # NaN is no day; it takes the direct way
        index = day.astype(np.intp)
    if index.ndim == 0 or not np.array_equal(index, day):
        return gamma, clear, radiation.extraterrestrial_day(latitude_deg, day)
    if latitude_deg.ndim == 0:
        table = radiation.extraterrestrial_day(latitude_deg, _DAYS)
        return gamma, clear, np.take(table, index - 1)
    tilt = radiation.declination(_DAYS)
    day_terms = (np.sin(tilt), np.cos(tilt), radiation.inverse_distance(_DAYS))
    return gamma, clear, _ra_many_places(latitude_deg, [np.take(t, index - 1) for t in day_terms])


def _ra_many_places(latitude_deg: Array, day_terms: list[Array]) -> Array:
    """Ra [MJ/m²] where latitude and day both vary: Eqs. 21-25 with two calls less."""
    sin_tilt, cos_tilt, distance = day_terms
    lat = radiation.radians(latitude_deg)
    flat, steep = np.sin(lat) * sin_tilt, np.cos(lat) * cos_tilt
    cosine = np.clip(-flat / np.maximum(steep, 1e-12), -1.0, 1.0)
    sun: Array = np.arccos(cosine) * flat + steep * np.sqrt(1.0 - cosine * cosine)
    return 24.0 * 60.0 / np.pi * value("solar_constant") * distance * sun


def _day_into(out: Array, weather: list[Array], gamma: Numbers, rso_mj: Numbers) -> None:
    tmax_c, tmin_c, ea_kpa, rs_mj, u2_ms = weather
    tmean_c = 0.5 * (tmax_c + tmin_c)
    deficit = air.mean_saturation_pressure(tmax_c, tmin_c) - ea_kpa
    relative = radiation.relative_shortwave(rs_mj, rso_mj)
    rnl = radiation.net_longwave(tmax_c, tmin_c, ea_kpa, relative)
    energy = radiation.net_radiation(radiation.net_shortwave(rs_mj), rnl)
    slope = air.saturation_slope(tmean_c)
    et0 = penman_monteith_day(energy, tmean_c, u2_ms, deficit, slope, gamma)
    np.maximum(et0, 0.0, out=out)


def _refuse_outside(name: str, array: Array) -> None:
    """Refuse the first value outside its limits; NaN is let through."""
    limit = LIMITS[_LIMITS[name]]
    if array.min(initial=limit.low) >= limit.low and array.max(initial=limit.high) <= limit.high:
        return
    bad = array[(array < limit.low) | (array > limit.high)]
    if not bad.size:  # only NaN
        return
    words = _WORDS.get(name, limit.words)
    within = f"{limit.low:g} to {limit.high:g} {limit.unit}"
    do = "Check the number and its unit."
    if name == "rs_mj" and bad[0] > limit.high:
        do = looks_like_watts(float(bad[0]))
    raise Refused(words, f"{bad[0]:g} {limit.unit}", within, do)


def looks_like_watts(rs: float) -> str:
    """Say what a day's radiation would be if the number were a mean in W/m²."""
    return f"{rs:g} looks like W/m²; the day's sum is {rs * MJ_PER_WM2_DAY:.1f} MJ/m²."


def _refuse_inverted(tmax_c: Array, tmin_c: Array) -> None:
    wrong = np.atleast_1d(tmax_c < tmin_c)
    if wrong.any():
        at = int(np.argmax(wrong))
        highest, lowest = (float(np.broadcast_to(t, wrong.shape)[at]) for t in (tmax_c, tmin_c))
        raise Refused(
            "highest air temperature",
            f"{highest:g} °C",
            f"at least the day's lowest, {lowest:g} °C",
            "Were the two swapped?",
        )
