"""How well the advice of many diaries held: the numbers of the table."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from twins.keeper import Diary

CASES = 400  # fewest in a tenth of the chances that is judged


@dataclass(frozen=True)
class Bar:
    """What is promised: a median, a share or a difference that stays within two ends."""

    name: str
    low: float
    high: float
    unit: str = ""


def of(diaries: Sequence[Diary], tool: str) -> list[Diary]:
    return [diary for diary in diaries if diary.tool == tool]


def thirst_off(diaries: Sequence[Diary], after: int) -> np.ndarray:
    """How far off each tree's thirst was after so many readings, as a share of the truth."""
    return np.array([abs(np.expm1(d.thirst[after - 1])) for d in diaries
                     if len(d.thirst) >= after])


def target_off_h(diaries: Sequence[Diary]) -> np.ndarray:
    """How far off the hour of reaching target was, foreseen two days ahead [h]."""
    return np.abs([hours for d in diaries for hours in d.target_h])


def held(diaries: Sequence[Diary], which: int = 1) -> float:
    """How often the 90 % interval held the truth: 0 share left, 1 litres available."""
    return float(np.mean([inside[which] for d in diaries for inside in d.inside]))


def tenths(diaries: Sequence[Diary]) -> list[tuple[int, float, float]]:
    """Cases, chance said and share that came so, for each tenth of the chances said."""
    said, came = np.array([each for d in diaries for each in d.chance]).T
    tenth = np.minimum((10.0 * said + 1e-9).astype(int), 9)
    return [(int((tenth == k).sum()), float(said[tenth == k].mean()),
             float(came[tenth == k].mean())) for k in range(10) if (tenth == k).any()]


def worst_tenth(diaries: Sequence[Diary]) -> float:
    """Give the largest difference of said and came among tenths with enough cases."""
    return max(abs(said - came) for cases, said, came in tenths(diaries) if cases >= CASES)


def unused(diaries: Sequence[Diary]) -> float:
    """Share of readings that were doubted, all of them sound."""
    return float(np.mean([not told.used for d in diaries for told in d.told]))


def _median(values: np.ndarray) -> float:
    return float(np.median(values))


Row = tuple[Bar, Callable[[Sequence[Diary]], float]]

#: Promises for trees drawn from the prior, for those with thirst 2.5 times off, and for those
#: from twice the prior's spread.
DRAWN: Sequence[Row] = (
    (Bar("interval holds the litres available", 0.85, 0.95), held),
    (Bar("interval holds the share left", 0.85, 0.95), lambda all_: held(all_, 0)),
    (Bar("thirst off, five weighings", 0.0, 0.08),
     lambda all_: _median(thirst_off(of(all_, "scale"), 5))),
    (Bar("thirst off, five skewers", 0.0, 0.18),
     lambda all_: _median(thirst_off(of(all_, "skewer"), 5))),
    (Bar("hour of target off, skewers", 0.0, 12.0, "h"),
     lambda all_: _median(target_off_h(of(all_, "skewer")))),
    (Bar("hour of target off, weighings", 0.0, 30.0, "h"),
     lambda all_: _median(target_off_h(of(all_, "scale")))),
    (Bar("chance past limit off, worst tenth", 0.0, 0.10), worst_tenth),
)
WRONG: Sequence[Row] = (
    (Bar("thirst off, ten weighings", 0.0, 0.15),
     lambda all_: _median(thirst_off(of(all_, "scale"), 10))),
    (Bar("thirst off, ten skewers", 0.0, 0.30),
     lambda all_: _median(thirst_off(of(all_, "skewer"), 10))),
    (Bar("interval holds the litres available", 0.0, 1.0), held),
)
WIDE: Sequence[Row] = (
    (Bar("interval holds the litres available", 0.55, 1.0), held),
    (Bar("interval holds the share left", 0.55, 1.0), lambda all_: held(all_, 0)),
)
#: Another model: as it comes, no promise.
OTHER: Sequence[Row] = (
    (Bar("interval holds the litres available", 0.0, 1.0), held),
    (Bar("interval holds the share left", 0.0, 1.0), lambda all_: held(all_, 0)),
    (Bar("thirst off, five weighings", 0.0, np.inf),
     lambda all_: _median(thirst_off(of(all_, "scale"), 5))),
    (Bar("thirst off, five skewers", 0.0, np.inf),
     lambda all_: _median(thirst_off(of(all_, "skewer"), 5))),
)
