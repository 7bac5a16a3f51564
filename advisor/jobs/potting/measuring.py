"""A mix measured with a kitchen scale: what weighings of a known volume say of it.

A container is weighed filled and dry, then after it was soaked and has drained, then twice a
day while it dries bare. The model itself is fitted to these weights: what is sought is how much
the mix holds against the table, how readily water creeps from grain to grain, how much a dry top
holds back, how fast the air dries, and the weight of the dry mix; each with a spread, from a
prior and the scale's error (Gauss-Newton at the most likely values: Tarantola 2005, Inverse
Problem Theory, Eq. 3.51-3.53 [M]).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from advisor.balance import layout
from advisor.balance.members import SD_LN_K_C, THRESHOLD
from advisor.balance.pots import VAPOUR_DEPTH_MM, Column, Pot, pack
from advisor.balance.run import Forcing, Task, at_rest, run
from advisor.errors import Refused
from advisor.pot import shape as shapes
from advisor.pot.capacity import rest_contents
from advisor.pot.curve import Curve
from advisor.pot.measured import Own, emptied, own_curve
from advisor.pot.mix import Parts, blend
from advisor.units import check

Floats = NDArray[np.float64]

KINDS: Final = ("dry", "drained", "drying")
SCALE_G: Final = 1.2  # error of a weighing: ± 2 g, even, as a standard deviation [C]
SCALE_SHARE: Final = 0.006  # and ± 1 % of what is weighed [C]
#: What is believed before: spread of ln(held over the table), of ln K_c over the table, of the
#: air's demand, of the dry density over the table and of δ0 over the default (1.5-8 mm)
#: [J; K_c as for any mix].
SPREADS: Final = (0.20, SD_LN_K_C, 0.60, 0.15, 0.50)
INDOORS_MM_D: Final = 2.0  # what air indoors takes from a wet surface [J; 1-4]
OUTDOORS: Final = 1.15  # wet soil over reference evapotranspiration [J; 1-1.3]
ODD_SD: Final = 4.0  # a weight further off than this many of its errors is left out [J]
ODD_PART: Final = 3.0  # ... and is taken with another for exchanged from so many on [J]
MOST_ODD: Final = 3  # weights left out before the series is refused [J]
FAR: Final = 2.5  # spreads from the table at which dry weight or volume is doubted [J]
MOST_DAYS: Final = 30  # a series of drying lasts no longer [J]
SAME_FILLING: Final = 0.05  # spread of ln(held) from one filling of a pot to the next [J]
NEXT_CREEP: Final = 0.30  # spread of ln K_c from one filling to the next [J]
WILTING_SPREAD: Final = 0.25  # of what is held too fast for roots: by the table, not weighed [J]
HELD, FREE = 1, 2  # where water held and water for the tree stand among what is shown
STEP: Final = 0.01  # for slopes; what the balance tells has seven digits [C]
STEPS: Final = STEP * np.eye(len(SPREADS))
QUANTILE: Final = 1.645  # 5 and 95 % of a normal spread [C]


@dataclass(frozen=True)
class Box:
    """A straight-sided container with holes: its volume, how deep it is filled, its weight."""

    litres: float
    depth_mm: float
    empty_g: float = 0.0


@dataclass(frozen=True)
class Weighing:
    """One weight on the scale, container and all [g]; `kind` is one of KINDS."""

    kind: str
    at: datetime
    grams: float


@dataclass(frozen=True)
class Spread:
    """A value and the 5 and 95 % of what it may be."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True)
class Doubt:
    """Weighings left out, as indices into the series, and why."""

    which: tuple[int, ...]
    why: str


@dataclass(frozen=True)
class Fitted:
    """What the weighings say of a mix.

    Attributes
    ----------
    own : Own
        What is kept of it.
    density_kgl, capacity, available, factor : Spread
        Dry weight of a litre [kg/L]; water held after draining, and what of it a tree can
        use, in the container [m³/m³]; held over the table [-].
    k_c_cmh : Spread
        Conductivity through the grain contacts [cm/h].
    vapour_depth_mm : Spread
        Dry depth at which half of the vapour passes [mm]; weighings tell little of it beside
        `k_c_cmh`: more of one dries much like more of the other.
    demand_mm_d, dry_top_mm_d : Spread
        What the air took from the wet surface, and on the last day weighed [mm/d].
    sd_ln_held : float
        Spread of ln(water held) in a pot filled with it, one filling and the next included.
    sd_ln_k_c : float
        Spread of ln K_c, one filling and the next included.
    doubts : tuple of Doubt
    used : int
        How many weighings count.
    """

    own: Own
    density_kgl: Spread
    capacity: Spread
    available: Spread
    factor: Spread
    k_c_cmh: Spread
    vapour_depth_mm: Spread
    demand_mm_d: Spread
    dry_top_mm_d: Spread
    sd_ln_held: float
    sd_ln_k_c: float
    doubts: tuple[Doubt, ...]
    used: int


