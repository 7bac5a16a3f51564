"""Errors of forecasts by days ahead, from forecasts that were replaced."""

from datetime import timedelta

import numpy as np
import pytest
from garden.told import NOW, start

from advisor.garden.instants import to_seconds
from advisor.garden.lead import DEFAULTS, LAST_DAY, LEAST_PAIRS
from advisor.garden.store import Source

DAY = timedelta(days=1)
DAYS = LEAST_PAIRS + 4
FIRST = NOW.replace(hour=0, minute=0)


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        yield garden


def hours(at, count, **values):
    stamps = to_seconds(at) + 3600 * np.arange(count)
    return {"hour": stamps, **{name: np.broadcast_to(value, count).astype(float)
                               for name, value in values.items()}}


def observed(garden, days=DAYS):
    garden.save_weather(Source("station", kind="station", issued_at=FIRST + days * DAY),
                        hours(FIRST, 24 * days, temp_c=10.0, rain_mm=0.5), NOW)


def forecast(garden, day, off, *, at=timedelta(0), ahead=3):
    """Issue a forecast that is off by so much on its first day, three times that on its third."""
    issued = FIRST + day * DAY + at
    lead = np.repeat(np.arange(1, ahead + 1), 24)
    garden.save_weather(Source("service", kind="forecast", issued_at=issued), hours(
        issued, 24 * ahead, temp_c=10.0 + off * lead, rain_mm=0.5 + 0.1 * lead), NOW)


def test_without_a_record_the_stated_defaults_stand(garden):
    for value, stated in DEFAULTS.items():
        found = garden.errors_by_lead(value)
        assert [each.day for each in found] == list(range(LAST_DAY + 1))
        assert (found[0].spread, found[-1].spread) == (
            stated.first, min(stated.first + LAST_DAY * stated.a_day, stated.most))
        assert all(not each.measured and each.bias == 0 and each.pairs == 0 for each in found)
        spreads = [each.spread for each in found]
        assert spreads == sorted(spreads)


def test_bias_and_spread_are_those_of_the_forecasts(garden):
    observed(garden)
    offs = np.where(np.arange(DAYS) % 2, 2.0, 0.0)
    for day, off in enumerate(offs.tolist()):
        forecast(garden, day, off)
    found = garden.errors_by_lead("temp_c")
    for each, lead in zip(found[:3], (1, 2, 3), strict=True):
        compared = offs[:DAYS - lead + 1] * lead  # the last forecasts have not come to pass
        assert each.measured
        assert each.pairs == len(compared)
        assert each.bias == pytest.approx(compared.mean())
        assert each.spread == pytest.approx(compared.std(ddof=1))
    assert not found[3].measured
    rain = garden.errors_by_lead("rain_mm")
    assert [each.bias for each in rain[:3]] == pytest.approx([2.4, 4.8, 7.2])  # sums of a day


def test_a_short_record_is_told_and_not_trusted(garden):
    observed(garden)
    for day in range(LEAST_PAIRS - 1):
        forecast(garden, day, 5.0)
    first = garden.errors_by_lead("temp_c")[0]
    assert (first.pairs, first.measured, first.bias) == (LEAST_PAIRS - 1, False, 0.0)


def test_many_issues_of_one_day_count_once(garden):
    observed(garden)
    for day in range(5):
        forecast(garden, day, 0.0)
        forecast(garden, day, 9.0, at=timedelta(hours=6))
    assert garden.errors_by_lead("temp_c")[0].pairs == 5


def test_a_forecast_is_never_compared_with_a_forecast(garden):
    for day in range(DAYS):
        forecast(garden, day, 1.0)
    assert all(each.pairs == 0 for each in garden.errors_by_lead("temp_c"))


def test_what_was_issued_later_does_not_count(garden):
    observed(garden)
    forecast(garden, 0, 1.0)
    assert garden.errors_by_lead("temp_c")[0].pairs == 1
    assert garden.errors_by_lead("temp_c", FIRST + DAY)[0].pairs == 0  # nothing observed by then
