"""The rain butt: what roofs bring, what the pots take, how long it lasts, who gets it first."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from advisor.balance.members import shares
from advisor.errors import Refused
from advisor.garden.naming import closest

Floats = NDArray[np.float64]


class RunOff(NamedTuple):
    """Share of the rain that a covering gives, with the range it may lie in, and its source."""

    value: float
    low: float
    high: float
    source: str


#: covering -> run-off coefficient: DIN 1989-1:2002 Table 3, range up to BS 8515:2009 Table 2
#: and Farreny et al. 2011, Water Research 45:3245 [M: all three from memory]
COVERINGS: Final[Mapping[str, RunOff]] = {
    "tiles": RunOff(0.80, 0.75, 0.90, "M: DIN 1989-1 pitched, hard .8; BS 8515 tiles .75-.9"),
    "slate": RunOff(0.80, 0.75, 0.90, "M: as tiles"),
    "metal": RunOff(0.80, 0.80, 0.95, "M: DIN 1989-1 pitched, hard .8; BS 8515 metal .95"),
    "glass": RunOff(0.80, 0.80, 0.95, "M: as metal"),
    "plastic": RunOff(0.80, 0.80, 0.95, "M: as metal"),
    "bitumen": RunOff(0.80, 0.70, 0.90, "M: DIN 1989-1 flat without gravel .8"),
    "gravel": RunOff(0.60, 0.50, 0.70, "M: DIN 1989-1 flat with gravel .6; Farreny .62"),
    "green, thin": RunOff(0.50, 0.30, 0.60, "M: DIN 1989-1 green, extensive .5"),
    "green, deep": RunOff(0.30, 0.20, 0.40, "M: DIN 1989-1 green, intensive .3"),
}
DRY_DAY_MM: Final = 0.2  # a day with less leaves a roof dusty again [J; 0-1]
MANY: Final = 64  # equally likely runs of roofs and readings
DIP_MM: Final = 10.0  # spread of a dip reading [J; 5-20]
FULL_SHARE: Final = 0.95  # of its size at which a butt counts as filled [J]
YEARS_OF_TEN: Final = 0.9  # of past years that a size must have lasted [J]
AREA_M2: Final = (0.1, 5000.0)  # of a roof [J]
BUTT_L: Final = (5.0, 200_000.0)  # of a butt [J]
MOST_FLUSH_MM: Final = 10.0  # of rain led away first [J]


@dataclass(frozen=True)
class Roof:
    """A roof seen from above, its covering, and the first rain of a spell that is led away."""

    area_m2: float
    covering: str = "tiles"
    first_flush_mm: float = 0.0


@dataclass(frozen=True)
class Butt:
    """A butt: what it holds to the overflow, and how high the water then stands."""

    litres: float
    height_mm: float | None = None


def refuse_odd(roofs: Iterable[Roof], butts: Iterable[Butt]) -> None:
    """Refuse roofs and butts that cannot be.

    Raises
    ------
    Refused
        An area, a covering, a first flush or a size out of range.
    """
    for roof in roofs:
        _within("roof", roof.area_m2, AREA_M2, "m²", "Give the area it covers, seen from above.")
        _within("first flush", roof.first_flush_mm, (0.0, MOST_FLUSH_MM), "mm",
                "Give the rain that is led away first, 0 for none.")
        covering(roof.covering)
    for butt in butts:
        _within("rain butt", butt.litres, BUTT_L, "L", "Give what it holds up to its overflow.")


def _within(what: str, value: float, limits: tuple[float, float], unit: str, do: str) -> None:
    low, high = limits
    if not low <= value <= high:
        raise Refused(what, f"{value:g} {unit}", f"{low:g} to {high:g} {unit}", do)


def covering(name: str) -> RunOff:
    """Give the run-off coefficient of a covering.

    Raises
    ------
    Refused
        It is not in the table.
    """
    if name not in COVERINGS:
        meant = closest(name, COVERINGS)
        do = f"Did you mean {meant!r}?" if meant else "Give the nearest of these."
        raise Refused("covering of a roof", repr(name), "; ".join(COVERINGS), do)
    return COVERINGS[name]


# --- what comes and goes -----------------------------------------------------------------


def caught_l(roofs: Sequence[Roof], rain_mm: Floats, along: float | None = None) -> Floats:
    """Give what roofs bring day by day: area · coefficient · (rain − first flush).

    Parameters
    ----------
    roofs : sequence of Roof
    rain_mm : (..., days) array
        Rain of each day [mm]; unknown counts as none.
    along : float, optional
        Where in the range of every coefficient, 0 its low and 1 its high end; the value of
        the table where None.

    Returns
    -------
    (..., days) array
        [L].
    """
    rain = np.maximum(np.nan_to_num(rain_mm), 0.0)
    before = np.concatenate([np.zeros_like(rain[..., :1]), rain[..., :-1]], axis=-1)
    total = np.zeros_like(rain)
    for roof in roofs:
        of = covering(roof.covering)
        share = of.value if along is None else of.low + along * (of.high - of.low)
        first = np.where(before < DRY_DAY_MM, roof.first_flush_mm, 0.0)
        total += roof.area_m2 * share * np.maximum(rain - first, 0.0)
    return total


@dataclass(frozen=True, eq=False)
class Course:
    """Days of a butt, (..., days): level at each day's end, given, spilled and lacking [L]."""

    level_l: Floats
    given_l: Floats
    spilled_l: Floats
    lacking_l: Floats


