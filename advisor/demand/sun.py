"""The sun over a site: where it stands, how bright a clear sky is, what a skyline takes of it.

Positions and models are pvlib's (it and pandas load only when called): the SPA algorithm, the
simplified Solis clear sky (Ineichen 2008), the Erbs-Driesse split into direct and diffuse light.
Solis is used because it needs no turbidity map from a file: its water vapour comes from the
series, its aerosol from the table of coefficients. Angles are degrees, azimuth from north
through east, radiation W/m² on the level.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Protocol
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from advisor.demand import air
from advisor.demand.coefficients import value
from advisor.errors import Refused
from advisor.weather.where import Where

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
Horizon = Sequence[tuple[float, float]]

STEPS = 4  # of a quarter of an hour each
_STEP_H = (np.arange(STEPS) + 0.5) / STEPS
_MARGIN_DEG = 0.02  # over the highest sun among moments five minutes apart
_EDGE_DEG = 0.01  # a skyline falls to the ground within this


class SiteLike(Where, Protocol):
    """Where something stands, and by which clock; a garden's site is one."""

    @property
    def time_zone(self) -> str:
        """Name of the time zone ("Europe/Berlin")."""


@dataclass(frozen=True)
class SunPath:
    """The sun of each hour (H) and its quarters (H, 4).

    Attributes
    ----------
    zenith_deg : array (H,)
        True zenith angle at mid-hour.
    elevation_deg, azimuth_deg : array (H, 4)
        Apparent elevation and azimuth at the middle of each quarter.
    extra_wm2, extra_normal_wm2 : array (H,)
        Extraterrestrial radiation on the level, mean of the hour, and across the beam.
    clear_wm2 : array (H,)
        Clear-sky global radiation, mean of the hour.
    clear_beam_wm2 : array (H, 4)
        Direct part of a clear sky on the level, in each quarter.
    """

    zenith_deg: Array
    elevation_deg: Array
    azimuth_deg: Array
    extra_wm2: Array
    extra_normal_wm2: Array
    clear_wm2: Array
    clear_beam_wm2: Array

    @property
    def up(self) -> NDArray[np.bool_]:
        """Whether the sun is up at mid-hour."""
        return self.zenith_deg < 90.0


def sun_path(
    site: SiteLike,
    hours: "pd.DatetimeIndex",
    temp_c: Array | None = None,
    vapour_kpa: Array | None = None,
) -> SunPath:
    """Follow the sun through hours that start at their stamp.

    Parameters
    ----------
    site : SiteLike
        Where.
    hours : pandas.DatetimeIndex
        Starts of the hours, with a zone.
    temp_c, vapour_kpa : array, optional
        Air temperature [°C] and vapour pressure [kPa] of each hour: the water vapour overhead
        follows from them (Gueymard 1994, as pvlib has it); 1.4 cm where unknown.
    """
    import pandas as pd
    from pvlib.irradiance import get_extra_radiation

    if hours.tz is None:
        raise Refused("hours", f"{hours[0]} without a time zone", "instants in UTC", "Name it.")
    offsets = pd.to_timedelta(np.r_[_STEP_H, 0.5] * 3600.0, unit="s").to_numpy()
    moments = (hours.tz_convert("UTC").tz_localize(None).to_numpy()[:, None] + offsets).ravel()
    elevation, azimuth, zenith = (
        x.reshape(-1, STEPS + 1) for x in positions(site, pd.DatetimeIndex(moments, tz="UTC"))
    )
    day = hours.tz_convert("UTC").day_of_year.to_numpy(dtype=np.float64)
    normal = np.asarray(get_extra_radiation(day), dtype=np.float64)
    apparent = elevation[:, :STEPS]
    clear, beam = _solis(site, apparent, normal, _water(temp_c, vapour_kpa, len(hours)))
    cosine = np.maximum(np.cos(np.radians(zenith[:, :STEPS])), 0.0)
    return SunPath(
        zenith_deg=zenith[:, STEPS],
        elevation_deg=apparent,
        azimuth_deg=azimuth[:, :STEPS],
        extra_wm2=normal * cosine.mean(axis=1),
        extra_normal_wm2=normal,
        clear_wm2=clear.mean(axis=1),
        clear_beam_wm2=beam,
    )


