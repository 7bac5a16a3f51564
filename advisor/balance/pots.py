"""A pot as the kernel takes it: soil, layers and tables packed into arrays."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.pot.curve import Curve
from advisor.pot.shape import Layers

Floats = NDArray[np.float64]

VAPOUR_DEPTH_MM: Final = 3.0  # δ0 (1.5-8) [J]
DEPLETION: Final = 0.5  # p: uptake falls below 1-p of the available water (.4-.7) [M, FAO-56 T22]
COMPENSATION: Final = 0.6  # ω below which the whole uptake falls (Jarvis 1989) [M]
TOP_ROOTS: Final = 0.3  # roots in the top TOP_MM over those below [J]
TOP_MM: Final = 10.0
DRIZZLE_LAMBDA_MM: Final = 8.0  # wetting length in rain of at most 5 mm/h [J]
S_REFERENCE_CM: Final = 20.0  # S is 1 at this tension
FREELY_MMH: Final = 1e9  # grains drain within the hour


@dataclass(frozen=True, eq=False)
class Column:
    """One column of a pot: its substrate, its share of the area, θ at rest a layer."""

    curve: Curve
    share: float
    theta_rest: Floats


@dataclass(frozen=True, eq=False)
class Pot:
    """A pot packed for the kernel; arrays as in `balance.layout`."""

    soil: Floats
    tables: Floats
    rest: Floats
    layers: Floats
    exchange_per_mm2: float
    surface_m2: float
    depth_mm: float
    vapour_depth_mm: float = VAPOUR_DEPTH_MM

    @property
    def available_mm(self) -> float:
        """Water between wilting and rest over the pot's surface [mm]."""
        return float(self.soil[:, 9] @ self.soil[:, 10])

    @property
    def available_l(self) -> float:
        """The same in litres [L]."""
        return self.available_mm * self.surface_m2


def pack(columns: Sequence[Column], layers: Layers, surface_m2: float,
         vapour_depth_mm: float = VAPOUR_DEPTH_MM) -> Pot:
    """Pack one column, or new mix and old ball, for the kernel.

    Parameters
    ----------
    columns : sequence of Column
        One, or two whose shares add to one: the new mix first.
    layers : Layers
        The pot's layers, top first.
    surface_m2 : float
        Open surface [m²].
    vapour_depth_mm : float
        Dry depth at which half of the vapour passes, δ0 [mm].

    Returns
    -------
    Pot
    """
    thickness = layers.thickness_mm
    table = np.zeros((thickness.size, 7))
    table[:, 0] = thickness * layers.area_ratio
    table[:, 1] = thickness
    table[:, 2] = 1.0 - np.exp(-thickness / _mean(columns, "lambda_mm"))
    table[:, 3] = 1.0 - np.exp(-thickness / min(DRIZZLE_LAMBDA_MM, _mean(columns, "lambda_mm")))
    table[:-1, 4] = layers.distance_mm
    table[:, 5] = np.cumsum(thickness) - thickness / 2.0
    table[:, 6] = _roots(table[:, 0], table[:, 5])
    ball = columns[-1].share if len(columns) == 2 else 0.0
    return Pot(
        soil=np.array([_constants(c, table[:, 0]) for c in columns]),
        tables=np.ascontiguousarray([c.curve.table for c in columns]),
        rest=np.array([_rest(c) for c in columns]),
        layers=table,
        # a round ball in a round pot of the same areas; half the pot's radius apart
        exchange_per_mm2=4.0 * math.pi * math.sqrt(ball) / (surface_m2 * 1e6),
        surface_m2=surface_m2,
        depth_mm=float(thickness.sum()),
        vapour_depth_mm=vapour_depth_mm,
    )


def _mean(columns: Sequence[Column], name: str) -> float:
    return sum(c.share * float(getattr(c.curve, name)) for c in columns)


def _roots(store_mm: Floats, centre_mm: Floats) -> Floats:
    """Share of the roots a layer: even by volume, fewer near the top."""
    weight = store_mm * np.where(centre_mm < TOP_MM, TOP_ROOTS, 1.0)
    return np.asarray(weight / weight.sum())


def _constants(column: Column, store_mm: Floats) -> list[float]:
    """One row of `soil`."""
    c = column.curve
    full = float(((column.theta_rest - c.theta_wp) * store_mm).sum())
    return [
        (c.table.shape[0] - 1) / c.theta_s,
        c.theta_wp,
        c.theta_ad,
        1.0 / (c.theta_20 - c.theta_wp),
        1.0 / (c.theta_20 - c.theta_ad),
        c.s_lo,
        1.0 / (c.s_hi - c.s_lo),
        c.eta_min,
        FREELY_MMH if c.granular else 10.0 * c.ks_cmh,
        column.share,
        full,
        c.theta_s,
    ]


def _rest(column: Column) -> Floats:
    """θ at rest, and the factor that turns water above wilting into readiness of the roots."""
    above = (1.0 - DEPLETION) * (column.theta_rest - column.curve.theta_wp)
    return np.array([column.theta_rest, 1.0 / above])
