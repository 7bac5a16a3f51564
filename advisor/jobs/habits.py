"""What readings told of a tree: how much it drinks and what it holds, and how well it is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import belief
from advisor.garden.derived import Belief
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Place, Reading, Tree
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import Point, advance, beginning, course_of, drawn_members, from_belief
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.judge import Spread
from advisor.jobs.morning import Beliefs, holding, side_by_side
from advisor.jobs.observed import Seen, observed
from advisor.jobs.sky import Sky
from advisor.jobs.summary import QUANTILES

Floats = NDArray[np.float64]

LAST: Final = 10  # readings of which is shown how they were foreseen
NINE_IN_TEN: Final = 1.645  # standard deviations between which nine in ten lie [C]
SECOND: Final = timedelta(seconds=1)
THIRST, HOLDS = 0, 1  # rows of what is believed


@dataclass(frozen=True)
class Foreseen:
    """A reading beside what was foreseen of it, in the reading's own numbers.

    Attributes
    ----------
    reading : Reading
        As it was entered.
    value : float
        What it was taken as: dry depth [mm], litres below full [L], share left [-], or how wet
        the soil is over what reads dry [-].
    foreseen : Spread
        Of that.
    sd_off : float
        How far off it was, in standard deviations of reading and foresight together.
    used : bool
        Whether it counts; one too far off waits for a second.
    """

    reading: Reading
    value: float
    foreseen: Spread
    sd_off: float
    used: bool

    @property
    def within(self) -> bool:
        """Whether it lay where nine readings in ten should."""
        return abs(self.sd_off) <= NINE_IN_TEN


@dataclass(frozen=True)
class Habits:
    """One tree's ways as they are known.

    Attributes
    ----------
    tree : Tree
    place : Place or None
    drinks, holds : Spread
        Beside what is assumed of its kind, crown and pot [-].
    drinks_assumed, holds_assumed : Spread
        The same before anything was read.
    holds_l : Spread
        Water for the tree in the full pot [L].
    readings : int
        Of this pot that tell of its water.
    readings_before : int
        Of its earlier pots: what it drinks rests on them too.
    doubted : int
        Of the last readings, those that do not count.
    last : tuple of Foreseen
        The last readings, the newest last.
    """

    tree: Tree
    place: Place | None
    drinks: Spread
    drinks_assumed: Spread
    holds: Spread
    holds_assumed: Spread
    holds_l: Spread
    readings: int
    readings_before: int
    doubted: int
    last: tuple[Foreseen, ...]


def habits(knowledge: Knowledge, sky: Sky, at: datetime, labels: Sequence[str],
           beliefs: Beliefs) -> list[Habits]:
    """Give what is known of some trees in their pots; those without a pot are left out.

    Parameters
    ----------
    knowledge : Knowledge
        All of it.
    sky : Sky
    at : datetime
        Now.
    labels : sequence of str
    beliefs : callable
        Gives what is stored of a tree: gone on from where it still holds.
    """
    told = Told(knowledge, Almanac(sky, knowledge.site.latitude_deg), at)
    models = [model for label in labels
              if (model := describe(knowledge, label, at)) is not None]
    kept = {model.label: holding(model.label, told, beliefs) for model in models}
    return side_by_side(lambda model: _habits(model, told, _now(model, told, kept[model.label])),
                        models)


def _now(model: TreeModel, told: Told, kept: Belief | None) -> Point:
    """Carry a tree on to now from what is stored of it."""
    start = from_belief(kept, told) if kept else beginning(model, told)
    hour = min(max(told.sky.index(told.at), start.index), told.sky.hours)
    course = course_of(model, told, start, hour)
    return advance(course, start, hour, keep=False, told_to=told.at)[0]


def _habits(model: TreeModel, told: Told, point: Point) -> Habits:
    drawn, now = drawn_members(model), point.members
    holds = _spread(now[HOLDS])
    full_l = model.filled.pot.available_l
    return Habits(
        tree=model.tree, place=told.knowledge.place_of(model.label, told.at),
        drinks=_spread(now[THIRST]), drinks_assumed=_spread(drawn[THIRST]),
        holds=holds, holds_assumed=_spread(drawn[HOLDS]),
        holds_l=Spread(*(full_l * each for each in (holds.low, holds.mid, holds.high))),
        readings=len(observed(model, told)), readings_before=_before(model, told),
        doubted=sum(not each.told.used for each in point.seen),
        last=tuple(_foreseen(model, told, point.seen[-LAST:])),
    )


def _spread(values: Floats) -> Spread:
    return Spread(*(float(each) for each in np.quantile(values, QUANTILES)))


def _before(model: TreeModel, told: Told) -> int:
    """Count the readings of earlier pots that tell of water."""
    pottings = told.knowledge.pottings[model.label]
    ends = [potting.at - SECOND for potting in pottings[1:] if potting.at <= model.potting.at]
    then = (describe(told.knowledge, model.label, end) for end in ends)
    return sum(len(observed(each, Told(told.knowledge, told.almanac, end)))
               for each, end in zip(then, ends, strict=True) if each is not None)


def _foreseen(model: TreeModel, told: Told, seen: Sequence[Seen]) -> list[Foreseen]:
    """Put what readings told beside the readings as they were entered."""
    ids = told.knowledge.row_ids[model.label].readings
    entered = dict(zip(ids, told.knowledge.readings[model.label], strict=True))
    return [_of(entered[each.told.reading.id], each.told) for each in seen]


def _of(reading: Reading, told: belief.Told) -> Foreseen:
    return Foreseen(reading, told.reading.value, Spread(told.low, told.mid, told.high),
                    told.sd_off, told.used)
