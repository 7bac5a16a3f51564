"""Hourly values of an open weather service's own test suite (Open-Meteo, source of 2026-08-20).

T 25 °C, wind 2 m/s at 10 m, dew point 13.8 °C, 300 W/m², 250 m: .2354 mm/h by day and .0508 by
night, with FAO-56's Cd .34 and G of .1 and .5 Rn. Its Rs/Rso is not told with them: both are met
within .0015 mm by one ratio, .62. (Its daily value, 7.0955 mm, cannot be followed from the inputs
noted with it.)
"""

import pytest

from advisor.demand import air, et0, radiation


@pytest.mark.parametrize(
    ("rs_mj", "daylight", "printed"), [(1.08, True, 0.2354), (0.0, False, 0.0508)]
)
def test_hour(rs_mj: float, daylight: bool, printed: float) -> None:
    temp_c, ea = 25.0, air.vapour_from_dew_point(13.8)
    rnl = radiation.net_longwave_hour(temp_c, ea, 0.62)
    rn = radiation.net_shortwave(rs_mj) - rnl
    mm = et0.penman_monteith_hour(
        rn - radiation.soil_heat_hour(rn, daylight),
        temp_c,
        air.wind_at_2m(2.0, 10.0),
        air.saturation_pressure(temp_c) - ea,
        air.saturation_slope(temp_c),
        air.psychrometric_constant(air.atmospheric_pressure(250.0)),
    )
    assert mm == pytest.approx(printed, abs=0.0015)
