"""`advisor rainwater`: roofs, butts, level, hardness, sizes."""

import csv
import io
import json
import os
from pathlib import Path

import pytest
from cli.conftest import Grower
from demo_made import AT, NOW, demo_garden

EARLY = "2026-09-06T08:00"


@pytest.fixture
def demo(tmp_path: Path) -> Grower:
    grower = Grower(demo_garden(tmp_path), NOW)
    grower.tell("rainwater", "roof", "shed", "--area", "8", "--covering", "tiles", "--at", EARLY)
    grower.tell("rainwater", "butt", "big", "--litres", "300", "--height", "900", "--at", EARLY)
    return grower


def state(grower: Grower) -> dict:
    return json.loads(grower.tell("rainwater", "now", "--json", "--at", AT))


def test_what_is_in_the_butts_and_how_long_it_lasts(demo: Grower) -> None:
    assert "No level told yet" in demo.tell("rainwater", "now", "--at", AT)
    assert demo.tell("rainwater", "level", "--dip", "big=600", "--at", EARLY) == (
        "In the butts: 200 L of 300 L.\n")
    said = demo.tell("rainwater", "now", "--at", AT)
    assert "In the butts now: " in said
    assert "chance that it runs dry before it is full again" in said
    assert "Who gets rain water first (common practice): 14 (bears no lime)" in said
    assert said.index("(maple or small pot)") < said.index("(bears hard water)")
    assert "Never water from a household softener" in said
    assert "Good feeding days" in said
    assert "not drinking water" in said
    told = state(demo)
    assert told["level_l"]["low"] < told["level_l"]["mid"] < 200.0
    assert told["taken_a_day_l"] > 1.0
    assert told["roofs"][0]["run_off"]["value"] == 0.8


def test_it_runs_short(demo: Grower) -> None:
    demo.tell("rainwater", "roof", "shed", "--area", "0.1", "--at", EARLY)
    demo.tell("rainwater", "level", "--litres", "1", "--at", AT)
    said = demo.tell("rainwater", "now", "--at", AT)
    assert "It runs short: today from the tap" in said
    told = state(demo)
    assert told["lasts"]["low"] == 0
    given = {each["tree"]: each["rain_litres"] for each in told["trees"]}
    assert sum(given.values()) <= 1.0 + 0.05
    turns = [each["turn"] for each in told["trees"] if each["rain_litres"] > 0]
    assert max(turns) <= min((each["turn"] for each in told["trees"]
                              if each["rain_litres"] < each["litres"] - 0.01), default=9)


def test_a_garden_that_may_not_be_written_is_read(demo: Grower, monkeypatch) -> None:
    wanted = [demo.tell("rainwater", word, "--at", AT) for word in ("now", "size")]
    monkeypatch.setattr("advisor.cli.working.os.access", lambda path, mode: mode != os.W_OK)
    assert [demo.tell("rainwater", word, "--at", AT) for word in ("now", "size")] == wanted


def test_today_s_litres_are_those_of_the_round(demo: Grower) -> None:
    demo.tell("rainwater", "level", "--litres", "100", "--at", AT)
    said = json.loads(demo.run("morning", "--json", "--at", AT).stdout)["trees"]
    called = {each["tree"]: each["litres"] for each in said
              if each["verdict"] in ("water_now", "water_later")}
    assert {each["tree"]: each["litres"] for each in state(demo)["trees"]} == pytest.approx(
        called, abs=0.05)


def test_lime_haters_come_first_and_pines_last(demo: Grower) -> None:
    said = demo.tell("rainwater", "now", "--at", AT)
    order = said[said.index("Who gets rain water first"):]
    assert order.index("14 (bears no lime)") < order.index("(maple or small pot)")
    assert order.index("(maple or small pot)") < order.index("(next)")
    assert order.index("(next)") < order.index("(bears hard water)")


def test_feeding_waits_six_weeks_after_repotting(demo: Grower) -> None:
    """Repotted on 3 September: 15 and 16 are not fed a week later; the line says why."""
    told = state(demo)["feeding_days"]
    assert max(each["trees"] for each in told) <= 18
    assert "none within six weeks of repotting" in demo.tell("rainwater", "now", "--at", AT)


def test_alone_it_says_what_now_says(demo: Grower) -> None:
    assert demo.tell("rainwater", "--at", AT) == demo.tell("rainwater", "now", "--at", AT)
    assert json.loads(demo.tell("rainwater", "--json", "--at", AT)) == state(demo)
    assert "behind level" in demo.misused("rainwater", "--at", AT, "level", "--litres", "3")


def test_hardness_is_kept(demo: Grower) -> None:
    assert "Tap water: hard, 3.0 mmol/L" in demo.tell("rainwater", "hardness", "17", "--at", AT)
    assert "Tap water: hard" in demo.tell("rainwater", "now", "--at", AT)
    demo.tell("undo", "--at", AT)
    assert state(demo)["hardness_mmol"] is None


def test_what_size_would_have_lasted(demo: Grower) -> None:
    said = demo.tell("rainwater", "size", "--at", AT)
    assert "   yours" in said
    told = json.loads(demo.run("rainwater", "size", "--json", "--at", AT).stdout)
    assert told["have_l"] == 300.0
    given = [each["share_given"] for each in told["sizes"]]
    assert given == sorted(given)
    rows = list(csv.DictReader(io.StringIO(demo.run("rainwater", "size", "--csv", "--at", AT
                                                    ).stdout)))
    assert [float(row["litres"]) for row in rows] == [each["litres"] for each in told["sizes"]]


def test_told_again_or_gone(demo: Grower) -> None:
    demo.tell("rainwater", "butt", "small", "--litres", "100", "--at", EARLY)
    demo.tell("rainwater", "roof", "SHED", "--gone", "--at", EARLY)
    told = state(demo)
    assert [butt["name"] for butt in told["butts"]] == ["big", "small"]
    assert told["roofs"] == []


@pytest.mark.parametrize(("args", "said"), [
    (("roof", "x", "--area", "9", "--covering", "tile"), "Did you mean 'tiles'"),
    (("roof", "x", "--area", "0", "--covering", "tiles"), "roof: 0 m²"),
    (("butt", "x", "--litres", "1"), "rain butt: 1 L"),
    (("level", "--litres", "400"), "0 to 300 L"),
    (("level", "--dip", "bag=400"), "a butt and mm"),
    (("level", "--dip", "big=1400"), "0 to 900 mm"),
    (("hardness", "900"), "Check the number and its unit"),
])
def test_what_is_refused(demo: Grower, args, said) -> None:
    assert said in demo.refused("rainwater", *args, "--at", EARLY)


def test_what_is_misused(demo: Grower) -> None:
    assert "--area and --covering" in demo.misused("rainwater", "roof", "x")
    assert "--litres" in demo.misused("rainwater", "butt", "x")
    assert "Give one of" in demo.misused("rainwater", "level")


def test_a_garden_without_roofs_or_weather(garden: Grower) -> None:
    assert "Tell it: advisor rainwater roof" in garden.refused("rainwater", "size")
    assert "weather" in garden.refused("rainwater")
    assert garden.refused("rainwater") == garden.refused("rainwater", "now")
