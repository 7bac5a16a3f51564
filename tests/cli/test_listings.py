"""The trees, the rounds, the entries: in words and for scripts."""

import csv
import io
import json

import pytest

from advisor.garden.records import WEEKDAYS, Rounds


def document(garden, *args):
    return json.loads(garden.tell(*args))


def test_the_trees_are_listed_by_place_in_walking_order(garden):
    garden.tell("add", "tree", "10", "--name", "old one")
    garden.tell("repotted", "3", "--at", "2026-06-25")
    assert garden.tell("trees") == (
        "south bench\n"
        "   2  maple; pot, 350 × 250 × 60 mm outside; 2.9 L of third; potted 15 March 2026\n"
        "  10  old one, black pine; pot, 350 × 250 × 60 mm outside; 2.9 L of third; "
        "potted 15 March 2026\n"
        "\n"
        "wall\n"
        "   3  larch; pot, 350 × 250 × 60 mm outside; 2.9 L of third; potted 25 June 2026; "
        "recovers until 6 August 2026\n")


def test_the_trees_for_scripts(garden):
    garden.tell("repotted", "3", "--at", "2026-06-25T10:00")
    trees = document(garden, "trees", "--json")["trees"]
    assert [tree["tree"] for tree in trees] == ["2", "10", "3"]
    larch = trees[2]
    assert larch.pop("soil_l") == pytest.approx(2.903, abs=0.001)
    assert larch.pop("depth_mm") == pytest.approx(40.9, abs=0.1)
    assert 0 < larch.pop("available_l") < 2.9
    assert larch == {
        "tree": "3", "name": "", "group": "larch", "place": "wall",
        "pot": "pot, 350 × 250 × 60 mm outside", "mix": "third",
        "potted": "2026-06-25T10:00:00+02:00", "recovery_until": "2026-08-06T10:00:00+02:00",
        "crown_width_cm": None, "crown_depth_cm": None, "old_soil": None, "old_share": None}
    rows = list(csv.DictReader(io.StringIO(garden.tell("trees", "--csv"))))
    assert list(rows[0]) == list(trees[0]) or set(rows[0]) == set(trees[0])
    assert [row["tree"] for row in rows] == ["2", "10", "3"]
    assert rows[0]["recovery_until"] == ""


def test_the_trees_as_they_stood_at_an_instant(garden):
    garden.tell("repotted", "3", "--at", "2026-06-25")
    before = document(garden, "trees", "--json", "--at", "2026-06-01")["trees"][2]
    assert before["potted"] == "2026-03-15T12:00:00+01:00"
    assert document(garden, "trees", "--json", "--at", "2026-03-02")["trees"][2]["pot"] is None


def test_a_garden_without_trees_says_what_to_do(grower):
    grower.tell("start", "--latitude", "52", "--longitude", "13", "--time-zone", "Europe/Berlin")
    assert grower.tell("trees") == "No trees yet. Add one with `advisor add tree`.\n"
    assert document(grower, "trees", "--json") == {"trees": []}
    assert grower.tell("trees", "--csv").count("\n") == 1


def test_one_format_at_a_time(garden):
    assert "not both" in garden.misused("trees", "--json", "--csv")


def test_listing_writes_nothing(garden):
    before = garden.path.read_bytes()
    garden.tell("trees")
    garden.tell("rounds")
    garden.tell("undo", "--list")
    assert garden.path.read_bytes() == before


# --- rounds ----------------------------------------------------------------------------


def test_the_rounds_are_shown(garden):
    assert garden.tell("rounds") == ("spring 07:00\nsummer 07:00, 19:00\nautumn 07:00\n"
                                     "winter 10:00 on sat\n")
    assert document(garden, "rounds", "--json")["rounds"][3] == {
        "season": "winter", "times": ["10:00"], "days": ["sat"]}
    assert garden.tell("rounds", "summer") == "summer 07:00, 19:00\n"


def test_a_season_s_rounds_are_told(garden):
    assert garden.tell("rounds", "Winter", "14:00", "9:30", "--on", "Sunday,wed") == (
        "winter 09:30, 14:00 on wed, sun\n")
    assert garden.knows().rounds["winter"] == Rounds("winter", ("09:30", "14:00"), ("wed", "sun"))
    assert garden.tell("rounds", "winter", "--on", "every day") == "winter 09:30, 14:00\n"
    assert garden.knows().rounds["winter"].weekdays == WEEKDAYS


