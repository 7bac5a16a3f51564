"""`advisor recovery`: the list, the page of a tree, and what has none."""

import csv
import io
import json
from dataclasses import replace

import pytest
import sunny
from demo_made import AT, NOW, demo_garden


@pytest.fixture
def example(grower, tmp_path):
    return replace(grower, path=demo_garden(tmp_path), now=NOW)


def test_the_list_and_its_forms_agree(example):
    text = example.tell("recovery", "--at", AT)
    trees = json.loads(example.tell("recovery", "--at", AT, "--json"))["trees"]
    table = list(csv.DictReader(io.StringIO(example.tell("recovery", "--at", AT, "--csv"))))
    assert [each["tree"] for each in trees] == [each["tree"] for each in table] == [
        "15", "16", "17"]
    assert [float(each["dry_mid_mm"]) for each in table] == [
        each["dry_depth_mm"]["mid"] for each in trees]
    assert "15  Ridgeline, overhang: day 8 after repotting, 35 days left" in text


def test_the_page_says_what_the_round_says(example):
    page = json.loads(example.tell("recovery", "15", "--at", AT, "--json"))["trees"][0]
    told = json.loads(example.tell("morning", "--at", AT, "--json"))["trees"]
    (tree,) = [each for each in told if each["tree"] == "15"]
    assert page["dry_depth_mm"] == tree["dry_depth_mm"]
    assert page["available_left"] == tree["available_left"]
    assert page["reaches_target"] == tree["recovery"]["reaches_target"]
    assert page["ends"] == tree["recovery"]["ends"]


def test_a_tree_is_named_by_its_name(example):
    assert example.tell("recovery", "ridgeline", "--at", AT) == example.tell(
        "recovery", "15", "--at", AT)


def test_a_page_as_a_table_is_its_row(example):
    rows = list(csv.DictReader(io.StringIO(example.tell("recovery", "15", "--at", AT, "--csv"))))
    assert [each["tree"] for each in rows] == ["15"]


def test_a_skewer_changes_the_page(example):
    before = json.loads(example.tell("recovery", "15", "--at", AT, "--json"))["trees"][0]
    example.tell("reading", "15", "--dry-depth", "25", "--at", "2026-09-10T06:40-04:00")
    after = json.loads(example.tell("recovery", "15", "--at", AT, "--json"))["trees"][0]
    width = {name: each["dry_depth_mm"]["high"] - each["dry_depth_mm"]["low"]
             for name, each in (("before", before), ("after", after))}
    assert after["dry_depth_mm"]["mid"] > before["dry_depth_mm"]["mid"] + 5.0
    assert width["after"] < width["before"]


def test_wind_of_the_weather_in_store_threatens_a_tree_in_the_open(garden, tmp_path):
    path = sunny.write(tmp_path / "w.csv", "2026-06-10", 30,
                       change=lambda hour: {"wind 10m": "12" if hour > 24 * 23 else "2"})
    garden.tell("weather", "add", str(path))
    garden.tell("repotted", "10", "--roots", "half bare", "--at", "2026-06-28T10:00")
    told = json.loads(garden.tell("recovery", "10", "--json"))["trees"][0]
    assert "wind" in [each["kind"] for each in told["threats"]]
    assert "frost before it ends: not known" in garden.tell("recovery", "10")


def test_a_broad_leaved_tree_is_kept_damp_and_says_why(garden, tmp_path):
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-10", 30)))
    garden.tell("repotted", "2", "--roots", "half bare", "--at", "2026-06-28T10:00")
    said = garden.tell("recovery")
    assert "kept evenly damp" in said
    assert "only evergreen conifers wait to dry" in said


def test_where_none_recovers(garden, tmp_path):
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-10", 30)))
    assert garden.tell("recovery") == "No tree recovers from repotting now.\n"
    assert json.loads(garden.tell("recovery", "--json")) == {"trees": []}
    assert garden.refused("recovery", "10").startswith("recovery of 10: none now. Wanted: ")


def test_unknown_trees_and_trees_that_are_gone_are_refused(example):
    assert example.refused("recovery", "99", "--at", AT).startswith("tree or place: '99'. Known: ")
    assert "names 3 trees" in example.refused("recovery", "overhang", "--at", AT)
    example.tell("gone", "15", "--at", AT)
    assert "'15' is gone since" in example.refused("recovery", "15", "--at", AT)


def test_json_beside_csv_is_a_usage_error(example):
    assert "--json or --csv" in example.misused("recovery", "--json", "--csv")
