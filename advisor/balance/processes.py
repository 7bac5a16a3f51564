"""What an hour does to one column: wetting, drainage, evaporation, uptake.

The equations and their sources stand in README.md, "The model"; the arrays in layout.py.
"""

from typing import Any

from advisor.balance.compiled import compiled
from advisor.balance.layout import (
    ABOVE,
    AD,
    DZ,
    ETA_MIN,
    FLUX,
    FRONT,
    KS_MMH,
    LOST,
    PER_S,
    PER_S_RANGE,
    PER_STORED,
    READY,
    READY_FROM,
    REST,
    ROOTS,
    S_LO,
    SHARE,
    SMALL,
    SPREAD,
    STORED,
    SUM,
    SUPPLY,
    THETA,
    WP,
)
from advisor.balance.lines import lane_row, row


@compiled
def wet(
    w: Any, n: Any, lanes: Any, soil: Any, rest: Any, layers: Any, take: int, enters: float
) -> None:
    """Let FLUX in from the top; what is left of it is what runs out.

    A layer takes at most what it lacks to rest, and of what passes only the share
    (1 - exp(-dz/λ))·η, where η falls in a dried-out layer; `take` says which λ. More than Ks
    in an hour does not enter at all.
    """
    flux, shed = lane_row(FLUX), lane_row(SUM)
    for j in range(lanes):
        w[shed + j] = max(w[flux + j] - soil[KS_MMH], 0.0)
        w[flux + j] -= w[shed + j]
    for k in range(n):
        theta, stored, per_stored = row(THETA, k), row(STORED, k), row(PER_STORED, k)
        share = layers[k, take] * enters
        for j in range(lanes):
            s = (w[theta + j] - soil[AD]) * soil[PER_S]
            rise = min(max((s - soil[S_LO]) * soil[PER_S_RANGE], 0.0), 1.0)
            eta = soil[ETA_MIN] + (1.0 - soil[ETA_MIN]) * rise
            lacks = max(w[stored + j] * (rest[REST, k] - w[theta + j]), 0.0)
            taken = min(lacks, share * eta * w[flux + j])
            w[theta + j] += taken * w[per_stored + j]
            w[flux + j] -= taken
    for j in range(lanes):
        w[flux + j] += w[shed + j]


@compiled
def drain(w: Any, n: Any, lanes: Any, soil: Any, rest: Any) -> None:
    """Let what a layer holds above rest run down and out; LOST is what leaves the base.

    At most Ks an hour passes a layer: grains drain at once, loam and clay take hours.
    """
    lost = lane_row(LOST)
    for j in range(lanes):
        w[lost + j] = 0.0
    for k in range(n):
        theta, stored, per_stored = row(THETA, k), row(STORED, k), row(PER_STORED, k)
        for j in range(lanes):
            arrived = w[lost + j]
            excess = arrived + w[stored + j] * (w[theta + j] - rest[REST, k])
            w[lost + j] = min(max(excess, 0.0), soil[KS_MMH])
            w[theta + j] += (arrived - w[lost + j]) * w[per_stored + j]


@compiled
def evaporate(w: Any, n: Any, lanes: Any, soil: Any, layers: Any, delta0_mm: float) -> None:
    """Dry the surface by FLUX at most: a front sinks, and vapour has to pass what is dry above.

    E = E_p/(1 + δ/δ0) with the front's depth δ, taken where the front stands; LOST is set.
    """
    flux, lost, above, front, total = (
        lane_row(FLUX),
        lane_row(LOST),
        lane_row(ABOVE),
        lane_row(FRONT),
        lane_row(SUM),
    )
    for j in range(lanes):
        w[above + j] = 1.0
        w[front + j] = 0.0
        w[total + j] = 0.0
    for k in range(n):
        theta, share = row(THETA, k), row(SPREAD, k)
        for j in range(lanes):
            moist = min(max((w[theta + j] - soil[AD]) * soil[PER_S] * 2.0, 0.0), 1.0)
            w[share + j] = moist * w[above + j]
            w[total + j] += moist * w[above + j]
            w[above + j] *= 1.0 - moist
            w[front + j] += layers[k, DZ] * w[above + j]
    for j in range(lanes):
        w[total + j] = w[flux + j] / ((1.0 + w[front + j] / delta0_mm) * max(w[total + j], SMALL))
        w[lost + j] = 0.0
    for k in range(n):
        theta, share = row(THETA, k), row(SPREAD, k)
        stored, per_stored = row(STORED, k), row(PER_STORED, k)
        for j in range(lanes):
            free = w[stored + j] * max(w[theta + j] - soil[AD], 0.0)
            taken = min(w[total + j] * w[share + j], free)
            w[theta + j] -= taken * w[per_stored + j]
            w[lost + j] += taken


@compiled
def take_up(
    works: Any,
    n: Any,
    lanes: Any,
    soil: Any,
    rest: Any,
    layers: Any,
    outside: float,
    compensation: float,
) -> None:
    """Let the roots drink FLUX of the first workspace from all columns; LOST is set there.

    Dry layers give less and none below wilting (Feddes); what one layer lacks another makes
    good while ω is above `compensation` (Jarvis). `outside` is the share outside the ball.
    """
    w0, columns = works[0], works.shape[0]
    flux, lost, supply = lane_row(FLUX), lane_row(LOST), lane_row(SUPPLY)
    for j in range(lanes):
        w0[supply + j] = 0.0
        w0[lost + j] = 0.0
    for c in range(columns):
        w = works[c]
        here = 1.0 if columns == 1 else (outside if c == 0 else 1.0 - outside)
        for k in range(n):
            theta, ready = row(THETA, k), row(READY, k)
            weight, per_water = layers[k, ROOTS] * here, rest[c, READY_FROM, k]
            for j in range(lanes):
                alpha = min(max((w[theta + j] - soil[c, WP]) * per_water, 0.0), 1.0)
                w[ready + j] = alpha * weight
                w0[supply + j] += alpha * weight
    for j in range(lanes):
        met = min(1.0, w0[supply + j] / compensation)
        w0[supply + j] = w0[flux + j] * met / max(w0[supply + j], SMALL)
    for c in range(columns):
        w, share = works[c], soil[c, SHARE]
        for k in range(n):
            theta, ready, stored = row(THETA, k), row(READY, k), row(STORED, k)
            per_stored = row(PER_STORED, k)
            for j in range(lanes):
                free = w[stored + j] * max(w[theta + j] - soil[c, WP], 0.0)
                taken = min(w0[supply + j] * w[ready + j] / share, free)
                w[theta + j] -= taken * w[per_stored + j]
                w0[lost + j] += share * taken


@compiled
def add_to(works: Any, lanes: Any, total: Any, c: int, what: Any, share: float) -> None:
    """Add a column's row to one of the pot's running totals."""
    w0, w = works[0], works[c]
    for j in range(lanes):
        w0[lane_row(total) + j] += share * w[lane_row(what) + j]
