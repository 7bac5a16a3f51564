"""Every verdict, read from outlooks written by hand."""

from datetime import timedelta

import numpy as np
import pytest
from scenes import BERLIN, DAY, FIRST, HOUR, hours, known, sky

from advisor.garden.records import Rounds
from advisor.jobs.judge import (
    FULL,
    LEAVE,
    RUNS_OUT,
    WATER_LATER,
    WATER_NOW,
    Call,
    Spread,
    When,
    judge,
)
from advisor.jobs.morning import MOST_LOOKS, _looks
from advisor.jobs.outlook import (
    AT_TARGET,
    DRY_HIGH,
    DRY_LOW,
    DRY_MID,
    LEFT_HIGH,
    LEFT_LOW,
    LEFT_MID,
    PAST_LIMIT,
    ROWS,
    After,
    Outlook,
    Standing,
    stored_outlook,
)
from advisor.jobs.rounds import next_rounds

MIDNIGHT = FIRST + 19 * DAY + 22 * HOUR  # 21 June, a Sunday, in Berlin
SEVEN = MIDNIGHT + 7 * HOUR
SHOWN = 11 * 24
NOW = 7  # hours after midnight
EVENING = 19
TOMORROW = 24 + 7
TWICE = Rounds("summer", ("07:00", "19:00"))
SATURDAYS = Rounds("summer", ("07:00",), ("sat",))


def when(*rounds: Rounds, at=SEVEN) -> When:
    knowledge = known([*(rounds or (TWICE,))])
    return When(sky(hours(), at), at,
                next_rounds(knowledge.rounds, BERLIN, at, at + 24 * DAY))


def outlook(past=0.0, target=None, reached=0.0, left=(0.5, 0.6, 0.7), dry=(5.0, 10.0, 15.0),
            after=None, chance=0.2, shown=SHOWN) -> Outlook:
    """An outlook from midnight on: `past` and `reached` may be arrays over its hours."""
    rows = np.zeros((ROWS, shown), dtype=np.float32)
    rows[PAST_LIMIT], rows[AT_TARGET] = past, reached
    for row, value in zip((LEFT_LOW, LEFT_MID, LEFT_HIGH, DRY_LOW, DRY_MID, DRY_HIGH),
                          (*left, *dry), strict=True):
        rows[row] = value
    standing = Standing(0.4, chance, 0.08, np.nan if target is None else target, 2.0, 60.0, 5.0)
    return Outlook(first_hour(), rows, standing, after)


def first_hour() -> int:
    return when().sky.index(MIDNIGHT)


def rising(*points: tuple[int, float]) -> np.ndarray:
    """Chances hour by hour, linear between (hour, chance)."""
    return np.interp(np.arange(SHOWN), *zip(*points, strict=True)).astype(np.float32)


def from_hour(hour: int, chance: float = 1.0) -> np.ndarray:
    return np.where(np.arange(SHOWN) >= hour, chance, 0.0).astype(np.float32)


def test_the_scene_is_a_summer_morning():
    assert f"{SEVEN.astimezone(BERLIN.zone):%a %H:%M}" == "Sun 07:00"
    rounds = [f"{at.astimezone(BERLIN.zone):%a %H:%M}" for at in when().rounds[:3]]
    assert rounds == ["Sun 19:00", "Mon 07:00", "Mon 19:00"]


@pytest.mark.parametrize(("hour", "verdict"), [
    (0, WATER_NOW), (NOW, WATER_NOW), (EVENING - 1, WATER_NOW), (EVENING, WATER_NOW),
    (EVENING + 1, WATER_LATER), (TOMORROW, WATER_LATER), (TOMORROW + 1, LEAVE), (200, LEAVE),
])
def test_it_is_watered_at_the_last_round_before_it_would_pass_its_limit(hour, verdict):
    assert judge(outlook(from_hour(hour)), when()).verdict == verdict


