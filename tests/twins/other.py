"""A truth that lives by another model: Richards' equation on 1 mm, in gritty old grains.

The mix has partly broken down, which nobody told the advisor: other retention curves. All of
evaporation, uptake and flow happen at once (tests/richards.py); rain and waterings wet from
the top by the kernel's rule, layer by layer.
"""

from dataclasses import replace

import numpy as np
from richards import STIFF, FineColumn
from soils import even_layers
from twins.keeper import Truth
from twins.trees import MIXES, Floats, Scene

from advisor.balance import layout, seen
from advisor.balance.pots import Column, Pot, pack
from advisor.balance.run import Forcing, Path, at_rest
from advisor.jobs.shapes import curve_of
from advisor.pot.capacity import rest_contents


def as_richards(scene: Scene, who: Floats) -> Truth:
    """Give a truth on the fine grid; the pots are straight and hold one substrate."""
    mix = next(mix for mix in MIXES if mix.name == scene.model.potting.mix)
    curve, depth = curve_of(mix, "gritty"), scene.pot.depth_mm
    cut = even_layers(round(depth), depth / round(depth))
    column = FineColumn(curve, depth, float(who[2, 0]), depth / round(depth))
    pot = pack([Column(curve, 1.0, rest_contents(curve, cut, 0.0))], cut, scene.pot.surface_m2)
    pot = replace(pot, depth_mm=depth)  # free of rounding
    return Truth(pot, who, lambda state, hours: _live(pot, column, who, state, hours),
                 at_rest(pot, 1))


def _live(pot: Pot, column: FineColumn, who: Floats, state: Floats, forcing: Forcing) -> Path:
    """Live through hours; dry spells between two rains in one go."""
    hours, rest = forcing.hours, pot.rest[0, layout.REST]
    wet = [0, *(1 + np.flatnonzero(hours[1:, layout.RAIN] > 0.0)), len(hours)]
    theta, starts = state[0, :, 0], []
    for first, last in zip(wet, wet[1:], strict=False):
        if hours[first, layout.FILL] > 0.0:
            theta = rest.copy()
        at_start = theta
        theta = _wetted(pot, who, theta, hours[first])
        path = _dried(column, who, theta, hours[first:last], forcing, first)
        path[:, 0] = at_start
        starts.append(path[:, :-1])
        theta = np.minimum(path[:, -1], np.maximum(rest, state[0, :, 0]))
    along = np.concatenate(starts, axis=1)[None]
    look = seen.look(pot, np.repeat(who, along.shape[2], axis=1), np.ascontiguousarray(along))
    rows = (np.asarray(row, dtype=np.float32)[:, None]
            for row in (look.left, look.dry_mm, look.ball_left))
    return Path(*rows, np.ascontiguousarray(theta[None, :, None]), np.zeros((4, 1)))


def _wetted(pot: Pot, who: Floats, theta: Floats, hour: Floats) -> Floats:
    """Let an hour's rain in from the top."""
    theta, left = theta.copy(), hour[layout.RAIN]
    stored = pot.layers[:, layout.STORE] * who[1, 0]
    column = layout.TAKE_DRIZZLE if hour[layout.DRIZZLE] > 0.0 else layout.TAKE
    for k in range(len(theta)):
        lacks = max(stored[k] * (pot.rest[0, layout.REST, k] - theta[k]), 0.0)
        taken = min(lacks, pot.layers[k, column] * left)
        theta[k] += taken / stored[k]
        left -= taken
    return theta


def _dried(column: FineColumn, who: Floats, theta: Floats, hours: Floats, forcing: Forcing,
           first: int) -> Floats:
    """Give the water content at each hour's start and the end: (layers, hours + 1)."""
    factor = forcing.noise[forcing.rows[first:first + len(hours)], 0]
    evaporation = hours[:, layout.EVAPORATION] * factor
    uptake = hours[:, layout.TRANSPIRATION] * factor * who[0, 0]
    middle, at = np.arange(len(hours)) + 0.5, np.arange(len(hours) + 1.0)

    def change(t: float, y: Floats) -> Floats:
        asked = (float(np.interp(t, middle, rate)) for rate in (evaporation, uptake))
        return column.change(y, *asked) / who[1, 0]

    path = STIFF(change, (0.0, at[-1]), theta, "BDF", t_eval=at, vectorized=True, rtol=1e-3,
                 atol=1e-5)
    if not path.success:
        raise ArithmeticError(path.message)
    return np.array(path.y)
