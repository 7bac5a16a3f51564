"""One tree under the past weather of its garden, kept by somebody who comes at set hours."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout, members
from advisor.balance.run import Forcing, Path, Task, at_rest, run
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Move
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.choices import Choice
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.forcing import happening
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]

COUNT: Final = 8  # equally likely guesses a choice
MORNING_H, EVENING_H = 7, 19
NOT_FULL: Final = 0.9  # share left below which the one who comes once a day waters [J]
YEAR_H: Final = 8766  # hours of a year, on average
WETS: Final = 0.02  # rise of the share left that a watering makes at least [J]
ROOT_WORK: Final = "edges combed"


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


def kept(stage: Stage, model: TreeModel, happens: Forcing, at_h: Sequence[int],
         drawn: Floats) -> Path:
    """Run a pot whose keeper comes at some hours of each day and waters it at its limit.

    Parameters
    ----------
    stage : Stage
    model : TreeModel
    happens : Forcing
        Over the first hours of the stage's sky, or the last.
    at_h : sequence of int
        Hours of the day.
    drawn : (4, m) array
        What is not known, as `members.draw` gives it.
    """
    hours = happens.hours.copy()
    hours[:, layout.MAYBE] = np.isin(stage.hour_of_day[-len(hours):], at_h)
    limit = model.bears.limit if EVENING_H in at_h else NOT_FULL
    happens = replace(happens, hours=hours, limit=limit)
    return run(Task(model.filled.pot, drawn, at_rest(model.filled.pot, drawn.shape[1]), happens))


def drawn_of(model: TreeModel) -> Floats:
    """Draw the guesses: by the tree alone, so that choices differ by the choice."""
    return members.draw(model.seed, model.seed + 1, model.filled.prior, COUNT)


def waterings(stage: Stage, model: TreeModel, happens: Forcing, left: NDArray[np.float32],
              drawn: Floats) -> NDArray[np.bool_]:
    """Tell at which hours each guess was watered: (hours, members).

    A watering is a rise at a round that the rain of the hour before cannot have made.
    """
    round_h = np.isin(stage.hour_of_day[-len(left):], (MORNING_H, EVENING_H))
    rise = np.diff(left, axis=0, prepend=left[:1])
    rain = np.roll(happens.hours[:, layout.RAIN], 1)[:, None]
    by_rain = rain / (model.filled.pot.available_mm * drawn[1])
    return np.asarray(round_h[:, None] & (rise > by_rain + WETS))
