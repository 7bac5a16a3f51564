import numpy as np
import pytest
from demand.weather_made import Somewhere, fair_hours

from advisor.demand import radiation
from advisor.demand.place import Spot, place_light
from advisor.demand.sky import sky_of
from advisor.errors import Refused

SITE = Somewhere()
HOURS = fair_hours()


def relative_at_night(told: object, hour: int) -> float:
    """Rs/Rso behind an hour's longwave loss, from Eq. 39 solved for it."""
    terms = told.sky.by_hour  # type: ignore[attr-defined]
    black = radiation.net_longwave_hour(terms.temp_c, 1.3, 1.0)
    return float((np.asarray(terms.rnl_mj / black)[hour] + 0.35) / 1.35)


@pytest.mark.parametrize("share", [0.4, 0.6, 0.9])
def test_night_keeps_the_sky_of_two_to_three_hours_before_sunset(share: float) -> None:
    """Sunset is at 20:00 UTC: the hour from 17:00 counts, those around it do not."""
    told = sky_of(SITE, HOURS)
    clear = radiation.clear_sky_shortwave(SITE.elevation_m, told.sky.path.extra_wm2)
    evening = 19  # 17:00 UTC of the first day; the series begins at 22:00
    assert HOURS.index[evening].hour == 17
    assert told.sky.path.up[evening + 2]
    assert not told.sky.path.up[evening + 3]
    hours = HOURS.copy()
    hours.iloc[evening, hours.columns.get_loc("ghi_wm2")] = share * clear[evening]
    changed = sky_of(SITE, hours)
    for night in (evening + 1, evening + 2, evening + 3, evening + 8):
        assert relative_at_night(changed, night) == pytest.approx(share)


def test_the_first_night_takes_the_first_sky_known() -> None:
    told = sky_of(SITE, HOURS)
    dawn = int(np.argmax(told.sky.path.up))
    assert relative_at_night(told, 0) == pytest.approx(relative_at_night(told, dawn))


def test_hours_alone_come_near_the_day() -> None:
    """Eq. 53 summed over a fair day and Eq. 6 are known to differ by some per cent."""
    from advisor.demand.place import _hour_shape, place_et0

    told = sky_of(SITE, HOURS)
    shape = _hour_shape(told.sky, Spot(), told.sky.ghi_wm2 * 0.0036)
    days = told.sky.days
    day_mm = days.total(place_et0(told.sky, Spot()))
    assert days.total(shape) == pytest.approx(day_mm, rel=0.12)


def test_diffuse_stays_within_global_after_filling() -> None:
    hours = HOURS.copy()
    hours.iloc[24:48, hours.columns.get_loc("ghi_wm2")] = np.nan
    sky = sky_of(SITE, hours).sky
    assert np.all(sky.dhi_wm2 <= sky.ghi_wm2 + 1e-9)
    assert np.all(place_light(sky, Spot()) >= 0.0)


def test_coast_is_brighter_than_inland_for_one_temperature_range() -> None:
    hours = HOURS.assign(ghi_wm2=np.nan)
    inland = sky_of(SITE, hours).sky.ghi_wm2.sum()
    coast = sky_of(SITE, hours, k_rs=radiation.COASTAL).sky.ghi_wm2.sum()
    assert coast / inland == pytest.approx(0.19 / 0.16, rel=1e-6)


def test_missing_columns_are_all_named() -> None:
    with pytest.raises(Refused, match="a table without rain_mm, cloud_share"):
        sky_of(SITE, HOURS.drop(columns=["rain_mm", "cloud_share"]))
