"""The kernel: a pot's water, hour by hour, for a block of members at a time.

One hour: what is poured is taken up and the state is looked at; then rain wets, what
exceeds rest drains, the surface evaporates, roots take up, and capillary flow evens out.
The equations and their sources stand in README.md, "The model"; the arrays in layout.py.
"""

from typing import Any

import numpy as np

from advisor.balance.compiled import compiled
from advisor.balance.flow import SEALED, exchange, redistribute
from advisor.balance.layout import (
    AD,
    BALL,
    CAPACITY,
    CHOSEN,
    COIN,
    COMPENSATION,
    DELTA0,
    DRIZZLE,
    DRY,
    ENTERS,
    EVAPORATED,
    EVAPORATION,
    EXCHANGE,
    FILL,
    FLUX,
    FROZEN,
    IN,
    K_C,
    LANES,
    LEFT,
    LIMIT,
    LOST,
    MAYBE,
    NOISE,
    OUT_BALL,
    OUT_DRY,
    OUT_LEFT,
    OUTSIDE,
    PER_S,
    PER_STORED,
    POUR,
    RAIN,
    REST,
    RUN_OFF,
    S_LO,
    SHARE,
    STORE,
    STORED,
    SUPPLY,
    TAKE,
    TAKE_DRIZZLE,
    TARGET,
    THETA,
    THIRST,
    THRESHOLD,
    TOTALS,
    TRANSPIRATION,
    TRANSPIRED,
)
from advisor.balance.lines import lane_row, row
from advisor.balance.look import dry_depth, water_left
from advisor.balance.processes import add_to, drain, evaporate, take_up, wet

#: "Until it ran" is two goes, each of what is lacking and this much more [mm] [J].
EXTRA_MM = 10.0


@compiled
def _fill(w: Any, n: Any, lanes: Any, soil: Any, rest: Any, enters: float) -> None:
    """Bring to rest what takes water at once; LOST is what that took, FLUX what was lacking."""
    flux, taken, chosen = lane_row(FLUX), lane_row(LOST), lane_row(CHOSEN)
    for j in range(lanes):
        w[taken + j] = 0.0
    for k in range(n):
        theta, stored, per_stored = row(THETA, k), row(STORED, k), row(PER_STORED, k)
        for j in range(lanes):
            lacks = max(w[stored + j] * (rest[REST, k] - w[theta + j]), 0.0) * w[chosen + j]
            s = (w[theta + j] - soil[AD]) * soil[PER_S]
            at_once = lacks if s > soil[S_LO] and enters >= 1.0 else 0.0
            w[flux + j] += lacks
            w[taken + j] += at_once
            w[theta + j] += at_once * w[per_stored + j]


@compiled
def pour(works: Any, n: Any, lanes: Any, soil: Any, rest: Any, layers: Any, water_mm: float,
         goes: int, enters: float) -> None:
    """Water the CHOSEN lanes of every column: `water_mm` in one go, or two goes until it ran."""
    flux, wanted, chosen = lane_row(FLUX), lane_row(SUPPLY), lane_row(CHOSEN)
    for c in range(works.shape[0]):
        w, share = works[c], soil[c, SHARE]
        for j in range(lanes):
            w[chosen + j] = works[0, chosen + j]
            w[flux + j] = water_mm * w[chosen + j]
        if goes == 2:
            _fill(w, n, lanes, soil[c], rest[c], enters)
            add_to(works, lanes, IN, c, LOST, share)
            for j in range(lanes):
                w[flux + j] += EXTRA_MM * w[chosen + j]
        for j in range(lanes):
            w[wanted + j] = w[flux + j]
        for _ in range(goes):
            for j in range(lanes):
                w[flux + j] = w[wanted + j]
            add_to(works, lanes, IN, c, FLUX, share)
            wet(w, n, lanes, soil[c], rest[c], layers, TAKE, enters)
            add_to(works, lanes, RUN_OFF, c, FLUX, share)


