"""The morning round as a whole process beside `import pandas`; no time is asserted.

pytest tests/benchmarks/test_round.py -s
ADVISOR_GARDEN_TREES=2000 pytest tests/benchmarks/test_round.py -s -k growth     (minutes: every
tree is followed from its first weather; test_kernel.py has the growth of the kernel alone)

Two hundred trees, on weather that is stored: with nothing changed since the last round, after
an entry, and after new weather. Processes take turns; the medians are compared.
"""

import json
import os
import shutil
import statistics
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from benchmarks.gardens import make, read
from benchmarks.told import AS_INSTALLED, seconds_to_import, tell

from advisor.garden import example

TREES, TURNS = 200, 5
AT = example.AT.isoformat()

#: Runs a command and tells its seconds and the most memory it held [MB].
WRAPPER = """
import json, resource, subprocess, sys, time
start = time.perf_counter()
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode
seconds = time.perf_counter() - start
most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
print(json.dumps([code, seconds, most]))
"""
PANDAS = (sys.executable, "-c", "import pandas")


def advisor(path: Path, *args: str) -> tuple[str, ...]:
    return (sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden",
            str(path), *args)


def run(command: tuple[str, ...]) -> tuple[float, float]:
    """Run a command; give its seconds and its peak memory [MB]."""
    told = subprocess.run([sys.executable, "-c", WRAPPER, *command], check=True, text=True,
                          stdout=subprocess.PIPE, env=AS_INSTALLED)
    code, seconds, most_mb = json.loads(told.stdout)
    assert code == 0
    return seconds, most_mb


def report(name: str, mine: list[tuple[float, float]], pandas: list[tuple[float, float]]) -> None:
    seconds, theirs = (statistics.median(each[0] for each in runs) for runs in (mine, pandas))
    most = max(each[1] for each in mine)
    tell(f"round of 200 trees, {name}", seconds / theirs, "x",
         beside=f"import pandas, {1000 * theirs:.0f} ms",
         bar="1.0 x" if name.endswith("nothing changed") else "4.0 x", peak_mb=most)


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two hundred trees whose round was worked out once."""
    path = tmp_path_factory.mktemp("garden") / "garden.db"
    make(path, TREES)
    run(advisor(path, "morning", "--at", AT))
    return path


def test_nothing_changed(garden: Path) -> None:
    mine, pandas = [], []
    for _ in range(TURNS):
        mine.append(run(advisor(garden, "morning", "--at", AT)))
        pandas.append(run(PANDAS))
    report("nothing changed", mine, pandas)


@pytest.mark.parametrize("what", ["one tree watered", "all watered"])
def test_after_an_entry(garden: Path, tmp_path: Path, what: str) -> None:
    who = "t7" if what.startswith("one") else "all"
    mine, pandas = [], []
    for turn in range(TURNS):
        changed = Path(shutil.copy(garden, tmp_path / f"{turn}.db"))
        run(advisor(changed, "watered", who, "--at", AT))
        mine.append(run(advisor(changed, "morning", "--at", AT)))
        pandas.append(run(PANDAS))
    report(what, mine, pandas)


def test_with_five_thousand_readings_in_store(tmp_path: Path) -> None:
    path = tmp_path / "read.db"
    make(path, TREES)
    read(path, TREES, 25)
    run(advisor(path, "morning", "--at", AT))
    same, new, pandas = [], [], []
    for turn in range(TURNS):
        same.append(run(advisor(path, "morning", "--at", AT)))
        changed = Path(shutil.copy(path, tmp_path / f"read {turn}.db"))
        run(advisor(changed, "reading", "t7", "--feels", "moist", "--at-depth", "12", "--at", AT))
        new.append(run(advisor(changed, "morning", "--at", AT)))
        pandas.append(run(PANDAS))
    report("5,000 readings, nothing changed", same, pandas)
    report("5,000 readings, one more", new, pandas)


def test_after_new_weather(garden: Path, tmp_path: Path) -> None:
    """A file of two days ends the stored hours of every place; `weather add` works them out."""
    hours = [example.AT.replace(hour=0) + timedelta(hours=i) for i in range(48)]
    file = tmp_path / "new.csv"
    file.write_text("hour [UTC],temp [C]\n" + "".join(
        f"{hour:%Y-%m-%d %H:%M},{20 + i % 24 / 3:.1f}\n" for i, hour in enumerate(hours)))
    mine, pandas = [], []
    for turn in range(TURNS):
        changed = Path(shutil.copy(garden, tmp_path / f"{turn}.db"))
        run(advisor(changed, "weather", "add", str(file), "--at", AT))
        mine.append(run(advisor(changed, "morning", "--at", AT)))
        pandas.append(run(PANDAS))
    report("new weather", mine, pandas)


def test_growth_with_the_number_of_trees(tmp_path: Path) -> None:
    counts = [20, 200, *([int(os.environ["ADVISOR_GARDEN_TREES"])]
                          if "ADVISOR_GARDEN_TREES" in os.environ else [])]
    for count in counts:
        path = tmp_path / f"{count}.db"
        make(path, count, watered_days=2)
        anew, again = (run(advisor(path, "morning", "--at", AT, "--json")) for _ in range(2))
        tell(f"round of {count} trees, all anew", 1000 * anew[0] / count, "ms a tree",
             beside=f"unchanged {1000 * again[0] / count:.2f} ms", peak_mb=anew[1])


def test_a_year_worked_out_anew(tmp_path: Path) -> None:
    """Every tree from the first hour of weather, with nothing kept of what was worked out."""
    path = tmp_path / "year.db"
    make(path, TREES)
    seconds, most_mb = run(advisor(path, "morning", "--at", "2026-12-22T12:00+00:00"))
    beside = seconds_to_import("pandas")
    tell(f"{TREES} trees x 355 days anew", seconds, "s",
         beside=f"{seconds / beside:.0f} times import pandas", bar="30 s", peak_mb=most_mb)
