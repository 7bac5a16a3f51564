"""The page of a recovering tree: how far it has dried, how it comes back, what threatens it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.demand import groups
from advisor.errors import Refused
from advisor.garden.records import Place, Tree
from advisor.jobs.describe import TreeModel
from advisor.jobs.followed import Followed
from advisor.jobs.judge import WATER_NOW, Call, Reached, Spread, When, judge
from advisor.jobs.morning import ROUNDS_DAYS, Round, TreeVerdict
from advisor.jobs.recovery import CHANCE, CHANGE_OVER_DAYS, Recovery, recovery_of
from advisor.jobs.rounds import next_rounds
from advisor.jobs.threats import Frosts, Threat, frosts, threats

Floats = NDArray[np.float64]

DRIED: Final = 0.5  # share of the guesses dry to the target, from which it counts as dried [J]
SECOND: Final = timedelta(seconds=1)


@dataclass(frozen=True)
class State:
    """A recovering tree as it stands.

    Attributes
    ----------
    tree : Tree
    place : Place or None
    recovery : Recovery
    soil_depth_mm : float
        Depth of its soil [mm].
    left, dry_mm : Spread
        Share of its water left [-], dry depth [mm].
    reaches : Reached or None
        When it reaches its target; None where there is none, or it is over.
    before : datetime or None
        The round that waters it before its target, for the floor of its water.
    """

    tree: Tree
    place: Place | None
    recovery: Recovery
    soil_depth_mm: float
    left: Spread
    dry_mm: Spread
    reaches: Reached | None
    before: datetime | None = None

    @property
    def back(self) -> datetime:
        """When it is kept as any other: a week after the end where it was kept dry."""
        over = timedelta(days=CHANGE_OVER_DAYS) if self.recovery.dry else timedelta()
        return self.recovery.ends + over


@dataclass(frozen=True)
class Cycle:
    """Dried to its target since an instant, and watered then."""

    dried: datetime
    watered: datetime


@dataclass(frozen=True)
class Page:
    """Everything about one recovering tree.

    Attributes
    ----------
    state : State
    at : datetime
    foreseen_to : datetime
    cycles : tuple of Cycle
    demand_share : float
        What it drinks beside what it drank before its roots were cut [-].
    warmth_cd : float
        Degree-days of root growth since [°C·d].
    limit_after, limit_usual : float
        Share left at which it wants water when recovery ends, and a week later [-].
    threats : tuple of Threat
    frosts : Frosts or None
        None where no past year is known, or it has ended.
    """

    state: State
    at: datetime
    foreseen_to: datetime
    cycles: tuple[Cycle, ...]
    demand_share: float
    warmth_cd: float
    limit_after: float
    limit_usual: float
    threats: tuple[Threat, ...]
    frosts: Frosts | None


def recovering(told: Round) -> list[State]:
    """Give the trees of a round that recover, or come back from it, in walking order."""
    states = (_of_verdict(told, tree) for tree in told.trees)
    return [state for state in states if state is not None and told.at < state.back]


def _of_verdict(told: Round, tree: TreeVerdict) -> State | None:
    potting, knowledge = told.knowledge.potting_of(tree.label, told.at), told.knowledge
    assert potting is not None  # or it would not be in the round
    depth_mm = tree.outlook.standing.soil_depth_mm
    recovery = recovery_of(potting, groups.find(knowledge.trees[tree.label].group), depth_mm)
    if recovery is None:
        return None
    return State(knowledge.trees[tree.label], tree.place, recovery, depth_mm, tree.call.left,
                 tree.call.dry_mm, tree.call.reaches_target, watered_before(tree.call, told.at))


def watered_before(call: Call, at: datetime) -> datetime | None:
    """Give the round that waters a tree before its target, for the floor; None where none does."""
    if call.reaches_target is None:
        return None
    if call.verdict == WATER_NOW:
        return at if call.chance_at_target < CHANCE else None
    reached = call.reaches_target.mid
    return call.next if call.next and (reached is None or call.next < reached) else None


def recovery_in_force(model: TreeModel, at: datetime) -> Recovery:
    """Give the recovery of a tree, the week of its change-over included.

    Raises
    ------
    Refused
        It does not recover.
    """
    recovery = model.recovery
    over = timedelta(days=CHANGE_OVER_DAYS if recovery and recovery.dry else 0)
    if recovery is None or at >= recovery.ends + over:
        raise Refused(f"recovery of {model.label}", "none now", "a tree that was repotted lately",
                      "See advisor recovery.")
    return recovery


def page(followed: Followed, wind_ms: Floats | None = None) -> Page:
    """Put together everything about one recovering tree.

    Parameters
    ----------
    followed : Followed
    wind_ms : (hours,) array, optional
        At 2 m in the open, of the hours from now on [m/s].

    Raises
    ------
    Refused
        It does not recover.
    """
    model, told = followed.model, followed.told
    recovery = recovery_in_force(model, told.at)
    rounds = next_rounds(told.knowledge.rounds, told.knowledge.site, told.at,
                         told.at + timedelta(days=ROUNDS_DAYS))
    call = judge(followed.outlook, When(told.sky, told.at, rounds))
    today = told.sky.day[min(followed.now.index, told.sky.hours - 1)]
    warmth, share = told.almanac.recovery(model)
    return Page(
        state=State(model.tree, told.knowledge.place_of(model.label, told.at), recovery,
                    model.filled.pot.depth_mm, call.left, call.dry_mm, call.reaches_target,
                    watered_before(call, told.at)),
        at=told.at, foreseen_to=told.sky.instant(followed.course.last),
        cycles=tuple(cycles(followed)), demand_share=float(share[today]),
        warmth_cd=float(warmth[today]), limit_after=model.limit_at(recovery.ends),
        limit_usual=model.bears.limit, threats=threats(followed, recovery, wind_ms),
        frosts=(frosts(told.sky, told.at, recovery.ends - SECOND) if told.at < recovery.ends
                else None),
    )


def cycles(followed: Followed) -> Iterator[Cycle]:
    """Give each time since repotting that the tree was watered when dry to its target."""
    recovery, told = followed.model.recovery, followed.told
    outlook = followed.outlook
    if recovery is None or recovery.target_mm is None or not followed.past.paths:
        return
    dry = followed.past.joined("dry_mm")
    reached = (dry >= recovery.target_mm).mean(axis=1) >= DRIED
    first, before = outlook.first, 0
    for watering in told.knowledge.waterings[followed.model.label]:
        hour = told.sky.index(watering.at) - first
        during = recovery.since <= watering.at <= min(told.at, recovery.ends)
        if not during or not before < hour <= len(reached):
            continue
        before = hour
        if reached[hour - 1]:  # at the start of its own hour it is watered already
            damp = np.flatnonzero(~reached[:hour])
            dried = int(damp[-1]) + 1 if damp.size else 0
            yield Cycle(told.sky.instant(first + dried), watering.at)
