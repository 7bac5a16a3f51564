"""A verdict explained: the chain multiplies and adds up, and what would change it does."""

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import DAY, FIRST, HOUR, hours, known, sky, told, tree, until

from advisor.balance import members
from advisor.demand import groups, plant, season, surface
from advisor.garden.records import Event, Place, Potting, Reading, Rounds, Walk, Watering
from advisor.jobs import recovery
from advisor.jobs.describe import describe
from advisor.jobs.explain.changing import DRIER, STEPS, WETTER, Case, changes, first_true
from advisor.jobs.explain.explained import Rests, explained
from advisor.jobs.explain.numbers import DEFAULT, LEARNED, TABLE, TOLD, WORKED
from advisor.jobs.explain.tags import source_of
from advisor.jobs.judge import FULL, LEAVE, WATER_NOW, When
from advisor.jobs.morning import morning

NOW = FIRST + 20 * DAY + 5 * HOUR
POTTED = FIRST + 2 * DAY + 10 * HOUR
WALKS = [Walk(FIRST + i * DAY + 5 * HOUR) for i in range(30)]
DAILY = [Rounds(season, ("07:00",)) for season in ("spring", "summer", "autumn", "winter")]
RESTS = Rests(4.0, dict.fromkeys(("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "rain_mm",
                                  "et0_mm"), "a file"), {"wind_ms": 1.5})


def explain(*records, weather=None, at=NOW, label="1"):
    weather = until(hours() if weather is None else weather, at)
    knowledge = known([*DAILY, *WALKS, *records], at=at)
    seen = sky(weather, at)
    round_ = morning(knowledge, seen, at, {}, lambda *_: ()).round
    (verdict,) = [each for each in round_.trees if each.label == label]
    return explained(round_, verdict, knowledge, RESTS)


def value(found, part, key):
    (number,) = [each for each in found.parts[part] if each.key == key]
    return number.value


DRY = (*tree("1", "pine", POTTED, crown=60.0), Watering("1", NOW - 3 * DAY))
WET = (*tree("1", "pine", POTTED, crown=30.0), Watering("1", NOW - 28 * HOUR))


@pytest.mark.parametrize("records", [DRY, WET, tree("1", "maple", POTTED, place="shade")],
                         ids=["dry", "wet", "shade"])
def test_the_factors_multiply_to_what_was_asked(records):
    found = explain(*records)
    keys = [each.key for each in found.parts["demand"]]
    demand = found.parts["demand"][keys.index("et0_awake_mm"):keys.index("asked_l")]
    assert math.prod(each.value for each in demand) == pytest.approx(
        value(found, "demand", "asked_l"), rel=1e-9)


def test_what_the_soil_gives_off_at_most_is_the_day_s_et0_over_its_surface():
    found = explain(*DRY)
    asked = value(found, "demand", "et0_place_mm") * value(found, "demand", "surface_factor")
    assert value(found, "demand", "surface_asked_l") == pytest.approx(
        asked * value(found, "pot", "surface_m2"))
    assert 0.4 * surface.SURFACE_DEMAND <= value(found, "demand", "surface_factor") <= 1.15


def test_the_weather_says_what_the_place_lets_through_and_what_was_not_measured():
    shaded = {each.key: each for each in explain(
        *tree("1", "maple", POTTED, place="shade")).parts["weather"]}
    assert (shaded["wind_ms"].value, shaded["light_mj"].value) == (1.5, "not measured")
    assert shaded["wind_share"].value < 1.0
    assert "[judgement; ± .15]" in shaded["wind_share"].source


@pytest.mark.parametrize("records", [
    DRY, WET, tree("1", "maple", POTTED, place="shade"),
    (*DRY, Reading("1", NOW - DAY, "dry depth", 20.0, "skewer"))],
    ids=["dry", "wet", "never watered", "read"])
def test_what_went_in_and_out_adds_up(records):
    rows = explain(*records).parts["balance"]
    assert sum(each.value for each in rows[:-1]) == pytest.approx(rows[-1].value, abs=1e-6)
    read = any(isinstance(each, Reading) for each in records)
    assert (rows[-2].key == "readings_l") == read  # nothing else is left over


def test_the_state_is_what_the_round_says():
    found = explain(*DRY)
    call = found.tree.call
    assert value(found, "state", "left") == call.left.mid
    assert value(found, "state", "chance_past_limit") == call.chance_past_limit
    assert found.watered
    assert found.since == NOW - 3 * DAY


