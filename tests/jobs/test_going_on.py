"""Going on from what was believed gives the digits of starting anew."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from scenes import (
    BERLIN,
    DAY,
    FIRST,
    HOUR,
    Diary,
    assert_same_digits,
    changed,
    hours,
    known,
    pot,
    told,
    tree,
    until,
)

from advisor.garden.records import Event, Move, Record, Rounds, Site, Tree, Watering
from advisor.jobs.carry import after_watering, carry
from advisor.jobs.describe import describe

POTTED = FIRST + 2 * DAY + 10 * HOUR + timedelta(minutes=20)
START = FIRST + 12 * DAY + 5 * HOUR  # 07:00 in Berlin
DAYS = 6
LAST = START + DAYS * DAY
ST_JOHNS = Site(47.6, -52.7, 100.0, "America/St_Johns")
HOWE = Site(-31.5, 159.1, 5.0, "Australia/Lord_Howe")
KATHMANDU = Site(27.7, 85.3, 1350.0, "Asia/Kathmandu")
BALL = {"root_work": "half bare", "ball_mix": "loamy"}


MIDDLE = START + 3 * DAY + 4 * HOUR + timedelta(minutes=40)
BEFORE = START - 5 * DAY

GARDENS: dict[str, list[Record]] = {
    "left alone": tree("1", "pine", POTTED),
    "before the weather": tree("1", "maple", FIRST - 100 * DAY),
    "watered": [*tree("1", "pine", POTTED), Watering("1", BEFORE), Watering("1", MIDDLE),
                Watering("1", MIDDLE + DAY, 0.2, until_ran=False)],
    "every day told": [*tree("1", "elm", POTTED, outside_mm=(120.0, 90.0, 45.0)),
                       *(Watering("1", FIRST + i * DAY + 5 * HOUR) for i in range(3, 19))],
    "other trees told": [*tree("1", "pine", POTTED), *tree("2", "maple", POTTED),
                         Watering("2", MIDDLE), Watering("2", MIDDLE + DAY)],
    "two columns": tree("1", "pine", POTTED, **BALL),
    "tipped": [*tree("1", "pine", POTTED), Event("1", MIDDLE, "tipped", "15"),
               Event("1", MIDDLE + 30 * HOUR, "tipped", "0")],
    "repotted at midday": [*tree("1", "pine", FIRST - 300 * DAY),
                           pot("1", MIDDLE, root_work="edges combed")],
    "recovery ends": tree("1", "pine", MIDDLE - 10 * DAY, root_work="half bare",
                          recovery_days=10),
    "moved": [*tree("1", "pine", POTTED), Move("1", MIDDLE, "shade"),
              Move("1", MIDDLE + 30 * HOUR, "bench")],
    "foliage off": [*tree("1", "maple", POTTED), Event("1", MIDDLE, "foliage off", "most")],
    "foliage off again": [*tree("1", "maple", POTTED), Event("1", BEFORE, "foliage off", "all"),
                          Event("1", MIDDLE, "foliage off", "quarter")],
    "bud-break told": [*tree("1", "maple", POTTED), Event("1", MIDDLE, "bud-break")],
    "full leaf told": [*tree("1", "maple", POTTED), Event("1", MIDDLE, "full leaf")],
    "leaf-fall told": [*tree("1", "maple", POTTED), Event("1", MIDDLE, "leaf-fall")],
    "not watered in": tree("1", "pine", POTTED, watered_in=False),
    "place told later": [Tree("1", "pine"), pot("1", POTTED), Move("1", MIDDLE, "shade")],
    "gone midway": [*tree("1", "pine", POTTED), *tree("2", "larch", POTTED),
                    Event("2", MIDDLE, "gone")],
}


@pytest.mark.parametrize("name", GARDENS)
def test_day_after_day_gives_the_digits_of_one_morning(name):
    diary = Diary(GARDENS[name], hours())
    for day in range(DAYS + 1):
        worked = diary.walk(START + day * DAY)
    assert diary.used
    assert_same_digits(worked, diary.fresh(LAST))


@pytest.mark.parametrize("name", ["watered", "two columns", "recovery ends", "tipped"])
def test_each_morning_alone_gives_them_too(name):
    diary = Diary(GARDENS[name], hours())
    for day in range(DAYS + 1):
        at = START + day * DAY
        assert_same_digits(diary.walk(at), diary.fresh(at))


@pytest.mark.parametrize("site", [BERLIN, ST_JOHNS, HOWE, KATHMANDU],
                         ids=lambda site: site.time_zone)
@pytest.mark.parametrize("times", [("00:00",), ("00:15", "23:45"), ("07:00", "19:00")])
def test_days_of_any_zone_and_rounds_about_midnight(site, times):
    rounds = [Rounds(season, times) for season in ("summer", "winter")]
    records = [*tree("1", "elm", POTTED, outside_mm=(120.0, 90.0, 45.0)), *rounds,
               *tree("2", "pine", POTTED)]
    records += [Watering("2", START + i * DAY + timedelta(hours=i * 7, minutes=10))
                for i in range(3)]
    diary = Diary(records, hours(), site)
    for step in range(0, 24 * DAYS, 7):  # at every hour of the day, late evenings too
        at = START + timedelta(hours=step, minutes=45)
        assert_same_digits(diary.walk(at), diary.fresh(at))


def test_late_evening_where_hours_are_cut_by_midnight():
    """23:45 in St John's lies in the hour that counts to the next day."""
    diary = Diary(tree("1", "elm", POTTED, outside_mm=(120.0, 90.0, 45.0)), hours(), ST_JOHNS)
    evening = FIRST + 14 * DAY + 2 * HOUR + timedelta(minutes=15)
    assert f"{evening.astimezone(ST_JOHNS.zone):%H:%M}" == "23:45"
    diary.walk(evening)
    assert_same_digits(diary.walk(evening + DAY), diary.fresh(evening + DAY))