def positions(site: SiteLike, moments: "pd.DatetimeIndex") -> tuple[Array, Array, Array]:
    """Apparent elevation, azimuth and true zenith of the sun [°] (pvlib's SPA).

    Parameters
    ----------
    site : SiteLike
        Where.
    moments : pandas.DatetimeIndex
        When, with a zone.

    Raises
    ------
    Refused
        The moments have no zone: they could be anything.
    """
    from pvlib.solarposition import get_solarposition

    if moments.tz is None:
        raise Refused(
            "moment", f"{moments[0]} without a time zone", "an instant in UTC", "Name its zone."
        )
    place = (float(site.latitude_deg), float(site.longitude_deg))
    table = get_solarposition(moments, *place, altitude=float(site.elevation_m))
    columns = ("apparent_elevation", "azimuth", "zenith")
    elevation, azimuth, zenith = (table[name].to_numpy(dtype=np.float64) for name in columns)
    return elevation, azimuth, zenith


def _water(temp_c: Array | None, vapour_kpa: Array | None, size: int) -> Array:
    """Precipitable water [cm] of each hour."""
    from pvlib.atmosphere import gueymard94_pw

    usual = np.full(size, value("precipitable_water"))
    if temp_c is None or vapour_kpa is None:
        return usual
    humidity = 100.0 * vapour_kpa / air.saturation_pressure(temp_c)
    water = np.asarray(gueymard94_pw(temp_c, humidity), dtype=np.float64)
    return np.where(np.isnan(water), usual, water)


def _solis(
    site: SiteLike, elevation_deg: Array, normal_wm2: Array, water_cm: Array
) -> tuple[Array, Array]:
    """Clear-sky global and direct radiation on the level [W/m²], each quarter."""
    from pvlib.clearsky import simplified_solis

    sky = simplified_solis(
        elevation_deg,
        aod700=value("aerosol_depth"),
        precipitable_water=water_cm[:, None],
        pressure=1000.0 * float(air.atmospheric_pressure(site.elevation_m)),
        dni_extra=normal_wm2[:, None],
    )
    sine = np.sin(np.radians(elevation_deg))
    up = elevation_deg > 0.0
    return np.where(up, sky["ghi"], 0.0), np.where(up, sky["dni"] * sine, 0.0)


def diffuse_light(ghi_wm2: Array, path: SunPath) -> Array:
    """Diffuse part of the global radiation [W/m²] (Erbs 1982, Driesse's smooth form).

    Parameters
    ----------
    ghi_wm2 : array (H,)
        Global radiation on the level, mean of the hour [W/m²].
    path : SunPath
        The sun of those hours.
    """
    from pvlib.irradiance import erbs_driesse

    split = erbs_driesse(ghi_wm2, path.zenith_deg, dni_extra=path.extra_normal_wm2)
    return np.asarray(split["dhi"], dtype=np.float64)


def horizon_at(horizon: Horizon, azimuth_deg: Array) -> Array:
    """Elevation [°] of a skyline in the given directions [°], straight between its points.

    Parameters
    ----------
    horizon : sequence of (azimuth, elevation)
        The skyline [°]; empty is flat ground.
    azimuth_deg : array
        Directions [°], any shape.
    """
    if not horizon:
        return np.zeros_like(azimuth_deg)
    azimuths, elevations = np.asarray(horizon, dtype=np.float64).T
    return np.asarray(np.interp(azimuth_deg, azimuths, elevations, period=360.0))


def beam_share(horizon: Horizon, path: SunPath) -> Array:
    """Share of each hour's direct light that passes a skyline, in quarters of an hour."""
    if not horizon:
        return np.ones(len(path.zenith_deg))
    passes = path.elevation_deg > horizon_at(horizon, path.azimuth_deg)
    whole = path.clear_beam_wm2.sum(axis=1)
    passed = (path.clear_beam_wm2 * passes).sum(axis=1)
    share: Array = np.where(whole > 0.0, passed / np.maximum(whole, 1e-9), passes.mean(axis=1))
    return share


def sky_view(horizon: Horizon) -> float:
    """Share of an evenly bright sky's light that reaches the level: mean of cos² of the skyline.

    [M] the integral of an isotropic sky above a skyline, for a surface that lies flat.
    """
    around_deg = np.arange(0.0, 360.0, 0.5)
    return float(np.mean(np.cos(np.radians(horizon_at(horizon, around_deg))) ** 2))


