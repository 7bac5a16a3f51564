"""The whole text of a round, and its document, from rounds put together by hand."""

import re
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from rounds_made import (
    AT,
    BENCH,
    EVENING,
    FRESH,
    TOMORROW,
    WALL,
    ZONE,
    Told,
    local,
    round_of,
    tree,
)

from advisor.jobs.beside import Beside
from advisor.jobs.judge import Reached
from advisor.jobs.recovery import Recovery
from advisor.show.lists import together
from advisor.show.wording import Leaning, round_document, round_text

DUE = Told("water_now", left=(0.2, 0.35, 0.5), chance=0.64, litres=0.42)
LEFT = Told()
LATER = Told("water_later", left=(0.4, 0.5, 0.7), chance=0.2, litres=0.61, next=EVENING)
LOOK = Told("look_first", call="water_now", left=(0.2, 0.45, 0.7), chance=0.4, litres=1.23)
FRIDAY, SATURDAY = local("2026-07-03T07:00"), local("2026-07-04T07:00")
RECOVERY = Recovery(AT - timedelta(days=9, hours=-2), AT + timedelta(days=33), 32.0, dry=True)
DRYING = Told(dry_mm=(8.0, 19.0, 27.0), left=(0.4, 0.55, 0.7), target_mm=32.0, recovery=RECOVERY,
              ball=0.48, chance=0.01, next=SATURDAY, perhaps=FRIDAY,
              reached=Reached(local("2026-07-02T13:00"), local("2026-07-03T15:00"),
                              local("2026-07-09T12:00")))
HEAD = "Wednesday 1 July 2026, 07:00\nWeather known to Mon 6 Jul 07:00.\n"


def text(*trees, **more):
    """Give the text below its head."""
    told = round_text(round_of([tree(label, each) for label, each in trees]), FRESH, **more)
    assert told.startswith(HEAD)
    return told.removeprefix(HEAD).strip("\n")


# --- by exception ----------------------------------------------------------------------


def test_where_most_is_due_the_exceptions_are_named():
    benches = [*((str(i), DUE) for i in (1, 2)), ("3", LEFT), *((str(i), DUE) for i in (4, 5)),
               ("11", LEFT)]
    assert text(*benches) == """\
South bench: water everything but 3 and 11, 1.6 L
  3  pine: leave; next: tomorrow morning
      damp: about 80 % of its water left (60-90 %), wants it at 30 %
  11  pine: leave; next: tomorrow morning
      damp: about 80 % of its water left (60-90 %), wants it at 30 %
    litres each: 1 0.4 L, 2 0.4 L, 4 0.4 L, 5 0.4 L

4 to water now (1.6 L), 2 to leave."""


def test_where_all_is_due_nothing_is_named():
    assert text(("1", DUE), ("2", DUE), ("3", DUE)) == """\
South bench: water everything, 1.2 L
    litres each: 1 0.4 L, 2 0.4 L, 3 0.4 L

3 to water now (1.2 L)."""


def test_where_few_are_due_they_are_named():
    trees = [("1", DUE), ("2", LEFT), ("3", replace(LEFT, next=FRIDAY)), ("4", LEFT),
             ("5", replace(LEFT, next=None))]
    assert text(*trees) == """\
South bench: water 1 and nothing else, 0.4 L
  1  pine: water now, 0.4 L; next: tomorrow morning
      drying: about 35 % of its water left (20-50 %), wants it at 30 %
      64 % chance of falling below 30 % by this evening
    leave 2 and 4; next: tomorrow morning
    leave 3; next: Friday morning
    leave 5; not in the 13 days foreseen

1 to water now (0.4 L), 4 to leave.""".replace("drying", "dry on top")


def test_where_nothing_is_due_it_says_so():
    assert text(("1", LEFT), ("2", LEFT)) == """\
South bench: nothing to water now
    leave 1 and 2; next: tomorrow morning

Nothing to water now, 2 to leave."""


