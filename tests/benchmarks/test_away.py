"""How long an absence takes to work out: 20 and 200 trees, three weeks, all the ways there are.

pytest tests/benchmarks/test_away.py -s

Printed beside `import pandas` in the same run: the whole process, and its parts by the time of
the processors, which holds on a busy machine too; asserted are counts and memory only.
"""

import os
import statistics
import time
from datetime import date, timedelta
from pathlib import Path

import pytest
from away_made import NOW, garden, made_up, worked
from benchmarks.test_round import PANDAS, advisor, run
from benchmarks.told import tell

from advisor.jobs.away import remedies
from advisor.jobs.away.absence import Ask
from advisor.jobs.away.cover import Cover, judged
from advisor.jobs.away.plan_case import Plan
from advisor.jobs.away.plan_visits import plan

MOST_MB, TURNS = 600, 3
BARS = {20: "3 s, plan alone", 200: "30 s the plan, 30 s remedies"}
ASK = Ask(NOW.date() + timedelta(days=1), NOW.date() + timedelta(days=22))


class Laps:
    """Seconds of the processors between calls, by name."""

    def __init__(self) -> None:
        self.before, self.told = time.process_time(), list[str]()

    def __call__(self, name: str) -> None:
        now = time.process_time()
        self.told.append(f"{name} {now - self.before:.1f} s")
        self.before = now


@pytest.mark.parametrize("count", [20, 200])
def test_three_weeks(tmp_path: Path, count: int) -> None:
    path = garden(tmp_path / "garden.db", made_up(date(2009, 6, 1), NOW.date()), count, crown=0.3)
    worked(path, ASK)  # compiles, and keeps what the round leaves behind
    lap = Laps()
    left, away, begun = worked(path, ASK)
    lap("lives")
    made = plan(left.case())
    assert isinstance(made, Plan)
    lap("plan")
    cover = judged(Cover(left, away, made), begun)
    lap("safety and rules")
    saves = list(remedies.remedies(remedies.Tries(left, begun, made, {})))
    lap(f"{len(saves)} remedies")
    assert len(cover.risks) == count
    tell(f"away, {count} trees, 21 days, on {os.cpu_count()} processors",
         f"{len(made.visits)} visits, at most {made.at_most_more} more than the fewest",
         beside="of processor time: " + ", ".join(lap.told))
    whole(path, count)


def whole(path: Path, count: int) -> None:
    """Run the command beside `import pandas`, in turns."""
    command = advisor(path, "away", "--from", f"{ASK.start}", "--until", f"{ASK.until}", "--at",
                      NOW.isoformat())
    turns = [(run(command), run(PANDAS)[0]) for _ in range(TURNS)]
    mine = statistics.median(seconds for (seconds, _), _ in turns)
    theirs = statistics.median(pandas for _, pandas in turns)
    most_mb = max(most for (_, most), _ in turns)
    tell(f"away, {count} trees, the whole process with remedies", mine, "s",
         beside=f"import pandas {theirs:.2f} s, ratio {mine / theirs:.1f}", peak_mb=most_mb,
         bar=BARS[count])
    assert most_mb < MOST_MB
