"""Own instruments read now and then: a rain gauge's total, a min-max thermometer's range.

Each tells of a span, and the hours of the span are made to agree with it: the course comes from
whatever saw the hours, the amount or the range from the instrument.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.units import LIMITS, check

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

HOUR_S = 3600
#: a gauge emptied less often than this tells nothing of single days [d], [J] 7 to 60
LONGEST_GAUGE_D = 45
#: a range over a longer span says nothing of each day's [h], [J] 24 to 48
LONGEST_THERMOMETER_H = 36
#: a course flatter than this cannot be stretched, only shifted [K], [J] .2 to 2
FLAT_K = 0.5


@dataclass(frozen=True)
class GaugeTotal:
    """Rain found in a gauge.

    Parameters
    ----------
    start, end : datetime
        When it was emptied before, and when it was read.
    mm : float
        What was in it [mm].
    """

    start: datetime
    end: datetime
    mm: float


@dataclass(frozen=True)
class MinMax:
    """Lowest and highest temperature since a thermometer was set back.

    Parameters
    ----------
    start, end : datetime
        When it was set back, and when it was read.
    tmin_c, tmax_c : float
        Lowest and highest [°C].
    """

    start: datetime
    end: datetime
    tmin_c: float
    tmax_c: float


Reading = GaugeTotal | MinMax


def checked(reading: Reading, at: datetime) -> Reading:
    """Give a reading that can be; refuse one that cannot.

    Parameters
    ----------
    reading : GaugeTotal or MinMax
        What was read.
    at : datetime
        Now: nothing is read later than that.

    Raises
    ------
    Refused
        Instants without a zone, the wrong way round or in the future; a span that is too
        long; an amount or a temperature that cannot be.
    """
    name = words(reading)
    _check_span(reading, name, at)
    if isinstance(reading, GaugeTotal):
        check("rain_day_mm", reading.mm, name)
        most = LIMITS["rain_mm"].high * (reading.end - reading.start) / timedelta(hours=1)
        if reading.mm > most:
            raise Refused(
                name,
                f"{reading.mm:g} mm",
                f"at most {most:g} mm in this span",
                "Check the amount and when the gauge was emptied.",
            )
        return reading
    for temp_c in (reading.tmin_c, reading.tmax_c):
        check("temp_c", temp_c, name)
    if reading.tmin_c > reading.tmax_c:
        raise Refused(
            name,
            f"{reading.tmin_c:g} to {reading.tmax_c:g} °C",
            "the lowest, then the highest",
            "Check which is which.",
        )
    return reading


def _check_span(reading: Reading, name: str, at: datetime) -> None:
    if reading.start.tzinfo is None or reading.end.tzinfo is None:
        raise Refused(
            name,
            reading.start.isoformat(),
            "instants with their time zone",
            "Add the offset, as in 2026-07-01T07:00+02:00.",
        )
    if reading.end > at:
        raise Refused(
            name,
            f"read at {_stamp(reading.end)}",
            f"at the latest {_stamp(at.astimezone(reading.end.tzinfo))}, which is now",
            "Enter it once it was read.",
        )
    longest = (
        timedelta(days=LONGEST_GAUGE_D)
        if isinstance(reading, GaugeTotal)
        else timedelta(hours=LONGEST_THERMOMETER_H)
    )
    if not timedelta(hours=1) <= reading.end - reading.start <= longest:
        raise Refused(
            name,
            f"from {_stamp(reading.start)} to {_stamp(reading.end)}",
            f"1 to {longest / timedelta(hours=1):g} hours, the earlier instant first",
            "Check both instants.",
        )


def words(reading: Reading) -> str:
    """Give what a reading is in words."""
    return "rain gauge" if isinstance(reading, GaugeTotal) else "min-max thermometer"


def refuse_overlap(reading: Reading, others: list[Reading]) -> None:
    """Refuse a reading whose span meets that of another one of the same instrument.

    Raises
    ------
    Refused
        They share more than an instant.
    """
    for other in others:
        if type(other) is type(reading) and max(other.start, reading.start) < min(
            other.end, reading.end
        ):
            zone = reading.start.tzinfo
            raise Refused(
                f"{words(reading)}, {_stamp(reading.start)} to {_stamp(reading.end)}",
                f"meets the reading from {_stamp(other.start.astimezone(zone))} to "
                f"{_stamp(other.end.astimezone(zone))}",
                "spans that follow one another",
                "Undo the other reading first, or mend the instants.",
            )


def _stamp(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}" + ("Z" if at.tzinfo is UTC else "")


def shares(hour: Ints, start: int, end: int) -> Floats:
    """Give the share of each hour that lies in a span.

    Parameters
    ----------
    hour : array of int, shape (n,)
        Starts of hours [s since 1970 UTC].
    start, end : int
        Of the span [s since 1970 UTC].

    Returns
    -------
    array, shape (n,)
        From 0 to 1.
    """
    inside = np.minimum(hour + HOUR_S, end) - np.maximum(hour, start)
    return np.asarray(np.clip(inside / HOUR_S, 0.0, 1.0))


def spread_total(seen_mm: Floats, share: Floats, total_mm: float) -> Floats:
    """Spread a gauge's total over the hours that saw rain, or evenly where none did.

    Hours partly in the span keep what was seen in their other part. Where the hours that saw
    rain cannot have taken it all, the total is spread evenly.

    Parameters
    ----------
    seen_mm : array, shape (n,)
        Rain as another source saw it [mm]; NaN where it saw nothing at all.
    share : array, shape (n,)
        Share of each hour in the span.
    total_mm : float
        In the gauge [mm].

    Returns
    -------
    array, shape (n,)
        Rain [mm]; NaN stays outside the span.
    """
    inside = np.nan_to_num(seen_mm) * share
    laid = _by(inside, total_mm)
    if (laid > LIMITS["rain_mm"].high * share).any() or not inside.any():
        laid = _by(share, total_mm)
    outside = np.where(share < 1.0, np.nan_to_num(seen_mm) * (1.0 - share), 0.0)
    return np.where(share > 0.0, outside + laid, seen_mm)


def _by(weight: Floats, total: float) -> Floats:
    whole = float(weight.sum())
    return total * (weight / whole) if whole > 0.0 else np.zeros_like(weight)


def scaled(temp_c: Floats, tmin_c: float, tmax_c: float) -> Floats:
    """Stretch the hours of a span to the range a thermometer saw.

    Parameters
    ----------
    temp_c : array, shape (n,)
        Hourly temperature of the span [°C]; NaN where not known.
    tmin_c, tmax_c : float
        Lowest and highest [°C].

    Returns
    -------
    array, shape (n,)
        Temperature [°C]: its lowest and highest hour are the thermometer's; a course that is
        flat has its mean at the middle of the range.
    """
    if np.isnan(temp_c).all():
        return temp_c.copy()
    low, high = float(np.nanmin(temp_c)), float(np.nanmax(temp_c))
    if high - low < FLAT_K:
        shifted = temp_c + (tmin_c + tmax_c) / 2.0 - float(np.nanmean(temp_c))
        return np.asarray(np.clip(shifted, tmin_c, tmax_c))
    stretched = tmin_c + (temp_c - low) / (high - low) * (tmax_c - tmin_c)
    return np.asarray(np.clip(stretched, tmin_c, tmax_c))
