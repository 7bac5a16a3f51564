"""Richards' equation on a fine grid with scipy's stiff solver, and the kernel's own laws.

An independent reckoning of the same column: layers of 1 mm instead of 5, time steps as small
as accuracy asks, all of evaporation, uptake and flow at once instead of one after the other.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from advisor.balance.pots import COMPENSATION, DEPLETION, TOP_MM, TOP_ROOTS, VAPOUR_DEPTH_MM
from advisor.pot.curve import Curve

Floats = NDArray[np.float64]

STIFF: Any = solve_ivp
NIGHT_SHARE = 0.07  # of a day's evaporation, spread over all its hours


@dataclass(frozen=True, eq=False)
class FineColumn:
    """A straight pot of one substrate, its layers `dz_mm` thick."""

    curve: Curve
    depth_mm: float
    k_c_cmh: float
    dz_mm: float = 1.0

    @property
    def centre_mm(self) -> Floats:
        """Depth of the layers' centres [mm]."""
        count = round(self.depth_mm / self.dz_mm)
        return (np.arange(count, dtype=np.float64) + 0.5) * self.dz_mm

    @property
    def rest(self) -> Floats:
        """Water content after free drainage [m³/m³]."""
        return np.asarray(self.curve.content((self.depth_mm - self.centre_mm) / 10.0))

    def _lookup(self, theta: Floats) -> tuple[Floats, Floats]:
        """Tension [cm] and conductivity [cm/h]."""
        table = self.curve.table
        x = np.clip(theta * ((len(table) - 1) / self.curve.theta_s), 0.0, len(table) - 1.000001)
        i = x.astype(np.int64)
        low, high = table[i], table[i + 1]
        at = low + (x - i)[..., None] * (high - low)
        return at[..., 0], self.k_c_cmh * at[..., 1] + at[..., 2]

    def change(self, theta: Floats, evaporation_mmh: float, uptake_mmh: float) -> Floats:
        """Give dθ/dt [1/h]; layers first, any number of states behind."""
        tension, conduct = self._lookup(theta)
        face = 0.5 * (conduct[:-1] + conduct[1:])
        flow = 10.0 * face * ((tension[1:] - tension[:-1]) / (0.1 * self.dz_mm) + 1.0)
        gain = np.zeros_like(theta)
        gain[:-1] -= flow
        gain[1:] += flow
        gain -= self.evaporated(theta, evaporation_mmh) + self.taken_up(theta, uptake_mmh)
        return gain / self.dz_mm

    def evaporated(self, theta: Floats, potential_mmh: float) -> Floats:
        """Give what each layer evaporates [mm/h]."""
        c = self.curve
        moist = np.clip(2.0 * (theta - c.theta_ad) / (c.theta_20 - c.theta_ad), 0.0, 1.0)
        under = np.cumprod(1.0 - moist, axis=0)
        share = moist * np.concatenate([np.ones_like(under[:1]), under[:-1]])
        front = self.dz_mm * under.sum(axis=0)
        whole = potential_mmh / (1.0 + front / VAPOUR_DEPTH_MM)
        return np.asarray(whole * share / np.maximum(share.sum(axis=0), 1e-12))

    def taken_up(self, theta: Floats, potential_mmh: float) -> Floats:
        """Give what the roots take from each layer [mm/h]."""
        wilting = self.curve.theta_wp
        roots = np.where(self.centre_mm < TOP_MM, TOP_ROOTS, 1.0)
        ready = (theta.T - wilting) / ((1.0 - DEPLETION) * (self.rest - wilting))
        supply = (np.clip(ready, 0.0, 1.0) * roots / roots.sum()).T
        total = supply.sum(axis=0)
        met = np.minimum(1.0, total / COMPENSATION)
        return np.asarray(potential_mmh * met * supply / np.maximum(total, 1e-12))

    def dry_depth_mm(self, theta: Floats, threshold: float) -> float:
        """Give the depth of the first layer that reads wet, linear between centres [mm]."""
        wilting = self.curve.theta_wp
        over = (theta - wilting) / (self.curve.theta_20 - wilting) - threshold
        wet = np.flatnonzero(over >= 0.0)
        if not wet.size:
            return self.depth_mm
        k = int(wet[0])
        return (
            0.0
            if k == 0
            else float(np.interp(0.0, over[k - 1 : k + 1], self.centre_mm[k - 1 : k + 1]))
        )


@dataclass(frozen=True, eq=False)
class FinePath:
    """State at the end of each day (days, layers), and what each day evaporated [mm]."""

    theta: Floats
    evaporated_mm: Floats


def solve(
    column: FineColumn, days: int, evaporation_mm: float, transpiration_mm: float
) -> FinePath:
    """Dry a column from rest under the demand of `soils.dry_days`, undivided into hours."""
    theta, evaporated, ends = np.append(column.rest, 0.0), 0.0, []
    per_day = []
    for day in range(days):
        for start, end in ((0.0, 6.0), (6.0, 18.0), (18.0, 24.0)):

            def change(t: float, y: Floats) -> Floats:
                bell = max(np.pi / 24.0 * np.sin(np.pi * (t - 6.0) / 12.0), 0.0)
                e_mmh = evaporation_mm * ((1.0 - NIGHT_SHARE) * bell + NIGHT_SHARE / 24.0)
                gain = column.change(y[:-1], e_mmh, transpiration_mm * bell)
                return np.concatenate([gain, column.evaporated(y[:-1], e_mmh).sum(0)[None]])

            path = STIFF(change, (start, end), theta, "BDF", vectorized=True, rtol=1e-4, atol=1e-6)
            if not path.success:
                raise ArithmeticError(f"day {day}: {path.message}")
            theta = path.y[:, -1]
        ends.append(theta[:-1])
        per_day.append(theta[-1] - evaporated)
        evaporated = theta[-1]
    return FinePath(np.array(ends), np.array(per_day))