@compiled
def _rain(w: Any, lanes: Any, into: Any, now: Any, falls: Any) -> None:
    """Give each lane the hour's rain: its own where members differ, else the one there is."""
    if falls.shape[0] == int(lanes):
        for j in range(lanes):
            w[into + j] = falls[j]
    else:
        for j in range(lanes):
            w[into + j] = now[RAIN]


@compiled
def dry_an_hour(works: Any, n: Any, lanes: Any, soil: Any, tables: Any, rest: Any, layers: Any,
                pot: Any, now: Any, falls: Any) -> None:
    """Rain, drainage, evaporation, uptake and capillary flow of one hour, in this order."""
    w0, flux, noise = works[0], lane_row(FLUX), lane_row(NOISE)
    take = TAKE_DRIZZLE if now[DRIZZLE] > 0.0 else TAKE
    for c in range(works.shape[0]):
        w, share = works[c], soil[c, SHARE]
        if now[RAIN] > 0.0:
            _rain(w, lanes, flux, now, falls)
            add_to(works, lanes, IN, c, FLUX, share)
            wet(w, n, lanes, soil[c], rest[c], layers, take, pot[ENTERS])
            add_to(works, lanes, RUN_OFF, c, FLUX, share)
        drain(w, n, lanes, soil[c], rest[c])
        add_to(works, lanes, RUN_OFF, c, LOST, share)
        for j in range(lanes):
            w[flux + j] = now[EVAPORATION] * w0[noise + j]
        evaporate(w, n, lanes, soil[c], layers, pot[DELTA0])
        add_to(works, lanes, EVAPORATED, c, LOST, share)
    for j in range(lanes):
        w0[flux + j] = now[TRANSPIRATION] * w0[lane_row(THIRST) + j] * w0[noise + j]
    take_up(works, n, lanes, soil, rest, layers, now[OUTSIDE], pot[COMPENSATION])
    add_to(works, lanes, TRANSPIRED, 0, LOST, 1.0)
    for c in range(works.shape[0]):
        for j in range(lanes):
            works[c, flux + j] = 0.0
        redistribute(works[c], n, lanes, soil[c], tables[c], layers, 1.0, SEALED)
    if works.shape[0] == 2:
        exchange(works, n, lanes, soil, layers, pot[EXCHANGE])


@compiled
def _choose(w: Any, lanes: Any, pot: Any) -> None:
    """Choose the members that an unrecorded watering would have reached."""
    for j in range(lanes):
        wants = w[lane_row(LEFT) + j] < pot[LIMIT]
        if pot[TARGET] > 0.0:
            wants = w[lane_row(DRY) + j] >= pot[TARGET]
        w[lane_row(CHOSEN) + j] = w[lane_row(COIN) + j] if wants else 0.0


@compiled
def _look(works: Any, n: Any, lanes: Any, soil: Any, layers: Any) -> None:
    """Work out the share of water left and the dry depth as they are now."""
    water_left(works, n, lanes, soil, layers)
    dry_depth(works[0], n, lanes, soil[0], layers)


@compiled
def _told(works: Any, n: Any, lanes: Any, soil: Any, rest: Any, layers: Any, enters: float,
          now: Any) -> None:
    """Pour what was told for this hour, over every member."""
    if now[POUR] > 0.0 or now[FILL] > 0.0:
        for j in range(lanes):
            works[0, lane_row(CHOSEN) + j] = 1.0
        goes = 2 if now[FILL] > 0.0 else 1
        pour(works, n, lanes, soil, rest, layers, now[POUR], goes, enters)


