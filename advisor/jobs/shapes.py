"""From a potting in the grower's words to the pot as the kernel takes it."""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Final

from advisor.balance import layout
from advisor.balance.members import SD_LN_CAPACITY, SD_LN_CAPACITY_OLD, SD_LN_K_C, Prior
from advisor.balance.pots import VAPOUR_DEPTH_MM, Column, Pot, pack
from advisor.errors import Refused
from advisor.garden.records import Mix, Potting
from advisor.pot import mix as mixes
from advisor.pot import shape as shapes
from advisor.pot.capacity import drainage_h0_cm, rest_contents
from advisor.pot.curve import Curve
from advisor.pot.measured import Own, own_curve
from advisor.pot.shape import Shape

#: Share of the pot's area that is still the old root ball, by what was done to the roots [J;
#: ± .15]: its soil is that of the potting before, where none is told.
BALL_SHARE: Final = {"none": 0.0, "slipped over": 0.75, "edges combed": 0.60, "half bare": 0.40,
                     "all bare": 0.0}
LEAST_SOIL_MM: Final = 5.0
#: A mound without a told height on a slab [mm] [J].
SLAB_MOUND_MM: Final = 60.0


@dataclass(frozen=True, eq=False)
class Filled:
    """A pot with its soil: packed for the kernel, and the sizes other parts ask for."""

    pot: Pot
    shape: Shape
    curve: Curve
    prior: Prior
    ball_share: float

    @cached_property
    def soil_l(self) -> float:
        """Volume of soil [L]."""
        return self.shape.volume_l

    @property
    def held_l(self) -> float:
        """All the water in it after it drained [L]."""
        rest = self.pot.rest[:, layout.REST] @ self.pot.layers[:, layout.STORE]
        return float(self.pot.soil[:, layout.SHARE] @ rest) * self.pot.surface_m2

    @property
    def side_m2(self) -> float:
        """Wall outside the soil [m²]."""
        around_mm = 2.0 * (self.shape.length_mm + self.shape.width_mm)
        return around_mm * self.shape.height_mm * 1e-6


def shape_of(potting: Potting) -> Shape:
    """Give the soil's shape, from whichever sizes the grower told.

    Raises
    ------
    Refused
        No size is told, or the pot would hold no soil.
    """
    mound = potting.mound_mm
    if potting.form == "slab" and not mound:
        mound = SLAB_MOUND_MM
    if potting.litres is not None:
        depth = _told_depth(potting)
        shape = shapes.from_litres(potting.litres, depth, potting.rock_share)
    elif potting.inside_mm is not None:
        shape = shapes.from_inside(*potting.inside_mm, _told_depth(potting), potting.outline,
                                   potting.base_share, mound, potting.rock_share)
    elif potting.outside_mm is not None:
        shape = shapes.from_outside(*potting.outside_mm, potting.outline, potting.base_share,
                                    mound, potting.rock_share)
        if potting.soil_depth_mm is not None:
            shape = replace(shape, depth_mm=potting.soil_depth_mm)
    else:
        raise Refused(f"pot of {potting.tree}", "no size", "outside size, inside size or litres",
                      "Give one of them.")
    return _above_drainage(potting, shape)


def _told_depth(potting: Potting) -> float:
    if potting.soil_depth_mm is None:
        raise Refused(f"pot of {potting.tree}", "no soil depth", "the depth a skewer finds",
                      "Give the soil depth.")
    return potting.soil_depth_mm


def _above_drainage(potting: Potting, shape: Shape) -> Shape:
    """Take the drainage layer off the depth."""
    if not potting.drainage_mm:
        return shape
    depth = shape.depth_mm - potting.drainage_mm
    if depth < LEAST_SOIL_MM:
        raise Refused(f"drainage layer of {potting.tree}", f"{potting.drainage_mm:g} mm",
                      f"less than the soil's {shape.depth_mm:g} mm", "Check both depths.")
    return replace(shape, depth_mm=depth)


def curve_of(mix: Mix, condition: str) -> Curve:
    """Give a mix's curve: as measured where the grower did, else from its parts."""
    if mix.measured_capacity is not None and mix.measured_depth_mm is not None:
        own = Own(mix.measured_capacity, mix.measured_depth_mm, mix.measured_density_kgl,
                  mix.measured_k_c_cmh, mix.measured_vapour_depth_mm)
        return own_curve(mix.parts, own, condition)
    return mixes.blend(mix.parts, condition)


@lru_cache(maxsize=4096)
def fill(potting: Potting, mix: Mix, ball_mix: Mix | None, tip_deg: float) -> Filled:
    """Fill a pot: shape, layers, and each column's water at rest.

    Parameters
    ----------
    potting : Potting
    mix : Mix
        Of the potting.
    ball_mix : Mix or None
        Of the old root ball, where there is one.
    tip_deg : float
        How far the pot is tipped on a long edge [°].

    Raises
    ------
    Refused
        Sizes, materials or shares that no pot has.
    """
    shape = shape_of(potting)
    layers = shapes.layers(shape)
    h0_cm = drainage_h0_cm(potting.drainage_mm, potting.drainage_grain_mm)
    ball = _ball_share(potting) if ball_mix is not None else 0.0
    parts = [(curve_of(mix, potting.condition), 1.0 - ball)]
    if ball_mix is not None and ball:
        parts.append((curve_of(ball_mix, potting.condition), ball))
    across_mm = min(shape.length_mm, shape.width_mm)
    columns = [Column(curve, share, rest_contents(curve, layers, h0_cm, tip_deg, across_mm))
               for curve, share in parts]
    fresh = mix.measured_sd or SD_LN_CAPACITY
    sd = SD_LN_CAPACITY_OLD if potting.condition == "broken down" else fresh
    curve = parts[0][0]
    packed = pack(columns, layers, shape.surface_m2, _vapour_depth_mm(mix, ball_mix, ball))
    prior = Prior(max(curve.k_c_cmh, 1e-7), sd, _sd_ln_k_c(mix, potting.condition))
    return Filled(packed, shape, curve, prior, ball)


def _vapour_depth_mm(mix: Mix, ball_mix: Mix | None, ball: float) -> float:
    """Give the dry depth that halves what evaporates: the log mean of mix and ball by area."""
    of_mix, of_ball = ((each.measured_vapour_depth_mm if each else None) or VAPOUR_DEPTH_MM
                       for each in (mix, ball_mix))
    moved: float = (of_ball / of_mix) ** ball
    return of_mix * moved


def _sd_ln_k_c(mix: Mix, condition: str) -> float:
    """Give the spread of ln K_c: as measured of the fresh mix, any mix's where it broke down."""
    measured = None if condition == "broken down" else mix.measured_sd_ln_k_c
    return measured or SD_LN_K_C


def _ball_share(potting: Potting) -> float:
    return potting.ball_share or BALL_SHARE[potting.root_work]


def ball_mix_name(potting: Potting, before: Potting | None) -> str | None:
    """Give the mix of the old root ball: as told, else that of the potting before, else its own."""
    if potting.ball_mix is not None:
        return potting.ball_mix
    if not _ball_share(potting):
        return None
    return before.mix if before is not None else potting.mix
