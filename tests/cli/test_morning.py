"""`advisor morning`: for readers and for scripts, replayed, and where something is missing."""

import json
import re
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import sunny
from demo_made import AT, NOW, demo_garden

from advisor.cli import working
from advisor.cli.morning import last_round, listed_now
from advisor.garden.store import Garden

VERDICTS = {"water_now", "water_later", "look_first", "leave"}


@pytest.fixture
def example(grower, tmp_path):
    """The demo's garden on its morning."""
    return replace(grower, path=demo_garden(tmp_path), now=NOW)


@pytest.fixture
def fair(garden, tmp_path):
    """Three trees and fair weather from 10 June to 10 July."""
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-10", 30)))
    return garden


def document(grower, *args):
    return json.loads(grower.tell("morning", "--json", *args))


def without_derived(grower):
    """Throw everything away that can be worked out again."""
    with sqlite3.connect(grower.path) as connection:
        for table in ("belief", "projection", "place_hours", "site_day", "derived_from"):
            connection.execute(f"DELETE FROM {table}")  # noqa: S608
    connection.close()


def test_the_round_for_readers_goes_place_by_place(example):
    told = example.tell("morning")
    benches = [part.partition(":")[0] for part in told.split("\n\n")[1:-1]]
    assert benches == ["South bench", "Wall", "Shade", "Overhang", "Sand bed"]
    assert told.startswith("Thursday 10 September 2026, 07:00\n")
    assert "to leave." in told.splitlines()[-1]


def test_every_tree_gets_a_line_where_asked_for(example):
    lines = example.tell("morning", "--every").splitlines()
    own = [line.split()[0] for line in lines if line.startswith("  ") and line[2] != " "]
    assert own == [str(i) for i in range(1, 21)]


def test_us_units_are_said_throughout(example):
    told = example.tell("morning", "--us", "--every")
    assert " gal" in told
    assert " in " in told
    assert " mm" not in told
    assert not re.search(r"[0-9] L\b", told)


def test_the_round_for_scripts_is_one_document_and_nothing_else(example):
    result = example.run("morning", "--json")
    assert result.stderr == ""
    told = json.loads(result.stdout)
    assert [tree["tree"] for tree in told["trees"]] == [str(i) for i in range(1, 21)]
    assert {tree["verdict"] for tree in told["trees"]} <= VERDICTS
    assert all(tree["why"] for tree in told["trees"])
    assert told["at"] == "2026-09-10T07:00:00-04:00"


def test_text_and_document_say_the_same(example):
    told, document_ = example.tell("morning", "--every"), document(example)
    for tree in document_["trees"]:
        for sentence in (*tree["why"], *(each["why"] for each in tree["also"])):
            assert f"      {sentence}\n" in told


def test_the_same_round_again_has_the_same_digits(example):
    first = document(example)
    assert document(example) == first
    without_derived(example)
    assert document(example) == first


def test_a_day_is_replayed_whatever_was_told_later(example):
    before = document(example)
    day_after = NOW + timedelta(days=1)
    example.tell("watered", "all", "--at", "2026-09-11T07:00-04:00")
    later = replace(example, now=day_after)
    assert document(later)["at"] == "2026-09-11T07:00:00-04:00"
    assert document(later, "--at", AT) == before


def test_what_was_watered_is_left(example):
    verdicts = {tree["tree"]: tree["verdict"] for tree in document(example)["trees"]}
    assert verdicts["2"] == "water_now"
    example.tell("watered", "2")
    after = {tree["tree"]: tree["verdict"] for tree in document(example)["trees"]}
    assert after == verdicts | {"2": after["2"]}
    assert after["2"] == "leave"


EIGHT = NOW + timedelta(hours=1)


def listed_at(grower, now):
    with Garden.open(grower.path, readonly=True) as garden:
        return dict(listed_now(garden, now))


def test_told_at_eight_the_list_of_seven_is_meant(example):
    due = {tree["tree"]: tree["litres"] for tree in document(example)["trees"]
           if tree["verdict"] == "water_now"}
    assert len(due) > 3
    assert listed_at(example, EIGHT) == due
    replace(example, now=EIGHT).tell("watered", "--as-listed")
    watered = {label: each.litres for label, told in example.knows().waterings.items()
               for each in told if each.at == EIGHT}
    assert watered == due


def test_what_was_watered_since_the_list_is_left_out(example):
    due = listed_at(example, EIGHT)
    example.tell("watered", "2", "3", "--at", "2026-09-10T07:30-04:00")
    assert listed_at(example, EIGHT) == {
        label: litres for label, litres in due.items() if label not in ("2", "3")}


def test_the_last_round_of_the_local_day_or_now(example):
    with Garden.open(example.path, readonly=True) as garden:
        assert last_round(garden, EIGHT) == last_round(garden, NOW) == NOW
        before = NOW - timedelta(hours=1)
        assert last_round(garden, before) == before
        at_night = NOW + timedelta(hours=16, minutes=59)  # 23:59 on the wall
        assert last_round(garden, at_night).date() == NOW.date()
        assert last_round(garden, at_night + timedelta(minutes=2)) > at_night


