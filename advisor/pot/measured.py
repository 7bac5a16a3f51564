"""What a grower's scale says of a mix, in place of the table."""

from dataclasses import dataclass, replace

from advisor.errors import Refused
from advisor.pot.curve import Curve
from advisor.pot.mix import Parts, measured
from advisor.units import check

#: What a grower's K_c may be [cm/h] [J]: the range of physics for any substrate, and a bit.
K_C_LIMITS_CMH = (1e-8, 1.0)
#: What its dry depth that halves evaporation may be [mm] [J]: three times either end of 1.5-8.
VAPOUR_LIMITS_MM = (0.5, 24.0)


@dataclass(frozen=True)
class Own:
    """A mix's own values.

    Attributes
    ----------
    capacity_share : float
        Water held after draining [m³/m³] ...
    depth_mm : float
        ... in a straight-sided container filled so deep [mm].
    density_kgl : float or None
        Dry weight of a litre [kg/L]; the table's where None.
    k_c_cmh : float or None
        Conductivity through the grain contacts [cm/h]; the table's where None.
    vapour_depth_mm : float or None
        Dry depth at which half of the vapour passes [mm]; the balance's own where None.
    """

    capacity_share: float
    depth_mm: float
    density_kgl: float | None = None
    k_c_cmh: float | None = None
    vapour_depth_mm: float | None = None


def own_curve(parts: Parts, own: Own, condition: str = "grains") -> Curve:
    """Give the curve of a mix by the grower's own weighings.

    Parameters
    ----------
    parts : iterable of (str, float)
        Material and its share of the volume before mixing [share].
    own : Own
        What was measured of the fresh mix.
    condition : str
        How whole the soft grains still are.

    Returns
    -------
    Curve
        The retention of the parts, scaled to what was measured; grain-contact conductivity as
        measured, its range moved along.

    Raises
    ------
    Refused
        What no such mix can have.
    """
    _refuse_beyond("measured creep of water from grain to grain", own.k_c_cmh, K_C_LIMITS_CMH,
                   "cm/h")
    _refuse_beyond("measured dry top that halves what dries off", own.vapour_depth_mm,
                   VAPOUR_LIMITS_MM, "mm")
    curve = measured(parts, own.capacity_share, own.depth_mm, own.density_kgl, condition)
    if own.k_c_cmh is None:
        return curve
    by = own.k_c_cmh / max(curve.k_c_cmh, K_C_LIMITS_CMH[0])
    return replace(curve, k_c_cmh=own.k_c_cmh, k_c_low_cmh=curve.k_c_low_cmh * by,
                   k_c_high_cmh=curve.k_c_high_cmh * by)


def _refuse_beyond(what: str, value: float | None, limits: tuple[float, float],
                   unit: str) -> None:
    low, high = limits
    if value is not None and not low <= value <= high:
        raise Refused(what, f"{value:g} {unit}", f"{low:g} to {high:g} {unit}",
                      "Measure the mix again.")


def emptied(gross_g: float, empty_g: float, litres: float, where: str) -> float:
    """Give what a filled container's content weighs a litre.

    Parameters
    ----------
    gross_g, empty_g : float
        Weight with and without its content [g].
    litres : float
        Volume of the content [L].
    where : str
        Which weighing, for the message.

    Returns
    -------
    float
        [kg/L].

    Raises
    ------
    Refused
        Less than the empty container weighs, or no volume.
    """
    check("litres", litres)
    if not gross_g > empty_g:
        raise Refused(f"weight, {where}", f"{gross_g:g} g",
                      f"more than the empty container, {empty_g:g} g",
                      "Weigh it with its container, all in grams.")
    return (gross_g - empty_g) / 1000.0 / litres