def test_places_come_in_their_order_each_with_its_litres():
    trees = [("1", DUE), ("2", DUE), ("7", replace(LEFT, place=WALL)),
             ("x", replace(DUE, place=None, litres=12.3))]
    heads = [line for line in text(*trees).splitlines() if line and line[0] != " "]
    assert heads == ["South bench: water everything, 0.8 L", "Wall: nothing to water now",
                     "No place told: water everything, 12.5 L",
                     "3 to water now (13.5 L), 1 to leave."]


def test_later_today_has_a_line_of_its_own():
    assert text(("1", LATER), ("2", LEFT)) == """\
South bench: nothing to water now
  1  pine: water this evening, 0.6 L
      drying: about 50 % of its water left (40-70 %), wants it at 30 %
      should fall below that by tomorrow morning unless watered this evening
    leave 2; next: tomorrow morning

Nothing to water now, 1 later today, 1 to leave."""


@pytest.mark.parametrize(("dressing", "reading"), [
    ("none", "push a skewer to 30 mm; dry there, water it; damp, leave it"),
    ("grit", "push a skewer to 30 mm; dry there, water it; damp, leave it"),
    ("moss", "and the top cannot be seen: lift one end; light, water it; usual or heavy, leave it"),
    ("sphagnum", "and the top cannot be seen: lift one end; light, water it; usual or heavy, "
                 "leave it")])
def test_look_first_asks_for_the_right_reading(dressing, reading):
    joined = "" if reading.startswith("and") else ":"
    assert text(("1", replace(LOOK, dressing=dressing)), ("2", LEFT)) == f"""\
South bench: nothing to water now
  1  pine: look first; if it wants water, 1.2 L
      drying: about 45 % of its water left (20-70 %), wants it at 30 %
      40 % chance of falling below 30 % by this evening
      the figures are unsure{joined} {reading}
    leave 2; next: tomorrow morning

Nothing to water now, 1 to look at first, 1 to leave."""


def test_a_recovering_tree_says_how_deep_it_is_dry():
    assert text(("1", DRYING), ("2", LEFT)) == """\
South bench: nothing to water now
  1  pine: leave; next: Saturday morning, perhaps Friday morning
      dry to 19 of 32 mm (8-27 mm), 55 % of its water left, 48 % in the old root ball
      reaches its depth Friday afternoon (tomorrow midday at the earliest, Thu 9 Jul at the latest)
      day 10 after repotting
    leave 2; next: tomorrow morning

Nothing to water now, 2 to leave."""


def test_what_else_is_asked_for_stands_with_its_tree():
    also = (Beside("keep_rain_off", EVENING, FRIDAY, "rain in recovery", 18.2),
            Beside("bring_in", local("2026-07-02T02:00"), TOMORROW, "frost in leaf", -2.4),
            Beside("take_out", TOMORROW, None, "frost over"))
    assert text(("1", replace(DUE, also=also)), ("2", DUE), ("3", DUE)) == """\
South bench: water everything, 1.2 L
  1  pine: water now, 0.4 L; next: tomorrow morning
      dry on top: about 35 % of its water left (20-50 %), wants it at 30 %
      64 % chance of falling below 30 % by this evening
      keep the rain off from 19:00 to Fri 3 Jul 07:00: about 18 mm would undo the drying
      bring it in before Thu 2 Jul 02:00: frost to -2 °C expected, and soft leaves
      take it out again at Thu 2 Jul 07:00
    litres each: 2 0.4 L, 3 0.4 L

3 to water now (1.2 L)."""


def test_every_tree_has_its_line_where_asked_for():
    lines = text(("1", DUE), ("2", DUE), ("3", LEFT), every=True).splitlines()
    assert [line for line in lines if re.match(r"  \S", line)] == [
        "  1  pine: water now, 0.4 L; next: tomorrow morning",
        "  2  pine: water now, 0.4 L; next: tomorrow morning",
        "  3  pine: leave; next: tomorrow morning"]
    assert "litres each" not in "".join(lines)


def test_inches_and_gallons():
    told = text(("1", replace(LOOK, rain=(3, 12.7))), ("2", DRYING), us=True)
    assert "look first; if it wants water, 0.32 gal" in told
    assert "push a skewer to 1.25 in;" in told
    assert "dry to 0.75 of 1.25 in (0.25-1 in)" in told
    assert "about 0.5 in of rain should reach its soil" in told
    assert not re.search(r"\d (mm|L)\b", told)