def test_a_late_entry_for_another_tree_makes_a_silent_day_told():
    for site in (BERLIN, ST_JOHNS):
        records = [*tree("1", "elm", POTTED, outside_mm=(120.0, 90.0, 45.0)),
                   *tree("2", "pine", POTTED)]
        diary = Diary(records, hours(), site)
        diary.walk(START)
        for back in range(1, 5):
            diary.records = [*records, Watering("2", START - back * DAY)]
            assert_same_digits(diary.walk(START), diary.fresh(START))


@pytest.mark.parametrize("began", [1, 2, 4])
@pytest.mark.parametrize("potted", [-100 * DAY, 8 * HOUR])
def test_weather_that_began_only_days_ago(began, potted):
    """What is still guessed of the first week must not be believed for good."""
    at = FIRST + began * DAY + 5 * HOUR
    diary = Diary(tree("1", "pine", FIRST + potted, root_work="half bare"), hours())
    for day in range(4):
        assert_same_digits(diary.walk(at + day * DAY), diary.fresh(at + day * DAY))


def test_potted_today_with_the_night_still_to_come():
    potted = START - 3 * HOUR
    diary = Diary(tree("1", "pine", potted, outside_mm=(600.0, 450.0, 200.0)), hours(mean_c=-2.0))
    for day in range(4):
        at = START + day * DAY - 4 * HOUR * (day > 0)
        assert_same_digits(diary.walk(at), diary.fresh(at))


def test_a_hole_in_the_weather_that_is_filled_later():
    diary, at = Diary(tree("1", "pine", POTTED), hours()), START + 2 * DAY
    hole = changed(until(diary.weather, START), slice(24 * 8, 24 * 8 + 5), np.nan)
    diary.walk(START, hole)
    assert_same_digits(diary.walk(at), diary.fresh(at))


def test_a_season_that_begins_on_the_way():
    """Warmth is counted from 1 January on: what lay before must not change."""
    first = datetime.fromisoformat("2025-12-20T00:00+00:00")
    diary = Diary(tree("1", "maple", first + 2 * DAY), hours(30, first, mean_c=7.0, et0_mm=0.6))
    for day in range(9, 16):
        at = first + day * DAY + 6 * HOUR
        assert_same_digits(diary.walk(at), diary.fresh(at))


# --- what a belief rests on ---------------------------------------------------------------


def walked(*more: Record | None) -> tuple[Diary, str]:
    """A garden walked once, and the digest of the belief of its last midnight."""
    diary = Diary([*tree("1", "pine", POTTED), Watering("1", START - 3 * DAY), *more], hours())
    return diary, diary.walk(START).beliefs[-1].digest


def rebuilt(diary: Diary) -> list[datetime]:
    """Midnights believed anew when the same round is walked again."""
    return [belief.midnight for belief in diary.walk(START).beliefs]


def test_a_belief_that_holds_is_not_made_again():
    diary, _ = walked()
    assert rebuilt(diary) == []


@pytest.mark.parametrize(("hour", "holds"), [(-31, False), (-8, False), (-7, True), (-2, True)])
@pytest.mark.parametrize("column", ["temp_c", "rain_mm", "et0_mm"])
def test_weather_before_a_belief_decides_whether_it_holds(hour, holds, column):
    diary, _ = walked()
    index = int((START - FIRST) / HOUR) + hour  # midnight in Berlin lies seven hours back
    if column == "et0_mm":
        et0 = dict(diary.weather.et0_mm) | {"bench": diary.weather.et0_mm["bench"].copy()}
        et0["bench"][index] += 0.05
        diary.weather = replace(diary.weather, et0_mm=et0)
    else:
        diary.weather = changed(diary.weather, slice(index, index + 1), 3.25, column)
    assert (rebuilt(diary) == []) == holds
    assert_same_digits(diary.walk(START), diary.fresh(START))


