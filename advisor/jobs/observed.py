"""What the grower read of a tree, as the balance takes it: at which hour, in which numbers."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import belief
from advisor.garden import readings as kept
from advisor.garden.records import Reading
from advisor.jobs.almanac import Told
from advisor.jobs.describe import TreeModel
from advisor.jobs.sky import HOUR_S

KINDS: Final = ("dry depth", "wetness", "feel", "lacking", "share left")
SIDES: Final = ("at", "below", "above")
HANGING: Final = timedelta(days=3)  # for which leaves seen hanging are borne in mind [J]
KEEP: Final = 40  # the last readings of which is kept what was foreseen [J]


@dataclass(frozen=True)
class Observed:
    """A reading at the start of an hour of the sky, before what is poured in it."""

    hour: int
    second: int
    reading: belief.Reading


@dataclass(frozen=True)
class Seen:
    """What a reading told, and when [s since 1970 UTC]."""

    second: int
    told: belief.Told


def observed(model: TreeModel, told: Told) -> tuple[Observed, ...]:
    """Give the readings of a tree's present potting that say how wet it is, by hour.

    A reading counts at the start of its hour; where the tree was watered before it within the
    hour, at the end. Weights before the first full one, the full ones themselves and those
    that nothing explained say nothing.
    """
    found = (Observed(_hour(reading, model, told), int(reading.at.timestamp()), number)
             for reading, number in _numbers(model, told))
    return tuple(sorted(found, key=lambda each: (each.hour, each.second, each.reading.id)))


def _numbers(model: TreeModel, told: Told) -> Iterator[tuple[Reading, belief.Reading]]:
    label, since = model.label, model.potting.at
    readings = told.knowledge.readings[label]
    ids = dict(zip(map(id, readings), told.knowledge.row_ids[label].readings, strict=True))
    weighed = {id(each.reading): each for each in
               kept.lacking(readings, told.knowledge.waterings[label], since)}
    for reading in readings:
        if not since <= reading.at <= told.at or reading.note.startswith(kept.UNEXPLAINED):
            continue
        number = _number(reading, weighed.get(id(reading)), model.filled.pot.depth_mm,
                         ids[id(reading)])
        if number is not None:
            yield reading, number


def _number(reading: Reading, weighed: kept.Weighed | None, deepest_mm: float,
            number: int) -> belief.Reading | None:
    """Give a reading in the filter's numbers; None where it says nothing of the water."""
    sd, value = kept.spread_of(reading), reading.value
    if reading.kind == "dry depth" and value is not None and sd is not None:
        return belief.Reading("dry depth", min(value, deepest_mm), sd, None, number)
    if reading.kind == "feel":
        return belief.felt(reading.word, min(reading.depth_mm or 0.0, deepest_mm), number)
    if reading.kind == "lift":
        return belief.lifted(reading.word, number)
    if reading.kind == "run-off" and value:
        return belief.poured(value, reading.word == "ran", number)
    if weighed is None or weighed.full_at == reading.at or sd is None:
        return None
    return belief.Reading("lacking", weighed.lacking_l, math.sqrt(2.0) * sd, None, number)


def _hour(reading: Reading, model: TreeModel, told: Told) -> int:
    hour = told.sky.index(reading.at)
    began = told.sky.instant(hour)
    watered = any(began <= each.at < reading.at
                  for each in told.knowledge.waterings[model.label])
    return hour + 1 if watered else hour


def read_since_full(model: TreeModel, told: Told) -> bool:
    """Whether the pot's water was read since it was last watered until it ran."""
    full = [each.at for each in told.knowledge.waterings[model.label]
            if each.until_ran and model.potting.at <= each.at <= told.at]
    since = max(full, default=model.potting.at)
    return any(each.second > since.timestamp() for each in observed(model, told))


def full_kg(model: TreeModel, told: Told) -> float:
    """Give what the pot weighs when full, as it was weighed last [kg]; NaN where it never was."""
    label, at = model.label, told.at
    readings = [each for each in told.knowledge.readings[label] if each.at <= at]
    found = kept.reference_weights(readings, told.knowledge.waterings[label], model.potting.at)
    return found[-1][1] if found else math.nan


def hanging(model: TreeModel, told: Told) -> bool:
    """Whether leaves were seen hanging or dropping lately."""
    return any(each.kind == "leaves" and told.at - HANGING <= each.at <= told.at
               for each in told.knowledge.readings[model.label])


# --- kept beside a belief ------------------------------------------------------------------


def packed(seen: Sequence[Seen]) -> NDArray[np.float64]:
    """Give what readings told as rows of numbers."""
    return np.array([
        [each.second, t.reading.id, KINDS.index(t.reading.kind), t.reading.value, t.reading.sd,
         np.nan if t.reading.depth_mm is None else t.reading.depth_mm,
         SIDES.index(t.reading.side), t.low, t.mid, t.high, t.used, t.misfit, t.sd_off]
        for each in seen for t in (each.told,)], dtype=float).reshape(-1, 13)


def unpacked(rows: NDArray[Any]) -> tuple[Seen, ...]:
    """Give back what `packed` made rows of."""
    def one(row: Sequence[float]) -> Seen:
        second, number, kind, value, sd, depth, side, low, mid, high, used, misfit, off = row
        reading = belief.Reading(KINDS[int(kind)], value, sd, None if math.isnan(depth) else depth,
                                 int(number), SIDES[int(side)])
        return Seen(int(second), belief.Told(reading, low, mid, high, bool(used), misfit, off))

    return tuple(one(row) for row in rows.tolist())


def last_hours(seen: Sequence[Seen], second: int) -> set[int]:
    """Give the numbers of the readings taken in less than a day before an instant, or later."""
    return {each.told.reading.id for each in seen if each.second >= second - 24 * HOUR_S}
