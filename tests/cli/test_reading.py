"""Readings entered and listed; a pot that is heavier without water is asked about."""

import csv
import io
import json
from datetime import timedelta

import numpy as np
import pytest

from advisor.cli.reading import REASONS, ROOT_TROUBLE, UNITS
from advisor.garden.instants import to_seconds
from advisor.garden.readings import NUMBERS, UNEXPLAINED
from advisor.garden.records import Reading
from advisor.garden.store import Garden, Source

DAY = timedelta(days=1)
AT = "2026-07-01T07:00"
YESTERDAY = "2026-06-30T07:00"


def told(garden, label="2"):
    return garden.knows().readings[label]


# --- one reading -----------------------------------------------------------------------


@pytest.mark.parametrize(("args", "said", "fields"), [
    (("--dry-depth", "30"), "dry to 30 mm", {"kind": "dry depth", "value": 30.0, "word": "skewer"}),
    (("--dry-depth", "3cm", "--finger"), "dry to 30 mm by finger",
     {"kind": "dry depth", "value": 30.0, "word": "finger"}),
    (("--dry-depth", "30", "--give-or-take", "2"), "dry to 30 mm, give or take 2 mm",
     {"kind": "dry depth", "value": 30.0, "word": "skewer", "sd": 2.0}),
    (("--feels", "Moist", "--at-depth", "20"), "moist at 20 mm",
     {"kind": "feel", "word": "moist", "depth_mm": 20.0}),
    (("--lift", "light"), "light to lift", {"kind": "lift", "word": "light"}),
    (("--enters", "runs off"), "water runs off", {"kind": "enters", "word": "runs off"}),
])
def test_a_reading_is_entered(garden, args, said, fields):
    assert garden.tell("reading", "2", *args) == f"Read of 2: {said}, 1 July 2026, 07:00.\n"
    assert told(garden) == (Reading("2", garden.now, **fields),)


def test_several_readings_are_one_entry(garden):
    garden.tell("reading", "2", "--dry-depth", "30", "--weight", "6420g", "--feels", "dry",
                "--at-depth", "10", "--note", "windy", "--at", "06:30")
    at = garden.now - timedelta(minutes=30)
    assert told(garden) == (
        Reading("2", at, "dry depth", 30.0, "skewer", note="windy"),
        Reading("2", at, "weight", 6.42, note="windy"),
        Reading("2", at, "feel", word="dry", depth_mm=10.0, note="windy"))
    assert garden.tell("undo").startswith("Taken back: 8, read of 2: dry to 30 mm; 6.42 kg; dry ")
    assert told(garden) == ()


def test_a_tree_is_named_by_its_place_where_it_stands_alone(garden):
    garden.tell("reading", "wall", "--lift", "heavy")
    assert [each.word for each in told(garden, "3")] == ["heavy"]


def test_hanging_leaves_in_a_damp_pot_are_not_for_water(garden):
    said = garden.tell("reading", "2", "--leaves", "hanging").splitlines()
    assert said == ["Read of 2: leaves hanging, 1 July 2026, 07:00.", ROOT_TROUBLE]
    assert "not for water" in ROOT_TROUBLE
    assert told(garden) == (Reading("2", garden.now, "leaves", word="hanging"),)


@pytest.mark.parametrize(("args", "word", "do"), [
    (("--ran-after", "1.5"), "ran", "`advisor watered 2 --litres 1.5 --until-ran`."),
    (("--not-run-after", "750mL"), "did not run", "`advisor watered 2 --litres 0.75`."),
])
def test_water_that_ran_or_did_not_is_to_be_entered_too(garden, args, word, do):
    assert garden.tell("reading", "2", *args).endswith(f"Enter the water as well: {do}\n")
    assert [each.word for each in told(garden)] == [word]


def test_water_that_is_entered_is_not_asked_for(garden):
    garden.tell("watered", "2", "--litres", "1.5", "--until-ran")
    assert len(garden.tell("reading", "2", "--ran-after", "1.5").splitlines()) == 1


# --- a gauge under the crown -----------------------------------------------------------


def test_a_gauge_under_the_crown_goes_on_from_when_it_was_read(garden):
    garden.tell("reading", "2", "--rain-under", "3", "--since", "2026-06-29T07:00", "--at",
                YESTERDAY)
    said = garden.tell("reading", "2", "--rain-under", "0.5")
    assert said == ("Read of 2: 0.5 mm of rain under it since 30 June 2026, 07:00, "
                    "1 July 2026, 07:00.\n")
    assert [each.since for each in told(garden)] == [garden.now - 2 * DAY, garden.now - DAY]