def test_the_weather_of_another_place_does_not_matter():
    diary, _ = walked()
    shade = diary.weather.et0_mm["shade"] * 1.1
    diary.weather = replace(diary.weather, et0_mm=dict(diary.weather.et0_mm) | {"shade": shade})
    assert rebuilt(diary) == []


@pytest.mark.parametrize(("at", "holds"), [
    (START - 3 * DAY, False), (START - 8 * HOUR, False), (START - 7 * HOUR, True),
    (START - HOUR, True),
])
def test_a_late_watering_discards_what_comes_after_it(at, holds):
    diary, _ = walked()
    diary.records = [*diary.records, Watering("1", at, 0.3, until_ran=False)]
    assert (rebuilt(diary) == []) == holds
    assert_same_digits(diary.walk(START), diary.fresh(START))


def test_a_watering_taken_back_does_too():
    diary, digest = walked()
    taken_back = [None if isinstance(record, Watering) else record for record in diary.records]
    diary.records = taken_back
    made = diary.walk(START).beliefs
    assert made
    assert made[-1].digest != digest
    assert_same_digits(diary.walk(START), diary.fresh(START))


def test_only_the_midnights_after_a_change_are_made_again():
    diary, _ = walked()
    diary.records = [*diary.records, Watering("1", START - 20 * HOUR)]
    assert rebuilt(diary) == [START - 7 * HOUR]


@pytest.mark.parametrize("change", [
    Rounds("summer", ("06:00",)), Move("1", START - 2 * DAY, "shade"),
    Event("1", START - 2 * DAY, "tipped", "10"), Event("1", START - 2 * DAY, "fed"),
    pot("1", START - 2 * DAY), Tree("1", "juniper"),
], ids=lambda record: type(record).__name__)
def test_anything_told_of_the_tree_counts(change):
    diary, digest = walked()
    diary.records = [*diary.records, change]
    made = diary.walk(START).beliefs
    assert made
    assert made[-1].digest != digest
    assert_same_digits(diary.walk(START), diary.fresh(START))


def test_beliefs_stand_at_midnights_of_the_site_and_rest_on_known_hours_only():
    diary, _ = walked()
    stood = [belief.midnight.astimezone(BERLIN.zone) for belief in diary.kept.values()]
    assert [f"{at:%d %H:%M}" for at in stood] == ["11 00:00", "12 00:00", "13 00:00"]
    stale = Diary(diary.records, until(hours(), START - 30 * HOUR))
    newest = max(belief.midnight for belief in stale.walk(START).beliefs)
    assert newest == START - 31 * HOUR


# --- one tree, hour by hour ---------------------------------------------------------------


@pytest.mark.parametrize("name", ["watered", "two columns", "recovery ends", "left alone"])
def test_from_any_stored_midnight_state_and_outlook_are_the_same(name):
    knowledge = known(GARDENS[name], at=LAST)
    weather = told(knowledge, until(hours(), LAST), LAST)
    tree_model = describe(knowledge, "1", LAST)
    fresh = carry(tree_model, weather, None)
    assert len(fresh.beliefs) == 3
    for belief in fresh.beliefs:
        on = carry(tree_model, weather, belief)
        assert on.now.state.tobytes() == fresh.now.state.tobytes()
        assert on.now.carried.tobytes() == fresh.now.carried.tobytes()
        assert on.outlook.rows.tobytes() == fresh.outlook.rows.tobytes()
        hour = weather.sky.index(LAST)
        assert (after_watering(on, hour).rows.tobytes()
                == after_watering(fresh, hour).rows.tobytes())


def test_side_by_side_gives_the_digits_of_one_after_another():
    records = [record for i in range(8) for record in tree(
        str(i), ("pine", "maple")[i % 2], POTTED + i * HOUR, **(BALL if i % 3 else {}))]
    knowledge = known(records, at=LAST)
    weather = told(knowledge, until(hours(), LAST), LAST)
    models = [describe(knowledge, str(i), LAST) for i in range(8)]
    alone = [carry(each, weather, None).outlook.rows.tobytes() for each in models]
    with ThreadPoolExecutor(2) as pool:
        threads = pool.map(lambda each: carry(each, weather, None).outlook.rows.tobytes(), models)
    assert list(threads) == alone


def test_watered_now_it_is_past_its_limit_later_than_left_alone():
    knowledge = known(GARDENS["left alone"], at=START)
    weather = told(knowledge, until(hours(), START), START)
    carried = carry(describe(knowledge, "1", START), weather, None)
    hour = weather.sky.index(START)
    after = after_watering(carried, hour)
    now = hour - carried.outlook.first
    past = carried.outlook.rows[6]
    assert after.hour == hour
    assert after.rows.shape == (2, past.size)
    assert after.rows[0, now] == 0.0
    assert past[now] > 0.3
