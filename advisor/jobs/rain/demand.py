"""What the pots of a garden take from the butt, day by day, and what rain brings into it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from advisor.balance.members import MEMBERS, shares
from advisor.jobs.describe import describe
from advisor.jobs.named import is_small
from advisor.jobs.potting.choices import Choice
from advisor.jobs.potting.past_weather import Stage, drawn_of, kept, poured_l, waterings
from advisor.jobs.rain.butts import Roof, caught_l, turn
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]

@dataclass(frozen=True, eq=False)
class Takes:
    """What one tree takes: its turn at the butt, and litres a local day of the sky."""

    label: str
    turn: int
    litres: Floats


def taken(stage: Stage, span: tuple[int, int]) -> Iterator[Takes]:
    """Give what each tree takes over a span of hours, watered when it reaches its limit.

    Parameters
    ----------
    stage : Stage
        The garden under its sky, with `until` at the end of the span; its label counts for
        nothing.
    span : tuple of int
        First hour and the one after the last.

    Yields
    ------
    Takes
        The mean of what is likely; days of the sky outside the span take nothing.
    """
    known = stage.knowledge
    for label in known.trees:
        model = describe(known, label, stage.at)
        if model is None:
            continue
        here = replace(stage, label=label)
        choice = Choice("as now", model.potting, known.mixes[model.potting.mix])
        yield Takes(label, turn(model.group.name, is_small(model.potting, model.filled.soil_l)),
                    _litres(here, choice, span))


def _litres(stage: Stage, choice: Choice, span: tuple[int, int]) -> Floats:
    model, happens = stage.happens(choice, stage.sky.instant(span[0]), "none", span)
    drawn = drawn_of(model)
    path = kept(model, happens, stage.by_rounds, drawn)
    marks = waterings(model, happens, stage.by_rounds, path.left, drawn)
    days = np.bincount(stage.sky.day[span[0]:span[1]],
                       poured_l(model, path.left, marks, drawn), stage.sky.dates.size)
    return np.asarray(days, dtype=np.float64)


def daily_rain_mm(sky: Sky) -> Floats:
    """Give the rain of every local day in every way it may go: (ways, days) [mm]."""
    days = np.asarray(np.bincount(sky.day, sky.rain_mm, sky.dates.size), dtype=np.float64)
    rain = np.repeat(days[None, :], MEMBERS, axis=0)
    if sky.ways is None or not len(sky.ways.rain_mm):
        return rain
    first = sky.ways.first
    day = sky.day[first:first + len(sky.ways.rain_mm)]
    told = np.bincount(day, sky.rain_mm[first:first + day.size], sky.dates.size)
    ways = np.zeros_like(rain)
    np.add.at(ways.T, day, sky.ways.rain_mm[:day.size])
    return np.asarray(rain - told + ways)


def inflow_l(roofs: list[Roof], rain_mm: Floats) -> Floats:
    """Give what roofs bring in every way, each with its own place in the coefficients' range."""
    along = shares(1, 0.0, 1.0, len(rain_mm))
    return np.array([caught_l(roofs, rain, each)
                     for rain, each in zip(rain_mm, along, strict=True)])
