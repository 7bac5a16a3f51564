"""Days of a season, and small arithmetic on daily series.

A season runs from 1 January to 31 December in the north and from 1 July to 30 June in the
south, so that southern gardens mirror northern ones.
"""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Bools: TypeAlias = NDArray[np.bool_]
Days: TypeAlias = NDArray[np.datetime64]


def season_day(month: int, day: int) -> int:
    """Count the days from 1 January to a date of a common year.

    Parameters
    ----------
    month, day : int
        A date in northern terms.

    Returns
    -------
    int
        Days [d], 0 for 1 January.
    """
    before = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
    return before[month - 1] + day - 1


def season_start(dates: Days, latitude_deg: float) -> Days:
    """First day of the season each day belongs to: 1 January, south of the equator 1 July.

    Parameters
    ----------
    dates : array of datetime64[D]
        Local days.
    latitude_deg : float
        Latitude, south negative [°].

    Returns
    -------
    array of datetime64[D]
    """
    shift = np.timedelta64(0 if latitude_deg >= 0.0 else 6, "M")
    years = (dates.astype("datetime64[M]") - shift).astype("datetime64[Y]")
    starts: Days = (years.astype("datetime64[M]") + shift).astype("datetime64[D]")
    return starts


def trailing_mean(values: Floats, days: int, needed: int) -> Floats:
    """Mean of each day and the days before it.

    Each window is summed by itself, so a longer series gives the same digits.

    Parameters
    ----------
    values : array, shape (n,)
        Daily values [any unit].
    days : int
        Length of the window [d].
    needed : int
        How many of its days must be known [d].

    Returns
    -------
    array, shape (n,)
        In the unit given; NaN where fewer are known.
    """
    padded = np.concatenate([np.full(days - 1, np.nan), np.asarray(values, dtype=np.float64)])
    window = np.lib.stride_tricks.sliding_window_view(padded, days)
    known = ~np.isnan(window)
    count = known.sum(axis=1)
    total = np.where(known, window, 0.0).sum(axis=1)
    return np.where(count >= needed, total / np.maximum(count, 1), np.nan)


def ease(along: Floats) -> Floats:
    """Half a cosine from 0 to 1, level at both ends and beyond them.

    Parameters
    ----------
    along : array
        Share of the way [-].

    Returns
    -------
    array
        Eased share [-].
    """
    eased: Floats = 0.5 - 0.5 * np.cos(np.pi * np.clip(along, 0.0, 1.0))
    return eased