def horizon_from_sun_hours(
    site: SiteLike,
    sun_june: tuple[float, float] | None,
    sun_september: tuple[float, float] | None,
) -> tuple[tuple[float, float], ...]:
    """Turn "sun from 9 to 15 in June and from 10 to 14 in September" into a skyline.

    On the 21st the skyline passes through the sun at the first and at the last hour, runs
    straight between the two months' points, stays level outward (as high as the sun climbs
    while it is hidden) and is nothing inward. June and September are those months everywhere.
    A sun longer in September than in June is no skyline's work: the line then lies between.

    Parameters
    ----------
    site : SiteLike
        Where.
    sun_june, sun_september : (float, float), optional
        First and last clock hour of direct sun, local time [h].

    Returns
    -------
    tuple of (azimuth, elevation)
        The skyline [°].

    Raises
    ------
    Refused
        Hours outside 0 to 24, the last before the first, or no sun at all between them.
    """
    told = [(m, s) for m, s in ((6, sun_june), (9, sun_september)) if s is not None]
    edges = [_edges(site, month, span) for month, span in told]
    before = sorted((first for first, _ in edges), key=lambda point: point[0])
    after = sorted((last for _, last in edges), key=lambda point: point[0])
    if not told:
        return ()
    if before[-1][0] + 2.0 * _EDGE_DEG >= after[0][0]:
        raise Refused(
            "sun in June and in September",
            f"{sun_june} and {sun_september}",
            "hours in which the sun stands in some direction both times",
            "Check that both are local clock hours, or give the skyline itself.",
        )
    turned = [
        (-180.0 + _EDGE_DEG, before[0][1]),
        *before,
        (before[-1][0] + _EDGE_DEG, 0.0),
        (after[0][0] - _EDGE_DEG, 0.0),
        *after,
        (180.0 - _EDGE_DEG, after[-1][1]),
    ]
    return tuple(sorted((_compass(site, turn), high) for turn, high in turned))


def _edges(
    site: SiteLike, month: int, span: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """(turn, elevation) of the skyline where the sun comes and where it goes."""
    first, last = span
    words = f"sun in {'June' if month == 6 else 'September'}"
    if not 0.0 <= first < last <= 24.0:
        raise Refused(
            words,
            f"from {first:g} to {last:g}",
            "two clock hours, 0 to 24, the first before the last",
            "Give the hours at which the sun reaches and leaves the place.",
        )
    clock = np.arange(0.0, 24.0, 1.0 / 12.0)
    elevation, azimuth, _ = positions(site, _moments(site, month, np.r_[clock, first, last]))
    turn = _turn(site, azimuth)
    day, up = elevation[:-2], np.flatnonzero(elevation[:-2] > 0.0)
    if not day[(clock >= first) & (clock <= last)].max(initial=-90.0) > 0.0:
        raise Refused(
            words,
            f"from {first:g} to {last:g}",
            "hours at which the sun is up",
            "Give local clock hours; leave it out where no sun reaches the place.",
        )
    comes = _hides(turn[-2], elevation[-2], day[clock < first])
    goes = _hides(turn[-1], elevation[-1], day[clock > last])
    sunrise, sunset = (float(turn[up[0]]), 0.0), (float(turn[up[-1]]), 0.0)
    return comes or sunrise, goes or sunset


def _hides(turn: float, elevation: float, hidden: Array) -> tuple[float, float] | None:
    """(turn, elevation) that hides the sun's course up to here; None where there is none."""
    highest = float(hidden.max(initial=-90.0))
    if highest <= 0.0:
        return None
    return float(turn), max(float(elevation), highest + _MARGIN_DEG)


def _moments(site: SiteLike, month: int, clock_h: Array) -> "pd.DatetimeIndex":
    """Instants of local clock hours on the 21st of a month (2025, midway between leap years)."""
    import pandas as pd

    midnight = datetime(2025, month, 21, tzinfo=ZoneInfo(site.time_zone))
    return pd.DatetimeIndex(
        [(midnight + timedelta(hours=float(h))).astimezone(UTC) for h in clock_h]
    )


def _turn(site: SiteLike, azimuth_deg: Array) -> Array:
    """Angle from the noon direction, growing through the day, -180 to 180 [°]."""
    if site.latitude_deg >= 0.0:
        return azimuth_deg - 180.0
    return -((azimuth_deg + 180.0) % 360.0 - 180.0)


def _compass(site: SiteLike, turn_deg: float) -> float:
    """Undo `_turn`: azimuth from north through east, 0 to 360 [°]."""
    return (turn_deg + 180.0 if site.latitude_deg >= 0.0 else -turn_deg) % 360.0
