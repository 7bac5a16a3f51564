"""The draw of a tree's members, and of its days."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.balance import members
from advisor.balance.members import Prior, days, draw, shares

SEEDS = st.integers(0, 2**63 - 1)
PRIOR = Prior(1e-5)


def standard(drawn):
    """The draw as standard normal values, where it is not cut off."""
    return [
        np.log(drawn[0]) / members.SD_LN_THIRST,
        np.log(drawn[1]) / PRIOR.sd_ln_capacity,
        np.log(drawn[2] / PRIOR.k_c_cmh) / members.SD_LN_K_C,
        (drawn[3] - members.THRESHOLD) / members.SD_THRESHOLD,
    ]


@settings(max_examples=50, deadline=None)
@given(seed=SEEDS, potting=SEEDS, count=st.sampled_from([8, 33, 64]))
def test_every_stratum_once(seed, potting, count):
    strata = np.arange(count)
    for row in standard(draw(seed, potting, PRIOR, count)):
        probability = np.array([NormalDist().cdf(value) for value in np.sort(row)])
        assert np.array_equal(np.floor(probability * count), strata)


def test_mean_and_spread_are_those_of_the_prior():
    for row in standard(draw(3, 4, PRIOR)):
        assert row.mean() == pytest.approx(0.0, abs=1e-9)
        assert row.std() == pytest.approx(1.0, abs=0.02)


def test_the_priors_named_in_the_design():
    named = (members.SD_LN_THIRST, members.SD_LN_CAPACITY, members.SD_LN_K_C)
    assert (*named, members.SD_THRESHOLD, members.SD_DAY) == (0.35, 0.15, 1.15, 0.06, 0.10)
    assert members.MEMBERS == 64


def test_an_old_mix_is_less_sure():
    old = Prior(1e-5, members.SD_LN_CAPACITY_OLD)
    assert np.log(draw(1, 2, old)[1]).std() > 1.5 * np.log(draw(1, 2, PRIOR)[1]).std()


@settings(max_examples=30, deadline=None)
@given(seed=SEEDS, potting=SEEDS)
def test_the_same_seed_gives_the_same_digits(seed, potting):
    first = draw(seed, potting, PRIOR)
    assert np.array_equal(first, draw(seed, potting, PRIOR))
    assert first.shape == (4, 64)
    low, high = members.THRESHOLD_LIMITS
    assert first[3].min() >= low
    assert first[3].max() <= high


def test_thirst_stays_with_the_tree_and_the_rest_with_the_potting():
    one, repotted, other = draw(1, 2, PRIOR), draw(1, 3, PRIOR), draw(9, 2, PRIOR)
    assert np.array_equal(one[0], repotted[0])
    assert np.array_equal(one[1:], other[1:])
    assert not np.array_equal(one[0], other[0])
    assert not np.array_equal(one[1], repotted[1])


def test_the_parameters_are_drawn_apart():
    rows = np.array(standard(np.hstack([draw(i, 1000 + i, PRIOR) for i in range(50)])))
    apart = np.corrcoef(rows) - np.eye(4)
    assert np.abs(apart).max() < 0.06


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, start=st.integers(0, 30_000), count=st.integers(1, 20), pick=st.data())
def test_a_day_is_drawn_the_same_whenever_it_is_asked(seed, start, count, pick):
    numbers = np.arange(start, start + count)
    factor, coin = days(seed, numbers)
    i = pick.draw(st.integers(0, count - 1))
    alone = days(seed, numbers[i : i + 1])
    assert np.array_equal(factor[i : i + 1], alone[0])
    assert np.array_equal(coin[i : i + 1], alone[1])


def test_days_differ_by_their_stated_spread():
    factor = days(5, np.arange(20_000, 20_100))[0]
    assert np.log(factor).std() == pytest.approx(members.SD_DAY, rel=0.05)
    assert np.log(factor).mean() == pytest.approx(0.0, abs=0.01)


def test_the_coin_is_fair_and_no_two_trees_share_it():
    numbers = np.arange(1000)
    coin = days(5, numbers)[1]
    assert set(np.unique(coin)) == {0.0, 1.0}
    assert coin.mean() == pytest.approx(0.5, abs=0.01)
    assert not np.array_equal(coin, days(6, numbers)[1])


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, low=st.floats(0.0, 0.5), span=st.floats(0.01, 0.5))
def test_shares_are_spread_evenly(seed, low, span):
    spread = np.sort(shares(seed, low, low + span))
    assert low < spread[0]
    assert spread[-1] < low + span
    assert np.diff(spread) == pytest.approx(np.full(63, span / 64))
