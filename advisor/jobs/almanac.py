"""The days of a garden as plants live them: season, warmth since repotting, foliage taken off."""

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from advisor.demand import plant, season
from advisor.garden.knowledge import Knowledge, local_days
from advisor.jobs.describe import TreeModel
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]
Course = tuple[Floats, Floats, NDArray[np.bool_]]

SEEN: Final = ("bud-break", "full leaf", "leaf-fall")  # they change what is known of days before
FIRST_WEEK_DAYS: Final = 7  # stand for the days before the weather begins [J]
LEAFY: Final = 0.15  # share of full leaf from which frost hurts a deciduous tree [J]
SOFT_DAYS: Final = 42.0  # for which an evergreen's new growth is soft [J; 28-56]
MOST_DAYS_BEFORE: Final = 3650  # of warmth guessed; any tree has recovered by then


@dataclass(frozen=True, eq=False)
class Days:
    """What changes from day to day for one tree; arrays (days,) along the sky's dates.

    Attributes
    ----------
    demand : array
        Kcb · cold · recovery · foliage [-].
    leaf : array
        Share of full leaf [-].
    tender : array
        Whether frost would hurt: leaves of a deciduous tree, soft growth of an evergreen.
    outside : array
        Share of the uptake outside the old ball [-].
    """

    demand: Floats
    leaf: Floats
    tender: NDArray[np.bool_]
    outside: Floats


@dataclass(eq=False)
class Almanac:
    """The sky's days as plants live them; what trees share is worked out once."""

    sky: Sky
    latitude_deg: float
    _shared: dict[Any, Course] = field(default_factory=dict, repr=False)
    _warmth: dict[Any, Floats] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, sky: Sky, latitude_deg: float) -> "Almanac":
        """Give the almanac of a sky, made once."""
        if latitude_deg not in sky.almanacs:
            sky.almanacs[latitude_deg] = cls(sky, latitude_deg)
        almanac: Almanac = sky.almanacs[latitude_deg]
        return almanac

    def __post_init__(self) -> None:
        """Work out what all trees share."""
        self.cold = season.cold_factor(self.sky.tmean_c)
        self.growing = season.growing(self.sky.dates, self.latitude_deg)

    def course(self, model: TreeModel) -> Course:
        """Give Kcb, the share of full leaf, and whether frost would hurt, a day."""
        seen = [list(model.seen(kind, self.sky.zone)) or None for kind in SEEN]
        key = (model.group.name, str(seen))
        if key not in self._shared:
            told = (model.group, self.sky.dates, self.sky.tmean_c, self.latitude_deg,
                    season.LeafDates(*seen))
            leaf, kcb = season.leaf_share(*told), season.kcb(*told)
            tender = leaf > LEAFY
            if model.group.evergreen:
                since = season.days_since_bud_break(*told)
                tender = (since >= 0.0) & (since < SOFT_DAYS)
            self._shared[key] = kcb, leaf, tender
        return self._shared[key]

    def days(self, model: TreeModel) -> Days:
        """Give everything that changes from day to day for one tree."""
        kcb, leaf, tender = self.course(model)
        lost = plant.ROOT_WORK[model.potting.root_work]
        _, recovery = self.recovery(model)
        outside = plant.outside_ball_uptake(1.0 - model.filled.ball_share, recovery,
                                            plant.recovery_start(lost))
        return Days(kcb * self.cold * recovery * self._foliage(model), leaf, tender, outside)

    def recovery(self, model: TreeModel) -> tuple[Floats, Floats]:
        """Give degree-days of root growth since repotting and uptake against before, a day."""
        warmth = self._warmth_since(model.potting.at)
        scale = plant.COLLECTED_CD if model.potting.collected else plant.RECOVERY_CD
        lost = plant.ROOT_WORK[model.potting.root_work]
        return warmth, plant.recovery_factor(lost, warmth, scale)

    def _warmth_since(self, at: datetime) -> Floats:
        """Degree-days of root growth since an instant; days before the sky as its first week."""
        start = np.datetime64(at.astimezone(self.sky.zone).date(), "D")
        if start not in self._warmth:
            since = self.growing & (self.sky.dates >= start)
            self._warmth[start] = (plant.degree_days(self.sky.tmean_c, since)
                                   + self._warmth_before(start))
        return self._warmth[start]

    def _warmth_before(self, start: np.datetime64) -> float:
        """Degree-days from a day to the sky's first, should it lie before it."""
        before = int((self.sky.dates[0] - start) / np.timedelta64(1, "D"))
        if before <= 0:
            return 0.0
        missing = start + np.arange(min(before, MOST_DAYS_BEFORE))
        like = max(float(self.sky.tmean_c[:FIRST_WEEK_DAYS].mean()) - plant.RECOVERY_BASE_C, 0.0)
        return like * float(season.growing(missing, self.latitude_deg).sum())

    def _foliage(self, model: TreeModel) -> Floats:
        """Give the factor of foliage taken off, a day; each time holds until the next."""
        factor = np.ones(self.sky.dates.size)
        for event in model.events:
            if event.kind == "foliage off":
                day = np.datetime64(event.at.astimezone(self.sky.zone).date(), "D")
                since = self.sky.dates >= day
                back = plant.foliage_factor(event.amount, np.cumsum(self.growing & since))
                factor = np.where(since, back, factor)
        return factor


@dataclass(frozen=True, eq=False)
class Told:
    """What carrying a tree on rests on beside its own model."""

    knowledge: Knowledge
    almanac: Almanac
    at: datetime  # entries up to here count; unrecorded days lie before its local day

    @property
    def sky(self) -> Sky:
        """The weather."""
        return self.almanac.sky

    @cached_property
    def recorded(self) -> tuple[date, ...]:
        """The local days on which the grower told anything of any tree, in order."""
        times = self.knowledge.entry_times
        return local_days(times[:bisect_right(times, self.at)], self.sky.zone)

    @cached_property
    def rounds_told(self) -> str:
        """The rounds of all seasons, as a digest takes them."""
        return str(sorted(self.knowledge.rounds.items()))