def test_a_garden_without_trees():
    assert text() == "No tree stands in a pot yet (advisor add tree)."


# --- what it leans on ------------------------------------------------------------------


@pytest.mark.parametrize(("newest", "says"), [
    (AT + timedelta(hours=1), "Weather known to Wed 1 Jul 08:00."),
    (AT - timedelta(hours=12), "Weather known to Tue 30 Jun 19:00."),
    (AT - timedelta(hours=13), "Weather known only to Tue 30 Jun 18:00, 13 h ago: the figures "
     "are wide. Look before you water."),
    (AT - timedelta(days=3), "Weather known only to Sun 28 Jun 07:00, 3 days ago: the "
     "figures are wide. Look before you water."),
    (local("2027-01-01T00:00"), "Weather known to Fri 1 Jan 2027 00:00.")])
def test_how_old_the_weather_is(newest, says):
    told = round_text(round_of([tree("1", LEFT)]), Leaning(newest, ()))
    assert told.splitlines()[1] == says


def test_what_the_advice_leans_on_is_said():
    leaning = Leaning(FRESH.newest, ("wind 2 m/s on 3 of the last 7 days", "no rain known"))
    assert round_text(round_of([]), leaning).splitlines()[2:4] == [
        "Leans on: wind 2 m/s on 3 of the last 7 days.", "Leans on: no rain known."]


# --- no words of the model, no shouting ------------------------------------------------


ALL = [Told("water_now", litres=0.3), LATER, LEFT, LOOK, replace(LOOK, dressing="moss"), DRYING,
       replace(LOOK, target_mm=32.0, recovery=RECOVERY, call="leave"),
       replace(DRYING, recovery=replace(RECOVERY, target_mm=None), target_mm=float("nan")),
       replace(DUE, recovery=replace(RECOVERY, dry=False)),
       replace(LEFT, next=None, rain=(5, 9.0)),
       *(replace(LEFT, also=(Beside("", EVENING, end, why, 7.0),)) for end in (TOMORROW, None)
         for why in ("rain in recovery", "days of rain", "heat in recovery", "cannot last",
                     "roots cannot keep up", "frost in recovery", "frost in leaf",
                     "frost in the roots", "frost over", "frozen"))]


@pytest.mark.parametrize("us", [False, True])
def test_no_sentence_has_words_of_the_model_or_shouts(us):
    told = round_of([tree(str(i), each) for i, each in enumerate(ALL)])
    said = round_text(told, FRESH, us=us, every=True)
    assert not re.search(r"member|belief|capacity|kernel|quantile|overdue|thirst|!|nan|None|_",
                         said)


# --- the document ----------------------------------------------------------------------

TREE_KEYS = ["tree", "place", "verdict", "available_left", "dry_depth_mm", "chance_past_limit",
             "litres", "next", "why", "also", "recovery"]


def document(*trees, leaning=FRESH):
    return round_document(round_of([tree(label, each) for label, each in trees]), leaning)


def test_the_document_has_the_keys_it_promises():
    tip = Beside("tip", EVENING, None, "days of rain", 20.0)
    told = document(("1", replace(DRYING, also=(tip,))))
    assert list(told) == ["at", "site", "weather", "trees"]
    assert list(told["weather"]) == ["newest", "age_h", "leans_on"]
    (one,) = told["trees"]
    assert list(one) == TREE_KEYS
    assert list(one["available_left"]) == list(one["dry_depth_mm"]) == ["low", "mid", "high"]
    assert list(one["also"][0]) == ["do", "from", "until", "why"]
    assert list(one["recovery"]) == ["day", "target_mm", "reaches_target", "ends"]


