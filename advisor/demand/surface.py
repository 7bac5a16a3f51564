"""What sky and soil's surface exchange: evaporation, throughfall, snow, pot temperature.

The hour-to-hour steps are plain references for one hour; `balance` runs the same rules
compiled. Every coefficient stands below with its tag and range.
"""

import math
from collections.abc import Mapping
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from advisor import units
from advisor.demand.groups import Group, look_up
from advisor.demand.plant import DENSITY
from advisor.errors import Refused

Floats: TypeAlias = NDArray[np.float64]

SURFACE_DEMAND: Final = 1.15  # wet bare soil over ET0 [J; 1.0-1.25]
SHADE_OF_CROWN: Final = 0.6  # share of it a full crown takes [J; .4-.75]

#: Evaporation over that of bare grains [J]: sphagnum .4-.7, grit .4-.8, moss wet .9-1.1.
DRESSING: Final[Mapping[str, float]] = {"none": 1.0, "moss": 1.0, "sphagnum": 0.5, "grit": 0.6}
MOSS_DRY: Final = 0.3  # moss once dry [J; .1-.5]

#: Evaporation through a wall over that of bare grains, per area [J; ± a half].
WALL: Final[Mapping[str, float]] = {"closed": 0.0, "timber": 0.1, "unglazed": 0.25, "mesh": 0.6}

LEAFLESS_THROUGHFALL: Final = 0.95  # bare twigs [J; .9-1.0]
NEEDLE_STORE_MM: Final = 1.0  # what a full crown holds back [J; .5-1.5]
LEAFLESS_STORE: Final = 0.2  # share of that on bare twigs [J; .1-.4]

SNOW_BELOW_C: Final = 0.5  # air temperature [J; 0-1.5]
SNOW_MELT_MM_C_D: Final = 2.0  # degree-day melt [J; 1.5-4]
DRIZZLE_MM_H: Final = 5.0  # rain up to this wets from the top [J; 3-8]
DRIZZLE_DEPTH_MM: Final = 8.0  # its wetting length λ [J; 5-15]

FROZEN_BELOW_C: Final = -0.5  # pot temperature [J; -1-0]
POT_HOURS: Final = 6.0  # time constant of a pot of POT_HOURS_L [J; 4-10]
POT_HOURS_L: Final = 3.0  # a pot of 350 × 250 × 60 mm outside [J; 2-5]
POT_HOURS_POWER: Final = 1 / 3  # with volume: depth and wall grow as its cube root [J; 1/3-2/3]
POT_HOURS_LIMITS: Final = (2.0, 24.0)  # [J]


def crown_cover(outline_m2: float, pot_m2: float, density: str) -> float:
    """Share of the pot's surface under leaf, the crown centred over it.

    Parameters
    ----------
    outline_m2 : float
        Outline of the crown (`plant.crown_outline_m2`) [m²].
    pot_m2 : float
        Open surface of the pot [m²].
    density : str
        A key of `plant.DENSITY`.

    Returns
    -------
    float
        Cover [-], 0 to 1.

    Raises
    ------
    Refused
        A pot without a surface, or an unknown density.
    """
    return under_crown(outline_m2, pot_m2) * look_up(DENSITY, density, "crown density")


def under_crown(outline_m2: float, pot_m2: float) -> float:
    """Share of the pot's surface within the outline of the crown.

    Parameters
    ----------
    outline_m2 : float
        Outline of the crown [m²].
    pot_m2 : float
        Open surface of the pot [m²].

    Returns
    -------
    float
        Share [-], 1 where the crown is wider than the pot.

    Raises
    ------
    Refused
        A pot without a surface.
    """
    if not pot_m2 > 0.0:
        raise Refused("surface of the pot", f"{pot_m2:g} m²", "above 0 m²", "Check its size.")
    return min(1.0, max(0.0, outline_m2) / pot_m2)


def surface_factor(cover: ArrayLike, dressing: str = "none", wet: ArrayLike = True) -> Floats:
    """Evaporation demand of the pot's surface over ET0: 1.15·(1 − .6·cover)·dressing.

    Parameters
    ----------
    cover : array
        `crown_cover`, times the share of full leaf where deciduous [-].
    dressing : str
        A key of `DRESSING`.
    wet : array of bool
        Whether a moss is damp; others do not change.

    Returns
    -------
    array
        Factor on ET0 per area of open surface [-]. Source: judgement.

    Raises
    ------
    Refused
        An unknown dressing.
    """
    damp = look_up(DRESSING, dressing, "top dressing")
    dry = MOSS_DRY if dressing == "moss" else damp
    open_sky = 1.0 - SHADE_OF_CROWN * np.asarray(cover, dtype=np.float64)
    return np.asarray(SURFACE_DEMAND * open_sky * np.where(wet, damp, dry))


