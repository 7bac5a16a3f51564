"""Killed at any instant, a command has entered all of what it was told, or nothing.

Each command that writes is killed at a few random instants of its run; `KILLS=200 pytest
tests/mishaps/test_kills.py` takes two hundred of each.
"""

import os
import random
import shutil
import signal
import time

import pytest
import sunny
from mishaps_made import NOW, WRITING, ended, run_forked, told_digest

from advisor.garden.store import Garden

KILLS = int(os.environ.get("KILLS", "3"))
CLOCK = time.perf_counter


@pytest.fixture
def lines(garden, tmp_path):
    """Every line, with the files it names."""
    trees = garden.tell("export", "-").replace("\n10,", "\n20,")
    (tmp_path / "trees.csv").write_text(trees)
    weather = sunny.write(tmp_path / "weather.csv", "2026-06-20", 12)
    return {name: tuple(part.format(trees=tmp_path / "trees.csv", weather=weather)
                        for part in line) for name, line in WRITING.items()}


def warm(path, line):
    """Run a line once in this process's forks-to-be, so that each fork has all it needs loaded."""
    from click.testing import CliRunner

    from advisor.cli.main import cli
    from advisor.cli.session import Session

    return CliRunner().invoke(cli, line, obj=Session(path, lambda: NOW))


@pytest.mark.parametrize("name", WRITING)
def test_a_killed_command_leaves_all_or_nothing(garden, lines, tmp_path, name):
    line, chance = lines[name], random.Random(name)
    before = told_digest(garden.path)
    work = tmp_path / "work"

    def fresh():
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir()
        return shutil.copy(garden.path, work / "garden.db")

    result = warm(fresh(), line)
    assert result.exit_code == 0, result.output
    path, began = fresh(), CLOCK()
    assert ended(run_forked(path, line)) == 0
    span, after = CLOCK() - began, told_digest(path)
    assert after != before
    killed = 0
    for _ in range(KILLS):
        path = fresh()
        child = run_forked(path, line)
        time.sleep(chance.uniform(0.0, span))
        os.kill(child, signal.SIGKILL)
        killed += ended(child) == -signal.SIGKILL
        with Garden.open(path) as opened:
            assert opened.verify() == []
        assert told_digest(path) in (before, after)
    assert killed or KILLS < 10


def test_a_killed_round_changes_nothing_that_was_told(garden, tmp_path):
    weather = sunny.write(tmp_path / "weather.csv", "2026-06-20", 20)
    garden.tell("weather", "add", str(weather))
    before, chance = told_digest(garden.path), random.Random(8)
    line = ("morning", "--at", "2026-07-01T07:00", "--json")
    assert warm(shutil.copy(garden.path, tmp_path / "warm.db"), line).exit_code == 0
    for _ in range(KILLS):
        path = shutil.copy(garden.path, tmp_path / "killed.db")
        child = run_forked(path, line)
        time.sleep(chance.uniform(0.0, 0.3))
        os.kill(child, signal.SIGKILL)
        ended(child)
        with Garden.open(path) as opened:
            assert opened.verify() == []
        assert told_digest(path) == before


@pytest.mark.parametrize("command", ["backup", "restore", "start"])
def test_killed_copies_and_beginnings_leave_a_whole_garden_or_none(garden, tmp_path, command):
    garden.tell("backup")
    copied, chance = told_digest(garden.path), random.Random(command)
    garden.tell("watered", "2")
    now = told_digest(garden.path)
    line = ("start", "--latitude", "52.1", "--longitude", "13.2", "--elevation", "40",
            "--time-zone", "Europe/Berlin") if command == "start" else (command,)
    work = tmp_path / "work"
    for _ in range(KILLS + 3):
        shutil.rmtree(work, ignore_errors=True)
        shutil.copytree(garden.path.parent, work, ignore=shutil.ignore_patterns("work"))
        path = work / "garden.db"
        if command == "start":
            path.unlink()
        child = run_forked(path, line)
        time.sleep(chance.uniform(0.0, 0.06))
        os.kill(child, signal.SIGKILL)
        ended(child)
        if command == "start" and not path.exists():
            continue
        with Garden.open(path) as opened:
            assert opened.verify() == []
        if command != "start":
            assert told_digest(path) in (copied, now)
        if command == "restore" and told_digest(path) == copied:
            kept = next(work.glob("garden-before-*.db"))
            assert told_digest(kept) == now
