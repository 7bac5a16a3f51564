"""From the open site to the spot where a pot stands: its light, and its evapotranspiration.

A `Sky` holds everything that all places of a site share and is made once (`advisor.demand.sky`);
a `Spot` says what one place lets through. Temperature and humidity stay the site's.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from advisor.demand import radiation
from advisor.demand.air import Numbers
from advisor.demand.coefficients import value
from advisor.demand.et0 import penman_monteith_day, penman_monteith_hour
from advisor.demand.sun import SunPath, beam_share, sky_view
from advisor.errors import Refused
from advisor.units import check

if TYPE_CHECKING:
    from advisor.demand.local_days import LocalDays

Array = NDArray[np.float64]

MJ_PER_WM2_HOUR = 0.0036


@dataclass(frozen=True)
class Spot:
    """What a place lets through of the open site's sun and wind.

    Attributes
    ----------
    horizon : tuple of (azimuth, elevation)
        Its skyline [°]; empty is open ground.
    shade : float
        Share of the light that a net or a crown takes, 0 to .95.
    wind_factor : float
        Its wind as a share of the open site's.
    """

    horizon: tuple[tuple[float, float], ...] = ()
    shade: float = 0.0
    wind_factor: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what no place can be."""
        check("shade", self.shade)
        check("wind_factor", self.wind_factor)
        for azimuth_deg, elevation_deg in self.horizon:
            if not (0.0 <= azimuth_deg <= 360.0 and 0.0 <= elevation_deg <= 90.0):
                raise Refused(
                    "point of the skyline",
                    f"{azimuth_deg:g}°, {elevation_deg:g}°",
                    "azimuth 0 to 360°, elevation 0 to 90°",
                    "Give pairs of azimuth (from north through east) and elevation.",
                )


@dataclass(frozen=True)
class Terms:
    """Terms of the Penman-Monteith equation that all places share, by day or by hour.

    Attributes
    ----------
    temp_c, u2_ms : array
        Temperature [°C], wind at 2 m in the open [m/s].
    rnl_mj : array
        Net longwave loss [MJ/m²]; its Rs/Rso is the open site's, since a shade is no cloud.
    deficit_kpa, slope, gamma : array
        Vapour pressure deficit [kPa], slope and psychrometric constant [kPa/°C].
    """

    temp_c: Array
    u2_ms: Array
    rnl_mj: Numbers
    deficit_kpa: Numbers
    slope: Numbers
    gamma: Numbers


@dataclass(frozen=True)
class Sky:
    """What all places of a site share, for whole local days.

    Attributes
    ----------
    days : LocalDays
        Which hour belongs to which day.
    path : SunPath
        The sun.
    ghi_wm2, dhi_wm2 : array (H,)
        Global and diffuse radiation of the open site, gaps filled [W/m²].
    by_day, by_hour : Terms
        Terms of the equation.
    """

    days: "LocalDays"
    path: SunPath
    ghi_wm2: Array
    dhi_wm2: Array
    by_day: Terms
    by_hour: Terms


def place_light(sky: Sky, spot: Spot) -> Array:
    """Global radiation at a place, hour by hour over whole days [W/m²].

    Direct light is lost while the sun stands behind the skyline, diffuse light by the skyline's
    share of the sky, both by the shade.
    """
    direct = (sky.ghi_wm2 - sky.dhi_wm2) * beam_share(spot.horizon, sky.path)
    diffuse = sky.dhi_wm2 * sky_view(spot.horizon)
    return (1.0 - spot.shade) * (direct + diffuse)


def place_et0(sky: Sky, spot: Spot) -> Array:
    """Reference evapotranspiration at a place, hour by hour over whole days [mm].

    A day's hours add up to its FAO-56 Eq. 6 with the place's light and wind; Eq. 53 only gives
    the day its shape. Where that shape is below .1 mm in all, the hours follow the sun above
    the air, and are even where there is none.
    """
    rs_mj = place_light(sky, spot) * MJ_PER_WM2_HOUR
    day_mm = _day_total(sky, spot, rs_mj)
    shape_mm = _hour_shape(sky, spot, rs_mj)
    return _spread(sky, day_mm, shape_mm)


def _day_total(sky: Sky, spot: Spot, rs_mj: Array) -> Array:
    terms = sky.by_day
    known = np.add.reduceat(rs_mj, sky.days.starts)  # NaN where an hour is not known
    energy = radiation.net_radiation(radiation.net_shortwave(known), terms.rnl_mj)
    return np.maximum(
        penman_monteith_day(
            energy,
            terms.temp_c,
            terms.u2_ms * spot.wind_factor,
            terms.deficit_kpa,
            terms.slope,
            terms.gamma,
        ),
        0.0,
    )


def _hour_shape(sky: Sky, spot: Spot, rs_mj: Array) -> Array:
    terms = sky.by_hour
    rn_mj = radiation.net_radiation(radiation.net_shortwave(rs_mj), terms.rnl_mj)
    shape = penman_monteith_hour(
        rn_mj - radiation.soil_heat_hour(rn_mj, sky.path.up),
        terms.temp_c,
        terms.u2_ms * spot.wind_factor,
        terms.deficit_kpa,
        terms.slope,
        terms.gamma,
    )
    return np.maximum(np.nan_to_num(shape), 0.0)


def _spread(sky: Sky, day_mm: Array, shape_mm: Array) -> Array:
    days, extra = sky.days, sky.path.extra_wm2
    shaped = days.total(shape_mm) >= value("flat_day")
    sunny = days.total(extra) > 0.0
    weight = np.where(
        shaped[days.day], shape_mm, np.where(sunny[days.day], extra, np.ones_like(extra))
    )
    return day_mm[days.day] * weight / days.total(weight)[days.day]
