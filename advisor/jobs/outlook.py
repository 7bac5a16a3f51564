"""The coming hours of a tree, summed up over its members: what a verdict is read from."""

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from math import nan
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Singles = NDArray[np.float32]

#: Rows of an outlook: share of available water left, dry depth [mm], each low, mid and high;
#: share of members past their limit and dry to their target; rain into the pot [mm], frozen
#: (0 or 1), whether frost would hurt its leaves (0 or 1), share left in the old ball (NaN
#: where there is none), temperature of the pot [°C].
(LEFT_LOW, LEFT_MID, LEFT_HIGH, DRY_LOW, DRY_MID, DRY_HIGH, PAST_LIMIT, AT_TARGET, RAIN_IN,
 FROZEN, TENDER, BALL_MID, POT_C) = range(13)
ROWS: Final = 13


@dataclass(frozen=True)
class Standing:
    """What a verdict needs to know of a tree in its pot.

    Attributes
    ----------
    limit, chance, harm : float
        Share left at which it wants water, the chance at which it is called, harm limit [-].
    target_mm : float
        Dry depth it is kept to [mm]; NaN where there is none.
    available_l : float
        Water between wilting and rest [L].
    soil_depth_mm, soil_l : float
        Depth [mm] and volume [L] of the soil.
    full_kg : float
        What it weighs when full [kg]; NaN where it was never weighed so.
    read : float
        1 where its water was read since it was last watered until it ran, else 0.
    hanging : float
        1 where leaves were seen hanging or dropping lately, else 0.
    """

    limit: float
    chance: float
    harm: float
    target_mm: float
    available_l: float
    soil_depth_mm: float
    soil_l: float
    full_kg: float = nan
    read: float = 0.0
    hanging: float = 0.0

    @property
    def limit_kg(self) -> float:
        """What it weighs at its limit [kg]; NaN where that is not known."""
        return self.full_kg - (1.0 - self.limit) * self.available_l

    @property
    def to_target(self) -> bool:
        """Whether it is judged by a dry depth."""
        return not np.isnan(self.target_mm)


@dataclass(frozen=True, eq=False)
class After:
    """A tree watered in an hour to come: (2, hours), past its limit and dry to its target."""

    hour: int
    rows: Singles


@dataclass(frozen=True, eq=False)
class Outlook:
    """The coming hours of a tree from hour `first` of the sky: (ROWS, hours).

    Of a tree that is called now, what happens if it is not watered was worked out for the
    first `worked` hours only (all where None); from there its state stands still.
    """

    first: int
    rows: Singles
    standing: Standing
    after: After | None = None
    worked: int | None = None

    @property
    def whole(self) -> bool:
        """Whether all its hours were worked out."""
        return self.worked is None or self.worked >= self.rows.shape[1]

    def reaches(self, hour: int) -> bool:
        """Whether an hour of the sky was worked out."""
        return self.whole or (self.worked or 0) > hour - self.first

    def numbers(self, sky_first: int) -> Mapping[str, NDArray[Any]]:
        """Give it as arrays to be stored; hours are counted from 1970."""
        stored = {"rows": self.rows, "standing": np.array(astuple(self.standing))}
        if self.worked is not None:
            stored["worked"] = np.array([self.worked])
        if self.after is not None:
            stored["after"] = self.after.rows
            stored["after_hour"] = np.array([sky_first // 3600 + self.after.hour])
        return stored


def stored_outlook(first: int, numbers: Mapping[str, NDArray[Any]], sky_first: int) -> Outlook:
    """Give an outlook back from what `Outlook.numbers` gave."""
    after = None
    if "after" in numbers:
        hour = int(numbers["after_hour"][0]) - sky_first // 3600
        after = After(hour, np.asarray(numbers["after"]))
    standing = Standing(*(float(value) for value in numbers["standing"]))
    worked = int(numbers["worked"][0]) if "worked" in numbers else None
    return Outlook(first, np.asarray(numbers["rows"]), standing, after, worked)
