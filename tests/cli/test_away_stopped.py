"""Ctrl-C while an absence is worked out, in real processes: what is known by then is told.

Each sends itself the signal at one point of its work and would then go on far longer.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from away_made import small_garden
from pypdf import PdfReader

from advisor.garden.store import Garden

SPAN = ("--from", "2019-07-12", "--until", "2019-07-22", "--at", "2019-07-10T07:00+02:00")
LONG_S = 600  # of what goes on unheard; a process that waits for it fails
PATIENCE_S = 300

RUN = """
import importlib, os, signal, sys, time
module, name, calls, seconds = sys.argv[1], sys.argv[2], int(sys.argv[3]), float(sys.argv[4])
sys.argv[1:5] = []
there = importlib.import_module(module)
whole, count = getattr(there, name), 0

def stopped(*args, **more):
    global count
    count += 1
    if count == calls:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(seconds)
    return whole(*args, **more)

setattr(there, name, stopped)
from advisor.cli.main import main
main()
"""


def stopped_at(path: Path, point: str, calls: int, *more: str,
               seconds: float = LONG_S) -> "subprocess.CompletedProcess[str]":
    """Run the command, interrupted when a function is called for the n-th time."""
    module, name = point.rsplit(".", 1)
    return subprocess.run([sys.executable, "-c", RUN, module, name, str(calls), str(seconds),
                           "--garden", str(path), "away", *SPAN, *more],
                          capture_output=True, text=True, timeout=PATIENCE_S, check=False)


def plans(path: Path) -> list[str]:
    """Give what was entered as plans."""
    with Garden.open(path, readonly=True) as garden:
        return [each.words for each in garden.entries() if "planned" in each.words]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return small_garden(tmp_path, 20)


def test_while_the_round_is_worked_out_there_is_nothing_to_tell(path: Path) -> None:
    told = stopped_at(path, "advisor.cli.away_work.work_round", 1)
    assert (told.returncode, told.stdout) == (130, "")
    assert "Stopped before anything was known: nothing planned" in told.stderr
    assert "Traceback" not in told.stderr
    assert not plans(path)


def test_of_the_trees_worked_out_by_then_there_is_a_plan_and_the_rest_are_named(
        path: Path, tmp_path: Path) -> None:
    """Eight trees are worked out together: in the thirteenth, eight are known."""
    pdf = tmp_path / "helper.pdf"
    told = stopped_at(path, "advisor.jobs.away.absence.lives", 13, "--sheet", str(pdf), seconds=0.0)
    assert told.returncode == 1
    assert told.stdout.startswith("Stopped early: how long 12 trees would last was not worked out")
    assert "keep 8 of the trees" in told.stdout
    assert "neither sheet nor calendar is written" in told.stderr
    assert not list(tmp_path.glob("helper*"))
    assert not plans(path)


def test_a_document_names_them_too(path: Path) -> None:
    told = stopped_at(path, "advisor.jobs.away.absence.lives", 13, "--json", seconds=0.0)
    made = json.loads(told.stdout)
    assert made["visits"]
    unknown = {each["tree"] for each in made["at_risk"] if each["chance"] is None}
    assert len(unknown) == 12
    assert not unknown & {pot["tree"] for visit in made["visits"] for pot in visit["pots"]}


def test_a_solver_is_not_waited_for(path: Path, tmp_path: Path) -> None:
    """The plan made by rule holds for every tree: it is told with its bound, drawn and kept."""
    pdf = tmp_path / "helper.pdf"
    told = stopped_at(path, "advisor.jobs.away.plan_model.milp", 1, "--sheet", str(pdf))
    assert told.returncode == 0, told.stderr
    assert "keep every tree" in told.stdout
    assert "Stopped early: not everything was worked out." in told.stdout
    assert "What would save visits" not in told.stdout
    assert len(PdfReader(pdf).pages) > 0
    assert len(plans(path)) == 1


@pytest.mark.parametrize("calls", [1, 2])
def test_remedies_found_by_then_are_told(path: Path, calls: int) -> None:
    told = stopped_at(path, "advisor.jobs.away.remedies.fewest", calls)
    assert told.returncode == 0, told.stderr
    assert "keep every tree" in told.stdout
    assert "How safe:" in told.stdout
    assert "Stopped early: not everything was worked out." in told.stdout
    assert len(plans(path)) == 1


def test_while_safety_is_judged_there_is_the_plan_alone(path: Path) -> None:
    told = stopped_at(path, "advisor.jobs.away.cover.risks", 1, seconds=0.0)
    assert told.returncode == 0, told.stderr
    assert "keep every tree" in told.stdout
    assert "past years" not in told.stdout.split("Weather known")[0]
    assert "Stopped early" in told.stdout
