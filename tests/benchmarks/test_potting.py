"""How long comparing six choices over ten years takes; nothing is asserted on time.

pytest tests/benchmarks/test_potting.py -s
"""

import time
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
from benchmarks.told import peak_mb, seconds_to_import, tell
from scenes import DAY, hours, known, sky, tree

from advisor.jobs.potting.choices import Known, read_choice
from advisor.jobs.potting.compare import compare
from advisor.jobs.potting.past_weather import COUNT, Stage

FIRST, DAYS = datetime(2015, 1, 1, tzinfo=UTC), 3652
CHOICES = ("as now", "oval 420x310x75; 40% akadama, 30% pumice, 30% lava",
           "round 300x90; 50% akadama, 50% pumice; drainage 15", "oval 420x310x55; pumice",
           "oval 420x310x100; kanuma", "box 500x350x120; 70% akadama, 30% lava")


def test_six_choices_ten_years_eight_guesses() -> None:
    made = hours(DAYS, FIRST, mean_c=4.0)
    season = (1.0 - np.cos(2.0 * np.pi * (np.arange(24 * DAYS) / 24.0 - 10.0) / 365.25)) / 2.0
    weather = replace(made, temp_c=made.temp_c + 16.0 * season, et0_mm={
        place: et0 * (0.15 + 0.95 * season) for place, et0 in made.et0_mm.items()})
    knowledge, at = known(tree("1", "pine", FIRST, crown=40.0)), FIRST + DAYS * DAY
    names = Known(knowledge.mixes, {}, knowledge.potting_of("1"))
    stage = Stage(knowledge, sky(weather, at), "1", at)
    choices = [read_choice(each, names) for each in CHOICES]
    compare(stage, choices[:1])  # compiled, loaded
    start = time.perf_counter()
    found = compare(stage, choices)
    took = time.perf_counter() - start
    beside = seconds_to_import("pandas")
    tell(f"{len(found.outcomes)} choices x {found.years:.0f} years x {COUNT}", took, "s",
         beside=f"{took / beside:.0f} times import pandas", bar="20 s", peak_mb=peak_mb())
    assert len(found.outcomes) == len(CHOICES)
