"""A garden far larger than any grower's is judged whole; `TREES=5000` takes five thousand."""

import json
import os
from dataclasses import replace

from benchmarks import gardens

from advisor.garden import example

TREES = int(os.environ.get("TREES", "60"))


def test_every_tree_of_a_large_garden_gets_its_verdict(grower, tmp_path):
    path = tmp_path / "large.db"
    gardens.make(path, TREES)
    grower = replace(grower, path=path, now=example.AT)
    told = json.loads(grower.tell("morning", "--json"))["trees"]
    assert len(told) == TREES
    assert len({each["tree"] for each in told}) == TREES
    assert {each["verdict"] for each in told} >= {"water_now", "leave"}
    assert json.loads(grower.tell("morning", "--json"))["trees"] == told
