"""What readings told of a tree, and a pot layer by layer."""

import numpy as np
import pytest
from scenes import DAY, FIRST, HOUR, Diary, hours, known, pot, sky, told, tree, until

from advisor.garden.records import Reading, Walk, Watering
from advisor.jobs.carry import carry
from advisor.jobs.describe import describe
from advisor.jobs.followed import follow, marks
from advisor.jobs.habits import LAST, habits
from advisor.jobs.profile import profile
from advisor.jobs.story import story, story_of

POTTED = FIRST + 2 * DAY + 10 * HOUR
NOW = FIRST + 14 * DAY + 5 * HOUR
WALKS = [Walk(FIRST + i * DAY + 5 * HOUR) for i in range(30)]
PINE = [*tree("1", "pine", POTTED), *WALKS, Watering("1", NOW - 4 * DAY)]
DRY = hours(rain=False, et0_mm=3.0)


def dry(back, depth_mm, sd=None):
    return Reading("1", NOW - back, "dry depth", depth_mm, "skewer", sd=sd)


def known_of(records, at=NOW, beliefs=lambda label, before: ()):
    knowledge = known(records, at=at)
    return habits(knowledge, sky(until(DRY, at), at), at, list(knowledge.trees), beliefs)


def test_without_readings_it_is_as_assumed():
    (found,) = known_of(PINE)
    assert found.drinks == found.drinks_assumed
    assert found.holds == found.holds_assumed
    assert found.drinks.mid == pytest.approx(1.0, abs=0.02)
    assert (found.readings, found.readings_before, found.doubted, found.last) == (0, 0, 0, ())


def test_readings_narrow_it_and_are_told_beside_what_was_foreseen():
    read = [dry(2 * DAY, 12.0), dry(DAY, 20.0), dry(HOUR, 25.0)]
    (found,) = known_of([*PINE, *read])
    assert found.drinks.high / found.drinks.low < (found.drinks_assumed.high
                                                   / found.drinks_assumed.low)
    assert found.readings == 3
    assert [each.reading for each in found.last] == read
    assert [each.value for each in found.last] == [12.0, 20.0, 25.0]
    assert all(each.foreseen.low <= each.foreseen.mid <= each.foreseen.high
               for each in found.last)
    assert all(each.within == (abs(each.sd_off) <= 1.645) for each in found.last)


def test_litres_are_those_of_the_pot_times_its_share():
    (found,) = known_of(PINE)
    full_l = describe(known(PINE), "1", NOW).filled.pot.available_l
    assert found.holds_l.mid == pytest.approx(full_l * found.holds.mid)


def test_the_last_ten_are_shown():
    many = [dry(DAY - i * HOUR, 15.0) for i in range(14)]
    (found,) = known_of([*PINE, *many])
    assert (found.readings, len(found.last), LAST) == (14, 10, 10)
    assert [each.reading for each in found.last] == many[-10:]


def test_one_too_far_off_is_counted_as_doubted():
    (found,) = known_of([*PINE, Watering("1", NOW - 3 * HOUR), dry(HOUR, 60.0, sd=1.0)])
    assert found.doubted == 1
    assert not found.last[0].used


def test_in_a_new_pot_thirst_rests_on_the_readings_of_the_old_one():
    repotted = [*PINE, dry(2 * DAY, 40.0), dry(DAY, 50.0), pot("1", NOW - 5 * HOUR)]
    (found,) = known_of(repotted)
    assert (found.readings, found.readings_before) == (0, 2)
    assert found.drinks != found.drinks_assumed
    assert found.holds == found.holds_assumed
    assert found.last == ()


def test_from_what_is_stored_it_is_the_same_to_the_digit():
    records = [*PINE, dry(3 * DAY, 12.0), dry(DAY, 20.0), dry(HOUR, 25.0)]
    diary = Diary(records, DRY)
    diary.walk(NOW - DAY)
    used = diary.used
    assert known_of(records, beliefs=diary.beliefs) == known_of(records)
    assert diary.used > used


def test_trees_without_a_pot_are_left_out():
    assert known_of([*PINE, *tree("2", "pine", NOW + DAY)], NOW)[0].tree.label == "1"
    assert len(known_of([*PINE, *tree("2", "maple", POTTED)])) == 2


# --- followed --------------------------------------------------------------------------------


