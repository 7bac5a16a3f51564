"""MET Norway: what is asked, blocks of rain, growing steps, no radiation."""

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
import services_made as made
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.weather import series
from advisor.weather.services import metno

ISSUED = made.START - timedelta(minutes=40)


def hours_of(steps: list) -> pd.DataFrame:
    (answer,) = metno.read(made.body(made.met_document(steps)), issued_at=ISSUED)
    return answer.series.hours


def state(temp_c: float = 12.0, **other: float) -> dict[str, float]:
    return {
        "air_temperature": temp_c,
        "relative_humidity": 80.0,
        "wind_speed": 2.0,
        "cloud_area_fraction": 50.0,
    } | other


def at(hour: float) -> object:
    return made.START + hour * made.HOUR


def test_what_is_asked(site) -> None:
    asked = metno.request(site, made.CONTACT)
    assert asked.url == "https://api.met.no/weatherapi/locationforecast/2.0/complete"
    assert asked.params == {"lat": "52.1000", "lon": "5.1800", "altitude": "2"}
    assert asked.headers["User-Agent"] == f"advisor/{_version()} {made.CONTACT}"


def _version() -> str:
    import advisor

    return advisor.__version__


@pytest.mark.parametrize("digits", [52.123456789, -0.00004, 0.1 + 0.2])
def test_no_more_than_four_decimals(digits: float) -> None:
    from advisor.weather.services import coordinates

    class Here:
        latitude_deg, longitude_deg, elevation_m = digits, 151.20929999, 0.0

    for written in coordinates(Here()):
        assert len(written.partition(".")[2]) <= 4
    assert coordinates(Here())[1] == "151.2093"


@pytest.mark.parametrize("contact", ["", "  ", "me", "a@b.c\r\nHost: other", "grüße@example.org"])
def test_who_does_not_say_who_asks_asks_nothing(site, contact: str) -> None:
    with pytest.raises(Refused, match="contact"):
        metno.request(site, contact)


def test_no_radiation_but_cloud() -> None:
    (answer,) = metno.read(made.body(made.met_norway()), issued_at=ISSUED)
    assert answer.kind == "forecast"
    assert answer.issued_at == ISSUED
    assert answer.series.hours["ghi_wm2"].isna().all()
    assert answer.series.hours["cloud_share"].iloc[0] == pytest.approx(0.375)
    assert answer.series.hours.index[0] == pd.Timestamp(made.START)


def test_sea_level_pressure_is_left_out_and_told() -> None:
    (answer,) = metno.read(made.body(made.met_norway()), issued_at=ISSUED)
    assert answer.series.hours["pressure_kpa"].isna().all()
    assert any("sea level" in note for note in answer.series.notes)


def test_overlapping_rain_is_never_added_twice() -> None:
    """Near the switch every hourly step has both: one hour counts where there is one."""
    steps = [
        made.met_step(at(i), state(), rain_1h=0.5, six={"precipitation_amount": 3.0})
        for i in range(4)
    ]
    steps += [
        made.met_step(at(4), state(), six={"precipitation_amount": 6.0}),
        made.met_step(at(5), state(), six={"precipitation_amount": 60.0}),
        made.met_step(at(10), state(), six={"precipitation_amount": 1.2}),
    ]
    rain = hours_of(steps)["rain_mm"]
    assert rain.loc[at(0) : at(3)].tolist() == [0.5] * 4
    assert rain.loc[at(4) : at(9)].to_numpy() == pytest.approx([1.0] * 6)
    assert rain.loc[at(10) : at(15)].to_numpy() == pytest.approx([0.2] * 6)
    assert rain.sum() == pytest.approx(2.0 + 6.0 + 1.2)


def test_a_sum_over_hours_that_are_told_gives_the_rest_only() -> None:
    steps = [
        made.met_step(at(0), state(), six={"precipitation_amount": 5.0}),
        made.met_step(at(1), state(), rain_1h=2.0),
        made.met_step(at(6), state()),
    ]
    rain = hours_of(steps)["rain_mm"]
    assert rain.loc[at(1)] == 2.0
    assert rain.sum() == pytest.approx(5.0)


@settings(max_examples=20, deadline=None)
@given(
    hourly=st.integers(0, 9),
    amounts=st.lists(st.floats(0, 40), min_size=20, max_size=20),
)
def test_rain_adds_up_wherever_the_steps_grow(hourly: int, amounts: list[float]) -> None:
    """Hours, then blocks; every hourly step carries the sum of its next six hours as well."""
    blocks = amounts[hourly : hourly + 3]
    by_hour = [*amounts[:hourly], *(b / 6 for b in blocks for _ in range(6))]
    steps = [
        made.met_step(
            at(i),
            state(),
            rain_1h=by_hour[i],
            six={"precipitation_amount": sum(by_hour[i : i + 6])},
        )
        for i in range(hourly)
    ]
    steps += [
        made.met_step(at(hourly + 6 * k), state(), six={"precipitation_amount": amount})
        for k, amount in enumerate(blocks)
    ]
    rain = hours_of(steps)["rain_mm"]
    np.testing.assert_allclose(rain.loc[made.START :], by_hour, atol=1e-9)


def test_state_between_far_steps_is_drawn_and_marked() -> None:
    steps = [
        made.met_step(at(0), state(10.0)),
        made.met_step(at(1), state(11.0)),
        made.met_step(at(7), state(17.0)),
        made.met_step(at(13), state(11.0)),
    ]
    hours = hours_of(steps)
    expected = [10.5, *np.arange(11.5, 17), *np.arange(16.5, 11, -1)]
    assert hours["temp_c"].to_numpy() == pytest.approx(expected)
    assert hours["temp_c_from"].iloc[0] == "met-norway forecast"
    assert set(hours["temp_c_from"].iloc[1:]) == {series.BETWEEN}
    assert set(hours["wind_ms_from"].iloc[1:]) == {series.BETWEEN}


def test_the_highest_of_six_hours_is_kept() -> None:
    six = {"air_temperature_max": 21.0, "air_temperature_min": 14.5, "precipitation_amount": 0.0}
    steps = [
        made.met_step(at(0), state(15.0), six=six),
        made.met_step(at(6), state(15.0), six=six | {"air_temperature_max": 15.2}),
        made.met_step(at(12), state(15.0)),
    ]
    temp = hours_of(steps)["temp_c"]
    assert temp.loc[at(2) : at(3)].to_numpy() == pytest.approx([20.0, 20.0])
    assert temp.loc[at(8) : at(9)].min() == pytest.approx(14.5 + 0.5 / 6)


def test_a_longer_silence_is_not_drawn() -> None:
    steps = [made.met_step(at(0), state()), made.met_step(at(1), state())]
    steps += [made.met_step(at(20), state()), made.met_step(at(21), state())]
    hours = hours_of(steps)
    assert hours["temp_c"].loc[at(2) : at(18)].isna().all()


def test_an_absent_variable() -> None:
    steps = [made.met_step(at(i), {"air_temperature": 12.0, "wind_speed": 2.0}) for i in range(3)]
    hours = hours_of(steps)
    assert hours["vapour_kpa"].isna().all()
    assert hours["temp_c"].tolist() == [12.0, 12.0]


@pytest.mark.parametrize(("name", "words"), [("wind_speed", "wind"), ("air_temperature", "temp")])
def test_an_unknown_unit(name: str, words: str) -> None:
    document = made.met_norway()
    document["properties"]["meta"]["units"][name] = "parsec"
    with pytest.raises(Refused, match=rf"api\.met\.no: .*{words}.* in 'parsec'"):
        metno.read(made.body(document), issued_at=ISSUED)
