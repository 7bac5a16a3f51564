"""Pots, members and weather for the proofs of the kernel."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout
from advisor.balance.pots import Column, Pot, pack
from advisor.balance.run import Forcing, Task, at_rest
from advisor.pot.capacity import rest_contents
from advisor.pot.curve import Curve, Traits, curve_from
from advisor.pot.mix import blend
from advisor.pot.shape import Layers, Shape, from_inside, layers

Floats = NDArray[np.float64]

THIRDS = (("akadama", 1 / 3), ("pumice", 1 / 3), ("lava", 1 / 3))
K_C_CMH, THRESHOLD = 1e-5, 0.35


def exponential(
    alpha_cm: float = 0.1, ks_cmh: float = 1.0, theta_s: float = 0.40, theta_r: float = 0.06
) -> Curve:
    """Give the soil of the analytic solutions: K and θ fall as exp(-α·h)."""
    return curve_from(
        lambda h: theta_r + (theta_s - theta_r) * np.exp(-alpha_cm * h),
        lambda h: ks_cmh * np.exp(-alpha_cm * h),
        Traits(ks_cmh=ks_cmh, k_c_cmh=0.0),
    )


def straight(depth_mm: float, base_share: float = 1.0) -> Shape:
    """Give a pot 300 × 200 mm inside."""
    return from_inside(300.0, 200.0, depth_mm, base_share=base_share)


def even_layers(count: int, thickness_mm: float) -> Layers:
    """Give a straight column of even layers."""
    thickness = np.full(count, thickness_mm)
    centre = (count - np.arange(count) - 0.5) * thickness_mm
    return Layers(thickness, np.ones(count), centre, thickness[1:])


def filled(curve: Curve, shape: Shape, h0_cm: float = 0.0) -> Pot:
    """Pack a pot with one substrate."""
    cut = layers(shape)
    column = Column(curve, 1.0, rest_contents(curve, cut, h0_cm))
    return pack([column], cut, shape.surface_m2)


@cache
def pot_of(name: str, depth_mm: float = 80.0, base_share: float = 1.0) -> Pot:
    """Pack a pot with one material of the table."""
    return filled(blend([(name, 1.0)]), straight(depth_mm, base_share))


@cache
def ball_pot(mix: str, ball: str, ball_share: float, depth_mm: float = 80.0) -> Pot:
    """Pack a pot with an old ball of one material amid new grains of another."""
    shape = straight(depth_mm)
    cut = layers(shape)
    parts = ((blend([(mix, 1.0)]), 1.0 - ball_share), (blend([(ball, 1.0)]), ball_share))
    columns = [Column(curve, share, rest_contents(curve, cut, 0.0)) for curve, share in parts]
    return pack(columns, cut, shape.surface_m2)


def members(
    thirst: float | Floats = 1.0,
    capacity: float | Floats = 1.0,
    k_c_cmh: float | Floats = K_C_CMH,
    threshold: float | Floats = THRESHOLD,
    count: int = 1,
) -> Floats:
    """Give members by their factors, as many as the longest of them."""
    rows = np.broadcast_arrays(thirst, capacity, k_c_cmh, threshold, np.ones(count))[:4]
    return np.ascontiguousarray(rows, dtype=np.float64)


def half_sine(day_mm: float, base_share: float = 0.0) -> Floats:
    """Spread a day's demand [mm] as a half sine from 6 to 18 h, a share of it evenly."""
    hour = np.arange(24) + 0.5
    shape = np.maximum(np.sin(np.pi * (hour - 6.0) / 12.0), 0.0)
    return np.asarray(day_mm * ((1.0 - base_share) * shape / shape.sum() + base_share / 24.0))


def dry_days(days: int, evaporation_mm: float = 0.0, transpiration_mm: float = 0.0) -> Floats:
    """Give the hours of days without rain; evaporation keeps 7 % of its day through the night.

    One hour more than the days have, so that the last evening's state is in the path.
    """
    hours = np.zeros((24 * days + 1, 9))
    hours[:-1, layout.EVAPORATION] = np.tile(half_sine(evaporation_mm, 0.07), days)
    hours[:-1, layout.TRANSPIRATION] = np.tile(half_sine(transpiration_mm), days)
    return hours


def quiet(hours: int) -> Floats:
    """Give hours in which nothing happens."""
    return np.zeros((hours, 9))


def happens(
    hours: Floats,
    count: int,
    limit: float = 0.0,
    target_mm: float = 0.0,
    enters: float = 1.0,
    coin: Floats | None = None,
) -> Forcing:
    """Give a forcing without the day's noise; an unrecorded watering reaches all, if any."""
    one = np.ones((len(hours), count))
    return Forcing(hours, one, one if coin is None else coin, limit, target_mm, enters)


def task(
    pot: Pot, hours: Floats, who: Floats | None = None, state: Floats | None = None, **more: float
) -> Task:
    """Give a run from rest with plain members, unless told otherwise."""
    who = members() if who is None else who
    start = at_rest(pot, who.shape[1]) if state is None else state
    return Task(pot, who, start, happens(hours, who.shape[1], **more))  # type: ignore[arg-type]


def evenings(path: Floats, days: int) -> Floats:
    """Give a row of a path at the end of each day: (days, members)."""
    return np.asarray(path[24 : 24 * days + 1 : 24], dtype=np.float64)


def mixed(seed: int, hours: int) -> Floats:
    """Give random hours: rain and drizzle, pours, fills, frost, demand, forgotten waterings."""
    source = np.random.default_rng(seed)
    table = np.zeros((hours, 9))
    wet = source.random(hours) < 0.1
    table[:, layout.RAIN] = wet * source.exponential(3.0, hours)
    table[:, layout.DRIZZLE] = wet & (table[:, layout.RAIN] <= 5.0)
    table[:, layout.POUR] = (source.random(hours) < 0.02) * source.uniform(1.0, 40.0, hours)
    table[:, layout.EVAPORATION] = source.uniform(0.0, 0.5, hours)
    table[:, layout.TRANSPIRATION] = source.uniform(0.0, 1.5, hours)
    table[:, layout.OUTSIDE] = 0.2
    table[:, layout.FILL] = source.random(hours) < 0.01
    table[:, layout.FROZEN] = source.random(hours) < 0.1
    table[:, layout.MAYBE] = source.random(hours) < 0.03
    return table
