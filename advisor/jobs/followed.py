"""One tree followed from its potting to the end of what is foreseen, now apart."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Literal

import numpy as np

from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import Course, Point, advance, beginning, course_of
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.observed import observed
from advisor.jobs.outlook import Outlook
from advisor.jobs.rests import last_hour
from advisor.jobs.sky import Sky
from advisor.jobs.summary import Passage, outlook_of

Where = Literal["dry depth", "left", "feel"]


@dataclass(frozen=True, eq=False)
class Followed:
    """A tree since its potting, or since weather began: what came, now, and what is coming."""

    model: TreeModel
    told: Told
    course: Course
    now: Point
    past: Passage
    coming: Passage

    @cached_property
    def outlook(self) -> Outlook:
        """Give all its hours summed up."""
        return outlook_of(self.model, self.told, self.course.days, self.past.then(self.coming))

    def at_hour(self, hour: int) -> Point:
        """Give the point of an hour to come, nothing poured."""
        return advance(self.course, self.now, hour, keep=False)[0]


@dataclass(frozen=True)
class Mark:
    """A reading as a point of a chart.

    Attributes
    ----------
    at : datetime
    where : str
        "dry depth" [mm], "left" (share of available water [-]), or "feel" at a depth [mm].
    value, sd : float
        In that unit; a depth that was felt has none.
    word : str
        What was felt.
    used : bool
        Whether it counts, or is doubted.
    """

    at: datetime
    where: Where
    value: float
    sd: float = 0.0
    word: str = ""
    used: bool = True


def model_of(knowledge: Knowledge, label: str, at: datetime) -> TreeModel:
    """Describe a tree in its pot.

    Raises
    ------
    Refused
        It has no pot at that instant.
    """
    model = describe(knowledge, label, at)
    if model is None:
        raise Refused(f"tree {label}", "no pot at that time", "a tree in a pot",
                      "Enter its potting (advisor repotted), or another time.")
    return model


def follow(knowledge: Knowledge, sky: Sky, label: str, at: datetime) -> Followed:
    """Follow a tree from its potting to the end of what is foreseen.

    Raises
    ------
    Refused
        It has no pot at that instant.
    """
    told = Told(knowledge, Almanac(sky, knowledge.site.latitude_deg), at)
    model = model_of(knowledge, label, at)
    point = beginning(model, told)
    course = course_of(model, told, point, last_hour(told))
    hour = min(max(sky.index(at), point.index), course.last)
    now, past = advance(course, point, hour, keep=True, told_to=at)
    _, coming = advance(course, now, course.last, keep=True)
    return Followed(model, told, course, now, past, coming)


def marks(model: TreeModel, told: Told, point: Point) -> tuple[Mark, ...]:
    """Give the readings of a potting up to a point that a chart can show.

    Parameters
    ----------
    model : TreeModel
    told : Told
    point : Point
        With what the last readings told, and what the pot is believed to hold by then.
    """
    holds_l = model.filled.pot.available_l * float(np.median(point.members[1]))
    doubted = {each.told.reading.id for each in point.seen if not each.told.used}
    words = {number: reading.word for reading, number in zip(
        told.knowledge.readings[model.label],
        told.knowledge.row_ids[model.label].readings, strict=True)}
    found = []
    for each in observed(model, told):
        read, at = each.reading, datetime.fromtimestamp(each.second, told.at.tzinfo)
        used = read.id not in doubted
        if read.kind == "dry depth":
            found.append(Mark(at, "dry depth", read.value, read.sd, used=used))
        elif read.kind == "feel":
            found.append(Mark(at, "feel", read.depth_mm or 0.0, word=words[read.id], used=used))
        elif read.kind == "lacking" and read.side == "at":
            found.append(Mark(at, "left", 1.0 - read.value / holds_l, read.sd / holds_l,
                              used=used))
    return tuple(found)
