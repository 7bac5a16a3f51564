"""Gardens of any size for timings: the example's trees again and again, each a little other."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from advisor.cli.demo import WEATHER, sample
from advisor.cli.weather_file import add_file
from advisor.garden import example
from advisor.garden.records import Reading, Tree, Watering
from advisor.garden.store import Garden


def read(path: Path, count: int, times: int) -> None:
    """Enter a skewer of each tree every third day before the last: 200 trees by 25 are 5,000."""
    with Garden.open(path) as garden:
        for back in range(times, 0, -1):
            at = example.AT - timedelta(days=3 * back - 1, hours=1)
            with garden.entry(example.AT, "read all") as entry:
                for i in range(count):
                    if example.TREES[i % len(example.TREES)][2].at < at:
                        entry.add(Reading(f"t{i + 1}", at, "feel", None, "moist", 12.0))


def make(path: Path, count: int, watered_days: int = 10) -> None:
    """Make a garden of `count` trees, all watered each of the last days."""
    with Garden.create(path, example.SITE, example.AT - timedelta(days=60)) as garden:
        with garden.entry(example.AT, "trees") as entry:
            for record in example.records():
                if getattr(record, "tree", None) is None and not isinstance(record, Tree):
                    entry.add(record)
            for i in range(count):
                tree, move, potting = example.TREES[i % len(example.TREES)]
                label = f"t{i + 1}"
                entry.add(replace(tree, label=label, crown_width_cm=tree.crown_width_cm + i % 7))
                entry.add(replace(move, tree=label))
                entry.add(replace(potting, tree=label))
        add_file(garden, sample(WEATHER), example.AT)
        for day in range(watered_days, 0, -1):
            at = example.AT - timedelta(days=day)
            with garden.entry(at, "watered all") as entry:
                for i in range(count):
                    if example.TREES[i % len(example.TREES)][2].at < at:
                        entry.add(Watering(f"t{i + 1}", at))
