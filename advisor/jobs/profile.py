"""How wet a pot is, layer by layer: now, and when it will have dried to what is waited for."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout
from advisor.jobs.carry import Point
from advisor.jobs.followed import Followed
from advisor.jobs.outlook import AT_TARGET, PAST_LIMIT
from advisor.jobs.summary import QUANTILES

Floats = NDArray[np.float64]

HALF: Final = 0.5  # share of the guesses that have come so far: as likely as not [C]


@dataclass(frozen=True, eq=False)
class Column:
    """The new mix, or the old root ball; shares of the soil's volume [m³/m³], (layers,).

    Attributes
    ----------
    full, wilting : array
        After it drained, and where the roots get no more.
    reads_dry : float
        Below this it feels dry.
    now, then : (3, layers) array
        Low, mid and high; `then` is None where it is not foreseen.
    """

    full: Floats
    wilting: float
    reads_dry: float
    now: Floats
    then: Floats | None


@dataclass(frozen=True, eq=False)
class Profile:
    """A pot from its surface down.

    Attributes
    ----------
    edge_mm : (layers + 1,) array
        Depths of the layers' edges below the surface [mm].
    columns : tuple of Column
        One, or the new mix and the old root ball.
    target_mm : float or None
        Dry depth it is kept to [mm].
    then_at : datetime or None
        When it is likely dry to that, or wants water where there is none.
    already : bool
        Whether it is so now.
    """

    edge_mm: Floats
    columns: tuple[Column, ...]
    target_mm: float | None
    then_at: datetime | None
    already: bool = False


def profile(followed: Followed) -> Profile:
    """Give how wet a pot is now, and when it will have dried to its target or its limit."""
    model, outlook, now = followed.model, followed.outlook, followed.now
    target = model.dry_target_mm(followed.told.at)
    coming = outlook.rows[AT_TARGET if target else PAST_LIMIT, now.index - outlook.first:]
    hours = np.flatnonzero(coming >= HALF)
    then = followed.at_hour(now.index + int(hours[0])) if hours.size and hours[0] else None
    pot = model.filled.pot
    edge = np.concatenate([[0.0], np.cumsum(pot.layers[:, layout.DZ])])
    columns = tuple(_column(followed, i, now, then) for i in range(len(pot.soil)))
    then_at = None if then is None else followed.told.sky.instant(then.index)
    return Profile(edge, columns, target, then_at, bool(hours.size and not hours[0]))


def _column(followed: Followed, i: int, now: Point, then: Point | None) -> Column:
    pot = followed.model.filled.pot
    wilting = float(pot.soil[i, layout.WP])
    dry = wilting + float(np.median(now.members[3])) / float(pot.soil[i, layout.PER_WP20])
    return Column(pot.rest[i, layout.REST], wilting, dry, _spread(now.state[i]),
                  None if then is None else _spread(then.state[i]))


def _spread(theta: Floats) -> Floats:
    return np.asarray(np.quantile(theta, QUANTILES, axis=1))
