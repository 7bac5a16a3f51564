"""What a substrate holds at a tension, and how fast it lets water through.

One table a substrate, even in water content, serves every part of the model: the kernel looks
tension and conductivity up in it, and `Curve.content` is the exact inverse of the same table,
so that water at rest stays at rest. Tensions are in cm of water (1 cm = 1 hPa).
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
OfTension = Callable[[FloatArray], FloatArray]

N_ROWS = 2048  # steps of the table
N_GRID = 4096  # steps in pF on which a mix is inverted
PF_WET = -3.0  # wettest tension of that grid
PF_LINEAR = 4.2  # from here on the curve is linear in pF ... [J]
PF_DRY = 6.8  # ... to no water at all (oven-dry) [J]
WILTING_CM = 15_000.0  # permanent wilting point, by convention [S]
AIR_DRY_CM = 1e6  # air-dry, about 50 % humidity (pF 6) [J]
MOIST_CM = 20.0  # the tension that reads as moist on top [J]


@dataclass(frozen=True, eq=False, kw_only=True)
class Traits:
    """What a substrate is besides its curve; the defaults are clean mineral grains.

    Wetting class and grain-contact conductivity are judged: [J], with their ranges in
    `materials.csv` and `advisor.pot.mix.WETTING`.
    """

    ks_cmh: float = 500.0  # saturated, between grains
    k_c_cmh: float = 1e-5  # saturated, through the grain contacts
    k_c_low_cmh: float = 1e-6
    k_c_high_cmh: float = 1e-4
    granular: bool = True  # drains within the hour
    lambda_mm: float = 30.0  # depth over which a pouring is taken up
    s_lo: float = 0.05  # wetness below which water runs past ...
    s_hi: float = 0.20  # ... and from which it does not
    eta_min: float = 0.6  # share still taken up when dried out
    density_kgl: float = 0.7  # dry, bulk


@dataclass(frozen=True, eq=False, kw_only=True)
class Curve(Traits):
    """Retention and conductivity of a substrate, tabled evenly in water content.

    `table` is (N+1, 4), C-contiguous, row k at theta = k·theta_s/N: tension [cm],
    Se_inside⁴ (times K_c: conductivity through grain contacts), conductivity between
    grains [cm/h], 0.
    """

    theta_s: float  # saturated [m³/m³]
    table: FloatArray

    @cached_property
    def theta_wp(self) -> float:
        """Water content at 15 000 hPa [m³/m³]."""
        return float(self.content(WILTING_CM))

    @cached_property
    def theta_ad(self) -> float:
        """Water content of air-dry substrate, at 10⁶ hPa [m³/m³]."""
        return float(self.content(AIR_DRY_CM))

    @cached_property
    def theta_20(self) -> float:
        """Water content at 20 hPa [m³/m³]."""
        return float(self.content(MOIST_CM))

    def tension_cm(self, theta: npt.ArrayLike) -> FloatArray:
        """Look up the tension at a water content.

        Parameters
        ----------
        theta : array_like
            Water content [m³/m³]; below 0 and above theta_s the ends of the table hold.

        Returns
        -------
        ndarray
            Tension [cm], 0 when saturated.
        """
        wanted = np.asarray(theta, dtype=np.float64)
        return np.asarray(np.interp(wanted, self._theta, self.table[:, 0]))

    def content(self, tension_cm: npt.ArrayLike) -> FloatArray:
        """Look up the water content at a tension: the exact inverse of `tension_cm`.

        Parameters
        ----------
        tension_cm : array_like
            Tension [cm]; below 0 (under water) saturated.

        Returns
        -------
        ndarray
            Water content [m³/m³].
        """
        wanted = np.asarray(tension_cm, dtype=np.float64)
        return np.asarray(np.interp(wanted, *self._inverse))

    @cached_property
    def _theta(self) -> FloatArray:
        steps = len(self.table) - 1
        return np.arange(steps + 1, dtype=np.float64) * (self.theta_s / steps)

    @cached_property
    def _inverse(self) -> tuple[FloatArray, FloatArray]:
        return self.table[::-1, 0].copy(), self._theta[::-1].copy()


def curve_from(
    content: OfTension,
    conductivity: OfTension,
    traits: Traits | None = None,
    contact: OfTension | None = None,
) -> Curve:
    """Table a substrate given as functions of tension.

    Parameters
    ----------
    content : callable
        Water content [m³/m³] at tensions [cm], decreasing; used from saturation to pF 4.2,
        from where the curve falls linearly in pF to nothing at pF 6.8 [J].
    conductivity : callable
        Conductivity between grains [cm/h] at tensions [cm].
    traits : Traits, optional
        The rest; clean mineral grains where not given.
    contact : callable, optional
        Se_inside⁴ at tensions [cm]; none where not given.

    Returns
    -------
    Curve
    """
    pf = np.linspace(PF_WET, PF_LINEAR, N_GRID)
    theta = np.append(content(10.0**pf), 0.0)
    theta_s = float(content(np.zeros(1))[0])
    rows = np.arange(N_ROWS + 1) * (theta_s / N_ROWS)
    tension = 10.0 ** np.interp(rows, theta[::-1], np.append(pf, PF_DRY)[::-1])
    tension[-1] = 0.0
    table = np.zeros((N_ROWS + 1, 4))
    table[:, 0] = tension
    table[:, 1] = 0.0 if contact is None else contact(tension)
    table[:, 2] = conductivity(tension)
    return with_table(traits or Traits(), theta_s, table)


def with_table(traits: Traits, theta_s: float, table: FloatArray) -> Curve:
    """Join a table with the traits of a substrate.

    Parameters
    ----------
    traits : Traits
        A curve may stand here too: its own table is left out.
    theta_s : float
        Saturated water content, at the last row [m³/m³].
    table : ndarray
        As `Curve.table`; it is kept and made read-only.

    Raises
    ------
    ValueError
        Tension does not fall from row to row.
    """
    if not np.all(np.diff(table[:, 0]) < 0):
        raise ValueError("tension must fall from row to row of the table")
    table.flags.writeable = False
    same = {field.name: getattr(traits, field.name) for field in fields(Traits)}
    return Curve(theta_s=theta_s, table=table, **same)


def saturation(tension_cm: FloatArray, alpha_cm: float, n: float) -> FloatArray:
    """Give the share of a pore class that is filled (van Genuchten 1980, Eq. 3).

    Parameters
    ----------
    tension_cm : ndarray
        Tension [cm].
    alpha_cm : float
        Inverse of the tension at which the pores begin to empty [1/cm].
    n : float
        How narrow the range of pore sizes is, above 1 [-].
    """
    return np.asarray((1.0 + (alpha_cm * tension_cm) ** n) ** (1.0 / n - 1.0))


def mualem(tension_cm: FloatArray, alpha_cm: float, n: float) -> FloatArray:
    """Give conductivity as a share of the saturated one (van Genuchten 1980, Eq. 8).

    Parameters
    ----------
    tension_cm : ndarray
        Tension [cm].
    alpha_cm : float
        As in `saturation` [1/cm].
    n : float
        As in `saturation` [-].
    """
    m = 1.0 - 1.0 / n
    se = saturation(tension_cm, alpha_cm, n)
    return np.asarray(np.sqrt(se) * (1.0 - (1.0 - se ** (1.0 / m)) ** m) ** 2)


def coarse_pores(tension_cm: FloatArray, alpha_cm: float, n: float) -> FloatArray:
    """Give conductivity between grains as a share of the saturated one.

    Se^(3 + 2/(n−1)), the exponent of Brooks & Corey 1964 with pore-size index n − 1.

    Parameters
    ----------
    tension_cm : ndarray
        Tension [cm].
    alpha_cm : float
        As in `saturation` [1/cm].
    n : float
        As in `saturation` [-].
    """
    return np.asarray(saturation(tension_cm, alpha_cm, n) ** (3.0 + 2.0 / (n - 1.0)))
