import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import air
from advisor.demand.coefficients import TABLE

bounded = settings(max_examples=100, deadline=None)
temps = st.floats(-40.0, 50.0)


@bounded
@given(temps)
def test_slope_is_the_derivative_of_saturation(temp_c: float) -> None:
    step = 1e-4
    rise = air.saturation_pressure(temp_c + step) - air.saturation_pressure(temp_c - step)
    assert air.saturation_slope(temp_c) == pytest.approx(rise / (2 * step), rel=2e-4)


@bounded
@given(temps, st.floats(0.0, 25.0))
def test_mean_saturation_is_above_saturation_of_the_mean(low_c: float, range_c: float) -> None:
    of_mean = air.saturation_pressure(low_c + range_c / 2)
    assert air.mean_saturation_pressure(low_c + range_c, low_c) >= of_mean * (1 - 1e-12)


@bounded
@given(temps)
def test_saturated_air_has_its_temperature_as_dew_point(temp_c: float) -> None:
    full = air.saturation_pressure(temp_c)
    assert air.vapour_from_dew_point(temp_c) == full
    assert air.vapour_from_tmin(temp_c) == full
    assert air.vapour_from_rh_max(temp_c, 100.0) == pytest.approx(full)
    assert air.vapour_from_rh_pair(temp_c, temp_c, 100.0, 100.0) == pytest.approx(full)
    assert air.vapour_from_rh_mean(temp_c, temp_c, 100.0) == pytest.approx(full)
    assert air.vapour_from_wet_bulb(temp_c, temp_c, 0.06) == full


@bounded
@given(st.floats(0.0, 30.0), st.floats(2.0, 50.0))
def test_wind_at_2m_is_less_than_higher_up(wind_ms: float, height_m: float) -> None:
    assert air.wind_at_2m(wind_ms, height_m) <= wind_ms * 1.001


def test_wind_measured_at_2m_stays() -> None:
    assert air.wind_at_2m(5.0, 2.0) == pytest.approx(5.0, rel=1e-3)


def test_pressure_falls_with_height() -> None:
    assert np.all(np.diff(air.atmospheric_pressure(np.arange(0.0, 4000.0, 100.0))) < 0.0)


@pytest.mark.parametrize("name", TABLE)
def test_every_coefficient_has_its_source_and_stands_in_its_range(name: str) -> None:
    row = TABLE[name]
    assert row.low <= row.value <= row.high
    assert row.unit
    assert row.source.startswith(("[S]", "[M]", "[J]"))
