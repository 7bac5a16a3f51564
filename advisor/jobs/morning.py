"""The morning round: every tree judged, in walking order."""

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Final, TypeVar

from advisor.demand import groups
from advisor.garden.derived import Belief
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Place
from advisor.jobs.beside import HEAVY_L, Beside, Kind, beside
from advisor.jobs.judge import (
    LEAVE,
    LOOK_FIRST,
    WATER_NOW,
    Call,
    When,
    judge,
    settled,
)
from advisor.jobs.named import is_small
from advisor.jobs.outlook import FROZEN, After, Outlook
from advisor.jobs.recovery import Recovery, recovery_of
from advisor.jobs.rounds import next_rounds
from advisor.jobs.sky import Sky

if TYPE_CHECKING:
    from advisor.jobs.almanac import Told
    from advisor.jobs.carry import Carried

T = TypeVar("T")
R = TypeVar("R")

MOST_LOOKS: Final = 3
NEAR_H: Final = 72  # looked ahead before the whole of the coming days is [h] [J]
ROUNDS_DAYS: Final = 24  # of rounds to come; winter's are a week apart

#: Gives a tree's stored beliefs, the newest first, none later than an instant.
Beliefs = Callable[[str, datetime], Iterable[Belief]]
#: Told how many of how many trees are done.
Done = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class TreeVerdict:
    """What the round says of one tree."""

    label: str
    name: str
    place: Place | None
    verdict: str
    call: Call
    recovery: Recovery | None
    also: tuple[Beside, ...]
    outlook: Outlook
    small: bool
    dressing: str


@dataclass(frozen=True, eq=False)
class Round:
    """A round: what each tree wants, in walking order, and the rounds to come."""

    at: datetime
    knowledge: Knowledge
    sky: Sky
    trees: tuple[TreeVerdict, ...]
    rounds: Sequence[datetime]


@dataclass(frozen=True, eq=False)
class Worked:
    """A round, and what was worked out for it that is worth keeping."""

    round: Round
    outlooks: Mapping[str, tuple[str, Outlook]]  # label -> digest and outlook, new ones only
    beliefs: tuple[Belief, ...]


def potted(knowledge: Knowledge, at: datetime) -> list[str]:
    """Give the trees that stand in a pot at an instant, in walking order."""
    return [label for label in knowledge.trees
            if knowledge.potting_of(label, at) is not None and not knowledge.is_gone(label, at)]


def morning(knowledge: Knowledge, sky: Sky, at: datetime,
            stored: Mapping[str, tuple[str, Outlook]], beliefs: Beliefs, *,
            whole: Callable[[], Knowledge] | None = None, done: Done | None = None) -> Worked:
    """Judge every tree of a garden.

    Parameters
    ----------
    knowledge : Knowledge
        As at `at`.
    sky : Sky
        Weather to well after `at`.
    at : datetime
        Now.
    stored : mapping of label to (digest, outlook)
        Outlooks worked out before; each is used where its digest still holds.
    beliefs : callable
    whole : callable, optional
        Given where nothing was told since the stored outlooks were made, and `knowledge` may
        lack old waterings: gives all that is known, should a tree have to be carried on.
    done : callable, optional
        Called with the number of trees carried on so far, and of all that have to be.

    Raises
    ------
    Refused
        A pot or a mix that the model does not know.
    """
    until = at + timedelta(days=ROUNDS_DAYS)
    when = When(sky, at, next_rounds(knowledge.rounds, knowledge.site, at, until))
    desk = _Desk(whole or (lambda: knowledge), when, beliefs, done)
    found = {}
    for label in potted(knowledge, at):
        digest, outlook = stored.get(label, ("", None))
        if outlook is not None and (whole or digest == desk.digest(label)):
            call = judge(outlook, when)
            if settled(outlook, when, call):
                found[label] = outlook, call
    return _worked(knowledge, desk, found, {})


def morning_again(before: Round, knowledge: Knowledge, beliefs: Beliefs, *,
                  done: Done | None = None) -> Worked:
    """Judge those trees anew of which something was told since a round of the same hour.

    Parameters
    ----------
    before : Round
        As it would stand now (`later`), had nothing been told; of all that was known.
    knowledge : Knowledge
        As it stands now, all of it.
    beliefs, done : callable
        As `morning` takes them.
    """
    when = When(before.sky, before.at, before.rounds)
    desk = _Desk(lambda: knowledge, when, beliefs, done)
    same = knowledge.untouched_since(before.knowledge)
    kept = {tree.label: tree for tree in before.trees if tree.label in same}
    return _worked(knowledge, desk, {label: (tree.outlook, tree.call)
                                     for label, tree in kept.items()}, kept)


def _worked(knowledge: Knowledge, desk: "_Desk", found: Mapping[str, tuple[Outlook, Call]],
            kept: Mapping[str, TreeVerdict]) -> Worked:
    """Carry on the trees of which nothing was found, and put the round together."""
    when = desk.when
    labels = potted(knowledge, when.at)
    outlooks = {label: outlook for label, (outlook, _) in found.items()}
    calls = {label: call for label, (_, call) in found.items()}
    missing = [label for label in labels if label not in outlooks]
    outlooks |= dict(zip(missing, desk.carry(missing), strict=True))
    calls |= {label: judge(outlooks[label], when) for label in missing}
    thin = [label for label in labels if calls[label].verdict == WATER_NOW
            and _hour_of(outlooks[label].after) != when.now]
    for label, outlook in zip(thin, desk.look_beyond(thin, when.now), strict=True):
        outlooks[label] = outlook
        calls[label] = judge(outlook, when)
    looks = _looks({label: calls[label] for label in labels})
    moved_up = {label for label, tree in kept.items()
                if (tree.verdict == LOOK_FIRST) != (label in looks)}
    calls |= {label: judge(outlooks[label], when) for label in moved_up}  # litres and all
    anew = {*missing, *thin, *moved_up}
    trees = tuple(kept[label] if label in kept and label not in anew else _verdict(
        knowledge, label, outlooks[label], calls[label], when, label in looks)
        for label in labels)
    new = {label: (desk.digest(label), outlooks[label]) for label in {*missing, *thin}}
    return Worked(Round(when.at, knowledge, when.sky, trees, when.rounds), new, tuple(desk.kept))