@dataclass(frozen=True, eq=False)
class _Series:
    """The weighings as the fit takes them."""

    box: Box
    parts: tuple[tuple[str, float], ...]
    table: Curve
    table_share: float  # held after draining, by the table
    kinds: NDArray[np.str_]
    hours: Floats  # since it had drained
    grams: Floats
    demand: Floats  # an hour, before the fitted factor [mm]

    @property
    def sd_g(self) -> Floats:
        return np.hypot(SCALE_G, SCALE_SHARE * self.grams)

    def own(self, at: Floats) -> Own:
        return Own(self.table_share * float(np.exp(at[0])), self.box.depth_mm,
                   self.table.density_kgl * float(np.exp(at[3])),
                   max(self.table.k_c_cmh, 1e-7) * float(np.exp(at[1])),
                   VAPOUR_DEPTH_MM * float(np.exp(at[4])))

    def weights(self, at: Floats) -> Floats:
        """Give the weights to be expected [g]; the dry mix is as dry as the air."""
        own = self.own(at)
        curve = own_curve(self.parts, own)
        course = dried(bare_pot(curve, self.box, own.vapour_depth_mm), own.k_c_cmh or 0.0,
                       self.demand * np.exp(at[2]))
        wet = np.interp(self.hours, np.arange(course.size), course)
        share = np.where(self.kinds == "dry", curve.theta_ad, wet)
        density = self.table.density_kgl * float(np.exp(at[3]))
        return np.asarray(self.box.empty_g + 1000.0 * self.box.litres * (density + share))


def bare_pot(curve: Curve, box: Box, vapour_depth_mm: float | None = None) -> Pot:
    """Pack a container of bare mix for the balance."""
    shape = shapes.from_litres(box.litres, box.depth_mm)
    layers = shapes.layers(shape)
    return pack([Column(curve, 1.0, rest_contents(curve, layers, 0.0))], layers, shape.surface_m2,
                vapour_depth_mm or VAPOUR_DEPTH_MM)


def dried(pot: Pot, k_c_cmh: float, demand_mm: Floats) -> Floats:
    """Let a bare pot dry from rest.

    Parameters
    ----------
    pot : Pot
        One column.
    k_c_cmh : float
        Conductivity through the grain contacts [cm/h].
    demand_mm : (hours,) array
        What the air would take from a wet surface [mm].

    Returns
    -------
    (hours + 1,) array
        Water held at the start of each hour [m³/m³].
    """
    table = np.zeros((demand_mm.size + 1, 9))
    table[:-1, layout.EVAPORATION] = demand_mm
    even = np.ones((1, 1))
    forcing = Forcing(table, even, even, day=np.zeros(len(table), dtype=np.int64))
    members = np.array([[1.0], [1.0], [k_c_cmh], [THRESHOLD]])
    left = run(Task(pot, members, at_rest(pot, 1), forcing)).left[:, 0].astype(np.float64)
    depth_mm = pot.layers[:, layout.STORE].sum()
    return np.asarray(pot.soil[0, layout.WP] + left * pot.soil[0, layout.FULL] / depth_mm)


def fit(box: Box, weighings: Sequence[Weighing], parts: Parts,
        et0_mm: Floats | None = None) -> Fitted:
    """Find what weighings of a mix say of it.

    Parameters
    ----------
    box : Box
        The container.
    weighings : sequence of Weighing
        At least one dry and one drained; those while drying in any order. The dry mix is
        taken to be as dry as the air of a room.
    parts : iterable of (str, float)
        What the mix is made of, by volume share: the shape of its curve.
    et0_mm : (hours,) array, optional
        Reference evapotranspiration from the hour on in which it had drained [mm], where it
        dried outdoors under a roof; None: indoors, evenly.

    Returns
    -------
    Fitted

    Raises
    ------
    Refused
        Weighings that cannot be those of such a mix, or too many that do not fit the others.
    """
    series = _series(box, weighings, tuple(parts), et0_mm)
    keep = np.ones(series.grams.size, dtype=bool)
    doubts: list[Doubt] = []
    at, off = _solve(series, keep, robust=True)
    while (odd := _oddest(series, off, keep)).size:
        doubts.append(Doubt(tuple(int(i) for i in odd), _why(series, odd, off)))
        keep[odd] = False
        if keep.size - keep.sum() > MOST_ODD or not _enough(series, keep):
            raise Refused(f"weighings of {_amount(box)}", "they do not fit each other",
                          f"at most {MOST_ODD} that are off",
                          "Look for a wrong container, volume or number, or weigh anew.")
        at, off = _solve(series, keep, robust=True)
    at, _ = _solve(series, keep, robust=False)
    doubts += _far(at)
    return _summed_up(series, at, keep, tuple(doubts))


