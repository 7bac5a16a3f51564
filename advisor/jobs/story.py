"""One tree's past and coming days, hour by hour: what its chart shows."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from advisor.garden.knowledge import Knowledge
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import advance, beginning, course_of
from advisor.jobs.describe import TreeModel
from advisor.jobs.followed import Followed, Mark, marks, model_of
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
    marks: tuple[Mark, ...] = ()


def story(knowledge: Knowledge, sky: Sky, label: str, at: datetime,
          past: timedelta, ahead: timedelta) -> Story:
    """Follow one tree from its potting (or the first weather) to some days ahead.

    Raises
    ------
    Refused
        The tree has no pot at that instant.
    """
    told = Told(knowledge, Almanac(sky, knowledge.site.latitude_deg), at)
    model = model_of(knowledge, label, at)
    point = beginning(model, told)
    start = max(sky.index(at - past), point.index)
    course = course_of(model, told, point, min(last_hour(told), sky.index(at + ahead)))
    point, _ = advance(course, point, start, keep=False)
    end, passage = advance(course, point, course.last, keep=True)
    outlook = outlook_of(model, told, course.days, passage)
    return _story(model, told, outlook, passage.rain_mm, marks(model, told, end))


def story_of(followed: Followed, past: timedelta, ahead: timedelta) -> Story:
    """Give the story of a tree that was followed, from some days ago to some days ahead."""
    model, told, whole = followed.model, followed.told, followed.past.then(followed.coming)
    first = max(told.sky.index(told.at - past), whole.first)
    part = slice(first - whole.first, max(told.sky.index(told.at + ahead), first) - whole.first)
    outlook = replace(followed.outlook, first=first, rows=followed.outlook.rows[:, part])
    return _story(model, told, outlook, whole.rain_mm[part], marks(model, told, followed.now))


def _story(model: TreeModel, told: Told, outlook: Outlook, rain_mm: NDArray[np.float64],
           read: tuple[Mark, ...]) -> Story:
    knowledge, label, first = told.knowledge, model.label, told.sky.instant(outlook.first)
    waterings = tuple(w.at for w in knowledge.waterings[label] if first <= w.at <= told.at)
    place = knowledge.place_of(label, told.at)
    return Story(model, place.name if place else "", outlook, rain_mm, waterings, told.sky,
                 told.at, read)
