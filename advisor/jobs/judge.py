"""Judge a pot from its outlook: water it now, later today, look first, or leave it.

Pure reading of numbers already computed; a round in which nothing changed does no more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from advisor.jobs.outlook import (
    AT_TARGET,
    DRY_LOW,
    LEFT_LOW,
    LEFT_MID,
    PAST_LIMIT,
    After,
    Outlook,
    Singles,
    Standing,
)
from advisor.jobs.recovery import CHANCE as TARGET_CHANCE
from advisor.jobs.sky import Sky

WATER_NOW: Final = "water_now"
WATER_LATER: Final = "water_later"
LOOK_FIRST: Final = "look_first"
LEAVE: Final = "leave"

EVEN: Final = 0.5  # a chance from which it is said that even a full pot does not last [J]
#: Water left from which more would only run through [J]. Chosen of .92-.99 as the one that keeps
#: two waterings a day for small pots in July: those bands do not check it.
FULL: Final = 0.99
DAMP: Final = 0.45  # from which hanging leaves are not thirst: water would harm the roots [J]
NEAR: Final = 2.0  # "within a factor of two" of the chance at which it is called [J]
WIDE_LEFT: Final = 0.30  # an interval of available water worth a look [share] [J]
WIDE_DRY_MM: Final = 20.0  # the same of a dry depth [mm] [J]
SURE: Final = 0.95  # of the target: nothing is left to be looked at [J]
#: Of what is poured, the share that runs out below; nurseries aim at 10-20 % [M].
RUNS_OUT: Final = 0.20


@dataclass(frozen=True)
class Spread:
    """The 5, 50 and 95 % quantiles of a number."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True)
class Reached:
    """When the target depth is reached, quantiles; None beyond what is foreseen."""

    low: datetime | None
    mid: datetime | None
    high: datetime | None


@dataclass(frozen=True)
class Call:
    """What one tree wants now, before the round as a whole is looked at."""

    verdict: str
    left: Spread
    dry_mm: Spread
    chance_past_limit: float
    chance_at_target: float
    litres: float  # until it runs below, whatever the verdict
    next: datetime | None
    perhaps: datetime | None  # an earlier round at which it may come up already
    reaches_target: Reached | None
    worth_a_look: float  # how much a reading would tell; 0 where none is asked for
    lasts: bool = True  # even full, to the round after its watering


@dataclass(frozen=True, eq=False)
class When:
    """Now and the rounds to come, as instants and as hours of the sky."""

    sky: Sky
    at: datetime
    rounds: Sequence[datetime]

    @property
    def now(self) -> int:
        """The present hour's index."""
        return self.sky.index(self.at)

    def hour(self, at: datetime) -> int:
        """Give the index of the first hour that starts at an instant or later."""
        index = self.sky.index(at)
        return index if self.sky.instant(index) == at else index + 1

    def today(self, at: datetime) -> bool:
        """Whether an instant lies on the local day of now."""
        zone = self.sky.zone
        return at.astimezone(zone).date() == self.at.astimezone(zone).date()


def judge(outlook: Outlook, when: When) -> Call:
    """Judge one tree.

    Parameters
    ----------
    outlook : Outlook
        Its coming hours, from the midnight before now or from its potting today.
    when : When
        Now, and at least the next two rounds.
    """
    standing, rows = outlook.standing, outlook.rows
    now = min(max(when.now - outlook.first, 0), rows.shape[1] - 1)
    chances = Chances(rows[PAST_LIMIT], rows[AT_TARGET], outlook.first)
    left, dry = _spread(rows, LEFT_LOW, now), _spread(rows, DRY_LOW, now)
    verdict = _verdict(standing, chances, when)
    brimful = (verdict == WATER_NOW and not standing.to_target
               and left.mid >= (DAMP if standing.hanging else FULL))
    verdict = LEAVE if brimful else verdict
    past = chances.past(when.now, when.hour(when.rounds[0]))
    at_target = chances.at(when.now)
    later = verdict == WATER_LATER
    poured_at = when.hour(when.rounds[0]) - outlook.first if later else now
    return Call(
        verdict=verdict, left=left, dry_mm=dry, chance_past_limit=past,
        chance_at_target=at_target, litres=_litres(standing, rows, poured_at),
        next=when.rounds[0] if brimful else _next(standing, chances, when, outlook.after, verdict),
        perhaps=_next(standing, chances, when, outlook.after, verdict, NEAR),
        reaches_target=_reached(rows, now, outlook.first, when.sky) if standing.to_target else None,
        worth_a_look=0.0 if brimful else _worth_a_look(standing, left, dry, past, at_target),
        lasts=not brimful and (verdict != WATER_NOW
                               or _lasts(standing, outlook.after, chances, when)),
    )


