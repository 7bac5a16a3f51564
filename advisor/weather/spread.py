"""How a day's figures are laid over its hours, so that the day comes back exactly.

Everything is an array of hours with the number of its day beside it; the sun comes from pvlib.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import irradiance, solarposition

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: the warmest hour, after the sun's highest [h]: de Wit et al. 1978 have 14 h by the sun, from
#: memory [M]; 1 to 3
WARMEST_AFTER_NOON_H = 2
#: Angstrom's shares of extraterrestrial radiation on overcast days and added by full sun:
#: FAO-56 Eq. 35 [S], where nothing was calibrated; .15 to .35 and .4 to .6
ANGSTROM = (0.25, 0.50)
#: solar constant [W/m²]: FAO-56 Eq. 21, .0820 MJ/m² a minute [S]
SOLAR_CONSTANT_WM2 = 0.0820e6 / 60.0
#: the sun is looked at this often [min]
STEP_MIN = 5
SECONDS = 3600.0


@dataclass(frozen=True)
class Sun:
    """The sun over the hours of a table.

    Attributes
    ----------
    height : numpy.ndarray
        Mean sine of the sun's elevation while it is up, per hour [-].
    up : numpy.ndarray
        Share of the hour in which it is up [-].
    above : numpy.ndarray
        Extraterrestrial radiation on the level [W/m²], per hour.
    elevation : numpy.ndarray
        Elevation at mid-hour [°].
    """

    height: Floats
    up: Floats
    above: Floats
    elevation: Floats


def sun(hours: pd.DatetimeIndex, latitude_deg: float, longitude_deg: float) -> Sun:
    """Look at the sun through every hour.

    Parameters
    ----------
    hours : pandas.DatetimeIndex
        Starts of the hours [UTC].
    latitude_deg, longitude_deg : float
        Place [°], north and east positive.
    """
    offsets = np.arange(STEP_MIN / 2, 60, STEP_MIN)
    looks = pd.DatetimeIndex(
        np.concatenate(
            [(hours + pd.Timedelta(minutes=float(offset))).tz_localize(None) for offset in offsets]
        )
    ).tz_localize("UTC")
    found = solarposition.get_solarposition(looks, latitude_deg, longitude_deg)
    elevation = found["elevation"].to_numpy(dtype=np.float64).reshape(len(offsets), -1)
    sine = np.maximum(np.sin(np.radians(elevation)), 0.0)
    normal = irradiance.get_extra_radiation(
        hours.day_of_year, solar_constant=SOLAR_CONSTANT_WM2, method="asce"
    )
    return Sun(
        sine.mean(axis=0),
        (elevation > 0).mean(axis=0),
        np.asarray(normal) * sine.mean(axis=0),
        elevation.mean(axis=0),
    )


def temperature(day: Ints, warmest: Floats, coldest: Floats, elevation: Floats) -> Floats:
    """Lay a day's highest and lowest temperature over its hours.

    Half cosines run from the coldest hour, that of sunrise, to the warmest, two hours after
    the sun's highest, and down to the next sunrise. The highest and lowest hour of a day are
    exactly its figures.

    Parameters
    ----------
    day : numpy.ndarray of int
        Number of the day of each hour, counted from 0, in order.
    warmest, coldest : numpy.ndarray
        Of each day [°C]; NaN where not known.
    elevation : numpy.ndarray
        Of the sun at each hour [°].

    Returns
    -------
    numpy.ndarray
        Hourly means [°C]; NaN through days that are not known.
    """
    at, value = _turns(day, warmest, coldest, elevation)
    hour = np.arange(len(day))
    after = np.clip(np.searchsorted(at, hour, side="right"), 1, len(at) - 1)
    share = (hour - at[after - 1]) / (at[after] - at[after - 1])
    rise = value[after] - value[after - 1]
    temp = value[after - 1] + rise * (1.0 - np.cos(np.pi * np.clip(share, 0.0, 1.0))) / 2.0
    return np.asarray(np.clip(temp, coldest[day], warmest[day]))


def _turns(day: Ints, warmest: Floats, coldest: Floats, elevation: Floats) -> tuple[Floats, Floats]:
    """Give the hours at which the temperature turns, in order, and what it is there.

    Where a neighbouring day is not known, it is taken to be like this one.
    """
    turns: dict[float, float] = {}
    known = ~(np.isnan(warmest) | np.isnan(coldest))
    for number in np.flatnonzero(known):
        first, last = (int(i) for i in np.searchsorted(day, [number, number + 1]))
        if first == last:  # a date that the zone skipped
            continue
        cold, warm = _extremes(elevation[first:last])
        turns[first + cold], turns[first + warm] = coldest[number], warmest[number]
        if number == 0 or not known[number - 1]:
            turns[first + warm - 24.5] = warmest[number]
        if number + 1 == len(known) or not known[number + 1]:
            turns[first + cold + 24.5] = coldest[number]
    if not turns:
        return np.array([0.0, 1.0]), np.array([np.nan, np.nan])
    at = np.array(sorted(turns))
    return at, np.array([turns[hour] for hour in at])


def _extremes(elevation: Floats) -> tuple[int, int]:
    """Give the coldest and the warmest hour of one day, never the same."""
    noon = int(np.argmax(elevation))
    warm = min(noon + WARMEST_AFTER_NOON_H, len(elevation) - 1)
    dark = np.flatnonzero(elevation[:noon] <= 0.0)
    rises = elevation[noon] > 0.0 and len(dark) > 0
    cold = int(dark[-1]) + 1 if rises else int(np.argmin(elevation[: noon + 1]))
    return (cold, warm) if cold != warm else (0 if warm else 1, warm)


def vapour(day: Ints, mean_kpa: Floats, saturated_kpa: Floats) -> Floats:
    """Lay a day's mean vapour pressure over its hours, evenly as far as the air can hold it.

    What the cold hours cannot hold goes to the others, so that the mean stays; where all
    cannot hold it, every hour is saturated.

    Parameters
    ----------
    day : numpy.ndarray of int
        Number of the day of each hour, in order.
    mean_kpa : numpy.ndarray
        Of each day [kPa].
    saturated_kpa : numpy.ndarray
        Of each hour [kPa].
    """
    laid = np.full(len(day), np.nan)
    edges = np.searchsorted(day, np.arange(len(mean_kpa) + 1))
    for number in np.flatnonzero(~np.isnan(mean_kpa)):
        hours = slice(edges[number], edges[number + 1])
        most = saturated_kpa[hours]
        if not np.isnan(most).any():
            laid[hours] = np.minimum(_level(most, mean_kpa[number] * len(most)), most)
        else:
            laid[hours] = mean_kpa[number]
    return laid


def _level(most: Floats, total: float) -> float:
    """Give the level at which min(level, most) adds up to the total."""
    order = np.sort(most)
    below = np.concatenate([[0.0], np.cumsum(order)[:-1]])
    room = np.arange(len(order), 0, -1)
    levels = (total - below) / room
    fits = np.flatnonzero(levels <= order)
    return float(levels[fits[0]] if len(fits) else order[-1])


def radiation(day: Ints, total_mjm2: Floats, height: Floats) -> Floats:
    """Lay a day's radiation over its hours by the sine of the sun's elevation.

    Parameters
    ----------
    day : numpy.ndarray of int
        Number of the day of each hour, in order.
    total_mjm2 : numpy.ndarray
        Of each day [MJ/m²].
    height : numpy.ndarray
        Sine of the sun's elevation while up [-], per hour.

    Returns
    -------
    numpy.ndarray
        Hourly means [W/m²] whose sum is the day's; 0 where the sun does not rise.
    """
    whole = np.bincount(day, weights=height, minlength=len(total_mjm2))
    share = np.divide(height, whole[day], out=np.zeros_like(height), where=whole[day] > 0)
    return np.asarray(total_mjm2[day] * 1e6 / SECONDS * share)


def radiation_from_sunshine_mjm2(
    sunshine_h: Floats, daylight_h: Floats, above_mjm2: Floats
) -> Floats:
    """Estimate a day's radiation from its hours of sunshine (FAO-56 Eq. 35).

    Parameters
    ----------
    sunshine_h, daylight_h : numpy.ndarray
        Hours of bright sun, and from sunrise to sunset [h].
    above_mjm2 : numpy.ndarray
        Extraterrestrial radiation [MJ/m²].
    """
    overcast, clear = ANGSTROM
    share = np.divide(sunshine_h, daylight_h, out=np.zeros_like(sunshine_h), where=daylight_h > 0)
    return np.asarray((overcast + clear * np.minimum(share, 1.0)) * above_mjm2)


def evenly(day: Ints, total: Floats) -> Floats:
    """Lay a day's amount evenly over its hours; the sum is the day's."""
    count = np.bincount(day, minlength=len(total))
    return np.asarray(total[day] / count[day])
