"""What pots take from the butt, and the ways of the rain."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from scenes import DAY, hours, known, sky, tree

from advisor.balance.members import MEMBERS
from advisor.jobs.potting.past_weather import Stage
from advisor.jobs.rain.butts import Roof, caught_l
from advisor.jobs.rain.demand import daily_rain_mm, inflow_l, taken

FIRST = datetime(2026, 6, 1, tzinfo=UTC)
END = FIRST + 40 * DAY
RECORDS = [*tree("1", "pine", FIRST, crown=40.0), *tree("2", "azalea", FIRST, crown=20.0),
           *tree("3", "maple", FIRST, outside_mm=(120.0, 90.0, 45.0))]


def takes(weather=None):
    seen = sky(weather or hours(40, rain=False), END)
    until = seen.index(seen.newest)
    stage = Stage(known(RECORDS), seen, "", END, until=until)
    return {each.label: each for each in taken(stage, (0, until))}


def test_every_tree_has_its_turn_and_its_litres() -> None:
    found = takes()
    assert {label: each.turn for label, each in found.items()} == {"1": 3, "2": 0, "3": 1}
    assert found["1"].litres.sum() > found["2"].litres.sum() > found["3"].litres.sum() > 0.0


def test_more_demand_takes_more_and_rain_takes_less() -> None:
    dry = hours(40, rain=False)
    hot = replace(dry, et0_mm={name: 1.4 * et0 for name, et0 in dry.et0_mm.items()})
    wet = replace(dry, rain_mm=np.full(dry.rain_mm.size, 0.6))
    usual = takes(dry)["1"].litres.sum()
    assert takes(hot)["1"].litres.sum() > 1.2 * usual
    assert takes(wet)["1"].litres.sum() < 0.7 * usual


def test_what_is_taken_is_about_what_the_pot_lost() -> None:
    """40 dry days of July weather: the pine's pot of .088 m² loses 6-14 mm a day."""
    litres = takes()["1"].litres.sum() / 40 / 0.0875
    assert 4.0 < litres < 16.0


def test_rain_of_each_way() -> None:
    seen = sky(hours(40), END)
    rain = daily_rain_mm(seen)
    assert rain.shape == (MEMBERS, seen.dates.size)
    known_days = int(seen.day[seen.index(seen.newest) - 1])
    assert np.ptp(rain[:, :known_days], axis=0).max() == pytest.approx(0.0)
    assert rain[0, :known_days].sum() == pytest.approx(
        seen.rain_mm[seen.day < known_days].sum())
    caught = inflow_l([Roof(10.0)], rain)
    assert caught.shape == rain.shape
    low, high = (caught_l([Roof(10.0)], rain[0, :known_days], along).sum() for along in (0.0, 1.0))
    sums = caught[:, :known_days].sum(axis=1)
    assert low < sums.min() < np.median(sums) < sums.max() < high
