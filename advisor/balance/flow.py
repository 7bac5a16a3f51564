"""Capillary flow between layers and between a root ball and the mix around it.

Darcy's law with tension h [cm]: q = K·(dh/dz + 1) downward, stepped implicitly with the
secant of h(θ) (README.md, "The model"). Arrays as in layout.py.
"""

from typing import Any

import numpy as np

from advisor.balance.compiled import compiled
from advisor.balance.layout import (
    ABOVE,
    AD,
    BASE_GRAVITY,
    BASE_SPREAD,
    CONDUCT,
    DIST_BELOW,
    DZ,
    FLUX,
    FRONT,
    GRAVITY,
    K_C,
    LANES,
    ONE,
    PER_STEP,
    PER_STORED,
    RATIO,
    RIGHT,
    SHARE,
    SLOPE,
    SMALL,
    SPREAD,
    STORED,
    TENSION,
    THETA,
    lane_row,
    row,
)

#: Share of the upper layer's water above air-dry that may pass a face in an hour [C].
FACE_LIMIT = 0.2
#: In place of a tension at the base: nothing flows there but what drains.
SEALED = -1.0


@compiled
def _conduct(w: Any, n: Any, lanes: Any, soil: Any, table: Any) -> None:
    """Read tension [cm], conductivity [cm/h] and -dh/dθ [cm] of every layer from the table."""
    per_step = soil[PER_STEP]
    last = float(table.shape[0]) - 1.0 - 1e-9
    k_c, line, part = lane_row(K_C), lane_row(ABOVE), lane_row(FRONT)
    for k in range(n):
        theta, tension = row(THETA, k), row(TENSION, k)
        conduct, slope = row(CONDUCT, k), row(SLOPE, k)
        for j in range(lanes):
            x = min(max(w[theta + j] * per_step, 0.0), last)
            w[line + j] = float(np.int32(x))
            w[part + j] = x - w[line + j]
        for j in range(lanes):
            i, p = np.uint64(np.int32(w[line + j])), w[part + j]
            dry, wet = table[i, 0], table[i + ONE, 0]
            grain = table[i, 1] + p * (table[i + ONE, 1] - table[i, 1])
            between = table[i, 2] + p * (table[i + ONE, 2] - table[i, 2])
            w[tension + j] = dry + p * (wet - dry)
            w[conduct + j] = w[k_c + j] * grain + between
            w[slope + j] = (dry - wet) * per_step


@compiled
def _faces(w: Any, n: Any, lanes: Any, soil: Any, layers: Any, dt_h: float) -> None:
    """Give each inner face q = gravity + spread·(θ_upper - θ_lower), in mm a step.

    The conductivity of a face is the mean of its layers', held in both terms alike to what
    the upper layer can spare; otherwise a profile at rest would drift.
    """
    step = 10.0 * dt_h
    for k in range(n - ONE):
        theta, tension, conduct = row(THETA, k), row(TENSION, k), row(CONDUCT, k)
        slope, gravity, spread = row(SLOPE, k), row(GRAVITY, k), row(SPREAD, k)
        per_cm = 10.0 / layers[k, DIST_BELOW]
        limit = FACE_LIMIT * 0.1 * layers[k, DZ] / dt_h
        for j in range(lanes):
            face = min(
                0.5 * (w[conduct + j] + w[conduct + LANES + j]),
                limit * max(w[theta + j] - soil[AD], 0.0),
            )
            gap = w[theta + j] - w[theta + LANES + j]
            apart = abs(gap) > SMALL
            secant = (w[tension + LANES + j] - w[tension + j]) / (gap if apart else 1.0)
            secant = secant if apart else w[slope + j]
            w[gravity + j] = step * face
            w[spread + j] = step * face * secant * per_cm


@compiled
def _base(
    w: Any,
    n: Any,
    lanes: Any,
    soil: Any,
    table: Any,
    layers: Any,
    dt_h: float,
    base_tension_cm: float,
) -> float:
    """Give the face to a base held at a tension; return the water content there."""
    i = np.uint64(table.shape[0] - 2)
    while i > 0 and table[i, 0] < base_tension_cm:
        i -= ONE
    part = (table[i, 0] - base_tension_cm) / (table[i, 0] - table[i + ONE, 0])
    held = (float(i) + part) / soil[PER_STEP]
    grain = table[i, 1] + part * (table[i + ONE, 1] - table[i, 1])
    between = table[i, 2] + part * (table[i + ONE, 2] - table[i, 2])
    k_c, lowest = lane_row(K_C), n - ONE
    for j in range(lanes):
        k_base = w[k_c + j] * grain + between
        face = 0.5 * (w[row(CONDUCT, lowest) + j] + k_base)
        gap = w[row(THETA, lowest) + j] - held
        secant = w[row(SLOPE, lowest) + j]
        if abs(gap) > SMALL:
            secant = (base_tension_cm - w[row(TENSION, lowest) + j]) / gap
        w[lane_row(BASE_GRAVITY) + j] = 10.0 * dt_h * face
        w[lane_row(BASE_SPREAD) + j] = 10.0 * dt_h * face * secant / (0.05 * layers[lowest, DZ])
    return float(held)


