"""What a grower would find in a pot if a member were right: one value a member."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout
from advisor.balance.pots import Pot
from advisor.balance.run import Forcing, Path, Task, run
from advisor.errors import Refused

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Look:
    """Dry depth [mm] and share of available water left of pot and old ball [-], (members,)."""

    dry_mm: Floats
    left: Floats
    ball_left: Floats


def look(pot: Pot, members: Floats, state: Floats) -> Look:
    """Look at a pot as the kernel does at the start of an hour.

    Parameters
    ----------
    pot : Pot
    members : (4, m) array
        Their parameters, as `balance.members.draw` gives them.
    state : (columns, layers, m) array
        Water content [m³/m³].

    Returns
    -------
    Look
    """
    path = _frozen_hour(pot, members, state)
    return Look(*(np.asarray(row[0], dtype=np.float64)
                  for row in (path.dry_mm, path.left, path.ball_left)))


def _frozen_hour(pot: Pot, members: Floats, state: Floats) -> Path:
    """Run an hour of frost: nothing moves in it, and its start is looked at."""
    hours = np.zeros((1, 9))
    hours[0, layout.FROZEN] = 1.0
    one = np.ones((1, members.shape[1]))
    return run(Task(pot, members, state, Forcing(hours, one, one)))


def wetness(pot: Pot, state: Floats, depth_mm: float) -> Floats:
    """Give how wet the new mix is at a depth: 0 at wilting, 1 at 20 hPa, (members,) [-].

    Linear between layer centres, level above the first and below the last.

    Parameters
    ----------
    pot : Pot
    state : (columns, layers, m) array
        Water content [m³/m³].
    depth_mm : float
        From the surface [mm].

    Raises
    ------
    Refused
        A depth above the surface or below the base.
    """
    if not 0.0 <= depth_mm <= pot.depth_mm:
        raise Refused("depth", f"{depth_mm:g} mm", f"0 to {pot.depth_mm:g} mm of soil",
                      "Give the depth from the surface.")
    centre = pot.layers[:, layout.CENTRE]
    last = len(centre) - 1
    below = min(int(np.searchsorted(centre, depth_mm)), last)
    above = max(below - 1, 0)
    gap = max(float(centre[below] - centre[above]), layout.SMALL)
    part = min(max((depth_mm - float(centre[above])) / gap, 0.0), 1.0)
    theta = (1.0 - part) * state[0, above] + part * state[0, below]
    return np.asarray((theta - pot.soil[0, layout.WP]) * pot.soil[0, layout.PER_WP20])


def lacking_l(pot: Pot, members: Floats, state: Floats) -> Floats:
    """Give what the pot lacks below full, in litres, which weigh a kilogram each, (members,).

    Full is the water at rest after a thorough watering.

    Parameters
    ----------
    pot : Pot
    members : (4, m) array
    state : (columns, layers, m) array
        Water content [m³/m³].
    """
    lacks = pot.rest[:, layout.REST, :, None] - state
    mm = np.einsum("c,l,clm->m", pot.soil[:, layout.SHARE], pot.layers[:, layout.STORE], lacks)
    return np.asarray(mm * members[1] * pot.surface_m2)


def available_l(pot: Pot, members: Floats, state: Floats) -> Floats:
    """Give the water above wilting [L], (members,)."""
    above = state - pot.soil[:, layout.WP][:, None, None]
    mm = np.einsum("c,l,clm->m", pot.soil[:, layout.SHARE], pot.layers[:, layout.STORE], above)
    return np.asarray(mm * members[1] * pot.surface_m2)
