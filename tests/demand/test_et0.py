import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.demand import air, et0, radiation
from advisor.errors import Refused

bounded = settings(max_examples=100, deadline=None)

PLACE = {"elevation_m": 100, "latitude_deg": 50.8, "day_of_year": 187}
DAY = {"tmax_c": 21.5, "tmin_c": 12.3, "ea_kpa": 1.409, "rs_mj": 22.07, "u2_ms": 2.078}

tmins = st.floats(-20.0, 30.0)
ranges = st.floats(0.0, 20.0)
winds = st.floats(0.0, 15.0)
shares = st.floats(0.05, 1.0)


def day(rng: np.random.Generator, size: int) -> dict[str, np.ndarray]:
    tmin = rng.uniform(-15, 25, size)
    latitude, number = rng.uniform(-70, 70, size), rng.integers(1, 367, size)
    elevation = rng.uniform(0, 3000, size)
    ra = radiation.extraterrestrial_day(latitude, number)
    return {
        "tmax_c": tmin + rng.uniform(0, 18, size),
        "tmin_c": tmin,
        "ea_kpa": air.saturation_pressure(tmin) * rng.uniform(0.3, 1.0, size),
        "rs_mj": ra * rng.uniform(0.1, 0.75, size),
        "u2_ms": rng.uniform(0, 8, size),
        "elevation_m": elevation,
        "latitude_deg": latitude,
        "day_of_year": number,
    }


def test_fast_and_plain_ways_agree_everywhere() -> None:
    table = day(np.random.default_rng(1), 40_000)
    fast = et0.daily_et0(**table)
    assert fast == pytest.approx(et0.daily_et0_terms(**table).et0_mm, abs=1e-10)


@pytest.mark.parametrize("latitude_deg", [52, -35, 0, 89.9, -90, 90])
def test_one_latitude_by_table_agrees_with_the_equation(latitude_deg: float) -> None:
    rng = np.random.default_rng(2)
    table = day(rng, 1000) | {"latitude_deg": latitude_deg, "elevation_m": 7, "rs_mj": 8.0}
    assert et0.daily_et0(**table) == pytest.approx(et0.daily_et0_terms(**table).et0_mm, abs=1e-10)


def test_terms_add_up() -> None:
    terms = et0.daily_et0_terms(**DAY, **PLACE)
    assert terms.from_radiation_mm + terms.from_air_mm == pytest.approx(terms.et0_mm)


@bounded
@given(tmins, ranges, shares, shares, shares, winds)
def test_more_deficit_never_lowers_it(
    tmin: float, warmth: float, dry: float, drier: float, sun: float, u2: float
) -> None:
    """At any wind and light: drier air loses more by its deficit than by its longwave."""
    full = float(air.saturation_pressure(tmin))
    ea = full * np.array([max(dry, drier), min(dry, drier)])
    energy = np.array([5.0, 5.0]) * sun
    es = air.mean_saturation_pressure(tmin + warmth, tmin)
    tmean = tmin + warmth / 2
    slope = air.saturation_slope(tmean)
    moist, arid = et0.penman_monteith_day(energy, tmean, u2, es - ea, slope, 0.067)
    assert arid >= moist


@bounded
@given(st.floats(0.0, 30.0), ranges, shares, winds, st.integers(100, 250), st.floats(0.1, 0.6))
def test_more_sun_never_lowers_it_from_april_to_august(
    tmin: float, warmth: float, humid: float, u2: float, number: int, share: float
) -> None:
    """Holds where .77 of the light outweighs what a clearer sky radiates: not in winter."""
    ra = float(radiation.extraterrestrial_day(45.0, number))
    ea = float(air.saturation_pressure(tmin)) * max(humid, 0.3)
    rs = np.array([share, share + 0.1]) * ra
    place = {"elevation_m": 0, "latitude_deg": 45.0, "day_of_year": number}
    dull, bright = et0.daily_et0(tmin + warmth, tmin, ea, rs, u2, **place)
    assert bright >= dull - 1e-12


def test_never_below_nothing() -> None:
    dark = {"elevation_m": 0, "latitude_deg": 60, "day_of_year": 355}
    assert et0.daily_et0(-5.0, -10.0, 0.28, 0.1, 0.0, **dark) == 0.0