def settled(outlook: Outlook, when: When, call: Call) -> bool:
    """Whether so much of an outlook was worked out that more would change nothing that is said.

    That is so where a tree is called now, and where the round at which it comes up was seen.
    """
    if outlook.whole:
        return True
    first, second = (when.hour(at) for at in when.rounds[:2])
    if call.verdict == WATER_NOW:
        return outlook.reaches(first)
    coming = outlook.rows[PAST_LIMIT, max(when.now - outlook.first, 0):outlook.worked]
    return outlook.reaches(second) and bool((coming > outlook.standing.chance).any())


def _lasts(standing: Standing, after: After | None, chances: "Chances", when: When) -> bool:
    """Whether a tree watered now is likely to come to the next round above its limit."""
    if after is None:
        return True
    full = Chances(after.rows[0], after.rows[1], chances.first)
    return full.past(when.now, when.hour(when.rounds[0])) <= max(standing.chance, EVEN)


@dataclass(frozen=True, eq=False)
class Chances:
    """Hourly chances of a tree from hour `first` of the sky."""

    past_limit: Singles
    at_target: Singles
    first: int

    @property
    def end(self) -> int:
        """The hour after the last one foreseen."""
        return self.first + self.past_limit.size

    def past(self, start: int, stop: int) -> float:
        """Give the largest chance of being past the limit in any hour from start to stop."""
        part = self.past_limit[max(start - self.first, 0):max(stop - self.first + 1, 0)]
        return float(part.max()) if part.size else 0.0

    def at(self, hour: int) -> float:
        """Give the chance of being dry to the target in an hour."""
        i = min(max(hour - self.first, 0), self.at_target.size - 1)
        return float(self.at_target[i])


def _due(standing: Standing, chances: Chances, hour: int, until: int, near: float = 1.0) -> bool:
    """Whether a round at an hour should water, the next round being at `until`.

    `near` above one asks whether it nearly should: at a so many times smaller chance.
    """
    if chances.past(hour, until) > standing.chance / near:
        return True
    return standing.to_target and chances.at(hour) >= TARGET_CHANCE / near


def _verdict(standing: Standing, chances: Chances, when: When) -> str:
    first, second = (when.hour(at) for at in when.rounds[:2])
    if _due(standing, chances, when.now, first):
        return WATER_NOW
    if when.today(when.rounds[0]) and _due(standing, chances, first, second):
        return WATER_LATER
    return LEAVE


def _next(standing: Standing, chances: Chances, when: When, after: After | None,
          verdict: str, near: float = 1.0) -> datetime | None:
    """Give the round at which the tree comes up, after what is asked for now; None if unseen."""
    rounds = list(when.rounds)
    if verdict == WATER_LATER:
        return rounds[0]
    if verdict == WATER_NOW:
        if after is None:
            return None
        chances = Chances(after.rows[0], after.rows[1], chances.first)
    for at, following in zip(rounds, rounds[1:], strict=False):
        if when.hour(following) >= chances.end:
            return None
        if _due(standing, chances, when.hour(at), when.hour(following), near):
            return at
    return None


def _spread(rows: Singles, first: int, hour: int) -> Spread:
    low, mid, high = (float(value) for value in rows[first:first + 3, hour])
    return Spread(low, mid, high)


def _litres(standing: Standing, rows: Singles, hour: int) -> float:
    """Give what the pot lacks, and what runs out below while that is poured [L]."""
    i = min(max(hour, 0), rows.shape[1] - 1)
    lacking = max(1.0 - float(rows[LEFT_MID, i]), 0.0) * standing.available_l
    return lacking / (1.0 - RUNS_OUT)


def _reached(rows: Singles, now: int, first: int, sky: Sky) -> Reached:
    """Give when 5, 50 and 95 % of the members are dry to the target."""
    coming = rows[AT_TARGET, now:]
    found: list[datetime | None] = []
    for share in (0.05, 0.50, 0.95):
        hours = np.flatnonzero(coming >= share)
        found.append(sky.instant(first + now + int(hours[0])) if hours.size else None)
    return Reached(*found)


def hangs_on_floor(standing: Standing, past: float) -> bool:
    """Whether a tree kept dry to a target hangs on its floor of water rather than on its depth."""
    return standing.to_target and past > standing.chance / NEAR


def _worth_a_look(standing: Standing, left: Spread, dry: Spread, past: float,
                  at_target: float) -> float:
    """Give how wide the doubt is, where the call hangs on it; else 0."""
    if standing.read:
        return 0.0
    by_water = (left.high - left.low) / WIDE_LEFT
    if hangs_on_floor(standing, past):
        near = past <= 1.0 - standing.chance / NEAR and at_target < TARGET_CHANCE
        wide = by_water
    elif standing.to_target:
        near = TARGET_CHANCE / NEAR <= at_target < SURE
        wide = (dry.high - dry.low) / WIDE_DRY_MM
    else:
        near, wide = standing.chance / NEAR <= past <= standing.chance * NEAR, by_water
    return wide if near and wide > 1.0 else 0.0
