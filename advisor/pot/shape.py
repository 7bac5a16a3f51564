"""The soil in a pot: its outline, depth and sloping sides, and the layers it is reckoned in.

The soil is a straight or tapering body up to the plane of the pot's opening, with a dome on it
where the tree stands on a mound. Heights are measured from the base of the soil.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from advisor.errors import Refused
from advisor.pot.curve import FloatArray
from advisor.units import check

#: outline -> area as a share of length × width
OUTLINES = {"rectangle": 1.0, "oval": math.pi / 4, "round": math.pi / 4}

FINE_MM = 5.0  # thickness of a layer, about, down to FINE_DOWN_TO_MM ...
FINE_DOWN_TO_MM = 100.0
COARSE_MM = 10.0  # ... and below
FEWEST_LAYERS = 2


class TakeOff(NamedTuple):
    """What lies between the outside of a pot and its soil, with its range."""

    value: float
    low: float
    high: float
    source: str


#: Judged; a skewer pushed to the base settles it.
TAKE_OFFS = {
    "wall_mm": TakeOff(9.0, 3.0, 15.0, "J: each side, pots from 180 mm wide"),
    "base_mm": TakeOff(9.0, 5.0, 12.0, "J: pots from 80 mm high"),
    "feet_mm": TakeOff(10.0, 8.0, 12.0, "J: pots from 80 mm high"),
    "gap_mm": TakeOff(6.5, 5.0, 8.0, "J: soil below the rim, pots from 80 mm high"),
    "full_wall_at_mm": TakeOff(180.0, 150.0, 220.0, "J: narrower pots have thinner walls"),
    "full_base_at_mm": TakeOff(80.0, 60.0, 100.0, "J: lower pots have thinner bases"),
    "taper": TakeOff(0.92, 0.85, 1.0, "J: rounded corners and a thicker foot inside"),
}


@dataclass(frozen=True)
class Shape:
    """The soil of one pot.

    Parameters
    ----------
    outline : str
        One of `OUTLINES`.
    length_mm, width_mm : float
        Inside, at the pot's opening [mm].
    depth_mm : float
        From the base to the opening [mm]; 0 on a slab that carries a mound.
    base_share : float
        Length at the base as a share of the length on top [share].
    mound_mm : float
        Height of the dome above the opening [mm].
    rock_share : float
        Part of the volume that is rock [share].

    Raises
    ------
    Refused
        An unknown outline, or sizes that hold no soil.
    """

    outline: str
    length_mm: float
    width_mm: float
    depth_mm: float
    base_share: float = 1.0
    mound_mm: float = 0.0
    rock_share: float = 0.0

    def __post_init__(self) -> None:
        if self.outline not in OUTLINES:
            raise Refused(
                "outline of a pot", repr(self.outline), ", ".join(OUTLINES), "Say one of these."
            )
        for name in ("length_mm", "width_mm", "mound_mm"):
            check(name, getattr(self, name))
        if self.depth_mm or not self.mound_mm:
            check("soil_depth_mm", self.depth_mm)
        if not 0.1 <= self.base_share <= 1.5:
            raise Refused(
                "length at the base",
                f"{self.base_share:g} of the length on top",
                "0.1 to 1.5",
                "Divide the inside length at the base by that on top.",
            )
        if not 0.0 <= self.rock_share <= 0.95:
            raise Refused(
                "share of rock",
                f"{self.rock_share:g}",
                "0 to 0.95",
                "Give the part of the volume that is rock.",
            )

    @property
    def surface_m2(self) -> float:
        """Area of the pot's opening [m²]."""
        return OUTLINES[self.outline] * self.length_mm * self.width_mm / 1e6

    @property
    def height_mm(self) -> float:
        """Height of the soil, mound and all [mm]."""
        return self.depth_mm + self.mound_mm

    @property
    def volume_l(self) -> float:
        """Volume of the soil, without the rock [L]."""
        return float(self.litres_below(self.height_mm))

    def area_share(self, height_mm: npt.ArrayLike) -> FloatArray:
        """Give the soil's area at a height as a share of the pot's opening, rock taken off.

        Parameters
        ----------
        height_mm : array_like
            Height above the base [mm].

        Returns
        -------
        ndarray
            [share]; 0 above the soil.
        """
        height = np.asarray(height_mm, dtype=np.float64)
        size = 1.0 + self._narrowing * (height - self.depth_mm)
        dome = 1.0 - (height - self.depth_mm) / max(self.mound_mm, 1e-9)
        area = np.where(height <= self.depth_mm, size**2, np.clip(dome, 0.0, None))
        return np.asarray(area * (1.0 - self.rock_share))

    def litres_below(self, height_mm: npt.ArrayLike) -> FloatArray:
        """Give the volume of soil below a height: the integral of `area_share`.

        Parameters
        ----------
        height_mm : array_like
            Height above the base [mm].

        Returns
        -------
        ndarray
            [L].
        """
        height = np.clip(np.asarray(height_mm, dtype=np.float64), 0.0, self.height_mm)
        down = self.depth_mm - np.minimum(height, self.depth_mm)
        up = np.maximum(height - self.depth_mm, 0.0)
        body = self._frustum(self.depth_mm) - self._frustum(down)
        dome = up - up**2 / max(2.0 * self.mound_mm, 1e-9)
        return np.asarray((body + dome) * self.surface_m2 * (1.0 - self.rock_share))

    @property
    def _narrowing(self) -> float:
        return (1.0 - self.base_share) / self.depth_mm if self.depth_mm else 0.0

    def _frustum(self, down_mm: npt.ArrayLike) -> FloatArray:
        """Integrate the body's area, opening = 1, from the opening down [mm]."""
        down = np.asarray(down_mm, dtype=np.float64)
        slope = self._narrowing
        return np.asarray(down - slope * down**2 + slope**2 * down**3 / 3.0)


