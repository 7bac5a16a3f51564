"""From what the grower told of a tree to the numbers the model takes.

Words become numbers here and in the tables of the floors below, nowhere else.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from advisor.demand import groups, plant, surface
from advisor.demand.groups import Bears, Group
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Event, Potting, Reading, Tree
from advisor.jobs.named import is_small, seed_of
from advisor.jobs.recovery import (
    CHANGE_OVER_DAYS,
    FLOOR_CHANCE,
    LATER_LIMIT,
    Recovery,
    recovery_of,
)
from advisor.jobs.shapes import Filled, ball_mix_name, fill

#: How readily water enters, on η of the wetting rule [J]: stands .4-.8, runs off .1-.4.
ENTERS: Final[Mapping[str, float]] = {"sinks": 1.0, "stands": 0.6, "runs off": 0.25}
#: Wind of a place over that of the open site [J; ± .15].
WIND: Final[Mapping[str, float]] = {"open": 1.0, "half": 0.75, "sheltered": 0.5}
#: A tree that must not be lost is called at half the chance [J].
MUST_NOT_LOSE: Final = 0.5

Dates = NDArray[np.datetime64]


@dataclass(frozen=True, eq=False)
class TreeModel:
    """One tree in its present pot, in numbers."""

    label: str
    tree: Tree
    group: Group
    potting: Potting
    filled: Filled
    bears: Bears
    crown_m2: float
    cover: float
    under: float
    recovery: Recovery | None
    events: tuple[Event, ...]
    readings: tuple[Reading, ...]
    seed: int
    potting_seed: int

    def enters_at(self, at: datetime) -> float:
        """How readily water enters at an instant, 1 where it sinks at once [-]."""
        seen = [word for when, word in self.ways_in() if when <= at]
        return ENTERS[seen[-1] if seen else self.potting.enters]

    def ways_in(self) -> list[tuple[datetime, str]]:
        """Give when it was seen how water enters, and how."""
        return [(each.at, each.word) for each in self.readings if each.kind == "enters"]

    def recovering(self, at: datetime) -> Recovery | None:
        """Give the recovery it is in at an instant."""
        return self.recovery if self.recovery and at < self.recovery.ends else None

    def dry_target_mm(self, at: datetime) -> float | None:
        """Give the dry depth it is kept to at an instant [mm]; None where there is none."""
        recovery = self.recovering(at)
        return recovery.target_mm if recovery and recovery.dry else None

    def limit_at(self, at: datetime) -> float:
        """Share of available water left at which it wants water [-].

        A recovering tree in soil too shallow for a target has a later limit; one that was kept
        dry comes back to its own within a week.
        """
        recovery = self.recovery
        if recovery is None or not recovery.dry:
            return self.bears.limit
        if at < recovery.ends:
            return self.bears.limit - (LATER_LIMIT if recovery.target_mm is None else 0.0)
        over = (at - recovery.ends) / timedelta(days=CHANGE_OVER_DAYS)
        return self.bears.limit - LATER_LIMIT * max(1.0 - over, 0.0)

    def chance_at(self, at: datetime) -> float:
        """Chance of passing the limit at which it is called, or the floor while kept dry [-]."""
        own = self.tree.chance is not None
        if own or self.dry_target_mm(at) is None:
            return self.bears.chance
        return FLOOR_CHANCE * (MUST_NOT_LOSE if self.tree.must_not_lose else 1.0)

    @property
    def wall(self) -> float:
        """Evaporation of surface and walls over that of the surface alone [-]."""
        return surface.wall_factor(self.potting.wall, self.filled.side_m2,
                                   self.filled.pot.surface_m2)

    def seen(self, kind: str, zone: ZoneInfo) -> Dates:
        """Give the local days on which the grower saw bud-break, full leaf or leaf-fall."""
        days = [np.datetime64(e.at.astimezone(zone).date(), "D") for e in self.events
                if e.kind == kind]
        return np.array(days, dtype="datetime64[D]")

    def tips(self) -> list[tuple[datetime, float]]:
        """Give each instant at which the pot was tipped or set level, and the angle [°]."""
        return [(e.at, float(e.amount or 0.0)) for e in self.events if e.kind == "tipped"]

    def tipped(self, knowledge: Knowledge, angle_deg: float) -> Filled:
        """Give the same pot tipped by an angle [°]."""
        if angle_deg == 0.0:
            return self.filled
        return _filled(knowledge, self.label, self.potting, angle_deg)


def describe(knowledge: Knowledge, label: str, at: datetime) -> TreeModel | None:
    """Put one tree into numbers as it stands at an instant; None where it has no pot by then.

    Raises
    ------
    Refused
        A pot, a mix or a group that the model does not know.
    """
    potting = knowledge.potting_of(label, at)
    events = tuple(e for e in knowledge.events[label] if e.at <= at)
    if potting is None or knowledge.is_gone(label, at):
        return None
    tree = knowledge.trees[label]
    group = groups.find(tree.group)
    filled = _filled(knowledge, label, potting, 0.0)
    outline = plant.crown_outline_m2(*_crown_cm(tree, filled))
    bears = _bears(tree, group, potting, filled)
    return TreeModel(
        label=label, tree=tree, group=group, potting=potting, filled=filled, bears=bears,
        crown_m2=outline * plant.DENSITY[tree.density],
        cover=surface.crown_cover(outline, filled.pot.surface_m2, tree.density),
        under=surface.under_crown(outline, filled.pot.surface_m2),
        recovery=recovery_of(potting, group, filled.pot.depth_mm),
        events=tuple(e for e in events if e.at >= potting.at - timedelta(days=400)),
        readings=tuple(r for r in knowledge.readings[label] if potting.at <= r.at <= at),
        seed=seed_of("tree", label.casefold()),
        potting_seed=seed_of("potting", label.casefold(), potting.at.isoformat()),
    )


def _filled(knowledge: Knowledge, label: str, potting: Potting, tip_deg: float) -> Filled:
    told = knowledge.pottings[label]
    before = [p for p in told if p.at < potting.at]
    ball = ball_mix_name(potting, before[-1] if before else None)
    return fill(potting, knowledge.mixes[potting.mix], knowledge.mixes[ball] if ball else None,
                tip_deg)


def _crown_cm(tree: Tree, filled: Filled) -> tuple[float, float]:
    """Give crown width and depth [cm]: as told, else by the pot's size."""
    width, depth = tree.crown_width_cm, tree.crown_depth_cm
    if width is None and depth is None:
        return plant.default_crown_cm(filled.shape.length_mm, filled.shape.width_mm)
    return (width or depth or 0.0), (depth or width or 0.0)


def _bears(tree: Tree, group: Group, potting: Potting, filled: Filled) -> Bears:
    """Give limit, chance and harm limit: the group's, the small pot's, the tree's own."""
    small = is_small(potting, filled.soil_l)
    word = tree.bears or ("never dry" if small and group.bears != "may stand in water"
                          else group.bears)
    base = groups.bearing(word)
    chance = tree.chance if tree.chance is not None else base.chance
    return Bears(
        limit=tree.limit if tree.limit is not None else base.limit,
        chance=chance * (MUST_NOT_LOSE if tree.must_not_lose else 1.0),
        harm=base.harm,
    )
