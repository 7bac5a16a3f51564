"""One tree under the past weather of its garden, kept by somebody who comes at set hours."""

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout, members
from advisor.balance.run import Forcing, Path, Task, at_rest, run
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import DEFAULT_ROUNDS, Move
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.forcing import happening
from advisor.jobs.potting.choices import Choice
from advisor.jobs.rounds import rounds_between, season_of
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]

COUNT: Final = 8  # equally likely guesses a choice
#: Run through below of what a watering brings, over what the soil lacks [J; .1-.3].
RUN_THROUGH: Final = 0.15
NOT_FULL: Final = 0.9  # share left below which the one who comes once a day waters [J]
YEAR_H: Final = 8766  # hours of a year, on average
WETS: Final = 0.02  # rise of the share left that a watering makes at least [J]
ROOT_WORK: Final = "edges combed"


@dataclass(frozen=True, eq=False)
class Keeper:
    """Who waters a pot: in which hours of a stage, and from which share left on.

    Attributes
    ----------
    comes : (hours,) array of bool
    limit : float or None
        None: the tree's own.
    """

    comes: NDArray[np.bool_]
    limit: float | None = None


@dataclass(frozen=True, eq=False)
class Stage:
    """One tree, its garden and the past weather over it."""

    knowledge: Knowledge
    sky: Sky
    label: str
    at: datetime
    root_work: str = ROOT_WORK
    until: int | None = None  # the hour at which it ends; else after the last that is known

    @cached_property
    def hours(self) -> int:
        """Hours of the sky up to the last that is known, what was foretold apart."""
        if self.until is not None:
            return self.until
        known = np.flatnonzero(~self.sky.guessed & (self.sky.sd == 0.0))
        return int(known[-1]) + 1 if known.size else 0

    @cached_property
    def almanac(self) -> Almanac:
        """The days as plants live them, the same for all choices."""
        return Almanac(self.sky, self.knowledge.site.latitude_deg)

    @cached_property
    def hour_of_day(self) -> NDArray[np.int64]:
        """Hours since local midnight."""
        day = self.sky.day[:self.hours]
        return np.asarray(np.arange(day.size) - np.searchsorted(day, day))

    @cached_property
    def month(self) -> NDArray[np.int64]:
        """Local month of each hour, 1 to 12."""
        months = self.sky.dates.astype("datetime64[M]").astype(np.int64) % 12 + 1
        return np.asarray(months[self.sky.day[:self.hours]])

    @property
    def own_rounds(self) -> bool:
        """Whether the grower told round times; else they are those that stand for all gardens."""
        return any(self.knowledge.rounds[each.season] != each for each in DEFAULT_ROUNDS)

    @cached_property
    def by_rounds(self) -> Keeper:
        """One who comes at the garden's round times and waters at the tree's limit."""
        comes = np.zeros(self.hours, dtype=bool)
        first, last = self.sky.instant(0), self.sky.instant(self.hours)
        walked = rounds_between(self.knowledge.rounds, self.knowledge.site,
                                first - timedelta(seconds=1), last - timedelta(seconds=1))
        comes[[self.sky.index(at) for at in walked]] = True
        return Keeper(comes)

    @cached_property
    def once_a_day(self) -> Keeper:
        """One who comes each day at its season's first round and fills whatever is not full."""
        latitude_deg = self.knowledge.site.latitude_deg
        first_h = {season: min(time.fromisoformat(at).hour for at in each.times)
                   for season, each in self.knowledge.rounds.items()}
        by_day = np.array([first_h[season_of(day, latitude_deg)]
                           for day in self.sky.dates.tolist()])
        return Keeper(self.hour_of_day == by_day[self.sky.day[:self.hours]], NOT_FULL)

    @cached_property
    def warm_month(self) -> int:
        """The warmest month of the past years."""
        air = self.sky.temp_c[:self.hours]
        means = [air[self.month == m].mean() if (self.month == m).any() else -99.0
                 for m in range(1, 13)]
        return int(np.argmax(means)) + 1

    def model(self, choice: Choice, at: datetime, root_work: str = "none") -> TreeModel:
        """Put the tree into a choice from an instant on."""
        return self._told(choice, at, root_work)[1]

    def happens(self, choice: Choice, at: datetime, root_work: str,
                span: tuple[int, int]) -> tuple[TreeModel, Forcing]:
        """Give the tree in a choice, and what happens to it over a span, nothing poured."""
        knowledge, model = self._told(choice, at, root_work)
        told = Told(knowledge, self.almanac, self.sky.instant(span[0]))
        carried = np.array([0.0, 0.0, float(self.sky.temp_c[span[0]])])
        made = happening(model, told, self.almanac.days(model), span, carried).forcing
        made.hours[:, [layout.POUR, layout.FILL, layout.MAYBE]] = 0.0
        return model, replace(made, noise=np.ascontiguousarray(made.noise[:, :COUNT]),
                              coin=np.ones((len(made.coin), COUNT)), rain_mm=None)

    def _told(self, choice: Choice, at: datetime, root_work: str) -> tuple[Knowledge, TreeModel]:
        known, label = self.knowledge, self.label
        place = known.place_of(label, self.at)
        before = known.potting_of(label, self.at)
        potting = replace(choice.potting, tree=label, at=at, root_work=root_work)
        pottings = (potting,) if before is None or root_work == "none" else (
            replace(before, at=at - timedelta(days=365)), potting)
        told = replace(
            known, mixes={**known.mixes, choice.mix.name: choice.mix},
            pottings={**known.pottings, label: pottings},
            moves={**known.moves, label: (Move(label, at - timedelta(days=1),
                                               place.name),) if place else ()},
            waterings={**known.waterings, label: ()}, events={**known.events, label: tuple(
                e for e in known.events[label] if e.kind not in ("tipped", "foliage off", "gone"))})
        model = describe(told, label, at)
        assert model is not None  # it stands in the pot just told
        return told, model