@dataclass(frozen=True, eq=False)
class Layers:
    """A column of layers, the top one first."""

    thickness_mm: FloatArray  # (n,)
    area_ratio: FloatArray  # (n,) mean area of the layer / opening, rock taken off
    centre_mm: FloatArray  # (n,) height of the centre above the base
    distance_mm: FloatArray  # (n-1,) between centres


def layers(shape: Shape) -> Layers:
    """Divide the soil: layers of about 5 mm down to 100 mm, of about 10 mm below.

    Parameters
    ----------
    shape : Shape
        The soil.

    Returns
    -------
    Layers
        Thicknesses times area ratios times the opening add up to the volume.
    """
    thickness = _thicknesses(shape.height_mm)
    top = shape.height_mm - np.append(0.0, np.cumsum(thickness))
    top[-1] = 0.0
    litres = -np.diff(shape.litres_below(top))
    centre = (top[:-1] + top[1:]) / 2.0
    return Layers(
        thickness_mm=thickness,
        area_ratio=litres / (thickness * shape.surface_m2),
        centre_mm=centre,
        distance_mm=-np.diff(centre),
    )


def _thicknesses(height_mm: float) -> FloatArray:
    if height_mm < FINE_DOWN_TO_MM + COARSE_MM / 2:
        count = max(FEWEST_LAYERS, round(height_mm / FINE_MM))
        return np.full(count, height_mm / count)
    below = height_mm - FINE_DOWN_TO_MM
    count = max(1, round(below / COARSE_MM))
    fine = round(FINE_DOWN_TO_MM / FINE_MM)
    return np.append(np.full(fine, FINE_MM), np.full(count, below / count))


def from_inside(
    length_mm: float,
    width_mm: float,
    depth_mm: float,
    outline: str = "rectangle",
    base_share: float = 1.0,
    mound_mm: float = 0.0,
    rock_share: float = 0.0,
) -> Shape:
    """Take the soil as measured inside the pot; the parameters are those of `Shape`."""
    return Shape(outline, length_mm, width_mm, depth_mm, base_share, mound_mm, rock_share)


def from_outside(
    length_mm: float,
    width_mm: float,
    height_mm: float,
    outline: str = "rectangle",
    base_share: float = 1.0,
    mound_mm: float = 0.0,
    rock_share: float = 0.0,
) -> Shape:
    """Judge the soil from the outside of a pot, by `TAKE_OFFS`.

    Parameters
    ----------
    length_mm, width_mm, height_mm : float
        Outside, feet included [mm].
    outline, base_share, mound_mm, rock_share
        As in `Shape`; the inside tapers a little more than the outside.

    Raises
    ------
    Refused
        As `Shape`, or nothing is left inside.
    """
    check("length_mm", length_mm)
    check("width_mm", width_mm)
    check("height_mm", height_mm)
    off = {name: row.value for name, row in TAKE_OFFS.items()}
    narrow = min(1.0, min(length_mm, width_mm) / off["full_wall_at_mm"])
    low = min(1.0, height_mm / off["full_base_at_mm"])
    walls = 2.0 * off["wall_mm"] * narrow
    under_and_over = (off["base_mm"] + off["feet_mm"] + off["gap_mm"]) * low
    return Shape(
        outline,
        length_mm - walls,
        width_mm - walls,
        height_mm - under_and_over,
        base_share * off["taper"],
        mound_mm,
        rock_share,
    )


def from_litres(litres: float, depth_mm: float, rock_share: float = 0.0) -> Shape:
    """Take a straight round pot that holds so much soil, so deep.

    Parameters
    ----------
    litres : float
        Volume of the soil, without any rock [L].
    depth_mm : float
        Its depth [mm].
    rock_share : float
        Part of the pot's inside that is rock [share].

    Raises
    ------
    Refused
        No volume, no depth, or a pot that would be too wide or too narrow to be one.
    """
    check("litres", litres)
    check("soil_depth_mm", depth_mm)
    area_mm2 = litres * 1e6 / depth_mm / (1.0 - min(rock_share, 0.95))
    across_mm = math.sqrt(area_mm2 * 4.0 / math.pi)
    return Shape("round", across_mm, across_mm, depth_mm, rock_share=rock_share)
