from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from scenes import DAY, FIRST, model, pot, tree

from advisor.demand import groups
from advisor.jobs.recovery import (
    COLLECTED_DAYS,
    DAYS,
    default_target_mm,
    ends_at,
    recovery_of,
)

PINE, MAPLE = groups.find("pine"), groups.find("maple")


def worked(**told):
    return pot("1", FIRST, **({"root_work": "half bare"} | told))


@pytest.mark.parametrize(("depth", "target"), [
    (84.0, 33.6), (50.0, 25.0), (60.0, 25.0), (62.5, 25.0), (75.0, 30.0), (100.0, 40.0),
    (120.0, 40.0), (300.0, 40.0), (49.9, 19.96), (40.0, 16.0), (35.0, 14.0), (34.9, None),
    (34.0, None), (10.0, None),
])
def test_the_depth_to_wait_for_by_the_soil_s_depth(depth, target):
    assert default_target_mm(depth) == (None if target is None else pytest.approx(target))


@pytest.mark.parametrize("work", ["slipped over", "edges combed", "half bare", "all bare"])
def test_a_conifer_is_kept_on_the_dry_side_for_six_weeks(work):
    recovery = recovery_of(worked(root_work=work), PINE, 84.0)
    assert recovery.dry
    assert recovery.target_mm == pytest.approx(33.6)
    assert recovery.ends - recovery.since == DAYS * DAY == 42 * DAY


def test_a_broad_leaved_tree_is_kept_evenly_damp():
    recovery = recovery_of(worked(target_mm=30.0), MAPLE, 84.0)
    assert not recovery.dry
    assert recovery.target_mm is None


def test_roots_left_alone_need_no_recovery():
    assert recovery_of(worked(root_work="none"), PINE, 84.0) is None


def test_a_collected_tree_recovers_for_a_year_whatever_was_done():
    for work in ("none", "half bare"):
        recovery = recovery_of(worked(root_work=work, collected=True), PINE, 84.0)
        assert recovery.ends - recovery.since == COLLECTED_DAYS * DAY == 365 * DAY


@pytest.mark.parametrize("collected", [True, False])
def test_days_told_go_before_both(collected):
    assert ends_at(worked(recovery_days=90, collected=collected)) == FIRST + 90 * DAY


def test_a_depth_told_goes_before_the_default_even_in_shallow_soil():
    assert recovery_of(worked(target_mm=12.0), PINE, 30.0).target_mm == 12.0
    assert recovery_of(worked(), PINE, 30.0).target_mm is None


@pytest.mark.parametrize(("zone", "after_h", "day"), [
    ("UTC", 0, 1), ("UTC", 23, 1), ("UTC", 24, 2), ("UTC", 24 * 41, 42),
    ("Europe/Berlin", 21, 1), ("Europe/Berlin", 22, 2),  # midnight, two hours before UTC's
    ("America/New_York", 3, 1), ("America/New_York", 4, 2), ("America/New_York", 28, 3)])
def test_the_day_of_repotting_is_the_first_and_turns_at_local_midnight(zone, after_h, day):
    recovery = recovery_of(worked(), PINE, 84.0)
    assert recovery.day(FIRST + timedelta(hours=after_h), ZoneInfo(zone)) == day


SHALLOW = {"inside_mm": (300.0, 200.0), "soil_depth_mm": 30.0}


@pytest.mark.parametrize(("group", "told", "during", "after"), [
    ("pine", SHALLOW | {"root_work": "half bare"}, 0.20, 0.20),
    ("spruce", SHALLOW | {"root_work": "half bare"}, 0.30, 0.30),
    ("maple", SHALLOW | {"root_work": "half bare"}, 0.50, 0.50),
    ("larch", SHALLOW | {"root_work": "half bare"}, 0.50, 0.50),
    ("pine", SHALLOW, 0.30, 0.30),
    ("pine", {"root_work": "half bare"}, 0.30, 0.20),
])
def test_without_a_depth_a_conifer_s_limit_comes_later(group, told, during, after):
    made = model(tree("1", group, FIRST, **told))
    assert made.limit_at(FIRST + 41 * DAY) == pytest.approx(during)
    assert made.limit_at(FIRST + 42 * DAY) == pytest.approx(after)
    own = made.bears.limit
    assert made.limit_at(FIRST + 49 * DAY) == pytest.approx(own)
    assert made.limit_at(FIRST + 45.5 * DAY) == pytest.approx((own + after) / 2.0)


def test_the_target_ends_with_the_recovery():
    made = model(tree("1", "pine", FIRST, root_work="edges combed"))
    assert made.dry_target_mm(FIRST) == pytest.approx(default_target_mm(made.filled.pot.depth_mm))
    assert made.recovering(FIRST + 42 * DAY - timedelta(seconds=1)) is made.recovery
    assert made.recovering(FIRST + 42 * DAY) is None
    assert made.dry_target_mm(FIRST + 42 * DAY) is None
