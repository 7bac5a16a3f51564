"""Trees whose truth is known, an advisor who sees the readings only: the promises, in short.

Sixty trees (forty whose thirst is far off) stand for the three hundred of
`python tests/twins/table.py`, so each promise is looser by two binomial standard errors of as
many trees as it rests on.
"""

import math

import numpy as np
import pytest
from twins import scores
from twins.keeper import walk_all

FIRST, TREES = 600, 60  # none of those on which the filter was chosen, nor the table's


@pytest.fixture(scope="module")
def drawn():
    return walk_all(range(FIRST, FIRST + TREES))


@pytest.fixture(scope="module")
def wrong():
    return walk_all(range(FIRST, FIRST + 40), wrong=2.5)


def two_errors(share, trees):
    return 2.0 * math.sqrt(share * (1.0 - share) / trees)


def assert_median_within(values, bar, trees):
    """A median within the bar: half of all are, or a little less of few."""
    assert np.mean(values <= bar) >= 0.5 - two_errors(0.5, trees)


@pytest.mark.parametrize("which", [0, 1], ids=["share left", "litres"])
def test_the_interval_holds_the_truth_as_often_as_it_says(drawn, which):
    held = scores.held(drawn, which)
    assert 0.85 - two_errors(0.85, TREES) <= held <= 0.95 + two_errors(0.95, TREES)


@pytest.mark.parametrize(("tool", "bar"), [("scale", 0.08), ("skewer", 0.18)])
def test_thirst_is_learned_from_five_readings(drawn, tool, bar):
    those = scores.of(drawn, tool)
    assert_median_within(scores.thirst_off(those, 5), bar, len(those))


@pytest.mark.parametrize(("tool", "bar"), [("scale", 0.15), ("skewer", 0.30)])
def test_a_thirst_far_off_is_learned_from_ten(wrong, tool, bar):
    those = scores.of(wrong, tool)
    assert_median_within(scores.thirst_off(those, 10), bar, len(those))


@pytest.mark.parametrize(("tool", "bar_h"), [("scale", 30.0), ("skewer", 12.0)])
def test_the_hour_of_reaching_target_is_foreseen(drawn, tool, bar_h):
    those = [diary for diary in scores.of(drawn, tool) if diary.target_h]
    assert len(those) >= TREES // 6
    assert_median_within(scores.target_off_h(those), bar_h, len(those))


def test_chances_come_as_often_as_they_are_said(drawn):
    judged = [(cases, said, came) for cases, said, came in scores.tenths(drawn)
              if cases >= scores.CASES * TREES / 300]
    assert len(judged) >= 4
    for _, said, came in judged:
        # cases of one tree go together: no more of them are counted than trees
        assert abs(said - came) <= 0.10 + two_errors(min(max(said, 0.02), 0.98), TREES)


def test_few_sound_readings_are_doubted(drawn):
    assert scores.unused(drawn) <= 0.03


def test_learning_helps(drawn, wrong):
    # the eleventh reading finds a better known tree than the first
    for tool in ("scale", "skewer"):
        for diaries in (drawn, wrong):
            those = scores.of(diaries, tool)
            first, later = (np.median(scores.thirst_off(those, n)) for n in (1, 11))
            assert later < first
