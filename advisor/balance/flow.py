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
    BASE_FLOW,
    BASE_SPREAD,
    CONDUCT,
    DIST_BELOW,
    DZ,
    FLOW,
    FLUX,
    FRONT,
    K_C,
    LANES,
    ONE,
    PER_STEP,
    PER_STORED,
    PORES,
    RATIO,
    RIGHT,
    SHARE,
    SLOPE,
    SMALL,
    SPREAD,
    STORED,
    SUM,
    TENSION,
    THETA,
)
from advisor.balance.lines import lane_row, row

#: Share of the upper layer's water above air-dry that may pass a face in an hour [C].
FACE_LIMIT = 0.2
#: An implicit step with a secant s errs by 1 - slope/s each time: half the slope is safe [C].
LEAST_OF_SLOPE = 0.5
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
    """Give each inner face its flow now, and how that changes with θ above and below.

    FLOW is K·(dh/dz + 1) in mm a step, downward; SPREAD is K·s/dz with the secant s of h(θ).
    The conductivity of a face is the mean of its layers', held in both terms alike to what
    the upper layer can spare; otherwise a profile at rest would drift. Towards rest, s is at
    least LEAST_OF_SLOPE of the lower layer's own slope: near saturation h(θ) bends sharply,
    and with the secant alone a rounding error would grow from hour to hour.
    """
    step = 10.0 * dt_h
    for k in range(n - ONE):
        theta, tension, conduct = row(THETA, k), row(TENSION, k), row(CONDUCT, k)
        slope, flow, spread = row(SLOPE, k), row(FLOW, k), row(SPREAD, k)
        per_cm = 10.0 / layers[k, DIST_BELOW]
        limit = FACE_LIMIT * 0.1 * layers[k, DZ] / dt_h
        for j in range(lanes):
            face = min(
                0.5 * (w[conduct + j] + w[conduct + LANES + j]),
                limit * max(w[theta + j] - soil[AD], 0.0),
            )
            gap = w[theta + j] - w[theta + LANES + j]
            rise = w[tension + LANES + j] - w[tension + j]
            apart = abs(gap) > SMALL
            secant = rise / (gap if apart else 1.0)
            secant = secant if apart else w[slope + j]
            drive = 1.0 + rise * per_cm  # 0 at rest
            steep = max(LEAST_OF_SLOPE * w[slope + LANES + j] - secant, 0.0)
            secant += max(1.0 - abs(drive), 0.0) * steep
            w[flow + j] = step * face * drive
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
) -> None:
    """Give the face to a base held at a tension, as `_faces` does."""
    i = np.uint64(table.shape[0] - 2)
    while i > 0 and table[i, 0] < base_tension_cm:
        i -= ONE
    part = (table[i, 0] - base_tension_cm) / (table[i, 0] - table[i + ONE, 0])
    held = (float(i) + part) / soil[PER_STEP]
    grain = table[i, 1] + part * (table[i + ONE, 1] - table[i, 1])
    between = table[i, 2] + part * (table[i + ONE, 2] - table[i, 2])
    k_c, lowest = lane_row(K_C), n - ONE
    per_cm = 1.0 / (0.05 * layers[lowest, DZ])
    for j in range(lanes):
        face = 0.5 * (w[row(CONDUCT, lowest) + j] + w[k_c + j] * grain + between)
        gap = w[row(THETA, lowest) + j] - held
        rise = base_tension_cm - w[row(TENSION, lowest) + j]
        secant = w[row(SLOPE, lowest) + j]
        if abs(gap) > SMALL:
            secant = rise / gap
        w[lane_row(BASE_FLOW) + j] = 10.0 * dt_h * face * (1.0 + rise * per_cm)
        w[lane_row(BASE_SPREAD) + j] = 10.0 * dt_h * face * secant * per_cm


@compiled
def _eliminate(w: Any, n: Any, lanes: Any) -> None:
    """Go down from the top: RIGHT and RATIO of every layer but the lowest, `keeps` in SUM."""
    stored, flow, spread = row(STORED, 0), row(FLOW, 0), row(SPREAD, 0)
    ratio, right, top, keeps = row(RATIO, 0), row(RIGHT, 0), lane_row(FLUX), lane_row(SUM)
    for j in range(lanes):
        inverse = 1.0 / (w[stored + j] + w[spread + j])
        w[ratio + j] = w[spread + j] * inverse
        w[keeps + j] = w[stored + j] * inverse
        w[right + j] = (w[top + j] - w[flow + j]) * inverse
    for k in range(ONE, n - ONE):
        stored, flow, spread = row(STORED, k), row(FLOW, k), row(SPREAD, k)
        ratio, right = row(RATIO, k), row(RIGHT, k)
        for j in range(lanes):
            above, below = w[spread - LANES + j], w[spread + j]
            gains = w[flow - LANES + j] - w[flow + j]
            holds = w[stored + j] + above * w[keeps + j]
            inverse = 1.0 / (holds + below)
            w[ratio + j] = below * inverse
            w[keeps + j] = holds * inverse
            w[right + j] = (gains + above * w[right - LANES + j]) * inverse


