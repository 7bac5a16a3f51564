"""How the parts of a mix share its volume: what shrinks, and which part rules the voids."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from advisor.pot.curve import FloatArray
from advisor.pot.materials import Material


class Judged(NamedTuple):
    """A coefficient with the range it may lie in, and what it rests on."""

    value: float
    low: float
    high: float
    source: str


MIXING = {
    "fine_from": Judged(0.10, 0.05, 0.15, "J: finer than this share, grains only fill voids"),
    "fine_to": Judged(0.30, 0.20, 0.40, "J: at this share the fines hold all voids"),
    "hand_filled": Judged(2 / 3, 0.5, 1.0, "J: part of ideal packing a hand-filled pot reaches"),
    "granular_cmh": Judged(10.0, 5.0, 25.0, "J: Ks from which 100 mm run through in the hour"),
    "mineral_kgl": Judged(2.65, 2.5, 2.8, "S: density of quartz"),
    "most_pores": Judged(0.98, 0.95, 0.99, "S: total pores of peat, Int. J. Agronomy 2012:978528"),
}


def shrinkage(materials: Sequence[Material], shares: FloatArray) -> float:
    """Give the volume of a mix as a share of the volumes of its parts.

    Fines fill the voids of coarse grains: virtual packing of de Larrard 1999, Concrete
    Mixture Proportioning, with its exponents 1.02 and 1.50 [M], of which a hand-filled pot
    reaches two thirds [J].

    Parameters
    ----------
    materials : sequence of Material
        The parts.
    shares : ndarray
        Their shares of the volume before mixing [share].

    Returns
    -------
    float
        1 where nothing shrinks [share].
    """
    d50 = np.array([material.d50_mm for material in materials])
    packed = np.array([1.0 - material.between.water for material in materials])
    solid = shares * packed
    ratio = np.minimum.outer(d50, d50) / np.maximum.outer(d50, d50)
    loosening = np.sqrt(1.0 - (1.0 - ratio) ** 1.02)
    wall = 1.0 - (1.0 - ratio) ** 1.50
    own, other = packed[:, None], packed[None, :]
    finer = 1.0 - loosening * own / other
    coarser = 1.0 - own + wall * own * (1.0 - 1.0 / other)
    filled = np.where(d50[None, :] <= d50[:, None], finer, coarser)
    packing = np.min(packed / (1.0 - filled @ (solid / solid.sum())))
    ideal = min(1.0, float(solid.sum() / packing))
    return 1.0 - MIXING["hand_filled"].value * (1.0 - ideal)


def governing(materials: Sequence[Material], shares: FloatArray) -> FloatArray:
    """Weigh the parts by how far they govern the pores between grains.

    The finest tenth of the volume only sits in voids; from .10 to .30 of it governs [J].

    Parameters
    ----------
    materials : sequence of Material
        The parts.
    shares : ndarray
        Their shares of the volume [share].

    Returns
    -------
    ndarray
        Weights that add up to 1, in the order of the parts [share].
    """
    low, high = MIXING["fine_from"].value, MIXING["fine_to"].value
    d50 = np.array([material.d50_mm for material in materials])
    up_to = np.array([shares[d50 <= size].sum() for size in d50])
    same = np.array([shares[d50 == size].sum() for size in d50])
    reach = np.clip((np.stack([up_to - same, up_to]) - low) / (high - low), 0.0, 1.0)
    return np.asarray((reach[1] - reach[0]) * shares / same)