def test_a_full_pot_that_cannot_last_is_left_and_told(example):
    verdicts = {tree["tree"]: tree["verdict"] for tree in document(example)["trees"]}
    assert verdicts["4"] == "water_now"
    example.tell("watered", "4")
    after = next(tree for tree in document(example)["trees"] if tree["tree"] == "4")
    assert (after["verdict"], after["litres"]) == ("leave", 0.0)
    assert after["available_left"]["mid"] == pytest.approx(1.0, abs=0.01)
    assert [each["why"] for each in after["also"]] == [
        "even full it may not last until tomorrow morning: shade it, or look again before"]


def test_what_is_not_poured_is_no_litres(example):
    for tree in document(example)["trees"]:
        assert (tree["litres"] == 0.0) == (tree["verdict"] == "leave")


def test_a_garden_that_may_not_be_written_still_gives_its_round(example, monkeypatch):
    wanted = document(example)
    example.tell("watered", "2")
    written = document(example)
    assert written != wanted
    example.tell("undo")
    before = example.path.read_bytes()
    monkeypatch.setattr(working.os, "access", lambda path, how: False)
    assert document(example) == wanted
    assert example.path.read_bytes() == before


def test_a_garden_that_may_not_be_written_and_lags_behind_says_so(fair, monkeypatch):
    fair.tell("add", "place", "wall", "--shade", "0.4")
    monkeypatch.setattr(working.os, "access", lambda path, how: False)
    message = fair.refused("morning")
    assert message.count("\n") == 0
    assert str(fair.path) in message


def test_a_garden_without_weather_is_one_refusal(garden):
    assert garden.refused("morning") == (
        "weather: none in this garden yet. Wanted: a file of hourly weather. "
        "Get it (advisor weather get) or add a file (advisor weather add FILE).")
    assert garden.refused("morning", "--json").startswith("weather: ")


def test_weather_that_ended_is_said_with_its_age(fair):
    late = replace(fair, now=datetime(2026, 7, 12, 5, 0, tzinfo=UTC))
    told = late.tell("morning")
    assert ("Weather known only to Fri 10 Jul 02:00, 2 days ago: the figures are wide. "
            "Look before you water.\n") in told
    assert "Leans on: the week before, carried on, since Fri 10 Jul 02:00.\n" in told
    weather = document(late)["weather"]
    assert weather["newest"] == "2026-07-10T02:00:00+02:00"
    assert weather["age_h"] == 53.0
    assert any("carried on" in sentence for sentence in weather["leans_on"])


def test_weather_that_is_still_fresh_is_not_called_old(fair):
    soon = replace(fair, now=datetime(2026, 7, 10, 5, 0, tzinfo=UTC))
    told = soon.tell("morning")
    assert "\nWeather known to Fri 10 Jul 02:00.\n" in told
    assert "Look before" not in told


@pytest.mark.parametrize(("now", "says"), [
    (datetime(2026, 5, 1, 5, 0, tzinfo=UTC), "it begins on"),
    (datetime(2026, 12, 1, 5, 0, tzinfo=UTC), "it ends on")])
def test_weather_of_another_season_is_refused(fair, now, says):
    message = replace(fair, now=now).refused("morning")
    assert message.startswith(f"weather: {says}")
    assert message.endswith("(advisor weather add FILE).")


def test_a_garden_without_trees_says_what_comes_next(grower, tmp_path):
    grower.tell("start", "--latitude", "52.1", "--longitude", "13.2", "--elevation", "40",
                "--time-zone", "Europe/Berlin", "--at", "2026-03-01T09:00")
    grower.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-20", 20)))
    assert grower.tell("morning").endswith(
        "\nNo tree stands in a pot yet (advisor add tree).\n")
    assert document(grower)["trees"] == []


def test_trees_without_a_pot_and_trees_that_are_gone_are_left_out(fair):
    fair.tell("gone", "3", "--at", "2026-06-30T09:00")
    assert [tree["tree"] for tree in document(fair)["trees"]] == ["2", "10"]
    earlier = document(fair, "--at", "2026-06-30T07:00")["trees"]
    assert [tree["tree"] for tree in earlier] == ["2", "10", "3"]
    fair.tell("add", "tree", "20", "--group", "pine", "--place", "wall", "--potted",
              "2026-06-29", "--mix", "third", "--litres", "2", "--soil-depth", "50")
    at = ("--at", "2026-06-28T07:00")
    assert [tree["tree"] for tree in document(fair, *at)["trees"]] == ["2", "10", "3"]


def test_an_instant_that_is_none_is_refused(fair):
    assert fair.refused("morning", "--at", "soon").startswith("instant: 'soon'")
    assert fair.refused("morning", "--at", "2026-07-01").endswith("Add the time: 2026-07-01T07:00.")


def test_an_unknown_option_is_a_usage_error(fair):
    assert "No such option" in fair.misused("morning", "--jsn")


def test_that_the_kernels_are_being_prepared_goes_to_stderr(example, monkeypatch):
    monkeypatch.setattr("advisor.balance.cache.prepared", lambda: False)
    result = example.run("morning", "--json")
    assert result.stderr.startswith("Preparing the water balance for this computer")
    assert len(json.loads(result.stdout)["trees"]) == 20


def test_a_file_that_is_no_garden_is_refused(grower):
    grower.path.write_text("hour [UTC],temp [C]\n")
    assert "not a garden" in grower.refused("morning")


def test_reading_a_round_enters_nothing(example):
    with Garden.open(example.path, readonly=True) as garden:
        before = garden.revision(), garden.entries(limit=50)
    example.tell("morning")
    with Garden.open(example.path, readonly=True) as garden:
        assert (garden.revision(), garden.entries(limit=50)) == before
