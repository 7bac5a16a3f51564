"""The recovering tree: how deep it should dry before it is watered, and until when.

Common practice: a repotted conifer is watered again only when its top 25-50 mm have dried,
for at least six weeks; broad-leaved trees and conifers that are bare in winter (larch), which
never want to dry in leaf, are kept evenly damp.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final

from advisor.demand.groups import Group
from advisor.garden.records import Potting

DAYS: Final = 42  # at least six weeks [common practice]
COLLECTED_DAYS: Final = 365  # seasons, not weeks [common practice]
TARGET_SHARE: Final = 0.40  # of the soil's depth [J; .3-.5]
TARGET_MOST_MM: Final = 40.0  # [J]
TARGET_LIMITS_MM: Final = (25.0, 50.0)  # one to two inches [common practice]
NO_TARGET_UNDER_MM: Final = 35.0  # of soil: nothing dries on top without drying below [J]
FLOOR: Final = 0.15  # share of available water left, judged in the old ball (.10-.25) [J]
CHANCE: Final = 0.70  # that the target is reached, at which it is called [J]
#: Chance that the floor is passed, from which it is watered before its depth: more likely than
#: not. No harm is done there yet, and half the floor lies between [J; .3-.7].
FLOOR_CHANCE: Final = 0.50
CHANGE_OVER_DAYS: Final = 7  # from the dry side to normal keeping, not at a jump [J]
LATER_LIMIT: Final = 0.10  # taken off the limit where there is no target [J]


@dataclass(frozen=True)
class Recovery:
    """How a repotted tree is kept until an instant.

    `target_mm` is None where it is judged by available water (shallow soil, broad leaves);
    `dry` says whether it is kept on the dry side at all.
    """

    since: datetime
    ends: datetime
    target_mm: float | None
    dry: bool

    def day(self, at: datetime, zone: tzinfo) -> int:
        """Give the local day of recovery, the day of repotting being the first."""
        return (at.astimezone(zone).date() - self.since.astimezone(zone).date()).days + 1


def default_target_mm(soil_depth_mm: float) -> float | None:
    """Give the dry depth to wait for [mm]; None where the soil is too shallow for one.

    40 % of the soil's depth, at most 40 mm, and at least 25 mm where that leaves as much below.
    """
    if soil_depth_mm < NO_TARGET_UNDER_MM:
        return None
    target = min(TARGET_SHARE * soil_depth_mm, TARGET_MOST_MM)
    least = TARGET_LIMITS_MM[0]
    return max(target, least) if soil_depth_mm >= 2.0 * least else target


def ends_at(potting: Potting) -> datetime:
    """Give the instant at which a recovery ends: as told, else after six weeks, or a year."""
    days = potting.recovery_days or (COLLECTED_DAYS if potting.collected else DAYS)
    return potting.at + timedelta(days=days)


def recovery_of(potting: Potting, group: Group, soil_depth_mm: float) -> Recovery | None:
    """Give the recovery that a potting began; None where the roots were left alone."""
    if potting.root_work == "none" and not potting.collected:
        return None
    ends = ends_at(potting)
    if not (group.conifer and group.evergreen):
        return Recovery(potting.at, ends, None, dry=False)
    target = potting.target_mm or default_target_mm(soil_depth_mm)
    return Recovery(potting.at, ends, target, dry=True)