@compiled
def _hours(works: Any, n: Any, lanes: Any, soil: Any, tables: Any, rest: Any, layers: Any,
           pot: Any, forcing: Any, day: Any, noise: Any, coin: Any, rain: Any, out: Any) -> None:
    """Carry one block of members through all hours; see `run_hours`."""
    w0, keep = works[0], out.shape[1] > 0
    for t in range(forcing.shape[0]):
        now = forcing[t]
        for j in range(lanes):
            w0[lane_row(NOISE) + j] = noise[day[t], j]
            w0[lane_row(COIN) + j] = coin[day[t], j]
        _told(works, n, lanes, soil, rest, layers, pot[ENTERS], now)
        if now[MAYBE] > 0.0:
            _look(works, n, lanes, soil, layers)
            _choose(w0, lanes, pot)
            pour(works, n, lanes, soil, rest, layers, 0.0, 2, pot[ENTERS])
        if keep:
            _look(works, n, lanes, soil, layers)
            for j in range(lanes):
                out[OUT_LEFT, t, j] = w0[lane_row(LEFT) + j]
                out[OUT_DRY, t, j] = w0[lane_row(DRY) + j]
                out[OUT_BALL, t, j] = w0[lane_row(BALL) + j]
        if now[FROZEN] > 0.0:
            _rain(w0, lanes, lane_row(FLUX), now, rain[t])
            add_to(works, lanes, IN, 0, FLUX, 1.0)
            add_to(works, lanes, RUN_OFF, 0, FLUX, 1.0)
        else:
            dry_an_hour(works, n, lanes, soil, tables, rest, layers, pot, now, rain[t])


@compiled
def _load(works: Any, n: Any, lanes: Any, state: Any, members: Any, layers: Any) -> None:
    """Put a block's state and parameters into the workspaces, totals at nothing."""
    for c in range(works.shape[0]):
        w = works[c]
        for j in range(lanes):
            w[lane_row(THIRST) + j] = members[0, j]
            w[lane_row(CAPACITY) + j] = members[1, j]
            w[lane_row(K_C) + j] = members[2, j]
            w[lane_row(THRESHOLD) + j] = members[3, j]
            for total in TOTALS:
                w[lane_row(total) + j] = 0.0
            for k in range(n):
                stored = layers[k, STORE] * members[1, j]
                w[row(THETA, k) + j] = state[c, k, j]
                w[row(STORED, k) + j] = stored
                w[row(PER_STORED, k) + j] = 1.0 / stored


@compiled
def run_hours(works: Any, state: Any, members: Any, soil: Any, tables: Any, rest: Any,
              layers: Any, pot: Any, forcing: Any, day: Any, noise: Any, coin: Any, rain: Any,
              out: Any, totals: Any) -> None:
    """Carry one pot through the hours of `forcing`, all members; arrays as in layout.py.

    Parameters
    ----------
    works : (columns, WORK_SIZE) array
        Scratch.
    state : (columns, n, m) array
        Water content [m³/m³] at the start, changed in place.
    members : (4, m) array
        Factor on demand, factor on storage, K_c [cm/h], dryness threshold.
    soil : (columns, 12) array; tables : (columns, N + 1, 4) array
    rest : (columns, 2, n) array; layers : (n, 7) array; pot : (6,) array
    forcing : (hours, 9) array
    day : (hours,) array
        The row of `noise` and `coin` that holds in each hour.
    noise : (days, m) array
        The day's factor on demand.
    coin : (days, m) array
        1 for the members that a watering nobody wrote down would have reached, else 0.
    rain : (hours, m) or (hours, 1) array
        Rain that reaches the soil where members differ [mm], RAIN of `forcing` being the most
        of any; with one column RAIN holds for all.
    out : (3, hours, m) or (3, 0, m) float32 array
        The state at each hour's start, after what was poured; not written where empty.
    totals : (4, m) array
        Gains what came in, ran out, evaporated and transpired [mm over the pot].
    """
    n = np.uint64(state.shape[1])
    first = 0
    while first < state.shape[2]:
        last = min(first + int(LANES), state.shape[2])
        lanes = np.uint64(last - first)
        _load(works, n, lanes, state[:, :, first:last], members[:, first:last], layers)
        falls = rain[:, first:last] if rain.shape[1] > 1 else rain[:, 0:1]
        _hours(works, n, lanes, soil, tables, rest, layers, pot, forcing, day,
               noise[:, first:last], coin[:, first:last], falls, out[:, :, first:last])
        for j in range(lanes):
            for c in range(state.shape[0]):
                for k in range(n):
                    state[c, k, first + int(j)] = works[c, row(THETA, k) + j]
            for i in range(4):
                totals[i, first + int(j)] += works[0, lane_row(TOTALS[i]) + j]
        first = last