@pytest.mark.parametrize(("args", "said"), [
    (("winter", "25:00"), "00:00 to 23:59"),
    (("wintr", "10:00"), "Did you mean 'winter'?"),
    (("winter", "10:00", "--on", "someday"), "mon, tue, wed"),
    (("winter", "10:00", "10:00"), "each once, in order"),
])
def test_rounds_that_cannot_be_are_refused(garden, args, said):
    assert said in garden.refused("rounds", *args)


def test_days_without_a_season_are_a_usage_error(garden):
    garden.misused("rounds", "--on", "sat")


# --- entries ---------------------------------------------------------------------------


def test_an_entry_is_taken_back_and_stays_in_the_list(garden):
    garden.tell("watered", "2")
    assert garden.tell("undo") == ("Taken back: 8, watered 2, until it ran below "
                                   "(1 July 2026, 07:00).\n")
    assert garden.knows().waterings["2"] == ()
    lines = garden.tell("undo", "--list").splitlines()
    assert lines[0] == "   8  1 July 2026, 07:00  watered 2, until it ran below (taken back)"
    assert lines[-1] == "   1  1 March 2026, 09:00  started the garden"


def test_an_older_entry_is_taken_back_by_its_number(garden):
    garden.tell("watered", "2")
    garden.tell("watered", "3")
    assert garden.tell("undo", "8").startswith("Taken back: 8, watered 2")
    assert garden.knows().waterings["3"] != ()


def test_the_entries_for_scripts(garden):
    garden.tell("watered", "2")
    garden.tell("undo", "--at", "2026-07-01T06:00")
    assert document(garden, "undo", "--list", "--json")["entries"][0] == {
        "entry": 8, "at": "2026-07-01T07:00:00+02:00", "words": "watered 2, until it ran below",
        "undone": "2026-07-01T06:00:00+02:00"}
    assert len(document(garden, "undo", "--list", "3", "--json")["entries"]) == 3


@pytest.mark.parametrize(("number", "said"), [
    ("99", "an entry that was made"), ("2", "Undo the later entries first."),
    ("1", "an entry made since")])
def test_an_entry_that_cannot_be_taken_back_is_refused(garden, number, said):
    assert said in garden.refused("undo", number)


def test_json_goes_with_the_list(garden):
    garden.misused("undo", "--json")


def test_rounds_and_entries_are_tables_too(garden):
    garden.tell("rounds", "winter", "10:00", "--on", "sat")
    rows = garden.tell("rounds", "--csv").splitlines()
    assert rows[0] == "season,times,days"
    assert "winter,10:00,sat" in rows
    entries = garden.tell("undo", "--list", "--csv").splitlines()
    assert entries[0] == "entry,at,words,undone"
    assert "rounds: winter 10:00 on sat" in entries[1]


@pytest.mark.parametrize(("days", "said"), [("sunny", "--on: 'sunny'. Wanted: mon, tue"),
                                            ("mo", "--on: 'mo'")])
def test_days_are_named_in_full_or_by_three_letters(garden, days, said):
    assert said in garden.refused("rounds", "winter", "--on", days)
    assert garden.tell("rounds", "winter", "--on", "Saturday,sun") == "winter 10:00 on sat, sun\n"


def test_a_time_that_is_none_is_quoted_as_typed(garden):
    assert "time of a round: '7pm'" in garden.refused("rounds", "summer", "7:00", "7pm")


@pytest.mark.parametrize(("what", "first"), [
    ("places", "south bench"), ("mixes", "third"), ("materials", "akadama 2-5"),
    ("species", "pine")])
def test_what_there_is_to_name_is_listed(garden, what, first):
    assert garden.tell(what).startswith(first)
    rows = document(garden, what, "--json")[what]
    table = list(csv.DictReader(io.StringIO(garden.tell(what, "--csv"))))
    assert rows[0]["name"] == table[0]["name"] == first
    assert len(rows) == len(table)


def test_a_tree_not_potted_yet_says_so(garden):
    assert "maple; not potted yet, from 15 March 2026 on" in garden.tell(
        "trees", "--at", "2026-03-02")
