"""`advisor potting`, `advisor add pot`, `advisor pots`: choices compared, own empty pots."""

import csv
import io
import json
import os
from pathlib import Path

import pytest
from cli.conftest import Grower
from demo_made import AT, NOW, demo_garden

CHOICE = "oval 420x310x75; 40% akadama, 30% pumice, 30% lava; drainage 15"


@pytest.fixture
def demo(tmp_path: Path) -> Grower:
    return Grower(demo_garden(tmp_path), NOW)


def test_choices_side_by_side(demo: Grower) -> None:
    said = demo.tell("potting", "7", "--try", "as now", "--try", CHOICE, "--at", AT)
    assert said.startswith("7 Old Harbour, wall: over one year of weather at its place")
    assert f"2  {CHOICE}" in said
    for row in ("Water held after watering", "Days between waterings, July",
                "Days to dry to its target, September", "Would do with about one round a day"):
        assert row in said
    assert "Without its drainage layer 2 would hold" in said
    assert "the most first: how much this tree drinks" in said
    assert said.endswith("Estimates, not orders: the tree and the finger decide.\n")


def test_for_scripts(demo: Grower) -> None:
    result = demo.run("potting", "7", "--try", "as now", "--try", CHOICE, "--json", "--at", AT)
    told = json.loads(result.stdout)
    assert (told["tree"], told["warmest_month"], told["repotting_month"]) == ("7", 7, 9)
    now, other = told["choices"]
    assert other["choice"] == CHOICE
    assert other["held_without_drainage_l"] > other["held_l"]
    assert now["held_without_drainage_l"] is None
    assert len(now["days_between"]) == 12
    assert set(now["days_between"][6]) == {"median_d", "tenth_d"}
    assert now["days_to_target"]["low"] <= now["days_to_target"]["high"]
    assert now["wet_kg"] == pytest.approx(now["dry_kg"] + now["held_l"])
    assert [row["what"] for row in told["moves"]][0] == "how much this tree drinks"


def test_as_a_table_and_a_picture(demo: Grower, tmp_path: Path) -> None:
    out = tmp_path / "choice.png"
    said = demo.run("potting", "7", "--try", CHOICE, "--csv", "--out", str(out), "--at", AT)
    rows = list(csv.DictReader(io.StringIO(said.stdout)))
    assert [row["choice"] for row in rows] == [CHOICE]
    assert float(rows[0]["days_between_july"]) <= float(rows[0]["days_between_october"])
    assert out.read_bytes().startswith(b"\x89PNG")


def test_own_empty_pots(demo: Grower) -> None:
    assert demo.tell("pots", "--at", AT) == "No empty pots yet: advisor add pot.\n"
    assert "at least one" in demo.refused("potting", "7", "--own", "--at", AT)
    assert demo.tell("add", "pot", "blue oval", "--outside", "42x31x7.5 cm", "--outline", "oval",
                     "--at", AT) == (
        "Empty pot added: blue oval: oval pot, 420 × 310 × 75 mm outside.\n")
    demo.tell("add", "pot", "old box", "--outside", "600x450x150", "--form", "box", "--wall",
              "timber", "--at", AT)
    told = json.loads(demo.tell("pots", "--json", "--at", AT))
    assert [pot["name"] for pot in told["pots"]] == ["blue oval", "old box"]
    assert demo.tell("pots", "--csv", "--at", AT).splitlines()[1].startswith(
        "blue oval,420.0,310.0,75.0,pot,oval,closed")
    result = demo.run("potting", "7", "--own-mix", "pumice", "--json", "--at", AT)
    made = json.loads(result.stdout)["choices"]
    assert [each["choice"] for each in made] == ["blue oval; pumice", "old box; pumice"]
    assert made[1]["soil_l"] > made[0]["soil_l"]
    demo.tell("add", "pot", "Blue Oval", "--gone", "--at", AT)
    assert [pot["name"] for pot in json.loads(demo.tell("pots", "--json", "--at", AT))["pots"]
            ] == ["old box"]
    demo.tell("undo", "--at", AT)
    assert "blue oval" in demo.tell("pots", "--at", AT)


def test_a_garden_that_may_not_be_written_is_read(demo: Grower, monkeypatch) -> None:
    wanted = demo.tell("potting", "7", "--try", "as now", "--at", AT)
    monkeypatch.setattr("advisor.cli.working.os.access", lambda path, mode: mode != os.W_OK)
    assert demo.tell("potting", "7", "--try", "as now", "--at", AT) == wanted
    assert "Spring" in demo.tell("potting", "7", "--when", "--at", AT)
    assert "drunk" in demo.tell("year", "2026", "--at", AT)


def test_your_own_rounds_count(demo: Grower) -> None:
    def told() -> dict:
        return json.loads(demo.run("potting", "7", "--try", "as now", "--json", "--at",
                                   AT).stdout)

    usual = told()
    assert not usual["own_rounds"]
    demo.tell("rounds", "summer", "06:00", "--on", "mon,thu", "--at", AT)
    own = told()
    assert own["own_rounds"]
    assert own["choices"][0]["days_between"][6]["tenth_d"] == 3.0
    assert own["choices"][0]["waterings_a_year"] < usual["choices"][0]["waterings_a_year"]
    assert own["choices"][0]["two_waterings_share"] == pytest.approx(
        usual["choices"][0]["two_waterings_share"], abs=0.1)  # looked at an hour earlier


def test_when_to_repot(demo: Grower) -> None:
    said = demo.tell("potting", "7", "--when", "--at", AT)
    assert "Late summer" in said
    assert "Spring" in said
    assert "Would do: from" in said
    assert "frost within eight weeks" in said
    assert said.endswith("Common practice, not an order: the buds of the tree decide.\n")
    told = json.loads(demo.tell("potting", "7", "--when", "--json", "--at", AT))
    assert [each["season"] for each in told["seasons"]] == ["late summer", "spring"]
    assert all({"from", "warm_weeks", "frost_chance", "against"} <= week.keys()
               for each in told["seasons"] for week in each["weeks"])


@pytest.mark.parametrize(("args", "said"), [
    (("7", "--try", "oval 420x310x75; 40% akadama"), "= 40"),
    (("7", "--try", "blue; as now"), "its size in mm, outside, or the name of an own pot"),
    (("south bench", "--try", "as now"), "one tree"),
    (("77", "--try", "as now"), "tree or place"),
    (("7", *("--try", "as now") * 13), "at most 12 side by side"),
])
def test_what_is_refused(demo: Grower, args, said) -> None:
    assert said in demo.refused("potting", *args, "--at", AT)


def test_what_is_misused(demo: Grower) -> None:
    assert "--try, --own or --when" in demo.misused("potting", "7")
    assert "--when alone" in demo.misused("potting", "7", "--when", "--own")
    assert "--outside" in demo.misused("add", "pot", "x")


def test_without_a_year_of_weather_it_says_what_to_do(garden: Grower) -> None:
    assert "weather" in garden.refused("potting", "10", "--try", "as now", "--at",
                                       "2026-07-01T07:00")
