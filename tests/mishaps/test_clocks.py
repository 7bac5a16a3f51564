"""A clock that was set back, a computer in another time zone."""

import json
import os
import subprocess
import sys
from datetime import timedelta

import sunny

HOUR = timedelta(hours=1)


def test_a_clock_set_back_loses_nothing_and_undoes_the_last_entry(garden, tmp_path):
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-20", 30)))
    garden.now += 48 * HOUR
    garden.tell("watered", "2")
    garden.now -= 72 * HOUR
    garden.tell("watered", "10")
    listed = json.loads(garden.tell("undo", "--list", "--json"))["entries"]
    assert [each["words"].split(",")[0] for each in listed[:2]] == [
        "watered 10", "watered 2"] or listed[0]["entry"] > listed[1]["entry"]
    told = json.loads(garden.tell("morning", "--json"))["trees"]
    assert {each["tree"] for each in told} == {"2", "10", "3"}
    assert "watered 10" in garden.tell("undo")
    with_2 = garden.knows().waterings
    assert (len(with_2["2"]), len(with_2["10"])) == (1, 0)
    garden.now += 72 * HOUR
    told = json.loads(garden.tell("morning", "--json"))["trees"]
    left = {each["tree"]: each["available_left"]["mid"] for each in told}
    assert left["2"] > 0.9  # watered just now, whatever the clock did before


def test_copies_made_under_a_wrong_clock_are_ranked_by_what_they_hold(garden):
    garden.now += 1000 * HOUR
    garden.tell("backup")
    garden.now -= 2000 * HOUR
    garden.tell("fed", "all", "--at", "2026-07-01T06:00")
    garden.tell("backup")
    garden.path.unlink()
    assert "8 entries" in garden.tell("restore")


def test_the_computer_s_zone_changes_nothing(garden, tmp_path):
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-20", 30)))
    told = set()
    for zone in ("UTC", "Asia/Tokyo", "America/St_Johns", "Pacific/Apia"):
        run = subprocess.run(
            [sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden",
             str(garden.path), "morning", "--at", "2026-07-01T07:00", "--json"], check=True,
            capture_output=True, text=True, env={**os.environ, "TZ": zone})
        told.add(run.stdout)
    assert len(told) == 1
    assert "2026-07-01T07:00:00+02:00" in told.pop()