def _amount(box: Box) -> str:
    return f"{box.litres:g} L of mix"


def _series(box: Box, weighings: Sequence[Weighing], parts: tuple[tuple[str, float], ...],
            et0_mm: Floats | None) -> _Series:
    check("litres", box.litres, "container")
    check("soil_depth_mm", box.depth_mm, "container")
    first = {kind: next((w for w in weighings if w.kind == kind), None) for kind in KINDS}
    dry, drained = first["dry"], first["drained"]
    if dry is None or drained is None:
        raise Refused(f"weighings of {_amount(box)}", "not complete",
                      "one dry and one after it has drained", "Weigh what is lacking.")
    emptied(dry.grams, box.empty_g, box.litres, "dry")
    if not drained.grams > dry.grams:
        raise Refused("weight after draining", f"{drained.grams:g} g",
                      f"more than the dry weight, {dry.grams:g} g",
                      "Were the two exchanged? Give both anew.")
    hours = np.array([hours_dried(w, drained) for w in weighings])
    count = int(np.ceil(hours.max())) + 1
    table = blend(parts)
    rest = bare_pot(table, box)
    share = float(rest.rest[0, layout.REST] @ rest.layers[:, layout.STORE]
                  / rest.layers[:, layout.STORE].sum())
    return _Series(box, parts, table, share, np.array([w.kind for w in weighings]), hours,
                   np.array([w.grams for w in weighings]), _demand(count, et0_mm))


def hours_dried(weighing: Weighing, drained: Weighing) -> float:
    """Give how long after draining something was weighed [h]; 0 for what is dry or drained.

    Raises
    ------
    Refused
        Weighed while drying not after it had drained, or so long after that nothing is told.
    """
    if weighing.kind != "drying":
        return 0.0
    hours = (weighing.at - drained.at).total_seconds() / 3600.0
    if not 0.0 < hours <= 24.0 * MOST_DAYS:
        raise Refused("weighing while drying", f"{hours / 24.0:.1f} days after it had drained",
                      f"within {MOST_DAYS} days after it", "Check both times.")
    return hours


def _demand(count: int, et0_mm: Floats | None) -> Floats:
    if et0_mm is None:
        return np.full(count, INDOORS_MM_D / 24.0)
    if et0_mm.size < count or np.isnan(et0_mm[:count]).any():
        raise Refused("weather while the mix dried", f"{et0_mm.size} hours",
                      f"all {count} hours", "Get the weather first, or say that it stood indoors.")
    return OUTDOORS * et0_mm[:count]


def _enough(series: _Series, keep: NDArray[np.bool_]) -> bool:
    return all((series.kinds[keep] == kind).any() for kind in ("dry", "drained"))


def _solve(series: _Series, keep: NDArray[np.bool_], robust: bool) -> tuple[Floats, Floats]:
    """Give the most likely values, and how far each weight is off in errors of the scale."""
    def misfit(at: Floats) -> Floats:
        try:
            off = (series.weights(at) - series.grams) / series.sd_g
        except Refused:  # more than its pores: the search turns back there
            off = np.full(keep.size, np.inf)
        return np.append(off[keep], at / SPREADS)

    def slopes(at: Floats) -> Floats:
        here = misfit(at)
        found = []
        for step in STEPS:
            there, way = misfit(at + step), STEP
            if not np.isfinite(there).all():  # at an end of what can be: look back
                there, way = misfit(at - step), -STEP
            found.append((there - here) / way)
        return np.array(found).T

    solved: Any = least_squares(misfit, np.zeros(len(SPREADS)), slopes, x_scale=SPREADS,
                                loss="soft_l1" if robust else "linear")
    at = np.asarray(solved.x)
    return at, (series.weights(at) - series.grams) / series.sd_g


