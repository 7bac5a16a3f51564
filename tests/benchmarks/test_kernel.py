"""How fast the kernel runs, beside a bare loop with the same sums; nothing is asserted on time.

pytest tests/benchmarks/test_kernel.py -s
ADVISOR_MANY_TREES=100000 pytest tests/benchmarks/test_kernel.py -s -k very_many     (minutes)
"""

import os
import statistics
import time
from dataclasses import replace

import numba
import numpy as np
import pytest
from benchmarks.told import peak_mb, tell
from soils import THIRDS, dry_days, filled, straight, task

from advisor.balance import layout
from advisor.balance.members import Prior, draw
from advisor.balance.run import Forcing, Task, run_all
from advisor.pot.mix import blend

HOURS, MEMBERS = 240, 64
ADDS = 60  # multiplications and additions of a layer's hour, about
LOOK_UPS = 3  # two rows each of three columns of the table


def garden(trees: int) -> list[Task]:
    """Give trees in a shallow pot through ten July days, watered daily, with two showers."""
    hours = dry_days(10, 2.0, 7.0)[:HOURS]
    hours[7::24, layout.FILL] = 1.0
    hours[30::110, layout.RAIN] = 8.0
    pot = filled(blend(THIRDS), straight(41.0))
    day, even = np.arange(HOURS) // 24, np.ones((HOURS // 24, MEMBERS))
    forcing = Forcing(hours, even, even, day=day)
    return [replace(task(pot, hours[:1], draw(i, i + 1, Prior(1e-5), MEMBERS)),
                    forcing=replace(forcing, noise=even.copy(), coin=even.copy()))
            for i in range(trees)]


def layer_hours(tasks: list[Task]) -> float:
    """Count what a run computes."""
    return sum(t.pot.layers.shape[0] * t.members.shape[1] * len(t.forcing.hours) for t in tasks)


@numba.njit(nogil=True, fastmath=True)
def _bare(theta, table, hours):  # type: ignore[no-untyped-def]
    """The least a layer's hour can be: the same look-ups and about as many sums."""
    per_step = len(table) - 1.001
    for _ in range(hours):
        for i in range(theta.size):
            x = theta[i] * per_step
            k = int(x)
            part = x - k
            total = 0.0
            for c in range(LOOK_UPS):
                total += table[k, c] + part * (table[k + 1, c] - table[k, c])
            value = total
            for _ in range(ADDS // 2):
                value = value * 0.999 + 0.0001
            theta[i] = min(max(0.5 + 1e-9 * value, 0.0), 1.0)


def bare_layer_hours_per_second() -> float:
    """Run the bare loop on one thread."""
    theta, table = np.full(8 * MEMBERS, 0.5), np.random.default_rng(1).random((2049, 4))
    _bare(theta, table, 1)
    start = time.perf_counter()
    _bare(theta, table, 20_000)
    return theta.size * 20_000 / (time.perf_counter() - start)


def test_two_hundred_trees(benchmark: object) -> None:
    tasks = garden(200)
    run_all(tasks[:2])
    benchmark.pedantic(run_all, args=(tasks,), rounds=5, iterations=1)  # type: ignore[attr-defined]
    seconds = benchmark.stats.stats.min  # type: ignore[attr-defined]
    rate, bare = layer_hours(tasks) / seconds, bare_layer_hours_per_second()
    tell("kernel, 200 trees x 64 x 240 h", rate / 1e6, "million layer-hours/s",
         beside=f"{rate / bare:.2f} of a bare loop with the same sums on one core",
         bar="100 million", peak_mb=peak_mb())
    assert layer_hours(tasks) == 200 * MEMBERS * HOURS * 8


def seconds_a_tree(trees: int, rounds: int) -> float:
    """Give the least time of some rounds; paths are not kept, as for a season's carrying."""
    tasks, best = [replace(one, keep=False) for one in garden(trees)], np.inf
    for _ in range(rounds):
        start = time.perf_counter()
        run_all(tasks)
        best = min(best, time.perf_counter() - start)
    return float(best / trees)


def test_growth_to_a_hundred_times_the_trees() -> None:
    small, large = seconds_a_tree(20, 30), seconds_a_tree(2000, 3)
    tell("kernel, time a tree, 2,000 trees", large / small, beside="20 trees", bar="1.1")
    assert small > 0.0


@pytest.mark.skipif("ADVISOR_MANY_TREES" not in os.environ, reason="ADVISOR_MANY_TREES not set")
def test_growth_to_very_many_trees() -> None:
    """All of them, a few thousand in memory at a time, turn about with twenty."""
    many, batch = int(os.environ["ADVISOR_MANY_TREES"]), 2000
    small, large = [], []
    for _ in range(max(many // batch, 1)):
        small.append(seconds_a_tree(20, 10))
        large.append(seconds_a_tree(batch, 1))
    ratio = statistics.fmean(large) / statistics.fmean(small)
    tell(f"kernel, time a tree, {batch * len(large):,} trees", ratio, beside="20 trees",
         bar="1.1", peak_mb=peak_mb())
    assert len(large) * batch >= many // batch * batch