@pytest.mark.parametrize(("hour", "verdict"), [
    (NOW + 1, WATER_NOW), (5 * 24, WATER_NOW), (6 * 24 + NOW, WATER_NOW),
    (6 * 24 + NOW + 1, LEAVE), (10 * 24, LEAVE),
])
def test_with_rounds_on_saturdays_only_it_looks_a_week_ahead(hour, verdict):
    # the next round lies six days ahead, and is never later today
    assert judge(outlook(from_hour(hour)), when(SATURDAYS)).verdict == verdict


def test_a_single_round_a_day_is_never_later_today():
    once = when(Rounds("summer", ("07:00",)))
    assert judge(outlook(from_hour(TOMORROW + 2)), once).verdict == LEAVE
    assert judge(outlook(from_hour(TOMORROW)), once).verdict == WATER_NOW


@pytest.mark.parametrize("chance", [0.12, 0.2, 0.3])
@pytest.mark.parametrize(("over", "verdict"), [(0.01, WATER_NOW), (0.0, LEAVE), (-0.01, LEAVE)])
def test_it_is_called_above_its_group_s_chance(chance, over, verdict):
    called = judge(outlook(from_hour(0, chance + over), chance=np.float32(chance)), when())
    assert called.verdict == verdict
    assert called.chance_past_limit == pytest.approx(chance + over)


def test_chance_past_limit_is_the_largest_before_the_next_round():
    past = rising((0, 0.0), (EVENING, 0.12), (EVENING + 1, 0.9), (SHOWN, 0.9))
    assert judge(outlook(past), when()).chance_past_limit == pytest.approx(0.12)


def test_a_shower_that_takes_the_danger_away_counts_from_now_on_only():
    past = np.where(np.arange(SHOWN) < 5, 1.0, 0.0)
    assert judge(outlook(past), when()).verdict == LEAVE


# --- litres -------------------------------------------------------------------------------


@pytest.mark.parametrize(("mid", "litres"), [(0.6, 0.4), (1.0, 0.0), (1.1, 0.0), (-0.1, 1.1)])
def test_litres_are_what_is_lacking_and_what_runs_out(mid, litres):
    called = judge(outlook(from_hour(0), left=(mid - 0.1, mid, mid + 0.1)), when())
    assert called.litres == pytest.approx(litres * 2.0 / (1.0 - RUNS_OUT))


def test_later_today_the_litres_are_those_of_then():
    made = outlook(from_hour(EVENING + 1))
    made.rows[LEFT_MID, EVENING:] = 0.3
    called = judge(made, when())
    assert called.verdict == WATER_LATER
    assert called.litres == pytest.approx(0.7 * 2.0 / (1.0 - RUNS_OUT), rel=1e-6)


# --- full pots, and pots that cannot last -------------------------------------------------


def full(mid, past=1.0, **more):
    return outlook(from_hour(0, past), left=(mid - 0.05, mid, mid + 0.05), **more)


@pytest.mark.parametrize(("mid", "verdict"), [
    (FULL - 0.005, WATER_NOW), (FULL + 0.005, LEAVE), (1.05, LEAVE)])
def test_a_full_pot_is_left_and_told(mid, verdict):
    called = judge(full(mid), when())
    assert called.verdict == verdict
    assert called.lasts == (verdict == WATER_NOW)  # where nothing is known of a watering, it is


def test_a_full_pot_comes_up_at_the_next_round_and_needs_no_look():
    called = judge(full(1.0), when())
    assert (called.next, called.worth_a_look) == (MIDNIGHT + EVENING * HOUR, 0.0)
    wide = outlook(from_hour(0, 0.3), left=(0.6, 1.0, 1.0))
    assert judge(wide, when()).worth_a_look == 0.0


def test_a_full_pot_that_lasts_is_left_without_a_word():
    called = judge(full(1.0, past=0.0), when())
    assert (called.verdict, called.lasts, called.next) == (LEAVE, True, None)


def test_a_full_pot_dry_to_its_target_is_watered():
    called = judge(full(1.0, past=0.0, target=32.0, reached=1.0), when())
    assert called.verdict == WATER_NOW


@pytest.mark.parametrize(("hour", "past", "lasts"), [
    (EVENING, 0.9, False), (EVENING, 0.51, False), (EVENING, 0.5, True),
    (EVENING + 1, 1.0, True)])
