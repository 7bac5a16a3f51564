"""Sum up a run of members to an outlook."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance.run import Path
from advisor.jobs.almanac import Days, Told
from advisor.jobs.describe import TreeModel
from advisor.jobs.observed import full_kg, hanging, read_since_full
from advisor.jobs.outlook import (
    AT_TARGET,
    BALL_MID,
    DRY_HIGH,
    DRY_LOW,
    DRY_MID,
    FROZEN,
    LEFT_HIGH,
    LEFT_LOW,
    LEFT_MID,
    PAST_LIMIT,
    POT_C,
    RAIN_IN,
    ROWS,
    TENDER,
    Outlook,
    Singles,
    Standing,
)
from advisor.jobs.recovery import FLOOR

#: Rows that the balance gives, the others come from weather and season.
STATE: Final = [LEFT_LOW, LEFT_MID, LEFT_HIGH, DRY_LOW, DRY_MID, DRY_HIGH, PAST_LIMIT, AT_TARGET,
                BALL_MID]
QUANTILES: Final = (0.05, 0.50, 0.95)


@dataclass(frozen=True, eq=False)
class Passage:
    """One tree's run from hour `first`: the paths of its pieces in order, and its weather.

    The weather may reach further than the paths.
    """

    first: int
    paths: Sequence[Path]
    rain_mm: NDArray[np.float64]
    frozen: NDArray[np.bool_]
    pot_c: NDArray[np.float64]

    def then(self, later: "Passage") -> "Passage":
        """Give this passage with the one that follows it."""
        return Passage(self.first, [*self.paths, *later.paths],
                       *(np.concatenate([getattr(self, name), getattr(later, name)])
                         for name in ("rain_mm", "frozen", "pot_c")))

    def joined(self, name: str) -> Singles:
        """Give one of the path's arrays over all hours, (hours, members)."""
        return np.concatenate([getattr(path, name) for path in self.paths])


def standing_of(model: TreeModel, told: Told) -> Standing:
    """Sum up what a verdict needs to know of a tree now."""
    target = model.dry_target_mm(told.at)
    pot = model.filled.pot
    return Standing(model.limit_at(told.at), model.chance_at(told.at), model.bears.harm,
                    np.nan if target is None else target, pot.available_l, pot.depth_mm,
                    model.filled.soil_l, full_kg(model, told),
                    float(read_since_full(model, told)), float(hanging(model, told)))


def outlook_of(model: TreeModel, told: Told, days: Days, passage: Passage) -> Outlook:
    """Sum up the members hour by hour.

    While a tree is kept dry to a target, its limit is the floor of water in the old ball.
    """
    standing = standing_of(model, told)
    left, dry = passage.joined("left"), passage.joined("dry_mm")
    worked, hours = left.shape[0], passage.rain_mm.size
    rows = np.zeros((ROWS, hours), dtype=np.float32)
    here = slice(0, worked)
    rows[LEFT_LOW:LEFT_HIGH + 1, here] = quantiles(left)
    rows[DRY_LOW:DRY_HIGH + 1, here] = quantiles(dry)
    if standing.to_target:
        rows[PAST_LIMIT, here] = (passage.joined("ball_left") < FLOOR).mean(axis=1)
        rows[AT_TARGET, here] = (dry >= standing.target_mm).mean(axis=1)
    else:
        rows[PAST_LIMIT, here] = (left < standing.limit).mean(axis=1)
    ball = model.filled.ball_share > 0.0
    rows[BALL_MID, here] = np.median(passage.joined("ball_left"), axis=1) if ball else np.nan
    if worked < hours:
        rows[STATE, worked:] = rows[STATE, worked - 1:worked]
    rows[RAIN_IN], rows[FROZEN] = passage.rain_mm, passage.frozen
    rows[POT_C] = passage.pot_c
    rows[TENDER] = days.tender[told.sky.day[passage.first:passage.first + hours]]
    return Outlook(passage.first, rows, standing, worked=worked)


def quantiles(values: Singles) -> Singles:
    """Give low, mid and high (5, 50, 95 %) along the members, linear between them: (3, hours)."""
    ordered = np.sort(values, axis=1)
    places = np.array(QUANTILES) * (values.shape[1] - 1)
    below = places.astype(int)
    part = (places - below).astype(np.float32)
    above = np.minimum(below + 1, values.shape[1] - 1)
    return np.asarray((ordered[:, below] * (1 - part) + ordered[:, above] * part).T)
