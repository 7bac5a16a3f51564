"""An absence: what is asked, how each tree is left, and the visits that keep them all."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.garden.derived import Belief
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import WEEKDAYS
from advisor.jobs.almanac import Told
from advisor.jobs.away.lives import Kept, Lives, Span, left_behind, litres, lives
from advisor.jobs.away.plan_case import Case, Limits, Plan
from advisor.jobs.carry import Point, advance, beginning, course_of, from_belief
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.morning import Beliefs, holding, side_by_side
from advisor.jobs.rounds import rounds_between

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_DAYS: Final = 120  # of an absence: the limit told in the refusal
LEAVES: Final = time(7)  # where no round is walked on the day of leaving
#: What a visit takes [min] [J]: a pot (pour, wait, once more, tick), a can filled and carried.
POT_MIN, CAN_MIN = 1.5, 3.0
CAN_L: Final = 10.0  # a common can [common practice]
SAFETY: Final = 0.95  # where no other is asked [J]
TREES_AT_ONCE: Final = 8
APART_H: Final = 6  # between leaving and a first visit on the same day [h] [J]


@dataclass(frozen=True)
class Ask:
    """What is asked of a helper.

    Attributes
    ----------
    start, until : date
        First and last day of the absence, local.
    weekdays : tuple of str
        On which somebody can come.
    not_on : tuple of date
        On which nobody can.
    visit_time : time
    limits : Limits
    can_l : float
        What the can holds [L].
    safety : float
    """

    start: date
    until: date
    weekdays: tuple[str, ...] = WEEKDAYS
    not_on: tuple[date, ...] = ()
    visit_time: time = time(19)
    limits: Limits = Limits()
    can_l: float = CAN_L
    safety: float = SAFETY

    @property
    def end(self) -> int:
        """The turn of the return: 0 is the departure, 1 the visit on that same day."""
        return (self.until - self.start).days + 1

    def date(self, turn: int) -> date:
        """Give the local day of a turn."""
        return self.start + timedelta(days=max(turn - 1, 0))

    def visit_at(self, turn: int, zone: ZoneInfo) -> datetime:
        """Give the instant of a visit."""
        return datetime.combine(self.date(turn), self.visit_time, zone).astimezone(UTC)

    def allowed(self, first: int = 1) -> Flags:
        """Tell at which turns, the first that is possible on, somebody can come: (D + 1,)."""
        turns = np.zeros(self.end + 1, dtype=bool)
        for turn in range(first, self.end):
            on = self.date(turn)
            turns[turn] = WEEKDAYS[on.weekday()] in self.weekdays and on not in self.not_on
        return turns


def check(ask: Ask, today: date) -> None:
    """Refuse what cannot be asked.

    Raises
    ------
    Refused
        Days before today or reversed, too many of them, nobody who comes, a can of nothing.
    """
    if ask.start < today:
        raise Refused("--from", f"{ask.start:%d %B %Y}", f"today, {today:%d %B %Y}, or later",
                      "Give the day on which you leave.")
    if ask.until <= ask.start:
        raise Refused("--until", f"{ask.until:%d %B %Y}", f"a day after {ask.start:%d %B %Y}",
                      "Give the day on which you are back.")
    days = (ask.until - ask.start).days
    if days > MOST_DAYS:
        raise Refused("absence", f"{days} days", f"at most {MOST_DAYS} days",
                      "Plan it in parts.")
    if not ask.can_l > 0.0:
        raise Refused("--can", f"{ask.can_l:g} L", "above 0 L", "Give what the can holds.")
    if not 0.0 < ask.safety <= 1.0:
        raise Refused("--safety", f"{ask.safety:g}", "above 0, up to 1", "Give a share, as 0.95.")
    if not ask.allowed().any():
        raise Refused("days on which somebody can come",
                      f"none from {ask.start:%d %B} to before {ask.until:%d %B %Y}",
                      "at least one", "Change --visits-on or --not-on.")


def leaving(ask: Ask, knowledge: Knowledge, now: datetime) -> datetime:
    """Give when the grower leaves: after the first round of the day, or now where that is past."""
    zone = knowledge.site.zone
    midnight = datetime.combine(ask.start, time(0), zone).astimezone(UTC)
    rounds = rounds_between(knowledge.rounds, knowledge.site, midnight - timedelta(seconds=1),
                            midnight + timedelta(hours=18))
    at = rounds[0] if rounds else datetime.combine(ask.start, LEAVES, zone).astimezone(UTC)
    return max(at, now)


def span_of(ask: Ask, told: Told, now: datetime, waters: bool = True) -> Span:
    """Give the absence in hours of the sky.

    Parameters
    ----------
    ask : Ask
    told : Told
    now : datetime
    waters : bool
        Whether the grower is still there.
    """
    sky, knowledge = told.sky, told.knowledge
    leaves = leaving(ask, knowledge, now) if waters else now
    start = sky.index(leaves)
    visits = [sky.index(ask.visit_at(turn, sky.zone)) for turn in range(1, ask.end + 1)]
    at_h = np.maximum.accumulate(np.array([start, max(visits[0], start + 1), *visits[1:]]))
    rounds = rounds_between(knowledge.rounds, knowledge.site, now, leaves - timedelta(hours=1))
    return Span(told, at_h.astype(np.int64), tuple(sky.index(at) for at in rounds), waters)


@dataclass(frozen=True, eq=False)
class Left:
    """The garden as it is left.

    Attributes
    ----------
    ask : Ask
    span : Span
    kept : tuple of Kept
        In walking order.
    lives : tuple of Lives
    """

    ask: Ask
    span: Span
    kept: tuple[Kept, ...]
    lives: tuple[Lives, ...]

    @property
    def first(self) -> int:
        """The first turn with a visit: some hours after a departure, or yet to come."""
        told, visit = self.span.told, self.ask.visit_at(1, self.span.told.sky.zone)
        if not self.span.waters:
            return 1 if visit > told.at else 2
        start = told.sky.instant(int(self.span.at_h[0]))
        return 1 if visit - start >= timedelta(hours=APART_H) else 2

    @property
    def labels(self) -> list[str]:
        """The trees, in walking order."""
        return [each.label for each in self.kept]

    def case(self) -> Case:
        """Give what a plan is made for: a watering takes as much as the driest pot would."""
        most = np.array([litres(each.pot, each.model.bears.harm) for each in self.kept])
        return Case(np.stack([each.life for each in self.lives]),
                    np.stack([each.ready for each in self.lives]), most,
                    POT_MIN + CAN_MIN * most / self.ask.can_l,
                    self.ask.allowed(self.first),
                    self.ask.safety, self.ask.limits)

    def takes(self, i: int, since: int, day: int) -> float:
        """Give what a tree takes on a day after a watering on an earlier one [L]."""
        return litres(self.kept[i].pot, float(self.lives[i].left[since, day]))

    def visit_l(self, plan: Plan) -> list[list[float]]:
        """Give what each tree of each visit takes [L]."""
        last: dict[int, int] = {}
        told = []
        for visit in plan.visits:
            told.append([self.takes(i, last.get(i, 0), visit.day) for i in visit.trees])
            last |= dict.fromkeys(visit.trees, visit.day)
        return told

    def mask(self, visits: Sequence[tuple[datetime, Sequence[str]]]) -> Flags:
        """Give waterings told by instant and label as a table, those to come: (n, D + 1)."""
        sky, labels = self.span.told.sky, self.labels
        mask = np.zeros((len(labels), self.span.end + 1), dtype=bool)
        for at, trees in visits:
            turn = (at.astimezone(sky.zone).date() - self.ask.start).days + 1
            if self.first <= turn < self.span.end:
                mask[[labels.index(each) for each in trees if each in labels], turn] = True
        return mask

    def short_days(self, trees: Sequence[int]) -> int:
        """Give on how many days at most one of some trees wants water before the next day's visit.

        Parameters
        ----------
        trees : sequence of int
        """
        case = self.case()
        turns = np.arange(1, case.end)
        early = (case.life[list(trees)][:, :, turns] <= turns).sum(axis=1) > case.may_lose
        return int(early.sum(axis=1).max(initial=0))

    def with_lives(self, other: dict[int, Lives]) -> "Left":
        """Give the same where some trees last otherwise."""
        return replace(self, lives=tuple(other.get(i, each) for i, each in enumerate(self.lives)))


def minutes(amounts_l: Sequence[float], can_l: float) -> float:
    """Give how long a visit takes [min]."""
    return POT_MIN * len(amounts_l) + CAN_MIN * sum(amounts_l) / can_l


def point_now(model: TreeModel, told: Told, belief: Belief | None) -> Point:
    """Give what is believed of a tree now, from the newest belief that still holds."""
    point = beginning(model, told) if belief is None else from_belief(belief, told)
    hour = max(told.sky.index(told.at), point.index)
    course = course_of(model, told, point, hour + 1)
    return advance(course, point, hour, keep=False, told_to=told.at)[0]


def points(told: Told, labels: Sequence[str], beliefs: Beliefs) -> list[tuple[TreeModel, Point]]:
    """Give each tree in numbers, and what is believed of it now."""
    held = {label: holding(label, told, beliefs) for label in labels}

    def one(label: str) -> tuple[TreeModel, Point]:
        model = describe(told.knowledge, label, told.at)
        assert model is not None
        return model, point_now(model, told, held[label])

    return side_by_side(one, labels)


def leave(ask: Ask, span: Span, begun: Sequence[tuple[TreeModel, Point]]) -> Iterator[Left]:
    """Work out how long each tree lasts: gives the garden with ever more of its trees.

    Parameters
    ----------
    ask : Ask
    span : Span
    begun : sequence of (TreeModel, Point)
    """
    def one(tree: tuple[TreeModel, Point]) -> tuple[Kept, Lives]:
        kept = left_behind(tree[0], span, tree[1])
        return kept, lives(kept, span)

    done: list[tuple[Kept, Lives]] = []
    for first in range(0, len(begun), TREES_AT_ONCE):
        done += side_by_side(one, begun[first:first + TREES_AT_ONCE])
        yield Left(ask, span, tuple(kept for kept, _ in done), tuple(each for _, each in done))
