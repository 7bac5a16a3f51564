"""Killed at any instant, a command has entered all of what it was told, or nothing.

Each command that writes is killed at a few random instants of its run; `KILLS=200 pytest
tests/mishaps/test_kills.py` takes two hundred of each.
"""

import os
import random
import shutil
import signal
import time
from contextlib import contextmanager
from datetime import timedelta

import pytest
from command_tree import commands
from mishaps_made import (
    APART,
    NOW,
    READING,
    TICK,
    WORKING,
    WRITING,
    answered,
    ended,
    prepare,
    run_forked,
    run_here,
    told_digest,
)

from advisor.cli.main import cli
from advisor.garden.file import GardenFile
from advisor.garden.store import Garden
from advisor.weather import client

#: The fork has no threads of its own to wait for.
pytestmark = pytest.mark.filterwarnings("ignore:This process.*multi-threaded:DeprecationWarning")
KILLS = int(os.environ.get("KILLS", "3"))
LATER = NOW + timedelta(seconds=1)
CLOCK = time.perf_counter
#: Each year is kept by itself.
STEP_BY_STEP = ("weather past",)


@pytest.fixture(autouse=True)
def services(monkeypatch):
    """Answer in the place of weather services."""
    monkeypatch.setattr(client, "fetch", answered)


def test_every_command_that_writes_is_killed_here():
    """A new command must stand in one of the lists; those that only read are tried below."""
    leaves = {line.removeprefix("advisor ") for line, command in commands(cli)
              if not hasattr(command, "commands")}
    killed = {name.split(" --")[0] for name in WRITING if not name.startswith(TICK)}
    harmless = {" ".join(line[:2]) if line[0] in ("weather", "rainwater") else line[0]
                for line in (*WORKING, *READING)}
    assert killed | harmless | set(APART) == leaves
    assert not killed & harmless


@pytest.mark.parametrize("line", [*WORKING, *READING], ids=" ".join)
def test_what_only_reads_or_works_out_enters_nothing(garden, tmp_path, line):
    line = prepare(garden.path, " ".join(line[:2]), tmp_path)
    before = told_digest(garden.path)
    result = garden.run(*line)
    assert result.exit_code == 0 or "Wanted: " in result.stderr
    assert told_digest(garden.path) == before


def states(path, line, monkeypatch):
    """Run a line here; give what the file was told after each of its transactions."""
    found, writing = [], GardenFile.writing

    @contextmanager
    def noted(self):
        outer = not self._connection.in_transaction
        with writing(self):
            yield
        if outer:
            found.append(told_digest(self.path))

    with monkeypatch.context() as patched:
        patched.setattr(GardenFile, "writing", noted)
        run_here(path, line)
    return found


@pytest.mark.parametrize("name", WRITING)
def test_a_killed_command_leaves_all_or_nothing(garden, tmp_path, monkeypatch, name):
    line, chance = prepare(garden.path, name, tmp_path), random.Random(name)
    before, work = told_digest(garden.path), tmp_path / "work"

    def fresh():
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir()
        return shutil.copy(garden.path, work / "garden.db")

    allowed = {before, *states(fresh(), line, monkeypatch)}
    assert len(allowed) == 2 or name in STEP_BY_STEP
    path, began = fresh(), CLOCK()
    assert ended(run_forked(path, line)) == 0
    span, after = CLOCK() - began, told_digest(path)
    assert after in allowed - {before}
    killed = 0
    for _ in range(KILLS):
        path = fresh()
        child = run_forked(path, line)
        time.sleep(chance.uniform(0.0, span))
        os.kill(child, signal.SIGKILL)
        killed += ended(child) == -signal.SIGKILL
        with Garden.open(path) as opened:
            assert opened.verify() == []
        assert told_digest(path) in allowed
    assert killed or KILLS < 10


@pytest.mark.parametrize("line", WORKING, ids=" ".join)
def test_a_killed_round_changes_nothing_that_was_told(garden, tmp_path, line):
    line, chance = prepare(garden.path, " ".join(line[:2]), tmp_path), random.Random(8)
    before = told_digest(garden.path)
    run_here(shutil.copy(garden.path, tmp_path / "warm.db"), line)
    path, began = shutil.copy(garden.path, tmp_path / "timed.db"), CLOCK()
    assert ended(run_forked(path, line)) == 0
    span = CLOCK() - began
    for _ in range(KILLS):
        path = shutil.copy(garden.path, tmp_path / "killed.db")
        child = run_forked(path, line)
        time.sleep(chance.uniform(0.0, span))
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
        for left in work.rglob(".new-*"):
            os.utime(left, (0, 0))  # as if it had been left long ago
        if command != "start":
            run_here(path, (command,), LATER)
            assert not list(work.rglob(".new-*"))


def test_a_killed_demo_is_not_there_at_all(tmp_path):
    chance, began = random.Random(9), CLOCK()
    line = ("demo", "--into", str(tmp_path / "whole"), "--json")
    assert ended(run_forked(tmp_path / "none", line)) == 0
    span = CLOCK() - began
    for number in range(min(KILLS, 20)):
        folder = tmp_path / str(number)
        child = run_forked(tmp_path / "none", ("demo", "--into", str(folder), "--json"))
        time.sleep(chance.uniform(0.0, span))
        os.kill(child, signal.SIGKILL)
        if ended(child):
            assert not list(folder.glob("garden.db"))  # what was begun lies hidden
