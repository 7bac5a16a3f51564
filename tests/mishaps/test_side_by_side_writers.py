"""Two processes enter in turns, each opening the garden for every entry, as commands do.

`WRITES=10000 pytest tests/mishaps/test_side_by_side_writers.py` makes ten thousand entries.
"""

import os
from datetime import timedelta

import pytest
from mishaps_made import NOW, ended

from advisor.garden.records import Watering
from advisor.garden.store import Garden

pytestmark = pytest.mark.filterwarnings("ignore:This process.*multi-threaded:DeprecationWarning")
WRITES = int(os.environ.get("WRITES", "200"))


def write(path, tree, count):
    """Enter so many waterings in a fork."""
    child = os.fork()
    if child:
        return child
    try:
        for k in range(count):
            at = NOW - timedelta(minutes=k)
            with Garden.open(path) as garden, garden.entry(NOW, f"{tree} {k}") as entry:
                entry.add(Watering(tree, at, 0.1, until_ran=False))
        os._exit(0)
    except BaseException:
        os._exit(1)


def test_nothing_is_lost_between_two_writers(garden):
    before = len(garden.knows().entry_times)
    children = [write(garden.path, tree, WRITES // 2) for tree in ("2", "10")]
    assert [ended(child) for child in children] == [0, 0]
    with Garden.open(garden.path) as opened:
        assert opened.verify() == []
        words = [entry.words for entry in opened.entries(limit=WRITES + before + 9)]
        known = opened.knowledge()
    assert [len(known.waterings[tree]) for tree in ("2", "10")] == [WRITES // 2] * 2
    for tree in ("2", "10"):
        assert [each for each in words if each.startswith(f"{tree} ")] == [
            f"{tree} {k}" for k in reversed(range(WRITES // 2))]