class _Desk:
    """Where trees are carried on, those that need it only; the kernel is loaded when one does."""

    def __init__(self, whole: Callable[[], Knowledge], when: When, beliefs: Beliefs,
                 done: Done | None) -> None:
        self._whole, self.when, self._done = whole, when, done
        self.kept: list[Belief] = []
        self._beliefs = beliefs
        self._carried: dict[str, Carried] = {}
        self._digests: dict[str, str] = {}

    @cached_property
    def told(self) -> "Told":
        """Give what carrying on rests on."""
        from advisor.jobs.almanac import Almanac, Told

        knowledge = self._whole()
        return Told(knowledge, Almanac.of(self.when.sky, knowledge.site.latitude_deg),
                    self.when.at)

    def digest(self, label: str) -> str:
        """Give the digest of everything an outlook made now rests on."""
        from advisor.jobs.rests import outlook_digest

        if label not in self._digests:
            self._digests[label] = outlook_digest(label, self.told)
        return self._digests[label]

    def carry(self, labels: Sequence[str]) -> list[Outlook]:
        """Carry trees on to now and look ahead."""
        if not labels:
            return []
        from advisor.jobs.carry import Look, carry  # loads numba
        from advisor.jobs.describe import describe

        when = self.when
        first, second = (when.hour(at) + 1 for at in when.rounds[:2])
        look = Look((first, max(second, when.now + NEAR_H)),
                    lambda outlook: settled(outlook, when, judge(outlook, when)))
        started = {label: holding(label, self.told, self._beliefs) for label in labels}

        def one(label: str) -> "Carried":
            model = describe(self.told.knowledge, label, self.told.at)
            assert model is not None
            return carry(model, self.told, started[label], look)

        for label, carried in zip(labels, side_by_side(one, labels, self._done), strict=True):
            self._carried[label] = carried
            self.kept.extend(carried.beliefs)
        return [self._carried[label].outlook for label in labels]

    def look_beyond(self, labels: Sequence[str], hour: int) -> list[Outlook]:
        """Look past a watering of trees in an hour."""
        if not labels:
            return []
        from advisor.jobs.carry import after_watering  # loads numba

        self.carry([label for label in labels if label not in self._carried])

        def one(label: str) -> Outlook:
            carried = self._carried[label]
            return replace(carried.outlook, after=after_watering(carried, hour))

        return side_by_side(one, labels)


def holding(label: str, told: "Told", beliefs: Beliefs) -> Belief | None:
    """Give the newest belief that still holds and lies in the present potting."""
    from advisor.jobs.rests import digest

    potting = told.knowledge.potting_of(label, told.at)
    assert potting is not None
    for belief in beliefs(label, told.sky.midnight(told.at)):
        if belief.midnight <= potting.at:
            return None
        if belief.digest == digest(label, potting.at, told, belief.midnight):
            return belief
    return None


def side_by_side(function: Callable[[T], R], items: Sequence[T],
                 done: Done | None = None) -> list[R]:
    """Call a function for many items on the processors there are; the order is kept."""
    if len(items) < 2:
        return [function(item) for item in items]
    made = [function(items[0])]  # alone, so that kernels are compiled once
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for each in pool.map(function, items[1:]):
            made.append(each)
            if done is not None:
                done(len(made), len(items))
    return made


def _hour_of(after: After | None) -> int | None:
    """Give the hour in which a tree is watered in what is foreseen after it."""
    return None if after is None else after.hour


def _looks(calls: Mapping[str, Call]) -> set[str]:
    """Give the trees to be looked at first: those of which a reading would tell most."""
    asked = sorted((-call.worth_a_look, place, label)
                   for place, (label, call) in enumerate(calls.items()) if call.worth_a_look)
    return {label for _, _, label in asked[:MOST_LOOKS]}


def _verdict(knowledge: Knowledge, label: str, outlook: Outlook, call: Call, when: When,
             look: bool) -> TreeVerdict:
    """Put one tree's verdict together."""
    potting, tree = knowledge.potting_of(label, when.at), knowledge.trees[label]
    assert potting is not None
    group = groups.find(tree.group)
    recovery = recovery_of(potting, group, outlook.standing.soil_depth_mm)
    if recovery is not None and when.at >= recovery.ends:
        recovery = None
    now = min(max(when.now - outlook.first, 0), outlook.rows.shape[1] - 1)
    frozen = bool(outlook.rows[FROZEN, now])
    verdict = LEAVE if frozen else (LOOK_FIRST if look else call.verdict)
    bears = tree.bears or group.bears
    kind = Kind(recovery, bears == "likes to dry", group.roots_bear_c,
                outlook.standing.soil_l > HEAVY_L, not call.lasts, call.verdict == WATER_NOW)
    return TreeVerdict(
        label=label, name=tree.name or tree.group, place=knowledge.place_of(label, when.at),
        verdict=verdict, call=replace(call, litres=0.0) if verdict == LEAVE else call,
        recovery=recovery, also=beside(outlook, when, kind), outlook=outlook,
        small=is_small(potting, outlook.standing.soil_l), dressing=potting.dressing,
    )
