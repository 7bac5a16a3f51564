"""Nothing is lost and nothing made: water in and out against what the pot holds."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soils import ball_pot, members, mixed, pot_of, task

from advisor.balance.run import run, water_mm
from advisor.pot.materials import table

NAMES = [row.name for row in table()]
COUNT = 5


def who(seed):
    source = np.random.default_rng(seed)
    return members(
        thirst=np.exp(0.35 * source.standard_normal(COUNT)),
        capacity=np.exp(0.2 * source.standard_normal(COUNT)),
        k_c_cmh=10.0 ** source.uniform(-6.0, -0.5, COUNT),
    )


def gap(start, path):
    """What is missing from the balance, as a share of what the pot holds when full."""
    came, ran_out, evaporated, drunk = path.totals_mm
    held = [water_mm(start.pot, start.members, state) for state in (start.state, path.state)]
    return np.abs(held[0] + came - ran_out - evaporated - drunk - held[1]).max() / held[0].min()


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    depth_mm=st.sampled_from([25.0, 80.0, 140.0]),
    seed=st.integers(0, 2**32),
    enters=st.sampled_from([1.0, 0.6, 0.25]),
)
def test_one_column_closes(name, depth_mm, seed, enters):
    start = task(pot_of(name, depth_mm, 0.8), mixed(seed, 400), who(seed), limit=0.4, enters=enters)
    path = run(start)
    assert gap(start, path) < 1e-10


@settings(max_examples=60, deadline=None)
@given(
    mix=st.sampled_from(NAMES),
    ball=st.sampled_from(NAMES),
    ball_share=st.floats(0.05, 0.95),
    seed=st.integers(0, 2**32),
)
def test_two_columns_close(mix, ball, ball_share, seed):
    start = task(
        ball_pot(mix, ball, round(ball_share, 2)), mixed(seed, 400), who(seed), target_mm=20.0
    )
    assert gap(start, run(start)) < 1e-10


@settings(max_examples=60, deadline=None)
@given(mix=st.sampled_from(NAMES), ball=st.sampled_from(NAMES), seed=st.integers(0, 2**32))
def test_a_pot_never_holds_more_than_its_pores_nor_less_than_nothing(mix, ball, seed):
    pot, lanes = ball_pot(mix, ball, 0.5), who(seed)
    path = run(task(pot, mixed(seed, 400), lanes, limit=0.4))
    pores = (pot.tables.shape[1] - 1) / pot.soil[:, 0]
    full = np.repeat(np.repeat(pores[:, None, None], 16, axis=1), COUNT, axis=2)
    assert np.all(water_mm(pot, lanes, path.state) <= water_mm(pot, lanes, full))
    for column in range(2):
        assert path.state[column].min() >= 0.0
        # what runs into a full layer within an hour's flow drains at the next one's start
        assert path.state[column].max() <= pores[column] + 0.01


def test_what_came_in_is_counted_once():
    # 10 mm of rain and 7 mm poured; a pot at capacity lets all of it out again
    hours = np.zeros((2, 9))
    hours[0, 0], hours[1, 1] = 10.0, 7.0
    path = run(task(ball_pot("akadama", "loam", 0.3), hours))
    assert path.totals_mm[:2, 0] == pytest.approx([17.0, 17.0], rel=1e-12)
    assert path.totals_mm[2:, 0] == pytest.approx([0.0, 0.0], abs=1e-12)
