"""From reference evapotranspiration to the litres a tree asks of its pot.

T = ET0 · Kcb · f_oasis · A_crown · C_recovery · C_foliage · cold, in litres per mm of ET0,
since 1 mm on 1 m² is 1 litre. Every coefficient stands below with its tag and range.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from advisor import units
from advisor.demand.groups import look_up

Floats: TypeAlias = NDArray[np.float64]

#: Share of the crown's outline that is leaf, seen from above [J; ± .15].
DENSITY: Final[Mapping[str, float]] = {"see-through": 0.5, "medium": 0.75, "dense": 1.0}

#: Crown over pot, length by length, where the grower told none [J; 0.8-2.0]: small pots
#: carry wider crowns. (pot length in mm, ratio)
DEFAULT_CROWN: Final = ((150.0, 1.5), (250.0, 1.2))

#: What stands around the pot, beside the wind already in ET0 [J; ± .2]; isolated
#: container plants used 1.67 times those in a closed canopy (Beeson 2010) [S].
OASIS: Final[Mapping[str, float]] = {
    "lawn": 1.2,
    "earth": 1.2,
    "damp sand": 1.2,
    "slats": 1.3,
    "gravel": 1.4,
    "paving": 1.6,
    "wall": 1.6,
}
GROUPED: Final = 0.2  # taken off among neighbours [J; .1-.4]

#: Share of the roots lost by what was done to them [J; ± a third].
ROOT_WORK: Final[Mapping[str, float]] = {
    "none": 0.0,
    "slipped over": 0.10,
    "edges combed": 0.30,
    "half bare": 0.50,
    "all bare": 0.75,
}
ROOT_LOSS_POWER: Final = 1.2  # [J; 1.0-1.5]
RECOVERY_BASE_C: Final = 6.0  # degree-days of root growth [J; 5-8]
RECOVERY_CD: Final = 250.0  # °C·d to 1/e of the way [J; 150-400]
#: A collected tree takes seasons [J; 600-2500]: all bare, the mean of a first summer of
#: 1800 °C·d is .63. Set on bare-root ash, -36 % in its first year (Caron & Kjelgren 2016) [S]:
#: nothing checks it independently.
COLLECTED_CD: Final = 1000.0
NEW_GRAINS_FULL: Final = 0.8  # C at which roots draw evenly outside the old ball [J; .6-.9]


@dataclass(frozen=True)
class FoliageOff:
    """What is left right after foliage was taken off, and the growing days until it is back."""

    left: float
    days: float


#: Foliage taken off [J; left ± .1, days 21-70].
FOLIAGE_OFF: Final[Mapping[str, FoliageOff]] = {
    "quarter": FoliageOff(0.8, 21.0),
    "half": FoliageOff(0.6, 35.0),
    "most": FoliageOff(0.35, 56.0),
    "all": FoliageOff(0.15, 70.0),
}


def crown_outline_m2(width_cm: float, depth_cm: float) -> float:
    """Outline of a crown seen from above: an ellipse.

    Parameters
    ----------
    width_cm, depth_cm : float
        Crown from side to side and from front to back [cm].

    Returns
    -------
    float
        Area of the outline [m²].

    Raises
    ------
    Refused
        A crown beyond the limits of `units.LIMITS`.
    """
    units.check("crown_cm", width_cm, "width")
    units.check("crown_cm", depth_cm, "depth")
    return math.pi / 4.0 * width_cm * depth_cm * 1e-4


def crown_area_m2(width_cm: float, depth_cm: float, density: str) -> float:
    """Crown area that drinks: width × depth × π/4 × density.

    Parameters
    ----------
    width_cm, depth_cm : float
        Crown from side to side and from front to back [cm].
    density : str
        A key of `DENSITY`.

    Returns
    -------
    float
        Area [m²].

    Raises
    ------
    Refused
        An unknown density or a crown beyond the limits.
    """
    return crown_outline_m2(width_cm, depth_cm) * look_up(DENSITY, density, "crown density")


def default_crown_cm(pot_length_mm: float, pot_width_mm: float) -> tuple[float, float]:
    """Crown width and depth where the grower told none, from the outside of the pot.

    Parameters
    ----------
    pot_length_mm, pot_width_mm : float
        Outside of the pot [mm].

    Returns
    -------
    tuple of float
        Crown width and depth [cm]; judgement, say that it is a default.

    Raises
    ------
    Refused
        A pot beyond the limits.
    """
    units.check("length_mm", pot_length_mm)
    units.check("width_mm", pot_width_mm)
    lengths, ratios = zip(*DEFAULT_CROWN, strict=True)
    ratio = float(np.interp(max(pot_length_mm, pot_width_mm), lengths, ratios))
    return ratio * pot_length_mm / 10.0, ratio * pot_width_mm / 10.0


def oasis_factor(ground: str, grouped: bool) -> float:
    """Demand of a lone crown against one in a wide stand, by what surrounds it.

    Parameters
    ----------
    ground : str
        A key of `OASIS`.
    grouped : bool
        Whether neighbours stand close.

    Returns
    -------
    float
        Factor on crown transpiration [-].

    Raises
    ------
    Refused
        An unknown ground.
    """
    return look_up(OASIS, ground, "ground") - (GROUPED if grouped else 0.0)


def degree_days(
    tmean_c: ArrayLike, growing: ArrayLike = True, base_c: float = RECOVERY_BASE_C
) -> Floats:
    """Running sum of warmth above a base, without progress in the winter rest.

    Parameters
    ----------
    tmean_c : array, shape (n,)
        Mean air temperature of successive days [°C]; NaN counts as no progress.
    growing : array of bool, shape (n,), or bool
        Days on which roots make progress (`season.growing`).
    base_c : float
        Base temperature [°C].

    Returns
    -------
    array, shape (n,)
        Degree-days up to the end of each day [°C·d].
    """
    warm = np.nan_to_num(np.maximum(np.asarray(tmean_c, dtype=np.float64) - base_c, 0.0))
    return np.cumsum(np.where(growing, warm, 0.0))


def recovery_start(share_lost: ArrayLike) -> Floats:
    """Share of its former uptake right after root loss: C0 = (1 − r)^1.2.

    Parameters
    ----------
    share_lost : array
        Share of the roots lost [-], 0 to 1 (`ROOT_WORK`).

    Returns
    -------
    array
        C0 [-]. Source: judgement.
    """
    return np.asarray((1.0 - _share(share_lost, "roots lost")) ** ROOT_LOSS_POWER)


def recovery_factor(
    share_lost: ArrayLike, degree_days_cd: ArrayLike, scale_cd: ArrayLike = RECOVERY_CD
) -> Floats:
    """Uptake after root loss: C = 1 − (1 − C0)·exp(−G/τ).

    Parameters
    ----------
    share_lost : array
        Share of the roots lost [-], 0 to 1.
    degree_days_cd : array
        G, degree-days above 6 °C since, from `degree_days` [°C·d].
    scale_cd : array
        τ [°C·d]; `COLLECTED_CD` for a collected tree.

    Returns
    -------
    array
        C [-], the inputs broadcast. Source: judgement.

    Raises
    ------
    Refused
        A share outside 0 to 1.
    """
    lost = 1.0 - recovery_start(share_lost)
    warmth = np.asarray(degree_days_cd, dtype=np.float64)
    return np.asarray(1.0 - lost * np.exp(-warmth / np.asarray(scale_cd, dtype=np.float64)))


def outside_ball_uptake(area_share: ArrayLike, recovery: ArrayLike, start: ArrayLike) -> Floats:
    """Share of uptake from outside the old root ball: its area × clip((C − C0)/(.8 − C0), 0, 1).

    Parameters
    ----------
    area_share : array
        Share of the pot's area outside the ball [-], 0 to 1.
    recovery : array
        C, from `recovery_factor` [-].
    start : array
        C0, from `recovery_start` [-]; from .8 up the roots draw everywhere at once.

    Returns
    -------
    array
        Share of uptake [-]. Source: judgement.

    Raises
    ------
    Refused
        A share outside 0 to 1.
    """
    first = np.asarray(start, dtype=np.float64)
    gap = np.maximum(NEW_GRAINS_FULL - first, 1e-12)
    reached = np.clip((np.asarray(recovery, dtype=np.float64) - first) / gap, 0.0, 1.0)
    whole = first >= NEW_GRAINS_FULL
    return np.asarray(_share(area_share, "area outside the ball") * np.where(whole, 1.0, reached))


def foliage_factor(taken_off: str, growing_days: ArrayLike) -> Floats:
    """Transpiration after needles or leaves were taken off, back within 3 to 10 weeks.

    Parameters
    ----------
    taken_off : str
        A key of `FOLIAGE_OFF`.
    growing_days : array
        Growing days since (`season.growing`), so that autumn work waits for spring [d].

    Returns
    -------
    array
        Factor [-], eased from what was left to 1. Source: judgement.

    Raises
    ------
    Refused
        An unknown word.
    """
    off = look_up(FOLIAGE_OFF, taken_off, "foliage off")
    along = np.clip(np.asarray(growing_days, dtype=np.float64) / off.days, 0.0, 1.0)
    return np.asarray(off.left + (1.0 - off.left) * along * along * (3.0 - 2.0 * along))


@dataclass(frozen=True)
class Crown:
    """What does not change from day to day: area that drinks [m²] and f_oasis [-]."""

    area_m2: float
    oasis: float = 1.0


def transpiration_factor(
    crown: Crown,
    kcb: ArrayLike,
    cold: ArrayLike = 1.0,
    recovery: ArrayLike = 1.0,
    foliage: ArrayLike = 1.0,
) -> Floats:
    """Litres a tree asks for each millimetre of ET0 at its place.

    Parameters
    ----------
    crown : Crown
        Area and surround.
    kcb : array
        Basal crop coefficient per crown area (`season.kcb`) [-].
    cold : array
        `season.cold_factor` [-].
    recovery : array
        `recovery_factor` [-].
    foliage : array
        `foliage_factor` [-].

    Returns
    -------
    array
        Litres per mm of ET0, the inputs broadcast [L/mm]. The tree's own f_tree is not in it.
    """
    factors = [np.asarray(part, dtype=np.float64) for part in (kcb, cold, recovery, foliage)]
    product = factors[0] * factors[1] * factors[2] * factors[3]
    return np.asarray(crown.area_m2 * crown.oasis * product)


def _share(value: ArrayLike, where: str) -> Floats:
    shares = np.asarray(value, dtype=np.float64)
    for extreme in (shares.min(initial=0.0), shares.max(initial=0.0)):
        units.check("share", float(extreme), where)
    return shares
