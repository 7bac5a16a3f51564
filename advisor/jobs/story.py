"""One tree's past and coming days, hour by hour: what its chart shows."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import advance, beginning, course_of
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.outlook import Outlook
from advisor.jobs.rests import last_hour
from advisor.jobs.sky import Sky
from advisor.jobs.summary import outlook_of


@dataclass(frozen=True, eq=False)
class Story:
    """A tree from some days ago to some days ahead."""

    model: TreeModel
    place: str
    outlook: Outlook
    rain_mm: NDArray[np.float64]  # into the pot, an hour
    waterings: tuple[datetime, ...]
    sky: Sky
    at: datetime


def story(knowledge: Knowledge, sky: Sky, label: str, at: datetime,
          past: timedelta, ahead: timedelta) -> Story:
    """Follow one tree from its potting (or the first weather) to some days ahead.

    Raises
    ------
    Refused
        The tree has no pot at that instant.
    """
    told = Told(knowledge, Almanac(sky, knowledge.site.latitude_deg), at)
    model = describe(knowledge, label, at)
    if model is None:
        raise Refused(f"tree {label}", "no pot at that time", "a tree in a pot",
                      "Enter its potting (advisor repotted), or another time.")
    point = beginning(model, told)
    start = max(sky.index(at - past), point.index)
    course = course_of(model, told, point, min(last_hour(told), sky.index(at + ahead)))
    point, _ = advance(course, point, start, keep=False)
    _, passage = advance(course, point, course.last, keep=True)
    outlook = outlook_of(model, told, course.days, passage)
    first = sky.instant(start)
    waterings = tuple(w.at for w in knowledge.waterings[label] if first <= w.at <= at)
    place = knowledge.place_of(label, at)
    return Story(model, place.name if place else "", outlook, passage.rain_mm, waterings, sky, at)