@compiled
def _solve(w: Any, n: Any, lanes: Any, base_theta: float) -> None:
    """Solve the tridiagonal step for θ, in place (Thomas: down, then up); FLUX enters on top."""
    theta, stored, gravity, spread = row(THETA, 0), row(STORED, 0), row(GRAVITY, 0), row(SPREAD, 0)
    ratio, right, top = row(RATIO, 0), row(RIGHT, 0), lane_row(FLUX)
    for j in range(lanes):
        inverse = 1.0 / (w[stored + j] + w[spread + j])
        w[ratio + j] = w[spread + j] * inverse
        w[right + j] = (w[stored + j] * w[theta + j] + w[top + j] - w[gravity + j]) * inverse
    for k in range(ONE, n - ONE):
        theta, stored, gravity = row(THETA, k), row(STORED, k), row(GRAVITY, k)
        spread, ratio, right = row(SPREAD, k), row(RATIO, k), row(RIGHT, k)
        for j in range(lanes):
            above, below = w[spread - LANES + j], w[spread + j]
            known = w[stored + j] * w[theta + j] + w[gravity - LANES + j] - w[gravity + j]
            inverse = 1.0 / (w[stored + j] + below + above * (1.0 - w[ratio - LANES + j]))
            w[ratio + j] = below * inverse
            w[right + j] = (known + above * w[right - LANES + j]) * inverse
    lowest = n - ONE
    theta, stored, gravity = row(THETA, lowest), row(STORED, lowest), row(GRAVITY, lowest)
    spread, ratio, right = row(SPREAD, lowest), row(RATIO, lowest), row(RIGHT, lowest)
    out, held = lane_row(BASE_GRAVITY), lane_row(BASE_SPREAD)
    for j in range(lanes):
        above, below = w[spread - LANES + j], w[held + j]
        known = (
            w[stored + j] * w[theta + j] + w[gravity - LANES + j] - w[out + j] + below * base_theta
        )
        inverse = 1.0 / (w[stored + j] + below + above * (1.0 - w[ratio - LANES + j]))
        w[theta + j] = (known + above * w[right - LANES + j]) * inverse
    for i in range(ONE, n):
        theta, ratio, right = (
            row(THETA, lowest - i),
            row(RATIO, lowest - i),
            row(RIGHT, lowest - i),
        )
        for j in range(lanes):
            w[theta + j] = w[right + j] + w[ratio + j] * w[theta + LANES + j]


@compiled
def redistribute(
    w: Any,
    n: Any,
    lanes: Any,
    soil: Any,
    table: Any,
    layers: Any,
    dt_h: float,
    base_tension_cm: float,
) -> None:
    """Move water between layers by capillarity and gravity for one step, implicitly.

    Parameters
    ----------
    w : array
        The column's workspace: THETA is changed; STORED, K_C and FLUX (what enters the top
        during the step [mm], negative where it leaves) are read.
    n, lanes : unsigned
        Layers (at least 2) and members.
    soil, table, layers : arrays
        One row of `soil`, its `Curve.table`, and the layer table.
    dt_h : float
        Step [h].
    base_tension_cm : float
        Tension held at the base [cm], or SEALED.
    """
    base_theta = 0.0
    _conduct(w, n, lanes, soil, table)
    _faces(w, n, lanes, soil, layers, dt_h)
    if base_tension_cm >= 0.0:
        base_theta = _base(w, n, lanes, soil, table, layers, dt_h, base_tension_cm)
    else:
        for j in range(lanes):
            w[lane_row(BASE_GRAVITY) + j] = 0.0
            w[lane_row(BASE_SPREAD) + j] = 0.0
    _solve(w, n, lanes, base_theta)


@compiled
def exchange(works: Any, n: Any, lanes: Any, soil: Any, layers: Any, per_mm2: float) -> None:
    """Move water sideways between new mix and old ball, layer by layer, for one hour.

    Comes after `redistribute` of both columns and uses the tensions and conductivities from
    before it. The conductivity is the harmonic mean of the two, held to what the giver can
    spare; `per_mm2` is (side area per mm of depth) / (pot's surface x distance) [1/mm²].
    """
    mix, ball = works[0], works[1]
    for k in range(n):
        theta, tension, conduct = row(THETA, k), row(TENSION, k), row(CONDUCT, k)
        stored, per_stored = row(STORED, k), row(PER_STORED, k)
        for j in range(lanes):
            pull = ball[tension + j] - mix[tension + j]  # > 0: the ball is drier and draws
            k0, k1 = mix[conduct + j], ball[conduct + j]
            from_mix = soil[0, SHARE] * mix[stored + j] * max(mix[theta + j] - soil[0, AD], 0.0)
            from_ball = soil[1, SHARE] * ball[stored + j] * max(ball[theta + j] - soil[1, AD], 0.0)
            face = 2.0 * k0 * k1 / max(k0 + k1, SMALL)
            wanted = 100.0 * face * pull * per_mm2 * layers[k, DZ]  # cm/h x cm = 100 mm²/h
            moved = min(max(wanted, -FACE_LIMIT * from_ball), FACE_LIMIT * from_mix)
            mix[theta + j] -= moved / soil[0, SHARE] * mix[per_stored + j]
            ball[theta + j] += moved / soil[1, SHARE] * ball[per_stored + j]