def test_watered_it_lasts_to_the_next_round_more_likely_than_not(hour, past, lasts):
    after = After(first_hour() + NOW, np.stack([from_hour(hour, past), from_hour(0, 0.0)]))
    called = judge(outlook(from_hour(0), after=after), when())
    assert called.verdict == WATER_NOW
    assert called.lasts == lasts


# --- next and perhaps ---------------------------------------------------------------------


def test_a_tree_left_comes_up_at_the_round_before_it_would_pass():
    past = rising((0, 0.0), (48, 0.0), (96, 1.0), (SHOWN, 1.0))
    called = judge(outlook(past), when())
    # .2 is passed at hour 58: the round before is that of the second evening (43), .1 at 53
    assert called.next == MIDNIGHT + (24 + 31) * HOUR
    assert called.perhaps == MIDNIGHT + (24 + EVENING) * HOUR


def test_later_today_is_this_evening():
    assert judge(outlook(from_hour(EVENING + 1)), when()).next == MIDNIGHT + EVENING * HOUR


def test_watered_now_it_comes_up_by_what_follows_the_watering():
    after = After(first_hour() + NOW, np.stack([from_hour(60), from_hour(0, 0.0)]))
    assert judge(outlook(from_hour(0), after=after), when()).next == MIDNIGHT + 55 * HOUR
    assert judge(outlook(from_hour(0)), when()).next is None


@pytest.mark.parametrize("shown", [24, 40, SHOWN])
def test_past_what_is_foreseen_nothing_is_said(shown):
    called = judge(outlook(shown=shown), when())
    assert called.next is None
    assert called.perhaps is None
    assert called.verdict == LEAVE


def test_next_is_never_after_the_last_hour_foreseen():
    called = judge(outlook(from_hour(10 * 24)), when())
    assert called.next < MIDNIGHT + SHOWN * HOUR


# --- recovery -----------------------------------------------------------------------------


@pytest.mark.parametrize(("reached", "verdict"), [
    (44 / 64, LEAVE), (45 / 64, WATER_NOW), (1.0, WATER_NOW),
])
def test_a_recovering_tree_is_watered_when_its_target_is_reached(reached, verdict):
    made = outlook(target=32.0, reached=from_hour(0, reached))
    assert judge(made, when()).verdict == verdict


def test_reached_by_evening_it_is_later_today():
    made = outlook(target=32.0, reached=from_hour(EVENING))
    assert judge(made, when()).verdict == WATER_LATER
    tomorrow = outlook(target=32.0, reached=from_hour(EVENING + 1))
    assert judge(tomorrow, when()).verdict == LEAVE


def test_the_floor_of_its_water_goes_before_the_target():
    made = outlook(past=from_hour(EVENING, 0.35), target=32.0, chance=0.3)
    called = judge(made, when())
    assert called.verdict == WATER_NOW
    assert called.chance_at_target == 0.0


def test_the_target_is_reached_at_three_quantiles():
    reached = rising((0, 0.0), (100, 1.0), (SHOWN, 1.0))
    called = judge(outlook(target=32.0, reached=reached), when())
    assert called.reaches_target.low == SEVEN  # 7 % by now
    assert called.reaches_target.mid == MIDNIGHT + 50 * HOUR
    assert called.reaches_target.high == MIDNIGHT + 95 * HOUR


def test_a_target_that_few_reach_has_no_middle():
    called = judge(outlook(target=32.0, reached=from_hour(40, 0.2)), when())
    assert called.reaches_target.low == MIDNIGHT + 40 * HOUR
    assert called.reaches_target.mid is None
    assert called.reaches_target.high is None


def test_without_a_target_none_is_reached():
    assert judge(outlook(), when()).reaches_target is None


# --- look first ---------------------------------------------------------------------------

WIDE = (0.3, 0.5, 0.7)


@pytest.mark.parametrize(("past", "left", "asked"), [
    (0.2, WIDE, True), (0.1, WIDE, True), (0.4, WIDE, True), (0.09, WIDE, False),
    (0.41, WIDE, False), (0.2, (0.45, 0.5, 0.74), False),
])
def test_a_look_where_the_call_hangs_on_a_wide_doubt(past, left, asked):
    made = outlook(from_hour(0, np.float32(past)), left=left, chance=float(np.float32(0.2)))
    assert (judge(made, when()).worth_a_look > 0) == asked


