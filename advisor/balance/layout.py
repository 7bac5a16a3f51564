"""Names for the rows and columns of the arrays that the kernels share.

A pot is one column of layers, or two side by side (new mix 0, old root ball 1). A block of
members runs together, one lane each, in one flat workspace a column: because every row lies
at a fixed distance from every other, the compiler sees that they never overlap and uses the
vector units. Indices into it are unsigned for the same reason.

Water content is m³/m³, fluxes are mm over the column's own surface (litres per m²), tension
is cm of water, the step is an hour.
"""

import numpy as np

ONE = np.uint64(1)
LANES = np.uint64(32)  # room for so many members in a block
MAX_LAYERS = np.uint64(112)

# Rows of the workspace that have one line a layer.
(THETA, STORED, PER_STORED, TENSION, CONDUCT, SLOPE, FLOW, SPREAD, RATIO, RIGHT) = (
    np.uint64(i) for i in range(10)
)
READY = TENSION  # uptake is over before tension is read
# Rows with one value a lane: parameters, then scratch, then running totals [mm].
_FIRST_LANE_ROW = np.uint64(10) * MAX_LAYERS
(
    THIRST,
    CAPACITY,
    K_C,
    THRESHOLD,
    NOISE,
    COIN,
    FLUX,
    LOST,
    SUPPLY,
    ABOVE,
    FRONT,
    SUM,
    LEFT,
    BALL,
    DRY,
    UNDER_ONE,
    UNDER_TWO,
    WET_AT,
    CHOSEN,
    BASE_FLOW,
    BASE_SPREAD,
    IN,
    RUN_OFF,
    EVAPORATED,
    TRANSPIRED,
) = (_FIRST_LANE_ROW + np.uint64(i) for i in range(25))
TOTALS = (IN, RUN_OFF, EVAPORATED, TRANSPIRED)
WORK_SIZE = int((_FIRST_LANE_ROW + np.uint64(25)) * LANES)

# Columns of `soil`, one row a column of the pot: 1/step of its Curve.table, θ at wilting and
# air-dry, 1/(θ20 - θwp), 1/(θ20 - θad), wetting limits, Ks [mm/h], share of the area, and the
# water between wilting and rest [mm], and θ when all pores are full.
(PER_STEP, WP, AD, PER_WP20, PER_S, S_LO, PER_S_RANGE, ETA_MIN, KS_MMH, SHARE, FULL, PORES) = range(
    12
)
# Columns of `layers`, one row a layer, top first: storage dz·area [mm], thickness [mm], the
# share of passing water taken (and in drizzle), distance to the next centre, own depth [mm],
# and the share of the roots.
(STORE, DZ, TAKE, TAKE_DRIZZLE, DIST_BELOW, CENTRE, ROOTS) = range(7)
# Rows of `rest`: θ at rest, and 1/((1-p)(θ_rest - θ_wp)).
(REST, READY_FROM) = range(2)
# Columns of the hourly `forcing`: rain and pour [mm], demand of surface and crown [mm over
# the pot], share of the uptake outside the ball, and flags.
(RAIN, POUR, EVAPORATION, TRANSPIRATION, OUTSIDE, FILL, FROZEN, MAYBE, DRIZZLE) = range(9)
# Columns of `pot`: vapour depth δ0 [mm], ω below which uptake falls, limit and target at
# which an unrecorded watering may have come, how readily water enters, sideways factor.
(DELTA0, COMPENSATION, LIMIT, TARGET, ENTERS, EXCHANGE) = range(6)
# Rows of `out`: share of available water left, dry depth [mm], share left in the old ball.
(OUT_LEFT, OUT_DRY, OUT_BALL) = range(3)

SMALL = 1e-12