def test_a_gauge_is_not_read_twice_for_the_same_rain(garden):
    garden.tell("reading", "2", "--rain-under", "3", "--since", "2026-06-29T07:00", "--at",
                YESTERDAY)
    assert "does not meet the reading of 30 June 2026, 07:00" in garden.refused(
        "reading", "2", "--rain-under", "3", "--since", "2026-06-30T06:00")
    assert "does not meet" in garden.refused(
        "reading", "2", "--rain-under", "1", "--since", "2026-06-28T07:00", "--at",
        "2026-06-29T09:00")


def test_a_gauge_says_when_it_was_emptied(garden):
    assert "--since" in garden.misused("reading", "2", "--rain-under", "3")


# --- weights ---------------------------------------------------------------------------


def test_weights_are_told_beside_the_full_one(garden):
    said = garden.tell("reading", "2", "--weight", "6.5", "--at", "2026-05-01T07:00")
    assert said.splitlines()[1].startswith("No full weight is known yet")
    garden.tell("watered", "2", "--at", "2026-05-02T07:00")
    full = garden.tell("reading", "2", "--weight", "6.9", "--at", "2026-05-02T08:00")
    assert full.splitlines()[1:] == ["Taken as its full weight from now on."]
    above = garden.tell("reading", "2", "--weight", "7.4", "--at", "2026-05-02T12:00")
    assert above.splitlines()[-1].startswith("0.5 L above its full weight: more than it can hold.")
    later = garden.tell("reading", "2", "--weight", "6.55", "--at", "2026-05-03T08:00")
    assert later.splitlines()[1:] == ["0.35 L below its full weight."]
    old = garden.tell("reading", "2", "--weight", "6.4")
    assert old.splitlines()[1:] == [
        "0.5 L below its full weight. That one is more than a month old: weigh it again after it "
        "ran below."]


def heavier(garden, *args, answers=None):
    garden.tell("reading", "2", "--weight", "6.5", "--at", YESTERDAY)
    return garden.run("reading", "2", "--weight", "6.9", *args, answers=answers)


def test_heavier_without_water_is_kept_marked_and_said(garden):
    result = heavier(garden, "--note", "after lunch")
    assert result.exit_code == 0
    assert ("Heavier than the 6.5 kg of 30 June 2026, 07:00, and no water is known in between: "
            "kept, and marked as unexplained. Was it watered, wired or fed,") in result.stdout
    assert told(garden)[-1].note == f"{UNEXPLAINED}; after lunch"


@pytest.mark.parametrize("entry", [
    ("watered", "2", "--at", "2026-06-30T19:00"), ("fed", "2", "--at", "2026-06-30T19:00"),
    ("reading", "2", "--rain-under", "2", "--since", YESTERDAY, "--at", "2026-06-30T19:00"),
])
def test_heavier_after_water_is_nothing_to_ask(garden, entry):
    garden.tell(*entry)
    result = heavier(garden)
    assert result.exit_code == 0
    assert told(garden)[-1].note == ""


@pytest.mark.parametrize(("mm", "note"), [(0.0, UNEXPLAINED), (0.2, "")])
def test_any_rain_in_between_explains_it(garden, mm, note):
    hours = to_seconds(garden.now - DAY) + 3600 * np.arange(24)
    with Garden.open(garden.path) as file:
        file.save_weather(Source("station.csv"), {"hour": hours, "rain_mm": np.where(
            np.arange(24) == 9, mm, 0.0)}, garden.now)
    heavier(garden)
    assert told(garden)[-1].note == note


def test_on_a_terminal_it_is_asked_what_made_it_heavier(garden, somebody_there):
    result = heavier(garden, answers="magic\nwired\n")
    assert result.exit_code == 0
    assert f"What happened to 2 ({', '.join(REASONS)})" in result.stderr
    assert "reason: 'magic'. Wanted: watered, rain, wired" in result.stderr
    assert told(garden)[-1].note == "heavier without water: wired"


def test_what_was_watered_is_to_be_entered(garden, somebody_there):
    assert "Enter the watering too" in heavier(garden, answers="watered\n").stdout


def test_an_empty_answer_leaves_it_unexplained(garden, somebody_there):
    heavier(garden, answers="\n")
    assert told(garden)[-1].note == UNEXPLAINED


def test_a_question_broken_off_leaves_nothing_behind(garden, somebody_there):
    assert heavier(garden, answers="").exit_code == 130
    assert len(told(garden)) == 1


# --- refused ---------------------------------------------------------------------------