def followed(records, at=NOW):
    knowledge = known(records, at=at)
    return follow(knowledge, sky(until(DRY, at), at), "1", at)


RECOVERING = [*tree("1", "pine", POTTED, root_work="half bare", ball_mix="loamy"), *WALKS]


@pytest.mark.parametrize("records", [
    [*PINE, dry(2 * DAY, 12.0), dry(HOUR, 25.0)], RECOVERING, PINE[:-1]])
def test_a_tree_that_is_followed_stands_as_it_is_carried_on(records):
    knowledge = known(records, at=NOW)
    here = told(knowledge, until(DRY, NOW), NOW)
    carried = carry(describe(knowledge, "1", NOW), here, None)
    made = followed(records)
    assert made.now.state.tobytes() == carried.now.state.tobytes()
    later = carried.outlook.first - made.outlook.first
    assert made.outlook.rows[:, later:].tobytes() == carried.outlook.rows.tobytes()


def test_what_was_read_in_this_very_hour_counts_now():
    at = NOW + HOUR / 3
    read = Reading("1", NOW + HOUR / 6, "dry depth", 25.0, "skewer")
    assert followed([*PINE, read], at).now.seen[-1].told.reading.value == 25.0


def test_its_story_is_that_of_the_chart():
    records = [*PINE, dry(2 * DAY, 12.0), dry(HOUR, 25.0)]
    knowledge = known(records, at=NOW)
    one = story(knowledge, sky(until(DRY, NOW), NOW), "1", NOW, 5 * DAY, 4 * DAY)
    other = story_of(followed(records), 5 * DAY, 4 * DAY)
    assert one.outlook.rows.tobytes() == other.outlook.rows.tobytes()
    assert (one.outlook.first, one.marks, one.waterings) == (
        other.outlook.first, other.marks, other.waterings)
    assert one.rain_mm.tobytes() == other.rain_mm.tobytes()


def test_readings_become_points():
    weighed = [Watering("1", NOW - 3 * DAY), Reading("1", NOW - 3 * DAY + HOUR, "weight", 8.0),
               Reading("1", NOW - 2 * DAY, "weight", 7.5)]
    records = [*PINE, *weighed, dry(DAY, 30.0), Reading("1", NOW - HOUR, "feel", word="moist",
                                                        depth_mm=40.0),
               Reading("1", NOW - HOUR, "lift", word="light")]
    made = followed(records)
    found = marks(made.model, made.told, made.now)
    assert [(each.where, each.value, each.word) for each in found if each.where != "left"] == [
        ("dry depth", 30.0, ""), ("feel", 40.0, "moist")]
    (left,) = [each for each in found if each.where == "left"]
    holds_l = made.model.filled.pot.available_l * np.median(made.now.members[1])
    assert left.value == pytest.approx(1.0 - 0.5 / holds_l)
    assert [each.at for each in found] == [NOW - 2 * DAY, NOW - DAY, NOW - HOUR]


# --- profile ---------------------------------------------------------------------------------


def test_a_pot_is_drier_on_top_now_and_drier_still_when_it_is_dry_to_its_target():
    made = followed(RECOVERING, POTTED + 3 * DAY)
    found = profile(made)
    assert len(found.columns) == 2
    assert found.target_mm == made.model.recovery.target_mm
    assert found.then_at > made.told.at
    for part in found.columns:
        assert found.edge_mm.size == part.full.size + 1
        assert (np.diff(part.now, axis=0) >= 0.0).all()
        assert (part.now[2] <= part.full + 1e-9).all()
        assert part.now[1, 0] < part.full[0]
        assert (part.then[1] <= part.now[1] + 1e-9).all()
    new = found.columns[0]
    depth = (found.edge_mm[1:] + found.edge_mm[:-1]) / 2.0
    assert (new.then[1][depth < found.target_mm - 10.0] < new.reads_dry).all()


def test_where_it_is_dry_already_nothing_is_to_come():
    found = profile(followed(RECOVERING, POTTED + 25 * DAY))
    assert found.already
    assert found.then_at is None
    assert all(part.then is None for part in found.columns)


def test_a_tree_without_a_target_is_shown_to_its_limit():
    found = profile(followed(PINE, NOW - 4 * DAY + HOUR))
    assert found.target_mm is None
    assert len(found.columns) == 1
    assert found.then_at > NOW - 4 * DAY
