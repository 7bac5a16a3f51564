"""What a grower could see of a column: how deep it has dried, how much is left."""

from typing import Any

import numpy as np

from advisor.balance.compiled import compiled
from advisor.balance.layout import (
    BALL,
    CENTRE,
    DIST_BELOW,
    DRY,
    DZ,
    FULL,
    LANES,
    LEFT,
    ONE,
    PER_WP20,
    SHARE,
    SMALL,
    STORE,
    THETA,
    THRESHOLD,
    UNDER_ONE,
    UNDER_TWO,
    WET_AT,
    WP,
)
from advisor.balance.lines import lane_row, row

#: A re-wetted top holding less than this above "dry" is looked through [mm] [J].
SKIN_MM = 1.5


@compiled
def dry_depth(w: Any, n: Any, lanes: Any, soil: Any, layers: Any) -> None:
    """Set DRY: depth from the top to the first layer that still reads wet [mm].

    Linear between layer centres. A layer reads dry below its member's THRESHOLD of the water
    between wilting and 20 hPa. A re-wetted top of at most two layers over a dry one, holding
    under SKIN_MM, is looked through.
    """
    full = layers[n - ONE, CENTRE] + 0.5 * layers[n - ONE, DZ]
    dry, wet_at = lane_row(DRY), lane_row(WET_AT)
    for j in range(lanes):
        w[dry + j] = full
        w[wet_at + j] = soil[WP] + w[lane_row(THRESHOLD) + j] / soil[PER_WP20]
    for i in range(n - ONE):
        k = n - ONE - i
        theta = row(THETA, k)
        centre, gap = layers[k - ONE, CENTRE], layers[k - ONE, DIST_BELOW]
        for j in range(lanes):
            here = w[theta + j] - w[wet_at + j]
            above = w[theta - LANES + j] - w[wet_at + j]
            depth = centre + gap * above / min(above - here, -SMALL)
            w[dry + j] = depth if here >= 0.0 else w[dry + j]
        if k <= 2:
            under = lane_row(UNDER_ONE if k == 1 else UNDER_TWO)
            for j in range(lanes):
                w[under + j] = w[dry + j]
    for j in range(lanes):
        w[dry + j] = 0.0 if w[row(THETA, 0) + j] >= w[wet_at + j] else w[dry + j]
    if n > 2:
        _look_through(w, lanes, soil, layers)


@compiled
def _look_through(w: Any, lanes: Any, soil: Any, layers: Any) -> None:
    """Replace a depth of 0 by the depth under a thin re-wetted skin."""
    dry, wet_at = lane_row(DRY), lane_row(WET_AT)
    for j in range(lanes):
        first = w[row(THETA, 0) + j] - w[wet_at + j]
        second = w[row(THETA, 1) + j] - w[wet_at + j]
        third = w[row(THETA, 2) + j] - w[wet_at + j]
        held = first * layers[0, DZ]
        one = second < 0.0 and held < SKIN_MM
        two = second >= 0.0 and third < 0.0 and held + second * layers[1, DZ] < SKIN_MM
        if w[dry + j] == 0.0 and one:
            w[dry + j] = w[lane_row(UNDER_ONE) + j]
        elif w[dry + j] == 0.0 and two:
            w[dry + j] = w[lane_row(UNDER_TWO) + j]


@compiled
def water_left(works: Any, n: Any, lanes: Any, soil: Any, layers: Any) -> None:
    """Set LEFT and BALL: the share of the water between wilting and rest that is left.

    LEFT is of the pot, BALL of its last column (the old ball where there is one). A member's
    capacity factor multiplies held and full water alike and cancels.
    """
    w0 = works[0]
    left, ball = lane_row(LEFT), lane_row(BALL)
    full = 0.0
    for j in range(lanes):
        w0[left + j] = 0.0
    for c in range(works.shape[0]):
        w = works[c]
        for j in range(lanes):
            w[ball + j] = 0.0
        for k in range(n):
            theta = row(THETA, k)
            for j in range(lanes):
                w[ball + j] += layers[k, STORE] * (w[theta + j] - soil[c, WP])
        for j in range(lanes):
            w0[left + j] += soil[c, SHARE] * w[ball + j]
            w[ball + j] /= soil[c, FULL]
        full += soil[c, SHARE] * soil[c, FULL]
    for j in range(lanes):
        w0[left + j] /= full
        w0[ball + j] = works[np.uint64(works.shape[0]) - ONE, ball + j]