@pytest.mark.parametrize(("args", "said"), [
    (("2", "--weight", "64.2"), "weight of 2: 64.2 kg. Wanted: at most 27 kg"),
    (("2", "--weight", "-1"), "Wanted: 0.02 to 300 kg"),
    (("2", "--weight", "0.5"), "its soil alone weighs about"),
    (("2", "--weight", "6 stone"), "Known: kg, g, lb, oz"),
    (("2", "--dry-depth", "90"), "dry depth of 2: 90 mm. Wanted: 0 to 60 mm, the depth of its pot"),
    (("2", "--feels", "dry", "--at-depth", "70"), "feel of 2: 70 mm. Wanted: 0 to 60 mm"),
    (("2", "--lift", "heavier"), "light, usual, heavy"),
    (("2", "--dry-depth", "20", "--give-or-take", "2 kg"), "--give-or-take: kg"),
    (("2", "--dry-depth", "20", "--give-or-take", "0"), "give or take: 0. Wanted: more than 0"),
    (("2", "--dry-depth", "20", "--at", "2026-03-01T09:00"),
     "not before it stood in a pot, 15 March 2026, 12:00"),
    (("2", "--rain-under", "1", "--since", "2026-07-02T07:00"), "before 1 July 2026, 07:00"),
    (("south bench", "--dry-depth", "20"), "'south bench' names 2 trees. Wanted: one tree"),
    (("99", "--dry-depth", "20"), "Known: 2, 3, 10, south bench, wall"),
    (("2", "--dry-depth", "20", "--note", "x" * 81), "at most 80 letters"),
])
def test_a_reading_that_cannot_be_is_refused(garden, args, said):
    assert said in garden.refused("reading", *args)


def test_a_tree_that_is_gone_is_not_read(garden):
    garden.tell("gone", "2", "--at", "2026-06-01")
    assert "'2' is gone since 1 June 2026" in garden.refused("reading", "2", "--lift", "light")


@pytest.mark.parametrize(("args", "said"), [
    ((), "Give at least one reading"),
    (("--finger",), "Give at least one reading"),
    (("--finger", "--lift", "light"), "--finger goes with --dry-depth"),
    (("--feels", "dry"), "--feels and --at-depth go together"),
    (("--at-depth", "20", "--lift", "light"), "--feels and --at-depth go together"),
    (("--ran-after", "1", "--not-run-after", "2"), "not both"),
    (("--since", YESTERDAY, "--lift", "light"), "--since goes with --rain-under"),
    (("--give-or-take", "2", "--lift", "light"), "one reading in numbers"),
    (("--give-or-take", "2", "--weight", "6", "--dry-depth", "20"), "one reading in numbers"),
])
def test_options_that_do_not_go_together_are_a_usage_error(garden, args, said):
    assert said in garden.misused("reading", "2", *args)


def test_zero_is_a_reading(garden):
    garden.tell("reading", "2", "--dry-depth", "0")
    assert told(garden)[0].value == 0.0


# --- listed ----------------------------------------------------------------------------


@pytest.fixture
def read(garden):
    garden.tell("reading", "3", "--weight", "6.42", "--at", YESTERDAY)
    garden.tell("reading", "2", "--dry-depth", "30", "--note", "windy")
    return garden


def test_readings_are_listed_in_the_order_they_were_taken(read):
    assert read.tell("readings") == ("30 June 2026, 07:00  3: 6.42 kg\n"
                                     "1 July 2026, 07:00  2: dry to 30 mm (windy)\n")
    assert read.tell("readings", "wall") == "30 June 2026, 07:00  3: 6.42 kg\n"
    assert "3:" not in read.tell("readings", "all", "--but", "wall")
    assert read.tell("readings", "--at", YESTERDAY).count("\n") == 1


def test_readings_of_a_tree_that_is_gone_stay_in_the_list(read):
    read.tell("gone", "3", "--at", AT)
    assert "3: 6.42 kg" in read.tell("readings", "--at", "2026-07-02")


def test_readings_are_listed_for_scripts(read):
    first, second = json.loads(read.tell("readings", "--json"))["readings"]
    assert first == {"tree": "3", "at": "2026-06-30T07:00:00+02:00", "kind": "weight",
                     "value": 6.42, "unit": "kg", "word": None, "depth_mm": None,
                     "give_or_take": 0.0193, "since": None, "note": None}
    assert (second["word"], second["give_or_take"], second["note"]) == ("skewer", 4.0, "windy")
    rows = list(csv.DictReader(io.StringIO(read.tell("readings", "--csv"))))
    assert [row["value"] for row in rows] == ["6.42", "30.0"]
    assert list(rows[0]) == list(first)


def test_no_readings_are_said_so(garden):
    assert garden.tell("readings") == "No readings yet.\n"
    assert json.loads(garden.tell("readings", "--json")) == {"readings": []}


def test_every_kind_in_numbers_can_be_written_in_a_unit():
    assert set(UNITS) == set(NUMBERS)