def wall_factor(wall: str, side_m2: float, top_m2: float) -> float:
    """Whole evaporation over that of the surface alone: 1 + share of the wall · side/top.

    Parameters
    ----------
    wall : str
        A key of `WALL`.
    side_m2, top_m2 : float
        Wall outside the soil, and open surface [m²].

    Returns
    -------
    float
        Factor [-], 1 for glazed, plastic and mica walls. Source: judgement.

    Raises
    ------
    Refused
        An unknown wall, or a pot without a surface.
    """
    if not top_m2 > 0.0:
        raise Refused("surface of the pot", f"{top_m2:g} m²", "above 0 m²", "Check its size.")
    return 1.0 + look_up(WALL, wall, "wall of the pot") * max(0.0, side_m2) / top_m2


def throughfall(group: Group, density: str, leaf: ArrayLike, under: float) -> Floats:
    """Share of rain that passes the crown into the pot, of what passes the needle store.

    Parameters
    ----------
    group : Group
        Species group, with its throughfall under dense and see-through crowns.
    density : str
        A key of `plant.DENSITY`.
    leaf : array
        Share of full leaf (`season.leaf_share`), or whether in leaf [-].
    under : float
        Share of the pot under the outline (`under_crown`) [-].

    Returns
    -------
    array
        Share [-]. Source: judgement.

    Raises
    ------
    Refused
        An unknown density.
    """
    dense, thin = group.throughfall
    cover = look_up(DENSITY, density, "crown density")
    full = np.interp(cover, (DENSITY["see-through"], DENSITY["dense"]), (thin, dense))
    leaves = np.asarray(leaf, dtype=np.float64)
    crown = LEAFLESS_THROUGHFALL + (full - LEAFLESS_THROUGHFALL) * leaves
    return np.asarray(1.0 - under * (1.0 - crown))


def needle_store_mm(cover: ArrayLike, leaf: ArrayLike) -> Floats:
    """Rain the crown holds back over the pot: 1.0 mm × cover, a fifth of it when leafless.

    Parameters
    ----------
    cover : array
        `crown_cover` in full leaf [-].
    leaf : array
        Share of full leaf [-].

    Returns
    -------
    array
        Store [mm]. Source: judgement.
    """
    leaves = np.asarray(leaf, dtype=np.float64)
    held = LEAFLESS_STORE + (1.0 - LEAFLESS_STORE) * leaves
    return np.asarray(NEEDLE_STORE_MM * np.asarray(cover, dtype=np.float64) * held)


def needle_store_step(
    stored_mm: float, rain_mm: float, et0_mm: float, store_mm: float
) -> tuple[float, float]:
    """One hour of the needle store: it fills, passes on what is too much, dries at ET0.

    Parameters
    ----------
    stored_mm : float
        Held at the start of the hour [mm].
    rain_mm, et0_mm : float
        Of the hour [mm].
    store_mm : float
        What it can hold (`needle_store_mm`) [mm].

    Returns
    -------
    tuple of float
        Held at the end of the hour, and passed on [mm].
    """
    wet = stored_mm + rain_mm
    held = min(wet, store_mm)
    return max(held - et0_mm, 0.0), wet - held


def snow_step(snow_mm: float, rain_mm: float, air_c: float) -> tuple[float, float]:
    """One hour of snow: below .5 °C rain lies, above 0 °C it melts 2 mm/°C·d.

    Parameters
    ----------
    snow_mm : float
        Lying at the start of the hour, as water [mm].
    rain_mm : float
        Rain or snow of the hour, as water [mm].
    air_c : float
        Air temperature of the hour [°C].

    Returns
    -------
    tuple of float
        Lying at the end of the hour, and reaching the soil as water [mm].
    """
    lies = rain_mm if air_c < SNOW_BELOW_C else 0.0
    snow = snow_mm + lies
    melt = min(snow, SNOW_MELT_MM_C_D * max(air_c, 0.0) / 24.0)
    return snow - melt, rain_mm - lies + melt


def pot_hours(litres: float) -> float:
    """Time constant of a pot's temperature: 6 h at 3 L, longer for larger pots.

    Parameters
    ----------
    litres : float
        Volume of soil [L].

    Returns
    -------
    float
        Time constant [h], within 2 to 24. Source: judgement.

    Raises
    ------
    Refused
        A volume beyond the limits.
    """
    units.check("litres", litres)
    low, high = POT_HOURS_LIMITS
    hours = POT_HOURS * math.pow(litres / POT_HOURS_L, POT_HOURS_POWER)
    return min(max(hours, low), high)


def pot_temperature_step(pot_c: float, air_c: float, hours: float) -> float:
    """Pot temperature an hour on: an exponential mean of the air.

    Parameters
    ----------
    pot_c, air_c : float
        Pot at the start of the hour, air of the hour [°C].
    hours : float
        Time constant (`pot_hours`) [h].

    Returns
    -------
    float
        Pot temperature at the end of the hour [°C]; frozen below `FROZEN_BELOW_C`.
    """
    return pot_c + (1.0 - math.exp(-1.0 / hours)) * (air_c - pot_c)
