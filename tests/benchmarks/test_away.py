"""How long an absence takes to work out: 200 and 20 trees, three weeks, all the ways there are.

Printed, beside `import pandas` in the same run; asserted are counts and memory only.
"""

import resource
import subprocess
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import pytest
from away_made import NOW, garden, made_up, worked

from advisor.jobs import remedies
from advisor.jobs.away import Ask
from advisor.jobs.cover import Cover, judged
from advisor.jobs.plan_case import Impossible, Plan
from advisor.jobs.plan_visits import plan

MOST_MB = 600
RUN = "from advisor.cli.main import main; main()"
ASK = Ask(NOW.date() + timedelta(days=1), NOW.date() + timedelta(days=22))


@pytest.mark.parametrize("count", [20, 200])
def test_three_weeks(tmp_path: Path, count: int) -> None:
    weather = made_up(date(2009, 6, 1), NOW.date())
    path = garden(tmp_path / "garden.db", weather, count, crown=0.3)
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import pandas"], check=True)
    yardstick, began = time.perf_counter() - began, time.perf_counter()
    worked(path, ASK)  # compiles, and keeps what the round leaves behind
    first, began = time.perf_counter() - began, time.perf_counter()
    left, away, begun = worked(path, ASK)
    lasting, began = time.perf_counter() - began, time.perf_counter()
    made = plan(left.case())
    planning, began = time.perf_counter() - began, time.perf_counter()
    cover = judged(Cover(left, away, made), begun)
    judging, began = time.perf_counter() - began, time.perf_counter()
    saves = list(remedies.remedies(remedies.Tries(left, begun, made, {})))
    saving = time.perf_counter() - began
    at = NOW.isoformat()
    subprocess.run([sys.executable, "-c", RUN, "--garden", str(path), "away", "--from",
                    f"{ASK.start}", "--until", f"{ASK.until}", "--at", at], check=True,
                   capture_output=True)
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    told = made if isinstance(made, Impossible) else (
        f"{len(made.visits)} visits, at most {made.at_most_more} more than the fewest")
    print(f"\n{count} trees: import pandas {yardstick:.2f} s, first {first:.1f} s; lives "
          f"{lasting:.1f} s, plan {planning:.1f} s, safety and rules {judging:.1f} s, "
          f"{len(saves)} remedies {saving:.1f} s; {peak_mb:.0f} MB; {told}")
    assert cover.plan is made
    assert len(left.lives) == count
    assert peak_mb < MOST_MB
    assert isinstance(made, Plan)