def test_a_tree_never_watered_is_shown_over_the_last_days():
    found = explain(*tree("1", "pine", POTTED))
    assert not found.watered
    assert found.since == NOW.replace(minute=0) - 3 * DAY


def test_every_number_says_where_it_is_from():
    found = explain(*DRY)
    for numbers in found.parts.values():
        assert all(number.origin for number in numbers)
    sources = {each.key: each.source for each in found.parts["demand"]}
    assert sources["oasis"] == source_of(plant, "OASIS")
    assert "FAO-56 Table 17 conifers [published]" in sources["kcb_height"]
    assert "± 35 %" in sources["thirst"]


def test_origins_follow_what_was_told():
    origin = {each.key: each.origin
              for part in explain(*tree("1", "pine", POTTED)).parts.values() for each in part}
    assert (origin["crown_m2"], origin["foliage"], origin["thirst"]) == (DEFAULT,) * 3
    assert origin["oasis"] == TOLD  # gravel
    cut = Event("1", NOW - 5 * DAY, "foliage off", "half")
    read = Reading("1", NOW - DAY, "dry depth", 20.0, "skewer")
    origin = {each.key: each.origin
              for part in explain(*DRY, cut, read).parts.values() for each in part}
    assert (origin["crown_m2"], origin["foliage"], origin["thirst"]) == (TOLD, TOLD, LEARNED)


def rows(found, part):
    return {each.key: each for each in found.parts[part]}


def test_a_recovering_tree_shows_its_old_ball_and_the_floor_it_never_falls_below():
    found = explain(*tree("1", "pine", NOW - 4 * DAY, root_work="half bare"))
    pot, state = rows(found, "pot"), rows(found, "state")
    assert (pot["ball_share"].value, pot["ball_share"].origin) == (0.40, TABLE)
    assert "[judgement; ± .15]" in pot["ball_share"].source
    assert pot["ball_mix"].origin == DEFAULT
    assert state["floor"].value == recovery.FLOOR
    assert state["target_called_at"].value == recovery.CHANCE
    assert state["called_at"].value == found.tree.outlook.standing.chance
    assert "[judgement" in state["called_at"].source
    assert 0.0 < state["ball_left"].value <= 1.0
    assert not {"ball_mix", "ball_share"} & set(rows(explain(*DRY), "pot"))


def test_a_tipped_pot_holds_less_and_says_so():
    found = explain(*DRY, Event("1", NOW - DAY, "tipped", amount=20.0))
    pot = rows(found, "pot")
    assert (pot["tip_deg"].value, pot["tip_deg"].origin) == (20.0, TOLD)
    assert pot["holds_tipped_l"].value < pot["holds_l"].value
    assert "tip_deg" not in rows(explain(*DRY, Event("1", NOW - DAY, "tipped", amount=0.0)), "pot")


def test_soil_is_told_only_where_its_litres_were():
    assert rows(explain(*DRY), "pot")["soil_l"].origin == WORKED
    told_l = [replace(each, outside_mm=None, litres=3.0, soil_depth_mm=50.0)
              if isinstance(each, Potting) else each for each in DRY]
    assert rows(explain(*told_l), "pot")["soil_l"].origin == TOLD


def test_a_full_pot_that_is_left_though_it_may_not_last_says_why():
    found = explain(*tree("1", "maple", POTTED, crown=90.0), Watering("1", NOW))
    state = rows(found, "state")
    assert found.tree.verdict == LEAVE
    assert state["chance_past_limit"].value > state["called_at"].value
    assert state["full_from"].value == FULL


def test_a_frozen_pot_is_left_and_says_why():
    found = explain(*DRY, weather=hours(mean_c=-12.0))
    state = rows(found, "state")
    assert found.tree.verdict == LEAVE
    assert found.frozen
    assert found.changes == ()
    assert state["pot_c"].value < state["frozen_below_c"].value == surface.FROZEN_BELOW_C
    assert "frozen_below_c" not in rows(explain(*DRY), "state")


# --- what would change it --------------------------------------------------------------