def _oddest(series: _Series, off: Floats, keep: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Give the weights that do not fit: one, or two that look exchanged; none where all fit."""
    size = np.where(keep, np.abs(off), 0.0)
    worst = int(size.argmax())
    if size[worst] < ODD_SD:
        return np.empty(0, dtype=np.int64)
    expected = series.grams + off * series.sd_g
    others = [i for i in np.flatnonzero(keep) if i != worst and size[i] > ODD_PART
              and abs(series.grams[i] - expected[worst]) < ODD_PART * series.sd_g[i]
              and abs(series.grams[worst] - expected[i]) < ODD_PART * series.sd_g[worst]]
    return np.array([worst, *others[:1]], dtype=np.int64)


def _why(series: _Series, odd: NDArray[np.int64], off: Floats) -> str:
    if odd.size == 2:
        return "look exchanged with each other"
    amount = -float(off[odd[0]] * series.sd_g[odd[0]])
    return f"about {abs(amount):.0f} g too {'heavy' if amount > 0 else 'light'} beside the others"


def _far(at: Floats) -> list[Doubt]:
    """Doubt what lies far from the table: one dry weight cannot be told from a wrong volume."""
    found = []
    if abs(at[3]) > FAR * SPREADS[3]:
        found.append(f"a litre of it weighs {np.exp(at[3]):.1f} times what the table says: check "
                     "the dry weight, the volume and the empty container")
    if abs(at[0]) > FAR * SPREADS[0]:
        found.append(f"it holds {np.exp(at[0]):.1f} times what the table says: check the volume, "
                     "and that it had drained")
    return [Doubt((), why) for why in found]


def _summed_up(series: _Series, at: Floats, keep: NDArray[np.bool_],
               doubts: tuple[Doubt, ...]) -> Fitted:
    """Give values and spreads from the shape of the misfit around the most likely ones."""
    shown = _shown(series, at)
    moved = [at + step for step in STEPS]
    slopes = np.array([(series.weights(there) - series.weights(at)) / STEP for there in moved])
    by = slopes[:, keep] / series.sd_g[keep]
    cov = np.linalg.inv(by @ by.T + np.diag(np.array(SPREADS) ** -2.0))
    turns = np.array([(_shown(series, there) - shown) / STEP for there in moved]).T
    sd = np.sqrt(np.einsum("ij,jk,ik->i", turns, cov, turns))
    held, free = np.exp(shown[HELD]), np.exp(shown[FREE])
    sd[FREE] = np.hypot(sd[FREE], WILTING_SPREAD * (held - free) / free)
    low, high = np.exp(shown - QUANTILE * sd), np.exp(shown + QUANTILE * sd)
    density, capacity, available, factor, k_c, vapour, demand, dry_top = (
        Spread(*map(float, each)) for each in zip(low, np.exp(shown), high, strict=True))
    own = series.own(at)
    return Fitted(
        own=replace(own, density_kgl=density.mid), density_kgl=density, capacity=capacity,
        available=available, factor=factor, k_c_cmh=k_c, vapour_depth_mm=vapour,
        demand_mm_d=demand, dry_top_mm_d=dry_top,
        sd_ln_k_c=float(np.hypot(np.sqrt(cov[1, 1]), NEXT_CREEP)),
        sd_ln_held=float(np.hypot(np.sqrt(cov[0, 0]), SAME_FILLING)),
        doubts=doubts, used=int(keep.sum()))


def _shown(series: _Series, at: Floats) -> Floats:
    """Give the logarithms of what is shown, in the order of `Fitted`."""
    own = series.own(at)
    curve = own_curve(series.parts, own)
    pot = bare_pot(curve, series.box, own.vapour_depth_mm)
    course = dried(pot, own.k_c_cmh or 0.0, series.demand * np.exp(at[2]))
    rate = series.demand.sum() / series.demand.size * 24.0 * float(np.exp(at[2]))
    last = min(24, course.size - 1)
    lost = max((course[-1 - last] - course[-1]) * series.box.depth_mm * 24.0 / last, 1e-6)
    return np.log([own.density_kgl or 1.0, own.capacity_share,
                   own.capacity_share - curve.theta_wp, np.exp(at[0]), own.k_c_cmh or 1e-7,
                   own.vapour_depth_mm or VAPOUR_DEPTH_MM, rate, lost])