def test_a_whole_tree_of_the_document():
    assert document(("1", DRYING))["trees"] == [{
        "tree": "1", "place": "south bench", "verdict": "leave",
        "available_left": {"low": 0.4, "mid": 0.55, "high": 0.7},
        "dry_depth_mm": {"low": 8.0, "mid": 19.0, "high": 27.0},
        "chance_past_limit": 0.01, "litres": 0.0, "next": "2026-07-04T07:00:00+02:00",
        "why": ["dry to 19 of 32 mm (8-27 mm), 55 % of its water left, 48 % in the old root ball",
                "reaches its depth Friday afternoon (tomorrow midday at the earliest, "
                "Thu 9 Jul at the latest)", "day 10 after repotting"],
        "also": [],
        "recovery": {"day": 10, "target_mm": 32.0,
                     "reaches_target": {"low": "2026-07-02T13:00:00+02:00",
                                        "mid": "2026-07-03T15:00:00+02:00",
                                        "high": "2026-07-09T12:00:00+02:00"},
                     "ends": "2026-08-03T07:00:00+02:00"}}]


def test_what_is_not_foreseen_is_null():
    far = replace(DRYING, next=None, reached=Reached(TOMORROW, None, None),
                  also=(Beside("frozen_leave", AT, None, "frozen"),))
    (one,) = document(("1", far))["trees"]
    assert one["next"] is None
    assert one["recovery"]["reaches_target"] == {"low": "2026-07-02T07:00:00+02:00", "mid": None,
                                                 "high": None}
    assert one["also"][0]["until"] is None
    (plain,) = document(("1", replace(LEFT, place=None)))["trees"]
    assert (plain["place"], plain["recovery"], plain["also"]) == (None, None, [])


def test_a_broad_leaved_tree_recovers_without_a_target():
    (one,) = document(("1", replace(LEFT, recovery=replace(RECOVERY, target_mm=None, dry=False)
                                    )))["trees"]
    assert (one["recovery"]["target_mm"], one["recovery"]["reaches_target"]) == (None, None)


def test_litres_are_rounded_and_nothing_poured_is_0():
    told = document(("1", LEFT), ("2", DUE), ("3", replace(DUE, litres=0.01)))["trees"]
    assert [one["litres"] for one in told] == [0.0, 0.4, 0.05]


def test_instants_carry_the_offset_of_their_day():
    told = document(("1", replace(LEFT, next=local("2026-11-01T07:00"))))
    assert told["at"] == "2026-07-01T07:00:00+02:00"
    assert told["trees"][0]["next"] == "2026-11-01T07:00:00+01:00"
    assert datetime.fromisoformat(told["at"]) == AT
    assert told["site"] == {"latitude_deg": 52.1, "longitude_deg": 13.2, "elevation_m": 40.0,
                            "time_zone": ZONE.key}


@pytest.mark.parametrize(("newest", "age_h"), [
    (AT - timedelta(hours=53), 53.0), (AT + timedelta(days=4), 0.0),
    (AT - timedelta(minutes=10), 0.17)])
def test_the_age_of_the_weather(newest, age_h):
    weather = document(("1", LEFT), leaning=Leaning(newest, ("a fill",)))["weather"]
    assert (weather["age_h"], weather["leans_on"]) == (age_h, ["a fill"])


@pytest.mark.parametrize("told", ALL)
def test_numbers_are_in_order_and_every_verdict_has_its_reason(told):
    (one,) = document(("1", told))["trees"]
    for spread in (one["available_left"], one["dry_depth_mm"]):
        assert spread["low"] <= spread["mid"] <= spread["high"]
    assert one["why"]
    assert 0.0 <= one["chance_past_limit"] <= 1.0


def test_the_document_s_sentences_are_those_of_the_text():
    trees = [(str(i), each) for i, each in enumerate(ALL)]
    lines = text(*trees, every=True).splitlines()
    told = [f"      {sentence}" for one in document(*trees)["trees"]
            for sentence in (*one["why"], *(each["why"] for each in one["also"]))]
    assert [line for line in lines if line.startswith("      ")] == told


def test_a_bench_of_two_is_never_told_by_exception():
    assert BENCH.name == "south bench"
    assert text(("1", DUE), ("2", LEFT)).startswith("South bench: water 1 and nothing else, 0.4 L")


def test_rules_that_end_alike_are_told_together() -> None:
    assert together(["temperature spread from the day", "wind 2 m/s", "rain spread from the day",
                     "wind spread from the day"]) == [
        "temperature, rain and wind spread from the day", "wind 2 m/s"]
    assert together(["rain unknown"]) == ["rain unknown"]