def case(*records, weather=None):
    weather = until(hours() if weather is None else weather, NOW)
    knowledge = known([*DAILY, *WALKS, *records], at=NOW)
    from advisor.jobs.carry import advance, beginning, course_of

    here = told(knowledge, weather, NOW)
    model = describe(knowledge, "1", NOW)
    point = beginning(model, here)
    course = course_of(model, here, point, here.sky.index(NOW))
    start, _ = advance(course, point, here.sky.index(NOW - 2 * DAY), keep=False)
    rounds = [NOW + i * DAY for i in range(1, 9)]
    return Case(model, here, start, When(here.sky, NOW, rounds))


@pytest.mark.parametrize(("records", "verdict", "tried"), [
    (DRY, WATER_NOW, WETTER), (WET, LEAVE, DRIER)], ids=["dry", "wet"])
def test_each_change_gives_another_verdict_and_the_step_before_it_does_not(
        records, verdict, tried):
    this = case(*records)
    assert this.verdict() == verdict
    found = {each.what: each for each in changes(this)}
    assert found
    assert set(found) <= set(tried)
    for what, change in found.items():
        assert this.verdict(what, change.amount) == change.verdict != verdict
        before = {"less demand": -1, "more demand": -1, "rain": -1, "lower limit": 0.01,
                  "higher limit": -0.01,
                  "water": -STEPS["water"][0] * this.model.filled.pot.available_l}[what]
        assert this.verdict(what, change.amount + before) == verdict


def test_rain_and_water_that_change_it_are_of_a_size():
    """A litre poured on 875 cm² is 11 mm; rain loses some on the crown and to drizzle."""
    this = case(*DRY, weather=hours(rain=False))
    found = {each.what: each.amount for each in changes(this)}
    poured_mm = found["water"] / this.model.filled.pot.surface_m2
    assert found["rain"] >= poured_mm * 0.6
    assert found["rain"] <= 60


def test_the_round_says_what_the_case_says():
    for records in (DRY, WET):
        found = explain(*records)
        assert all(each.verdict != found.tree.call.verdict for each in found.changes)


def test_a_tree_kept_dry_has_no_limit_to_change():
    records = tree("1", "pine", NOW - 4 * DAY, root_work="half bare")
    found = explain(*records)
    assert value(found, "state", "target_mm") > 20.0
    assert not {"lower limit", "higher limit"} & {each.what for each in found.changes}


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 200), st.integers(0, 200))
def test_the_first_that_holds_is_found_in_few_steps(count, first):
    asked = []
    found = first_true(lambda i: asked.append(i) or i >= first, count)
    assert found == (first if first < count else None)
    assert len(asked) <= 1 + math.ceil(math.log2(count + 1))


# --- sources ---------------------------------------------------------------------------


@pytest.mark.parametrize(("module", "name", "says"), [
    (plant, "OASIS", "[judgement; ± .2]"), (plant, "DENSITY", "[judgement; ± .15]"),
    (plant, "ROOT_WORK", "[judgement; ± a third]"), (plant, "FOLIAGE_OFF", "days 21-70]"),
    (season, "COURSE", "[judgement] throughout"), (season, "AUTUMN", "[judgement; ± 15 d]"),
    (season, "COLD_FLOOR", "is from memory]"), (season, "NO_UPTAKE_BELOW_C", "[judgement]"),
    (surface, "SURFACE_DEMAND", "[judgement; 1.0-1.25]"), (groups, "BEARS", "all [judgement]"),
    (recovery, "TARGET_SHARE", "[judgement; .3-.5]"), (recovery, "CHANCE", "[judgement]")])
def test_a_source_is_read_off_the_remark(module, name, says):
    assert says in source_of(module, name)


def test_a_number_without_a_source_is_not_passed_over():
    with pytest.raises(LookupError, match="says no source"):
        source_of(members, "MEMBERS")


def test_a_place_never_told_stands_in_the_open():
    pine = [each for each in tree("1", "pine", POTTED) if not hasattr(each, "place")]
    origin = {each.key: (each.value, each.origin) for each in explain(*pine).parts["demand"]}
    assert origin["oasis"] == (plant.OASIS[Place("x").ground], DEFAULT)


def test_a_pot_of_this_morning_is_explained():
    found = explain(*tree("1", "pine", NOW - timedelta(minutes=30)))
    assert value(found, "balance", "held_now_l") == pytest.approx(
        value(found, "pot", "holds_l"), rel=0.05)
