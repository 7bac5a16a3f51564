"""Members, pots and hours may be run together or apart: the digits are the same."""

from dataclasses import replace

import numpy as np
import pytest
from soils import ball_pot, mixed, pot_of, task

from advisor.balance.layout import RAIN
from advisor.balance.members import Prior, days, draw
from advisor.balance.run import Forcing, run, run_all

HOURS = 150
POTS = {
    "one column": lambda: pot_of("akadama", 55.0, 0.9),
    "two columns": lambda: ball_pot("pumice", "loam", 0.4, 55.0),
}


def full_task(kind, count=64, seed=7, apart=False):
    """A run in mixed weather; `apart`: every member has rain of its own."""
    numbers = np.arange(HOURS // 24 + 1) + 20_000
    noise, coin = days(seed, numbers, count)
    day = np.arange(HOURS) // 24
    forcing = Forcing(mixed(seed, HOURS), noise[day], coin[day], limit=0.5, enters=0.6)
    if apart:
        rain = forcing.hours[:, [RAIN]] * np.random.default_rng(seed).uniform(0, 2, (1, count))
        forcing.hours[:, RAIN] = rain.max(axis=1)
        forcing = replace(forcing, rain_mm=rain)
    start = task(POTS[kind](), forcing.hours, draw(seed, seed + 1, Prior(1e-5), count))
    return replace(start, forcing=forcing)


def some(whole, lanes):
    """The same run of some of its members."""
    f = whole.forcing
    return replace(
        whole,
        members=np.ascontiguousarray(whole.members[:, lanes]),
        state=np.ascontiguousarray(whole.state[:, :, lanes]),
        forcing=replace(f, noise=f.noise[:, lanes].copy(), coin=f.coin[:, lanes].copy(),
                        rain_mm=None if f.rain_mm is None else f.rain_mm[:, lanes].copy()),
    )


def same(path, other, lanes=slice(None)):
    return all(
        np.array_equal(getattr(path, name)[..., lanes], getattr(other, name))
        for name in ("left", "dry_mm", "ball_left", "state", "totals_mm")
    )


@pytest.mark.parametrize("kind", POTS)
@pytest.mark.parametrize("apart", [False, True])
@pytest.mark.parametrize("count", [1, 2, 5, 8, 31, 32, 33, 63])
def test_members_do_not_touch_each_other(kind, count, apart):
    whole = full_task(kind, apart=apart)
    path = run(whole)
    for first in {0, 64 - count, (64 - count) // 2}:
        lanes = slice(first, first + count)
        assert same(path, run(some(whole, lanes)), lanes)


@pytest.mark.parametrize("kind", POTS)
def test_every_member_alone(kind):
    whole = full_task(kind)
    path = run(whole)
    for j in range(64):
        assert same(path, run(some(whole, slice(j, j + 1))), slice(j, j + 1))


@pytest.mark.parametrize("kind", POTS)
@pytest.mark.parametrize("j", [0, 31, 32, 63])
def test_rain_of_its_own_is_as_if_a_member_stood_alone_in_it(kind, j):
    whole = full_task(kind, apart=True)
    one = some(whole, slice(j, j + 1))
    hours = one.forcing.hours.copy()
    hours[:, RAIN] = one.forcing.rain_mm[:, 0]
    alone = replace(one, forcing=replace(one.forcing, hours=hours, rain_mm=None))
    assert same(run(whole), run(alone), slice(j, j + 1))


def test_the_same_rain_for_all_is_one_rain():
    whole = full_task("two columns")
    rain = np.repeat(whole.forcing.hours[:, [RAIN]], 64, axis=1)
    assert same(run(whole), run(replace(whole, forcing=replace(whole.forcing, rain_mm=rain))))


def test_every_eighth_member():
    whole = full_task("two columns")
    assert same(run(whole), run(some(whole, slice(None, None, 8))), slice(None, None, 8))


def test_threads_give_the_same_digits():
    tasks = [full_task(kind, seed=seed) for kind in POTS for seed in range(6)]
    for path, alone in zip(run_all(tasks), [run(one) for one in tasks], strict=True):
        assert same(path, alone)


@pytest.mark.parametrize("count", [0, 1])
def test_few_pots_need_no_threads(count):
    tasks = [full_task("one column")] * count
    assert [same(path, run(one)) for path, one in zip(run_all(tasks), tasks, strict=True)] == [
        True
    ] * count


@pytest.mark.parametrize("kind", POTS)
@pytest.mark.parametrize("at", [1, 24, 77, HOURS - 1])
def test_two_runs_of_a_span_are_one(kind, at):
    whole = full_task(kind)
    f, path = whole.forcing, run(whole)

    def part(hours, state):
        forcing = replace(f, hours=f.hours[hours], noise=f.noise[hours], coin=f.coin[hours])
        return run(replace(whole, state=state, forcing=forcing))

    first = part(slice(0, at), whole.state)
    second = part(slice(at, None), first.state)
    assert np.array_equal(second.state, path.state)
    for name in ("left", "dry_mm", "ball_left"):
        joined = np.concatenate([getattr(first, name), getattr(second, name)])
        assert np.array_equal(joined, getattr(path, name))
    assert first.totals_mm + second.totals_mm == pytest.approx(path.totals_mm, rel=1e-12)


@pytest.mark.parametrize("kind", POTS)
def test_a_run_leaves_its_task_as_it_was(kind):
    start = full_task(kind)
    arrays = [start.state, start.members, start.forcing.hours, start.forcing.noise, start.pot.soil]
    before = [array.copy() for array in arrays]
    run(start)
    run_all([start, start])
    for array, was in zip(arrays, before, strict=True):
        assert np.array_equal(array, was)


@pytest.mark.parametrize("kind", POTS)
def test_what_is_not_kept_changes_nothing(kind):
    start = full_task(kind)
    kept, bare = run(start), run(replace(start, keep=False))
    assert bare.left.shape == (0, 64)
    assert np.array_equal(kept.state, bare.state)
    assert np.array_equal(kept.totals_mm, bare.totals_mm)


def test_the_same_run_gives_the_same_digits():
    start = full_task("two columns")
    assert same(run(start), run(start))
