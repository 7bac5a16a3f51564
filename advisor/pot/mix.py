"""What a mix of substrates holds, from the volume shares of its parts.

Only bulk density is well predicted from the parts of a mix (Gabriel et al. 2009, HortScience
44:874): capacities are within 15 %, and the grower's own measurement goes before the table.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from advisor.errors import Refused
from advisor.pot.curve import (
    Curve,
    FloatArray,
    Traits,
    coarse_pores,
    curve_from,
    mualem,
    saturation,
    with_table,
)
from advisor.pot.materials import NO_PORES, Material, find
from advisor.pot.packing import MIXING, Judged, governing, shrinkage
from advisor.units import check

Parts = Iterable[tuple[str, float]]


class Wetting(NamedTuple):
    """How a pouring is taken up by a class of substrates."""

    lambda_mm: float
    s_lo: float
    s_hi: float
    eta_min: float
    source: str


KNEE_CM = 100.0  # about this tension parts water between from water inside grains [J]
SLICES = 400  # over the depth of the container that was measured
SHARE_TOLERANCE = 0.005  # by which shares may miss 1

#: wetting class of a material -> how it takes up a pouring
WETTING = {
    "mineral": Wetting(30.0, 0.05, 0.20, 0.6, "J: grains from about 2 mm"),
    "bark": Wetting(15.0, 0.30, 0.80, 0.3, "J: bark and charcoal shed water when dry"),
    "peat": Wetting(10.0, 0.20, 0.50, 0.10, "J: dry peat sheds water"),
    "soil": Wetting(10.0, 0.05, 0.20, 0.5, "J: loam and clay, limited by Ks besides"),
}

#: the grower's word for the state of a mix -> share of its soft grains broken to fines
BROKEN = {
    "grains": Judged(0.0, 0.0, 0.1, "J: fresh, sieved"),
    "gritty": Judged(1 / 3, 0.2, 0.5, "J: a third of the soft grains broken"),
    "broken down": Judged(1.0, 0.7, 1.0, "J: no whole soft grain left"),
}


def blend(parts: Parts, condition: str = "grains") -> Curve:
    """Give the curve of a mix.

    Parameters
    ----------
    parts : iterable of (str, float)
        Material and its share of the volume before mixing [share]; they add up to 1.
    condition : str
        "grains", "gritty" or "broken down": how whole the soft grains still are.

    Returns
    -------
    Curve
        The same object for the same mix: it is kept.

    Raises
    ------
    Refused
        An unknown material or condition, a share below 0, shares that do not add up to 1.
    """
    return _blend(_tidy(parts), condition)


def measured(
    parts: Parts,
    capacity_share: float,
    depth_mm: float,
    density_kgl: float | None = None,
    condition: str = "grains",
) -> Curve:
    """Give the curve of a mix whose capacity the grower has measured.

    Everything the mix holds is scaled by measured over computed capacity; where that would
    exceed its pores, what drains last is stretched and what drains first is squeezed.

    Parameters
    ----------
    parts : iterable of (str, float)
        As in `blend`.
    capacity_share : float
        Water held after draining, as a share of the volume [m³/m³] ...
    depth_mm : float
        ... in a straight-sided container filled this deep [mm].
    density_kgl : float, optional
        Dry weight of a litre [kg/L]; the table's where not measured.
    condition : str
        As in `blend`; the measurement is of the fresh mix.

    Raises
    ------
    Refused
        As `blend`, or a capacity that no such mix can have.
    """
    return _measured(_tidy(parts), capacity_share, depth_mm, density_kgl, condition)


def broken_down(parts: Parts, condition: str) -> tuple[tuple[str, float], ...]:
    """Break the soft grains of a mix to fines.

    Parameters
    ----------
    parts : iterable of (str, float)
        As in `blend`.
    condition : str
        One of `BROKEN`, which holds the shares broken [J].

    Returns
    -------
    tuple of (str, float)
        Materials, each once and by its full name, and their shares.

    Raises
    ------
    Refused
        As `blend`.
    """
    if condition not in BROKEN:
        raise Refused("condition of a mix", repr(condition), ", ".join(BROKEN), "Say one of these.")
    broken = BROKEN[condition].value
    shares: dict[str, float] = {}
    for name, share in _tidy(parts):
        fines = find(name).breaks_to
        lost = share * broken if fines else 0.0
        shares[name] = shares.get(name, 0.0) + share - lost
        if fines:
            shares[fines] = shares.get(fines, 0.0) + lost
    return tuple((name, share) for name, share in shares.items() if share > 0)


@dataclass(frozen=True)
class _Mixed:
    """The parts of a mix with what each adds to a volume of it."""

    materials: list[Material]
    shares: FloatArray  # of the volume before mixing
    volume: float  # after mixing
    weights: FloatArray  # by which they govern between grains

    def mean(self, values: Iterable[float]) -> float:
        """Add up a property by volume share."""
        return float(np.dot(self.shares, np.fromiter(values, float)))

    def content(self, tension_cm: FloatArray) -> FloatArray:
        """Water between and inside grains, and what never leaves [m³/m³]."""
        theta_r = self.mean(part.theta_r for part in self.materials) / self.volume
        grains = self.mean(1.0 - part.between.water for part in self.materials) / self.volume
        between = self._governed(
            saturation(tension_cm, *part.between[1:]) for part in self.materials
        )
        return np.asarray(theta_r + (1.0 - grains) * between + self._inside(tension_cm))

    def relative_conductivity(self, tension_cm: FloatArray) -> FloatArray:
        """Conductivity between grains as a share of the saturated one."""
        return self._governed(_relative(part, tension_cm) for part in self.materials)

    def contact(self, tension_cm: FloatArray) -> FloatArray:
        """Se_inside⁴, by which water passes from grain to grain."""
        held = self.mean(part.inside.water for part in self.materials) / self.volume
        return np.asarray((self._inside(tension_cm) / held) ** 4 if held else 0.0 * tension_cm)

    def _inside(self, tension_cm: FloatArray) -> FloatArray:
        held = self.shares / self.volume * [part.inside.water for part in self.materials]
        filled = [saturation(tension_cm, *part.inside[1:]) for part in self.materials]
        return np.asarray(held @ np.array(filled))

    def _governed(self, relative: Iterable[FloatArray]) -> FloatArray:
        return np.asarray(self.weights @ np.array(list(relative)))

    def traits(self) -> Traits:
        """Conductivity as a log mean, wetting as a mean, density as it adds up."""
        parts = self.materials
        classes = [WETTING[part.wetting] for part in parts]
        ks_cmh = float(np.exp(self.weights @ np.log([part.ks_cmh for part in parts])))
        return Traits(
            ks_cmh=ks_cmh,
            k_c_cmh=math.exp(self.mean(math.log(part.k_c_cmh) for part in parts)),
            k_c_low_cmh=math.exp(self.mean(math.log(part.k_c_low_cmh) for part in parts)),
            k_c_high_cmh=math.exp(self.mean(math.log(part.k_c_high_cmh) for part in parts)),
            granular=ks_cmh >= MIXING["granular_cmh"].value,
            lambda_mm=self.mean(kind.lambda_mm for kind in classes),
            s_lo=self.mean(kind.s_lo for kind in classes),
            s_hi=self.mean(kind.s_hi for kind in classes),
            eta_min=self.mean(kind.eta_min for kind in classes),
            density_kgl=self.mean(part.density_kgl for part in parts) / self.volume,
        )


@lru_cache(maxsize=256)
def _blend(parts: tuple[tuple[str, float], ...], condition: str) -> Curve:
    named = broken_down(parts, condition)
    materials = [find(name) for name, _ in named]
    shares = np.array([share for _, share in named])
    mixed = _Mixed(materials, shares, shrinkage(materials, shares), governing(materials, shares))
    traits = mixed.traits()
    return curve_from(
        mixed.content,
        lambda tension_cm: traits.ks_cmh * mixed.relative_conductivity(tension_cm),
        traits,
        mixed.contact,
    )


@lru_cache(maxsize=256)
def _measured(
    parts: tuple[tuple[str, float], ...],
    capacity_share: float,
    depth_mm: float,
    density_kgl: float | None,
    condition: str,
) -> Curve:
    if not 0.03 <= capacity_share <= MIXING["most_pores"].value:
        raise Refused(
            "measured capacity",
            f"{capacity_share:g}",
            "a share of 0.03 to 0.98",
            "Divide the water held by the volume, both in litres.",
        )
    check("soil_depth_mm", depth_mm, "measured mix")
    if density_kgl is not None and not 0.03 <= density_kgl <= 2.0:
        raise Refused(
            "measured density",
            f"{density_kgl:g} kg/L",
            "0.03 to 2 kg/L",
            "Weigh a litre of it dry.",
        )
    curve = _blend(parts, condition)
    factor = capacity_share / _straight_capacity(_blend(parts, "grains"), depth_mm)
    held = factor * _straight_capacity(curve, depth_mm)
    pores = _most_pores(density_kgl)
    if factor * curve.theta_s <= pores:
        scaled = with_table(curve, factor * curve.theta_s, curve.table)
    else:
        scaled = _squeezed(curve, held, depth_mm, pores)
    return scaled if density_kgl is None else replace(scaled, density_kgl=density_kgl)


def _most_pores(density_kgl: float | None) -> float:
    most = MIXING["most_pores"].value
    if density_kgl is None:
        return most
    return min(most, 1.0 - density_kgl / MIXING["mineral_kgl"].value)


def _straight_capacity(curve: Curve, depth_mm: float) -> float:
    return float(_held_by_height(curve, depth_mm).mean())


def _held_by_height(curve: Curve, depth_mm: float) -> FloatArray:
    return curve.content((np.arange(SLICES) + 0.5) / SLICES * depth_mm / 10.0)


def _squeezed(curve: Curve, capacity_share: float, depth_mm: float, pores: float) -> Curve:
    """Stretch what is held above 100 cm of tension and squeeze the rest into the pores left."""
    knee = float(curve.content(KNEE_CM))
    held = _held_by_height(curve, depth_mm)
    below, above = np.minimum(held, knee).mean(), np.maximum(held - knee, 0.0).mean()
    slopes = np.linalg.solve(
        [[below, above], [knee, curve.theta_s - knee]], [capacity_share, pores]
    )
    if min(slopes) <= 0:
        raise Refused(
            "measured capacity",
            f"{capacity_share:.2f} of the volume at {depth_mm:g} mm",
            f"no more than the pores, {pores:.2f}",
            "Weigh again, or check the mix and its density.",
        )
    theta = np.array([0.0, knee, curve.theta_s])
    stretched = np.array([0.0, slopes[0] * knee, pores])
    steps = len(curve.table) - 1
    old = np.interp(np.arange(steps + 1) * (pores / steps), stretched, theta)
    rows = np.arange(steps + 1) * (curve.theta_s / steps)
    table = np.stack([np.interp(old, rows, column) for column in curve.table.T], axis=1)
    return with_table(curve, pores, table)


def _relative(part: Material, tension_cm: FloatArray) -> FloatArray:
    single = part.inside is NO_PORES
    return (mualem if single else coarse_pores)(tension_cm, *part.between[1:])


def _tidy(parts: Parts) -> tuple[tuple[str, float], ...]:
    """Name each material once and make the shares add up to exactly 1."""
    shares: dict[str, float] = {}
    for name, share in parts:
        if not 0.0 <= share <= 1.0 + SHARE_TOLERANCE:
            raise Refused(f"share of {name}", f"{share:g}", "0 to 1", "Give shares of the volume.")
        full = find(name).name
        shares[full] = shares.get(full, 0.0) + share
    total = sum(shares.values())
    if not abs(total - 1.0) <= SHARE_TOLERANCE:
        raise Refused(
            "shares of a mix",
            f"{total:g} in all",
            "1 in all",
            "Shares of the volume, such as 0.5 and 0.5.",
        )
    return tuple((name, share / total) for name, share in sorted(shares.items()) if share > 0)
