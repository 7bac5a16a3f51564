"""Many pots, many members, many hours: the kernel, called."""

import os
import threading
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.balance.column import run_hours
from advisor.balance.layout import OUT_BALL, OUT_DRY, OUT_LEFT, RAIN, WORK_SIZE
from advisor.balance.pots import COMPENSATION, Pot

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

TOTALS = ("in_mm", "run_off_mm", "evaporated_mm", "transpired_mm")


@dataclass(frozen=True, eq=False)
class Forcing:
    """What happens to one pot, hour by hour.

    Attributes
    ----------
    hours : (hours, 9) array
        Columns as in `balance.layout` (RAIN … DRIZZLE).
    noise, coin : (days, members) arrays
        The day's factor on demand, and who an unrecorded watering would have reached.
    day : (hours,) array of int, optional
        The row of `noise` and `coin` that holds in each hour; a row an hour where None.
    limit, target_mm : float
        Share left and dry depth at which an unrecorded watering may have come; target 0: none.
    enters : float
        How readily water enters, 1 where it sinks at once.
    rain_mm : (hours, members) array, optional
        Rain that reaches the soil where the members differ [mm]; the RAIN of `hours` is then
        the most of any.
    """

    hours: Floats
    noise: Floats
    coin: Floats
    limit: float = 0.0
    target_mm: float = 0.0
    enters: float = 1.0
    day: NDArray[np.int64] | None = None
    rain_mm: Floats | None = None

    @property
    def rows(self) -> NDArray[np.int64]:
        """The row of `noise` and `coin` that holds in each hour."""
        return np.arange(len(self.hours)) if self.day is None else self.day


@dataclass(frozen=True, eq=False)
class Path:
    """What became of one pot.

    `left`, `dry_mm`, `ball_left` are (hours, members) at each hour's start, after what was
    poured; `state` is the end; `totals_mm` (4, members) is named by TOTALS.
    """

    left: Singles
    dry_mm: Singles
    ball_left: Singles
    state: Floats
    totals_mm: Floats


@dataclass(frozen=True, eq=False)
class Task:
    """One pot's run: from `state` (columns, layers, members) through its forcing."""

    pot: Pot
    members: Floats
    state: Floats
    forcing: Forcing
    keep: bool = True


def at_rest(pot: Pot, count: int) -> Floats:
    """Give the state after a thorough watering: (columns, layers, count) [m³/m³]."""
    return np.ascontiguousarray(np.repeat(pot.rest[:, 0, :, None], count, axis=2))


def partly(pot: Pot, left: Floats) -> Floats:
    """Give the state with a share of the available water left, the same in every layer.

    Parameters
    ----------
    pot : Pot
    left : (members,) array
        Share left [-].

    Returns
    -------
    (columns, layers, members) array
    """
    wilting = pot.soil[:, 1][:, None, None]
    return np.ascontiguousarray(wilting + left * (pot.rest[:, 0, :, None] - wilting))


_thread = threading.local()


def _works(columns: int) -> Floats:
    """Give this thread's scratch: new memory each time would cost as much as the sums."""
    if not hasattr(_thread, "works"):
        _thread.works = np.empty((2, WORK_SIZE))
    works: Floats = _thread.works[:columns]
    return works


def run(task: Task) -> Path:
    """Run one pot; the task's state is left as it was."""
    members = np.ascontiguousarray(task.members)
    hours, count = task.forcing.hours.shape[0], members.shape[1]
    state = task.state.copy()
    out = np.empty((3, hours if task.keep else 0, count), dtype=np.float32)
    totals = np.zeros((4, count))
    f, pot = task.forcing, task.pot
    constants = np.array(
        [pot.vapour_depth_mm, COMPENSATION, f.limit, f.target_mm, f.enters, pot.exchange_per_mm2]
    )
    run_hours(
        _works(state.shape[0]),
        state,
        members,
        pot.soil,
        pot.tables,
        pot.rest,
        pot.layers,
        constants,
        f.hours,
        f.rows,
        f.noise,
        f.coin,
        f.hours[:, RAIN : RAIN + 1].copy() if f.rain_mm is None else f.rain_mm,
        out,
        totals,
    )
    return Path(out[OUT_LEFT], out[OUT_DRY], out[OUT_BALL], state, totals)


def run_all(tasks: Sequence[Task]) -> list[Path]:
    """Run many pots side by side on the processors there are; the result keeps their order."""
    if len(tasks) < 2:
        return [run(task) for task in tasks]
    run(
        Task(
            tasks[0].pot,
            tasks[0].members,
            tasks[0].state,  # compiled before the threads start
            Forcing(
                tasks[0].forcing.hours[:0], tasks[0].forcing.noise[:0], tasks[0].forcing.coin[:0]
            ),
            keep=False,
        )
    )
    with ThreadPoolExecutor(min(len(tasks), os.cpu_count() or 1)) as pool:
        return list(pool.map(run, tasks))


def water_mm(pot: Pot, members: Floats, state: Floats) -> Floats:
    """Water in the pot [mm over its surface], (members,)."""
    per_layer = pot.layers[:, 0][:, None] * members[1]
    return np.asarray(np.einsum("c,clm,lm->m", pot.soil[:, 9], state, per_layer))