def course(level_l: Floats | float, size_l: float, in_l: Floats, wanted_l: Floats) -> Course:
    """Carry a butt through days: in the morning the round takes its water, then the rain comes.

    Parameters
    ----------
    level_l : float or (...) array
        What is in it before the first round [L].
    size_l : float
        What it holds [L].
    in_l, wanted_l : (..., days) array
        What the roofs bring and the pots want, a day [L].

    Returns
    -------
    Course
        Level before + in = level + given + spilled, every day.
    """
    inflow, wanted = np.broadcast_arrays(in_l, wanted_l)
    level = np.broadcast_to(np.minimum(np.asarray(level_l, dtype=float), size_l),
                            inflow.shape[:-1]).copy()
    levels, given = np.empty(inflow.shape), np.empty(inflow.shape)
    spilled = np.empty(inflow.shape)
    for day in range(inflow.shape[-1]):
        given[..., day] = np.minimum(level, wanted[..., day])
        level = level - given[..., day] + inflow[..., day]
        spilled[..., day] = np.maximum(level - size_l, 0.0)
        level = level - spilled[..., day]
        levels[..., day] = level
    return Course(levels, given, spilled, wanted - given)


@dataclass(frozen=True)
class Lasts:
    """How long a butt lasts, in days to the first that lacks water; None: past the days known.

    `dry_chance` is the chance that it runs dry before it has once been full.
    """

    low: int | None
    mid: int | None
    high: int | None
    dry_chance: float


def lasts(days: Course, size_l: float) -> Lasts:
    """Sum up equally likely courses (runs, days).

    Parameters
    ----------
    days : Course
    size_l : float
        What the butt holds [L].
    """
    lacks = days.lacking_l > 1e-9
    never = lacks.shape[-1]
    first = np.where(lacks.any(axis=-1), lacks.argmax(axis=-1), never)
    full = days.level_l >= FULL_SHARE * size_l
    filled = np.where(full.any(axis=-1), full.argmax(axis=-1), never)
    # the round comes before the rain: full that evening is too late for that morning
    before = float(((first < never) & (first <= filled)).mean())
    low, mid, high = (int(np.quantile(first, q, method="lower")) for q in (0.05, 0.5, 0.95))
    low_d, mid_d, high_d = (None if each == never else each for each in (low, mid, high))
    return Lasts(low_d, mid_d, high_d, before)