@compiled
def _solve(w: Any, n: Any, lanes: Any) -> None:
    """Solve the tridiagonal step for the change of θ (Thomas: down, then up); FLUX enters on top.

    Solved for the change, and with 1 - ratio carried along as `keeps`, rest stays rest even
    where h(θ) is very steep; the lowest layer gets what the others leave, so that nothing is
    lost to rounding.
    """
    _eliminate(w, n, lanes)
    top, keeps, lowest = lane_row(FLUX), lane_row(SUM), n - ONE
    theta, stored, flow = row(THETA, lowest), row(STORED, lowest), row(FLOW, lowest)
    spread, right = row(SPREAD, lowest), row(RIGHT, lowest)
    out, held = lane_row(BASE_FLOW), lane_row(BASE_SPREAD)
    for j in range(lanes):
        above = w[spread - LANES + j]
        gains = w[flow - LANES + j] - w[out + j]
        inverse = 1.0 / (w[stored + j] + w[held + j] + above * w[keeps + j])
        w[right + j] = (gains + above * w[right - LANES + j]) * inverse
        w[keeps + j] = w[top + j] - w[out + j] - w[held + j] * w[right + j]
    for i in range(ONE, n):
        above, next_ratio, change = (
            row(THETA, lowest - i),
            row(RATIO, lowest - i),
            row(RIGHT, lowest - i),
        )
        stored = row(STORED, lowest - i)
        for j in range(lanes):
            w[change + j] += w[next_ratio + j] * w[change + LANES + j]
            w[above + j] += w[change + j]
            w[keeps + j] -= w[stored + j] * w[change + j]
    per_stored = row(PER_STORED, lowest)
    for j in range(lanes):
        w[theta + j] += w[keeps + j] * w[per_stored + j]


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
    _conduct(w, n, lanes, soil, table)
    _faces(w, n, lanes, soil, layers, dt_h)
    if base_tension_cm >= 0.0:
        _base(w, n, lanes, soil, table, layers, dt_h, base_tension_cm)
    else:
        for j in range(lanes):
            w[lane_row(BASE_FLOW) + j] = 0.0
            w[lane_row(BASE_SPREAD) + j] = 0.0
    _solve(w, n, lanes)


@compiled
def exchange(works: Any, n: Any, lanes: Any, soil: Any, layers: Any, per_mm2: float) -> None:
    """Move water sideways between new mix and old ball, layer by layer, for one hour.

    Comes after `redistribute` of both columns and uses the tensions and conductivities from
    before it, implicitly with the slopes of h(θ). The conductivity is the harmonic mean of
    the two, held to what the giver can spare and the taker has room for; `per_mm2` is (side
    area per mm of depth) / (pot's surface x distance) [1/mm²].
    """
    mix, ball = works[0], works[1]
    for k in range(n):
        theta, tension, conduct = row(THETA, k), row(TENSION, k), row(CONDUCT, k)
        stored, per_stored, slope = row(STORED, k), row(PER_STORED, k), row(SLOPE, k)
        for j in range(lanes):
            pull = ball[tension + j] - mix[tension + j]  # > 0: the ball is drier and draws
            k0, k1 = mix[conduct + j], ball[conduct + j]
            from_mix = soil[0, SHARE] * mix[stored + j] * max(mix[theta + j] - soil[0, AD], 0.0)
            from_ball = soil[1, SHARE] * ball[stored + j] * max(ball[theta + j] - soil[1, AD], 0.0)
            face = 2.0 * k0 * k1 / max(k0 + k1, SMALL)
            conveys = 100.0 * face * per_mm2 * layers[k, DZ]  # cm/h x cm = 100 mm²/h
            eases = (
                mix[slope + j] * mix[per_stored + j] / soil[0, SHARE]
                + ball[slope + j] * ball[per_stored + j] / soil[1, SHARE]
            )
            wanted = conveys * pull / (1.0 + conveys * eases)
            into_ball = (
                soil[1, SHARE] * ball[stored + j] * max(soil[1, PORES] - ball[theta + j], 0.0)
            )
            into_mix = soil[0, SHARE] * mix[stored + j] * max(soil[0, PORES] - mix[theta + j], 0.0)
            most = FACE_LIMIT * min(from_mix, into_ball)
            least = -FACE_LIMIT * min(from_ball, into_mix)
            moved = min(max(wanted, least), most)
            mix[theta + j] -= moved / soil[0, SHARE] * mix[per_stored + j]
            ball[theta + j] += moved / soil[1, SHARE] * ball[per_stored + j]