@pytest.mark.parametrize(("reached", "dry", "past", "asked"), [
    (0.5, (10.0, 25.0, 40.0), 0.0, True), (23 / 64, (10.0, 25.0, 40.0), 0.0, True),
    (22 / 64, (10.0, 25.0, 40.0), 0.0, False), (61 / 64, (10.0, 25.0, 40.0), 0.0, False),
    (0.5, (15.0, 25.0, 35.0), 0.0, False), (0.5, (10.0, 25.0, 40.0), 0.5, False),
])
def test_in_recovery_the_depth_is_looked_at(reached, dry, past, asked):
    made = outlook(past, target=32.0, reached=from_hour(0, reached), dry=dry)
    assert (judge(made, when()).worth_a_look > 0) == asked


@pytest.mark.parametrize(("past", "reached", "left", "asked"), [
    (0.26, 0.0, WIDE, True), (0.5, 0.0, WIDE, True), (0.75, 0.69, WIDE, True),
    (0.76, 0.0, WIDE, False), (0.25, 0.0, WIDE, False), (0.5, 0.0, (0.45, 0.5, 0.74), False),
    (0.5, 0.71, WIDE, False),
])
def test_where_it_hangs_on_the_floor_the_water_is_looked_at(past, reached, left, asked):
    made = outlook(from_hour(0, np.float32(past)), left=left, target=32.0, chance=0.5,
                   reached=from_hour(0, reached))
    assert (judge(made, when()).worth_a_look > 0) == asked


def call(worth: float) -> Call:
    spread = Spread(0.0, 0.0, 0.0)
    return Call(LEAVE, spread, spread, 0.0, 0.0, 0.0, None, None, None, worth)


def test_at_most_three_are_looked_at_and_those_a_reading_would_tell_most_of():
    worth = {"1": 1.1, "2": 0.0, "3": 1.9, "4": 1.4, "5": 1.4, "6": 1.2}
    assert MOST_LOOKS == 3
    assert _looks({label: call(each) for label, each in worth.items()}) == {"3", "4", "5"}
    assert _looks({"1": call(0.0)}) == set()
    same = {str(i): call(1.5) for i in range(9)}
    assert _looks(same) == {"0", "1", "2"}  # of equals, the first in the walk


# --- rounds asked for early or late; storing ----------------------------------------------


def test_a_round_asked_for_a_little_early_is_that_round():
    early = when(at=SEVEN - timedelta(minutes=80))
    assert early.rounds[0] == MIDNIGHT + EVENING * HOUR
    assert judge(outlook(from_hour(EVENING)), early).verdict == WATER_NOW


def test_between_rounds_the_next_one_is_the_next():
    noon = when(at=SEVEN + 5 * HOUR)
    assert judge(outlook(from_hour(EVENING)), noon).verdict == WATER_NOW
    assert judge(outlook(from_hour(EVENING + 1)), noon).verdict == WATER_LATER


def test_a_round_at_half_past_counts_the_hour_it_lies_in():
    half = when(Rounds("summer", ("07:00", "18:30")))
    assert half.hour(half.rounds[0]) - first_hour() == 19
    assert judge(outlook(from_hour(19)), half).verdict == WATER_NOW


@pytest.mark.parametrize("watered", [True, False])
def test_an_outlook_is_stored_without_loss(watered):
    after = After(first_hour() + NOW, np.stack([from_hour(60), from_hour(0, 0.0)]))
    made = outlook(from_hour(3), target=32.0, after=after if watered else None)
    first = when().sky.first
    given = stored_outlook(made.first, made.numbers(first), first)
    assert judge(given, when()) == judge(made, when())
    assert given.rows.tobytes() == made.rows.tobytes()
    if watered:
        assert given.after.hour == after.hour
        assert given.after.rows.tobytes() == after.rows.tobytes()
    else:
        assert given.after is None