def test_polar_night_has_an_answer() -> None:
    night = {"elevation_m": 10, "latitude_deg": 78, "day_of_year": 1}
    assert et0.daily_et0(-10.0, -20.0, 0.1, 0.0, 3.0, **night) >= 0.0


def test_unknown_stays_unknown() -> None:
    table = DAY | {"u2_ms": np.array([np.nan, 2.078])}
    first, second = et0.daily_et0(**table, **PLACE)
    assert np.isnan(first)
    assert second == pytest.approx(3.88, abs=0.005)
    assert np.isnan(et0.daily_et0(**DAY, **(PLACE | {"day_of_year": np.array([np.nan])})))[0]


def test_29_february_and_the_last_day_of_a_leap_year() -> None:
    days = np.array([59, 60, 61, 365, 366])
    mm = et0.daily_et0(**(DAY | {"rs_mj": 8.0}), **(PLACE | {"day_of_year": days}))
    assert np.all(np.diff(mm[:3]) > 0.0)  # the same light is more cloud as the sun climbs
    assert mm[4] == pytest.approx(mm[3], rel=0.01)


def test_whole_numbers_and_lists_do() -> None:
    mm = et0.daily_et0(
        [21, 22], [12, 13], 1, 22, 2, elevation_m=0, latitude_deg=52, day_of_year=187
    )
    assert mm.shape == (2,)
    assert et0.daily_et0(**DAY, **PLACE).shape == ()
    assert et0.daily_et0([], [], 1.0, 22.0, 2.0, **PLACE).shape == (0,)


@pytest.mark.parametrize(("north_day", "south_day"), [(187, 5), (5, 187)])
def test_seasons_of_the_south_are_those_of_the_north_turned(north_day: int, south_day: int) -> None:
    def half_lit(latitude_deg: float, number: int) -> float:
        rs = 0.5 * radiation.extraterrestrial_day(latitude_deg, number)
        place = {"elevation_m": 0, "latitude_deg": latitude_deg, "day_of_year": number}
        return float(et0.daily_et0(**(DAY | {"rs_mj": rs}), **place))

    assert half_lit(-50.8, south_day) == pytest.approx(half_lit(50.8, north_day), rel=0.15)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"u2_ms": -5.0}, "wind speed: -5 m/s. Wanted: 0 to 60 m/s"),
        ({"u2_ms": 61.0}, "wind speed: 61 m/s. Wanted: 0 to 60 m/s"),
        ({"rs_mj": 326.0}, "326 looks like W/m²; the day's sum is 28.2 MJ/m²."),
        ({"rs_mj": -1.0}, "shortwave radiation: -1 MJ/m² in a day"),
        ({"tmax_c": 70.0}, "highest air temperature: 70 °C. Wanted: -60 to 60 °C"),
        ({"tmin_c": -61.0}, "lowest air temperature: -61 °C"),
        (
            {"tmax_c": 12.0},
            "highest air temperature: 12 °C. Wanted: at least the day's lowest",
        ),
        ({"ea_kpa": -0.1}, "vapour pressure: -0.1 kPa"),
        ({"latitude_deg": 91}, "latitude: 91 °. Wanted: -90 to 90 °"),
        ({"day_of_year": 0}, "day of the year: 0"),
        ({"elevation_m": 9000.0}, "elevation: 9000 m"),
    ],
)
def test_the_impossible_is_refused_by_name(change: dict[str, float], sentence: str) -> None:
    with pytest.raises(Refused) as refusal:
        et0.daily_et0(**(DAY | PLACE | change))
    assert sentence in str(refusal.value)


def test_one_bad_value_among_many_is_found() -> None:
    wind = np.full(50_000, 2.0)
    wind[49_999] = -0.1
    with pytest.raises(Refused, match=r"-0\.1 m/s"):
        et0.daily_et0(**(DAY | {"u2_ms": wind}), **PLACE)


def test_hargreaves_of_an_even_day_is_nothing() -> None:
    assert et0.hargreaves(20.0, 20.0, 40.0) == 0.0
