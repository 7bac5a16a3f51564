"""`advisor habits`: what readings told of each tree."""

import csv
import io
import json

import pytest
import sunny


@pytest.fixture
def fair(garden, tmp_path):
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-10", 30)))
    garden.tell("watered", "all", "--at", "2026-06-29T07:00")
    return garden


def read(garden):
    garden.tell("reading", "10", "--weight", "9.1", "--at", "2026-06-29T08:00")
    garden.tell("reading", "10", "--weight", "8.5", "--at", "2026-06-30T07:00")
    garden.tell("reading", "10", "--dry-depth", "20", "--at", "2026-06-30T19:00")


def test_nothing_read_nothing_learned(fair):
    assert "Nothing read of 2, 10, 3: each drinks and holds as assumed" in fair.tell("habits")
    told = json.loads(fair.tell("habits", "--json"))["trees"]
    assert [each["drinks"] == each["drinks_assumed"] for each in told] == [True] * 3


def test_readings_are_told_in_every_form(fair):
    read(fair)
    (told,) = json.loads(fair.tell("habits", "10", "--json"))["trees"]
    assert (told["readings"], len(told["last"])) == (2, 2)  # the full weight itself tells nothing
    assert told["drinks"] != told["drinks_assumed"]
    text = fair.tell("habits", "10")
    assert all(sentence in text for sentence in told["why"])
    assert "8.5 kg, 0.60 L below full; foreseen" in text
    rows = list(csv.DictReader(io.StringIO(fair.tell("habits", "--csv"))))
    assert [(row["tree"], row["readings"]) for row in rows] == [("2", "0"), ("10", "2"), ("3", "0")]
    assert float(rows[1]["drinks_mid"]) == told["drinks"]["mid"]


def test_what_the_round_stored_gives_the_same(fair):
    read(fair)
    before = fair.tell("habits", "10", "--json")
    fair.tell("morning")
    assert fair.tell("habits", "10", "--json") == before


def test_an_earlier_instant_knows_less(fair):
    read(fair)
    (told,) = json.loads(fair.tell("habits", "10", "--json", "--at", "2026-06-30T12:00"))["trees"]
    assert told["readings"] == 1


def test_a_tree_without_a_pot_is_refused(fair):
    fair.tell("add", "tree", "20", "--group", "pine", "--place", "wall", "--outside", "350x250x60",
              "--potted", "2026-06-29", "--mix", "third")
    assert fair.refused("habits", "20", "--at", "2026-06-20T07:00").startswith("tree 20: no pot ")
    assert fair.refused("habits", "11").startswith("tree or place: '11'. Known: ")


def test_json_beside_csv_is_a_usage_error(fair):
    assert "--json or --csv" in fair.misused("habits", "--json", "--csv")