def level_now(start_l: tuple[float, float], size_l: float, roofs: Sequence[Roof], rain_mm: Floats,
              wanted_l: Floats) -> Floats:
    """Carry a level from its last reading to now, for equally likely roofs and readings.

    Parameters
    ----------
    start_l : (float, float)
        The level read, and its spread as a standard deviation [L].
    size_l : float
        What the butts hold [L].
    roofs : sequence of Roof
    rain_mm, wanted_l : (days,) array
        Since the reading [mm], [L].

    Returns
    -------
    (MANY,) array
        [L].
    """
    along, read = shares(1, 0.0, 1.0, MANY), shares(2, -1.7, 1.7, MANY)
    start = np.clip(start_l[0] + start_l[1] * read, 0.0, size_l)
    if not rain_mm.size:
        return np.asarray(start)
    inflow = np.array([caught_l(roofs, rain_mm, each) for each in along])
    return course(start, size_l, inflow, wanted_l).level_l[:, -1]


def dipped(butt: Butt, dip_mm: float) -> tuple[float, float]:
    """Give what is in a straight butt by a dip stick, and the spread of that [L].

    Raises
    ------
    Refused
        Its height is not told, or the stick was wet above it.
    """
    if butt.height_mm is None:
        raise Refused("dip reading", f"{dip_mm:g} mm", "a butt whose height is told",
                      "Give how high the water stands when it is full, or the level in litres.")
    if not 0.0 <= dip_mm <= butt.height_mm:
        raise Refused("dip reading", f"{dip_mm:g} mm", f"0 to {butt.height_mm:g} mm, its height",
                      "Measure from the base up to the water.")
    per_mm = butt.litres / butt.height_mm
    return dip_mm * per_mm, DIP_MM * per_mm


# --- its size ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Sized:
    """What a size of butt would have done in past years."""

    litres: float
    share_given: float  # of all the water wanted
    dry_days: float  # a year that lacked water
    years_lasted: int
    years: int


def size_curve(sizes_l: Sequence[float], in_l: Floats, wanted_l: Floats,
               year: NDArray[np.int64]) -> list[Sized]:
    """Run sizes over past years; each starts full on the first day.

    Parameters
    ----------
    sizes_l : sequence of float
        [L].
    in_l, wanted_l : (days,) array
        What the roofs brought and the pots wanted [L].
    year : (days,) array
        The year of each day.
    """
    years, row = np.unique(year, return_inverse=True)
    found = []
    for size in sizes_l:
        days = course(size, size, in_l, wanted_l)
        dry = np.bincount(row, days.lacking_l > 1e-9, years.size)
        wanted = float(wanted_l.sum())
        found.append(Sized(size, float(days.given_l.sum()) / wanted if wanted else 1.0,
                           float(dry.mean()), int((dry == 0).sum()), int(years.size)))
    return found


def would_do(curve: Iterable[Sized]) -> Sized | None:
    """Give the smallest size that lasted in nine years of ten; None where none did."""
    enough = [each for each in curve if each.years_lasted >= YEARS_OF_TEN * each.years]
    return min(enough, key=lambda each: each.litres, default=None)


# --- who gets it first -------------------------------------------------------------------

#: species group -> turn at the butt, the small first [common practice]; other groups come
#: between, and a small pot comes second whatever stands in it, but for pines
TURNS: Final[Mapping[str, int]] = {"azalea": 0, "maple": 1, "pine": 3}
SMALL_POT_TURN: Final = 1
OTHER_TURN: Final = 2
TURN_WORDS: Final = ("bears no lime", "maple or small pot", "next", "bears hard water")


def turn(group: str, small_pot: bool) -> int:
    """Give a tree's turn at the butt, 0 first (an index into TURN_WORDS)."""
    told = TURNS.get(group, OTHER_TURN)
    return min(told, SMALL_POT_TURN) if small_pot and group != "pine" else told


def shared_out(level_l: float, wanted: Sequence[tuple[int, float]]) -> list[float]:
    """Share out what is in the butt: by turn, then in the order given.

    Parameters
    ----------
    level_l : float
        [L].
    wanted : sequence of (int, float)
        Each tree's turn, and what it wants [L].

    Returns
    -------
    list of float
        Rain water for each tree [L]; the rest of what it wants is tap water.
    """
    left, given = level_l, [0.0] * len(wanted)
    for i in sorted(range(len(wanted)), key=lambda i: wanted[i][0]):
        given[i] = min(left, wanted[i][1])
        left -= given[i]
    return given
