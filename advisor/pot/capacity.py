"""What a pot holds after it has drained, by height above its outlet.

At rest the tension at a height is that height above the outlet, so a shallow pot stays wetter
than a deep one of the same mix (Milks, Fonteno & Larson 1989, J. Amer. Soc. Hort. Sci. 114:53).
"""

import math
from dataclasses import dataclass

import numpy as np

from advisor.pot.curve import Curve, FloatArray
from advisor.pot.shape import Layers, Shape
from advisor.units import check

BREAK_CM_MM = 10.0  # break tension × grain size: 1 cm for 10 mm, 2 cm for 5 mm (5-20) [J]
SLICES = 400  # of the integral over the height of a pot
STRIPS = 32  # of the mean over the width of a tipped pot


@dataclass(frozen=True)
class Holding:
    """What a pot holds at one time."""

    total_l: float
    available_l: float  # above the wilting point
    air_share: float  # of the soil's volume


def drainage_h0_cm(thickness_mm: float, grain_mm: float) -> float:
    """Give the tension at the base of the soil at rest over a drainage layer.

    The layer stays hanging full until its own pores break: a thick layer of coarse gravel
    takes no more water from the soil than a thin one.

    Parameters
    ----------
    thickness_mm : float
        Thickness of the layer [mm]; 0 for none.
    grain_mm : float
        Its grain size [mm].

    Returns
    -------
    float
        [cm].

    Raises
    ------
    Refused
        A thickness or grain size that no layer has.
    """
    check("drainage_mm", thickness_mm)
    if not thickness_mm:
        return 0.0
    check("drainage_grain_mm", grain_mm)
    return min(thickness_mm / 10.0, BREAK_CM_MM / grain_mm)


def rest_contents(
    curve: Curve, layers: Layers, h0_cm: float, tip_deg: float = 0.0, width_mm: float = 0.0
) -> FloatArray:
    """Give the water content of every layer after free drainage, at the layers' centres.

    Parameters
    ----------
    curve : Curve
        The mix.
    layers : Layers
        The pot, n layers.
    h0_cm : float
        Tension at the base [cm]; 0 at an open hole.
    tip_deg : float
        How far the pot is tipped on one long edge [°].
    width_mm : float
        Its width across that edge [mm].

    Returns
    -------
    ndarray
        (n,) water content [m³/m³]; the mean over the width where the pot is tipped.

    Raises
    ------
    Refused
        A pot tipped further than it can be.
    """
    check("tip_deg", tip_deg)
    upright_cm = layers.centre_mm / 10.0
    if not tip_deg or not width_mm:
        return curve.content(h0_cm + upright_cm)
    angle = math.radians(tip_deg)
    across_cm = (np.arange(STRIPS) + 0.5) / STRIPS * width_mm / 10.0 * math.sin(angle)
    heights_cm = np.add.outer(upright_cm * math.cos(angle), across_cm)
    return np.asarray(curve.content(h0_cm + heights_cm).mean(axis=1))


def container_capacity(curve: Curve, shape: Shape, h0_cm: float = 0.0) -> float:
    """Give the share of its volume that a pot holds after free drainage.

    (1/V) ∫ θ(h0 + z) A(z) dz (Bilderback & Fonteno 1987, from memory; Milks et al. 1989).

    Parameters
    ----------
    curve : Curve
        The mix.
    shape : Shape
        The pot.
    h0_cm : float
        Tension at the base [cm].

    Returns
    -------
    float
        [m³/m³].
    """
    edges = np.linspace(0.0, shape.height_mm, SLICES + 1)
    litres = np.diff(shape.litres_below(edges))
    held = curve.content(h0_cm + (edges[:-1] + edges[1:]) / 20.0)
    return float(held @ litres / litres.sum())


def holding(curve: Curve, layers: Layers, theta: FloatArray, surface_m2: float) -> Holding:
    """Add up what the layers of a pot hold.

    Parameters
    ----------
    curve : Curve
        The mix.
    layers : Layers
        The pot, n layers.
    theta : ndarray
        (n,) water content [m³/m³].
    surface_m2 : float
        Area of the pot's opening [m²].

    Returns
    -------
    Holding
    """
    litres = layers.thickness_mm * layers.area_ratio * surface_m2
    total_l = float(theta @ litres)
    available_l = float(np.maximum(theta - curve.theta_wp, 0.0) @ litres)
    return Holding(total_l, available_l, curve.theta_s - total_l / float(litres.sum()))