def kept(model: TreeModel, happens: Forcing, keeper: Keeper, drawn: Floats) -> Path:
    """Run a pot with its keeper.

    Parameters
    ----------
    model : TreeModel
    happens : Forcing
        Over the last hours of the keeper's stage, or all.
    keeper : Keeper
    drawn : (4, m) array
        What is not known, as `members.draw` gives it.
    """
    hours = happens.hours.copy()
    hours[:, layout.MAYBE] = keeper.comes[-len(hours):]
    limit = model.bears.limit if keeper.limit is None else keeper.limit
    happens = replace(happens, hours=hours, limit=limit)
    return run(Task(model.filled.pot, drawn, at_rest(model.filled.pot, drawn.shape[1]), happens))


def drawn_of(model: TreeModel) -> Floats:
    """Draw the guesses: by the tree alone, so that choices differ by the choice."""
    return members.draw(model.seed, model.seed + 1, model.filled.prior, COUNT)


def waterings(model: TreeModel, happens: Forcing, keeper: Keeper, left: NDArray[np.float32],
              drawn: Floats) -> NDArray[np.bool_]:
    """Tell at which hours each guess was watered: (hours, members).

    A watering is a rise at a round that the rain of the hour before cannot have made.
    """
    rise = np.diff(left, axis=0, prepend=left[:1])
    rain = np.roll(happens.hours[:, layout.RAIN], 1)[:, None]
    by_rain = rain / (model.filled.pot.available_mm * drawn[1])
    return np.asarray(keeper.comes[-len(left):, None] & (rise > by_rain + WETS))


def poured_l(model: TreeModel, left: NDArray[np.float32], watered: NDArray[np.bool_],
             drawn: Floats) -> Floats:
    """Give what is poured in each hour: what the soil lacks, and what runs through, (hours,) [L].

    The mean of the guesses.
    """
    before = np.vstack([left[:1], left[:-1]])
    lacked = np.maximum(1.0 - before, 0.0) * watered * drawn[1]
    each = lacked.mean(axis=1) * model.filled.pot.available_l * (1.0 + RUN_THROUGH)
    return np.asarray(each, dtype=np.float64)
