"""Rain gauges and min-max thermometers: what can be, and how it is laid over hours."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.units import LIMITS
from advisor.weather.gauge import (
    GaugeTotal,
    MinMax,
    checked,
    refuse_overlap,
    scaled,
    shares,
    spread_total,
)

NOW = datetime(2026, 7, 1, 6, tzinfo=UTC)
HOUR = timedelta(hours=1)
NAN = np.nan


def total(hours: float = 24, mm: float = 14.0) -> GaugeTotal:
    return GaugeTotal(NOW - hours * HOUR, NOW, mm)


@pytest.mark.parametrize("reading", [total(), total(1, 150), total(24 * 45), total(24, 0),
                                     MinMax(NOW - 24 * HOUR, NOW, -3, 12),
                                     MinMax(NOW - 36 * HOUR, NOW, 5, 5)])
def test_what_can_be_is_taken(reading: GaugeTotal | MinMax) -> None:
    assert checked(reading, NOW) == reading


@pytest.mark.parametrize(("reading", "said"), [
    (total(24, -1), "rain gauge: -1 mm"),
    (total(24, 2000), "0 to 1900"),
    (total(24, NAN), "nan"),
    (total(2, 301), "at most 300 mm in this span"),
    (total(0.5), "1 to 1080 hours, the earlier"),
    (total(-3), "the earlier instant first"),
    (total(24 * 46), "1 to 1080 hours, the earlier"),
    (GaugeTotal(NOW - HOUR, NOW + HOUR, 1),
     "read at .*Wanted: at the latest 2026-07-01 06:00Z, which is now"),
    (GaugeTotal(NOW.replace(tzinfo=None), NOW, 1), "time zone"),
    (MinMax(NOW - 37 * HOUR, NOW, 1, 2), "1 to 36 hours"),
    (MinMax(NOW - 24 * HOUR, NOW, 20, 10), "20 to 10 °C. Wanted: the lowest, then"),
    (MinMax(NOW - 24 * HOUR, NOW, -61, 10), "min-max thermometer: -61 °C"),
])
def test_what_cannot_be_is_refused(reading: GaugeTotal | MinMax, said: str) -> None:
    with pytest.raises(Refused, match=said):
        checked(reading, NOW)


def test_only_readings_of_one_kind_are_in_each_other_s_way() -> None:
    day = total()
    refuse_overlap(day, [MinMax(day.start, day.end, 1, 2), GaugeTotal(NOW, NOW + HOUR, 1)])
    with pytest.raises(Refused, match="meets the reading"):
        refuse_overlap(day, [GaugeTotal(NOW - HOUR, NOW + HOUR, 1)])


def test_the_shares_of_an_odd_span() -> None:
    hour = 3600 * np.arange(4)
    np.testing.assert_allclose(shares(hour, 1800, 9000), [0.5, 1.0, 0.5, 0.0])


@pytest.mark.parametrize(("seen", "share", "mm", "expected"), [
    ([0, 1, 3], [1, 1, 1], 14, [0, 3.5, 10.5]),
    ([0, 0, 0, 0], [1, 1, 1, 1], 14, [3.5] * 4),
    ([NAN, NAN, 5], [1, 1, 0], 3, [1.5, 1.5, 5]),
    ([2, NAN, 0], [1, 1, 1], 6, [6, 0, 0]),
    ([4, 0, 4], [0.5, 1, 0.5], 6, [2 + 3, 0, 2 + 3]),  # half of the first and last stay
    ([1, 0, 0, 0], [1] * 4, 400, [100] * 4),  # no hour takes 400 mm
    ([1, 2], [1, 1], 0, [0, 0]),
    ([1, NAN], [0, 0], 5, [1, NAN]),
])
def test_totals_spread_by_hand(seen: list[float], share: list[float], mm: float,
                               expected: list[float]) -> None:
    laid = spread_total(np.array(seen, float), np.array(share, float), mm)
    np.testing.assert_allclose(laid, expected)


RAIN = st.lists(st.floats(0, 150) | st.just(NAN), min_size=3, max_size=30)


@settings(max_examples=100, deadline=None)
@given(RAIN, st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_the_hours_of_a_span_add_up_to_its_total(seen: list[float], first: float, last: float,
                                                  filled: float) -> None:
    rain = np.array(seen)
    share = np.ones(rain.size)
    share[0], share[-1] = first, last
    limit = LIMITS["rain_mm"].high
    mm = filled * limit * share.sum()
    laid = spread_total(rain, share, mm)
    outside = np.nansum(rain * (1 - share))
    assert np.nansum(laid) == pytest.approx(mm + outside, abs=1e-6)
    assert np.nanmin(laid) >= 0
    assert np.nanmax(laid) <= limit * (1 + 1e-9)


@pytest.mark.parametrize(("temp", "low", "high", "expected"), [
    ([10, 15, 20], 5, 25, [5, 15, 25]),
    ([10, NAN, 20], 12, 14, [12, NAN, 14]),
    ([10, 10.2, 10.4], 4, 8, [5.8, 6, 6.2]),  # too flat to be stretched
    ([10, 10.2, 10.4], 6, 6, [6, 6, 6]),
    ([NAN, NAN], 4, 8, [NAN, NAN]),
])
def test_temperatures_stretched_by_hand(temp: list[float], low: float, high: float,
                                        expected: list[float]) -> None:
    np.testing.assert_allclose(scaled(np.array(temp, float), low, high), expected)
