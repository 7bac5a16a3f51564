"""What a plan of visits is made for, and what comes of it.

Days are counted from the departure: day 0 is the state in which the trees are left, day D the
return. A helper may come on the days between.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from advisor.errors import Refused

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_SAME_L: Final = 1e-4  # carrying that differs by less is the same: the solver's tolerance [J]
DAYS, LIFE, REST, SAFETY = "days", "life", "rest", "safety"
MINUTES, LITRES, UNDECIDED = "minutes", "litres", "undecided"


@dataclass(frozen=True)
class Limits:
    """What one visit may be.

    Attributes
    ----------
    minutes : float or None
        The longest visit [min].
    litres : float or None
        The most carried in one visit [L].
    """

    minutes: float | None = None
    litres: float | None = None

    def __post_init__(self) -> None:
        for what, value, unit in (("minutes", self.minutes, "min"), ("litres", self.litres, "L")):
            if value is not None and not value > 0.0:
                raise Refused(f"{what} a visit", f"{value:g} {unit}", f"above 0 {unit}",
                              "Give what the helper can do, or leave it out.")


@dataclass(frozen=True, eq=False)
class Case:
    """Trees to be kept through an absence.

    Attributes
    ----------
    life : int array (n, W, D + 1)
        Last day up to which a watering of tree i on day d carries it in weather w; day 0 is the
        state at departure.
    ready : int array (n, D + 1)
        First day on which tree i may be watered again after a watering on day d; d + 1 or less
        where it may always be.
    litres, minutes : float array (n,)
        Of one watering [L], [min].
    allowed : bool array (D + 1,)
        Days on which the helper can come; the first and the last are the grower's own.
    safety : float
        Share of the weathers in which no tree may come to harm.
    limits : Limits
    """

    life: Ints
    ready: Ints
    litres: Floats
    minutes: Floats
    allowed: Flags
    safety: float = 0.95
    limits: Limits = Limits()

    def __post_init__(self) -> None:
        n, _, days = self.life.shape
        shapes = (self.ready.shape, self.litres.shape, self.minutes.shape, self.allowed.shape)
        if shapes != ((n, days), (n,), (n,), (days,)) or not self.life.size or days < 2:
            raise ValueError(f"life {self.life.shape} does not fit {shapes}")
        if not 0.0 < self.safety <= 1.0:
            raise Refused("safety", f"{self.safety:g}", "above 0, up to 1",
                          "Give a share, as 0.95.")

    @property
    def trees(self) -> int:
        """How many trees."""
        return int(self.life.shape[0])

    @property
    def weathers(self) -> int:
        """How many weathers."""
        return int(self.life.shape[1])

    @property
    def end(self) -> int:
        """The day of the return."""
        return int(self.life.shape[2]) - 1

    @property
    def may_lose(self) -> int:
        """In how many weathers a tree may come to harm: floor((1 − s) W)."""
        return int(np.floor((1.0 - self.safety) * self.weathers + 1e-9))

    @cached_property
    def days(self) -> tuple[int, ...]:
        """The days on which a visit is possible."""
        return tuple(int(day) for day in np.flatnonzero(self.allowed) if 0 < day < self.end)

    @property
    def limited(self) -> bool:
        """Whether a visit has limits."""
        return self.limits.minutes is not None or self.limits.litres is not None

    @cached_property
    def simple(self) -> Flags:
        """Trees that may be watered at any visit and are never worse off for a later one."""
        at = [0, *self.days]
        rising = (np.diff(self.life[:, :, at], axis=2) >= 0).all(axis=(1, 2))
        free = (self.ready[:, at] <= np.array(at) + 1).all(axis=1)
        return np.asarray(rising & free)


@dataclass(frozen=True)
class Visit:
    """One visit: the day, the trees to water, what is carried [L] and how long it takes [min]."""

    day: int
    trees: tuple[int, ...]
    litres: float
    minutes: float


@dataclass(frozen=True)
class Plan:
    """The fewest visits, then the least carrying.

    Attributes
    ----------
    visits : tuple of Visit
    lost : tuple of int
        Weathers in which some tree comes to harm under this plan.
    fewest : int
        No plan has fewer visits than this.
    least_l : float
        No plan of so many visits carries less [L]; 0 where nothing is known of it.
    """

    visits: tuple[Visit, ...]
    lost: tuple[int, ...]
    fewest: int
    least_l: float = 0.0

    @property
    def litres(self) -> float:
        """What is carried in all [L]."""
        return sum(visit.litres for visit in self.visits)

    @property
    def proven(self) -> bool:
        """Whether there is no plan of fewer visits."""
        return len(self.visits) == self.fewest

    @property
    def at_most_more(self) -> int:
        """How many visits more than the fewest this can be."""
        return len(self.visits) - self.fewest

    @property
    def least(self) -> bool:
        """Whether nothing less can be carried in so many visits."""
        return self.proven and self.litres <= self.least_l + _SAME_L


@dataclass(frozen=True)
class Impossible:
    """No plan keeps the promise: which trees break it, on which day, and why.

    Attributes
    ----------
    trees : tuple of int
    day : int
        The day on which the first of them would come to harm, or on which a limit does not do.
    why : str
        `days`: other days would do; `life`: not even a visit a day would; `rest`: a recovering
        tree may not be watered in time; `safety`: each alone could be kept, but together more
        weathers are lost than the safety allows; `minutes`, `litres`: the limits of a visit;
        `undecided`: nothing was found in the time given, nor shown to be impossible.
    """

    trees: tuple[int, ...]
    day: int
    why: str


def watered(case: Case, mask: Flags) -> tuple[Visit, ...]:
    """Give the visits of a table of waterings.

    Parameters
    ----------
    case : Case
    mask : bool array (n, D + 1)
        Whether a tree is watered on a day.
    """
    visits = []
    for day in np.flatnonzero(mask.any(axis=0)):
        trees = np.flatnonzero(mask[:, day])
        visits.append(Visit(int(day), tuple(map(int, trees)), float(case.litres[trees].sum()),
                            float(case.minutes[trees].sum())))
    return tuple(visits)


def lost_in(case: Case, mask: Flags) -> tuple[int, ...]:
    """Give the weathers in which a table of waterings lets some tree come to harm.

    Parameters
    ----------
    case : Case
    mask : bool array (n, D + 1)
    """
    lost = np.zeros(case.weathers, dtype=bool)
    for i in range(case.trees):
        days = [0, *map(int, np.flatnonzero(mask[i])), case.end]
        for day, until in zip(days, days[1:], strict=False):
            lost |= case.life[i, :, day] < until
    return tuple(int(w) for w in np.flatnonzero(lost))
