"""Readings, from the entry to the verdict: taken in once, in order, and told in the round."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from scenes import DAY, FIRST, HOUR, Diary, assert_same_digits, hours, known, pot, told, tree, until

from advisor.garden.records import Reading, Record, Walk, Watering
from advisor.jobs.carry import Carried, advance, beginning, carry, course_of, drawn_members
from advisor.jobs.describe import ENTERS, describe
from advisor.jobs.judge import LEAVE, LOOK_FIRST, WATER_NOW
from advisor.jobs.observed import observed
from advisor.show.reasons import Words, reasons

POTTED = FIRST + 2 * DAY + 10 * HOUR
START = FIRST + 12 * DAY + 5 * HOUR  # 07:00 in Berlin
LAST = START + 5 * DAY
MINUTE = timedelta(minutes=1)
#: Every day walked and told: nothing was watered but what is entered.
WALKS = [Walk(FIRST + i * DAY + 5 * HOUR) for i in range(2, 22)]


def dry(at: datetime, depth_mm: float, label: str = "1", sd: float | None = None) -> Reading:
    return Reading(label, at, "dry depth", depth_mm, "skewer", sd=sd)


def kilos(at: datetime, weight_kg: float) -> Reading:
    return Reading("1", at, "weight", weight_kg)


def felt(at: datetime, word: str, depth_mm: float) -> Reading:
    return Reading("1", at, "feel", word=word, depth_mm=depth_mm)


def carried(records: list[Record | None], at: datetime = LAST, rain: bool = True) -> Carried:
    knowledge = known(records, at=at)
    model = describe(knowledge, "1", at)
    assert model is not None
    return carry(model, told(knowledge, until(hours(rain=rain), at), at), None)


def thirst(made: Carried) -> float:
    return float(np.median(made.now.members[0]))


def left(made: Carried) -> np.ndarray:
    """Low, mid and high share of water left, now."""
    here = made.course.told.sky.index(made.course.told.at) - made.outlook.first
    return made.outlook.rows[:3, here]


READ: dict[str, list[Record]] = {
    "skewers": [dry(START - 3 * DAY, 12.0), dry(START - DAY, 30.0), dry(START + DAY, 22.0),
                dry(START + 3 * DAY + 20 * MINUTE, 35.0)],
    "weights": [Watering("1", START - 2 * DAY), kilos(START - 2 * DAY + HOUR, 8.0),
                kilos(START - DAY, 7.6), kilos(START + DAY, 7.2), kilos(START + 2 * DAY, 6.9)],
    "words": [felt(START - DAY, "moist", 25.0), Reading("1", START, "lift", word="light"),
              felt(START + DAY, "dry", 10.0),
              Reading("1", START + 2 * DAY, "run-off", 0.9, "ran"),
              Watering("1", START + 2 * DAY)],
    "at midnight": [dry(START - 7 * HOUR, 15.0), dry(START + 2 * DAY - 7 * HOUR, 25.0)],
    "two in an hour": [dry(START + DAY, 20.0), felt(START + DAY + 10 * MINUTE, "moist", 40.0)],
    "a slip, then another": [dry(START - DAY, 70.0, sd=1.0), dry(START, 72.0, sd=1.0)],
    "a gauge": [Reading("1", START + DAY, "rain under", 6.0, since=START - 3 * DAY)],
}
RECOVERING = tree("1", "pine", POTTED, root_work="half bare", ball_mix="loamy")


@pytest.mark.parametrize("name", READ)
@pytest.mark.parametrize("records", [tree("1", "pine", POTTED), RECOVERING],
                         ids=["settled", "recovering"])
def test_day_after_day_gives_the_digits_of_one_morning(name, records):
    diary = Diary([*records, *READ[name]], hours())
    for day in range(6):
        worked = diary.walk(START + day * DAY)
    assert diary.used
    assert_same_digits(worked, diary.fresh(LAST))


@pytest.mark.parametrize("name", READ)
def test_readings_count(name):
    without = carried([*tree("1", "pine", POTTED),
                       *(each for each in READ[name] if isinstance(each, Watering))])
    assert carried([*tree("1", "pine", POTTED), *READ[name]]).outlook.rows.tobytes() \
        != without.outlook.rows.tobytes()


@pytest.mark.parametrize(("back", "anew"), [(3 * DAY, 3), (40 * HOUR, 2), (10 * HOUR, 1),
                                            (HOUR, 0)])
def test_a_late_reading_rebuilds_from_its_instant(back, anew):
    diary = Diary([*tree("1", "pine", POTTED), Watering("1", START - 4 * DAY)], hours())
    diary.walk(START)
    diary.records = [*diary.records, dry(START - back, 18.0)]
    assert len(diary.walk(START).beliefs) == anew
    assert_same_digits(diary.walk(START), diary.fresh(START))


def test_a_reading_taken_back_is_as_if_it_had_never_been():
    diary = Diary([*tree("1", "pine", POTTED), dry(START - 2 * DAY, 40.0)], hours())
    diary.walk(START)
    diary.records[-1] = None
    bare = Diary(tree("1", "pine", POTTED), hours())
    assert_same_digits(diary.walk(START), bare.walk(START))


# --- the hour of a watering ----------------------------------------------------------------


def test_before_the_watering_it_tells_of_the_pot_before_and_after_it_of_the_full_pot():
    watered = Watering("1", START + 20 * MINUTE)
    read = {name: dry(START + at * MINUTE, 35.0, sd=2.0)
            for name, at in (("before", 5), ("after", 40))}
    at = START + 2 * HOUR
    knowledge = {name: known([*tree("1", "pine", POTTED), watered, each], at=at)
                 for name, each in read.items()}
    hour = {name: observed(describe(each, "1", at), told(each, until(hours(), at), at))[0].hour
            for name, each in knowledge.items()}
    assert hour["after"] == hour["before"] + 1
    seen = {name: carried([*tree("1", "pine", POTTED), watered, each], at).now.seen[0].told
            for name, each in read.items()}
    assert seen["before"].mid > seen["after"].mid  # nothing is dry once water ran below
    assert seen["after"].mid < 1.0
    assert not seen["after"].used


def test_a_reading_before_the_watering_teaches_thirst_and_leaves_the_pot_full():
    watered = Watering("1", START + 20 * MINUTE)
    made = carried([*tree("1", "pine", POTTED), watered, dry(START + 5 * MINUTE, 5.0, sd=2.0)],
                   START + HOUR)
    assert left(made)[1] > 0.98


# --- what a reading changes ------------------------------------------------------------------


def test_drier_than_foreseen_it_drinks_more_and_wetter_less():
    watered = [*tree("1", "pine", POTTED), Watering("1", START), *WALKS]
    at = START + 2 * DAY
    foreseen = carried([*watered, dry(at - HOUR, 10.0, sd=3.0)], at).now.seen[0].told
    drier, wetter = (carried([*watered, dry(at - HOUR, depth, sd=3.0)], at)
                     for depth in (foreseen.mid + 15.0, foreseen.low))
    bare = carried(watered, at)
    assert thirst(wetter) < thirst(bare) < thirst(drier)
    assert left(drier)[1] < left(bare)[1] < left(wetter)[1]


def test_a_weight_narrows_what_is_left():
    watered = [*tree("1", "pine", POTTED), Watering("1", START), kilos(START + HOUR, 8.0), *WALKS]
    at = START + 2 * DAY
    lacking = carried([*watered, kilos(at - HOUR, 7.5)], at).now.seen[0].told
    read = carried([*watered, kilos(at - HOUR, 8.0 - lacking.mid)], at)
    bare = carried(watered, at)
    assert np.ptp(left(read)) < 0.6 * np.ptp(left(bare))
    assert left(read)[1] == pytest.approx(left(bare)[1], abs=0.04)


def test_the_full_weight_itself_tells_nothing():
    watered = [*tree("1", "pine", POTTED), Watering("1", START)]
    assert carried([*watered, kilos(START + HOUR, 8.0)]).outlook.rows.tobytes() \
        == carried(watered).outlook.rows.tobytes()


def test_an_unexplained_weight_tells_nothing():
    watered = [*tree("1", "pine", POTTED), Watering("1", START), kilos(START + HOUR, 8.0), *WALKS]
    odd = replace(kilos(START + DAY, 8.4), note="unexplained: heavier without water")
    assert carried([*watered, odd]).outlook.rows.tobytes() \
        == carried(watered).outlook.rows.tobytes()


@pytest.mark.parametrize("word", ["stands", "runs off"])
def test_how_water_enters_changes_how_it_goes_in_from_then_on(word):
    seen = Reading("1", START, "enters", word=word)
    rain = [*tree("1", "pine", POTTED), seen]
    model = describe(known(rain), "1", LAST)
    assert model.enters_at(START - MINUTE) == 1.0
    assert model.enters_at(START) == ENTERS[word] < 1.0
    poured = Watering("1", START + HOUR, 0.6, until_ran=False)
    sinks, stays = (left(carried([*records, poured], START + 3 * HOUR))[1]
                    for records in (tree("1", "pine", POTTED), rain))
    assert stays < sinks - 0.02
    # poured before it was seen, it went in as it always had
    early = Watering("1", START - 2 * HOUR, 0.6, until_ran=False)
    before = [left(carried([*records, early], START - HOUR))[1]
              for records in (tree("1", "pine", POTTED), rain)]
    assert before[0] == before[1]


def test_a_gauge_under_the_crown_stands_for_the_rain_of_its_days():
    bare = tree("1", "pine", POTTED)
    since, at = START - 2 * DAY, START
    none, much = (Reading("1", at, "rain under", caught, since=since) for caught in (0.0, 40.0))
    wet = {name: left(carried([*bare, each] if each else bare, at))[1]
           for name, each in (("none", none), ("much", much), ("open", None))}
    assert wet["much"] > max(wet["none"], wet["open"])
    knowledge = known([*bare, much], at=at)
    model = describe(knowledge, "1", at)
    course = course_of(model, told(knowledge, until(hours(), at), at),
                       beginning(model, told(knowledge, until(hours(), at), at)),
                       int((at - FIRST) / HOUR))
    caught = course.weather.rain_mm[int((since - FIRST) / HOUR) - course.first:]
    assert caught.sum() == pytest.approx(40.0)


def test_thirst_stays_with_the_tree_through_a_repotting_and_the_rest_starts_anew():
    before = [*tree("1", "pine", POTTED), Watering("1", START - 2 * DAY),
              dry(START - DAY, 45.0, sd=3.0), dry(START - HOUR, 55.0, sd=3.0)]
    potted = START + 4 * HOUR
    repotted = [*before, pot("1", potted, root_work="edges combed")]
    learned, now = carried(before, potted - MINUTE), carried(repotted, potted + DAY)
    model = describe(known(repotted), "1", LAST)
    drawn = drawn_members(model)
    assert thirst(learned) > 1.1
    assert now.now.members[0] == pytest.approx(learned.now.members[0])
    assert now.now.members[1:] == pytest.approx(drawn[1:])
    assert now.now.seen == ()


# --- slips -----------------------------------------------------------------------------------


def test_a_decimal_slip_is_flagged_and_moves_less_than_its_neighbours_do():
    watered = [*tree("1", "pine", POTTED), Watering("1", START), kilos(START + HOUR, 8.0)]
    at = START + DAY + HOUR
    first, slip = kilos(START + DAY - 9 * HOUR, 7.70), kilos(START + DAY, 0.755)
    moved = [left(carried([*watered, *read], at))[1] for read in
             ([], [first], [first, slip], [first, kilos(START + DAY, 7.55)])]
    seen = carried([*watered, first, slip], at).now.seen
    assert [each.told.used for each in seen] == [True, False]
    assert abs(moved[2] - moved[1]) < 1e-6
    assert abs(moved[1] - moved[0]) > 0.01
    assert abs(moved[3] - moved[1]) > abs(moved[2] - moved[1])


def test_a_second_that_agrees_makes_both_count():
    read = [dry(START - DAY, 78.0, sd=1.0), dry(START - 10 * HOUR, 79.0, sd=1.0)]
    records = [*tree("1", "pine", POTTED), Watering("1", START - DAY - HOUR)]
    alone = carried([*records, read[0]], START).now.seen
    both = carried([*records, *read], START).now.seen
    assert [each.told.used for each in alone] == [False]
    assert both[-1].told.used


# --- the round -------------------------------------------------------------------------------


def round_of(records: list[Record | None], at: datetime):
    worked = Diary(records, hours(rain=False)).walk(at)
    return worked.round.trees[0], worked.round


def test_after_a_reading_it_is_not_asked_to_be_looked_at_until_the_next_full_watering():
    wide, at = tree("1", "pine", POTTED), POTTED.replace(hour=5) + 60 * HOUR
    asked, _ = round_of(wide, at)
    assert asked.verdict == LOOK_FIRST
    assert asked.call.worth_a_look > 0.0
    read = [*wide, Reading("1", at - HOUR, "lift", word="usual")]
    assert round_of(read, at)[0].call.worth_a_look == 0.0
    litres = [*read, Watering("1", at - MINUTE, 0.05, until_ran=False)]
    assert round_of(litres, at)[0].call.worth_a_look == 0.0
    full = [*read, Watering("1", at - 30 * MINUTE)]
    assert round_of(read, at)[0].outlook.standing.read == 1.0
    assert round_of(full, at)[0].outlook.standing.read == 0.0


def test_leaves_that_hang_in_a_damp_pot_are_never_watered_and_it_is_said():
    hanging = Reading("1", START - HOUR, "leaves", word="hanging")
    damp = [*tree("1", "maple", POTTED), Watering("1", START - 5 * HOUR), hanging]
    found, told_ = round_of(damp, START)
    assert found.verdict == LEAVE
    assert any("trouble at the roots" in each for each in reasons(found, Words(told_)))


def test_even_where_it_is_called_for_its_chance_a_damp_pot_is_not_watered():
    """A pot that cannot last to the next round is called half full; not with hanging leaves."""
    small = tree("1", "maple", POTTED, crown=40.0, outside_mm=(160.0, 120.0, 50.0))
    watered = [*small, *WALKS, Watering("1", START - 12 * HOUR)]
    plain, _ = round_of(watered, START)
    hanging = Reading("1", START - HOUR, "leaves", word="dropping")
    found, told_ = round_of([*watered, hanging], START)
    assert plain.verdict == WATER_NOW
    assert plain.call.left.mid >= 0.45
    assert found.verdict == LEAVE
    assert found.call.litres == 0.0
    assert "more water makes it worse" in " ".join(reasons(found, Words(told_)))


def test_leaves_that_hang_in_a_dry_pot_are_watered():
    hanging = Reading("1", START - HOUR, "leaves", word="hanging")
    found, told_ = round_of([*tree("1", "maple", POTTED), *WALKS, hanging,
                             Watering("1", START - 3 * DAY)], START)
    assert found.verdict == WATER_NOW
    assert "water it until it runs, twice" in " ".join(reasons(found, Words(told_)))


def test_readings_are_taken_in_once_however_often_a_course_is_cut():
    records = [*tree("1", "pine", POTTED), *READ["skewers"]]
    knowledge = known(records, at=LAST)
    weather = told(knowledge, until(hours(), LAST), LAST)
    model = describe(knowledge, "1", LAST)
    start = beginning(model, weather)
    course = course_of(model, weather, start, weather.sky.index(LAST))
    whole, _ = advance(course, start, course.last, keep=False)
    point = start
    for hour in range(start.index + 5, course.last, 17):
        point, _ = advance(course, point, hour, keep=False)
    point, _ = advance(course, point, course.last, keep=False)
    assert point.members.tobytes() == whole.members.tobytes()
    assert point.state.tobytes() == whole.state.tobytes()
    assert len(whole.seen) == len(READ["skewers"])
