"""`advisor year`: the season behind."""

import csv
import io
import json
from pathlib import Path

import pytest
from cli.conftest import Grower
from demo_made import AT, NOW, demo_garden


@pytest.fixture
def demo(tmp_path: Path) -> Grower:
    return Grower(demo_garden(tmp_path), NOW)


def test_the_year_in_a_table(demo: Grower, tmp_path: Path) -> None:
    out = tmp_path / "year.png"
    said = demo.tell("year", "2026", "--at", AT, "--out", str(out))
    assert said.startswith("2026: what was given and drunk, litres")
    assert "7 Old Harbour" in said
    assert "Nothing was read of any tree" in said
    assert "Estimates, not orders" in said
    assert out.read_bytes().startswith(b"\x89PNG")


def test_the_year_for_scripts(demo: Grower) -> None:
    told = json.loads(demo.run("year", "2026", "--json", "--at", AT).stdout)
    assert told["year"] == 2026
    tree = told["trees"][0]
    assert tree["drunk_l"] == pytest.approx(sum(tree["month_l"]), abs=0.1)
    assert tree["days_told"] < tree["days"] == 253
    assert tree["days_past_harm"] <= tree["days_past_limit"] <= tree["days_told"]
    assert tree["thirst"] is None
    rows = list(csv.DictReader(io.StringIO(demo.run("year", "2026", "--csv", "--at", AT).stdout)))
    assert [row["tree"] for row in rows] == [each["tree"] for each in told["trees"]]
    assert float(rows[0]["poured_l"]) == tree["poured_l"]


def test_a_year_nobody_knows(demo: Grower) -> None:
    said = demo.refused("year", "1999", "--at", AT)
    assert "year: 1999. Wanted: 2026" in said
    assert "--json or --csv" in demo.misused("year", "2026", "--json", "--csv")
