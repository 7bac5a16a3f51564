"""The rain butt: what comes, what goes, how long it lasts, who gets it first."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as some

from advisor.errors import Refused
from advisor.jobs.rain.butts import (
    COVERINGS,
    MANY,
    Butt,
    Roof,
    caught_l,
    course,
    dipped,
    lasts,
    level_now,
    refuse_odd,
    shared_out,
    size_curve,
    turn,
    would_do,
)

AMOUNTS = some.arrays(float, 60, elements=st.floats(0.0, 200.0))


@settings(max_examples=60, deadline=None)
@given(in_l=AMOUNTS, wanted=AMOUNTS, size=st.floats(5.0, 2000.0), start=st.floats(0.0, 1.0))
def test_the_balance_closes(in_l, wanted, size, start) -> None:
    made = course(start * size, size, in_l, wanted)
    before = np.append(start * size, made.level_l[:-1])
    np.testing.assert_allclose(before + in_l, made.level_l + made.given_l + made.spilled_l,
                               atol=1e-9)
    np.testing.assert_allclose(made.given_l + made.lacking_l, wanted, atol=1e-9)
    assert made.level_l.min() >= 0.0
    assert made.level_l.max() <= size + 1e-9
    assert min(made.given_l.min(), made.spilled_l.min(), made.lacking_l.min()) >= 0.0


@settings(max_examples=60, deadline=None)
@given(in_l=AMOUNTS, wanted=AMOUNTS, size=st.floats(5.0, 2000.0))
def test_a_larger_butt_never_gives_less(in_l, wanted, size) -> None:
    small, large = (course(0.0, each, in_l, wanted).given_l.cumsum() for each in (size, 2 * size))
    assert np.all(large >= small - 1e-9)


@pytest.mark.parametrize(("rain", "wanted"), [(2.0, 25.0), (2.0, 15.0), (0.0, 10.0)])
def test_constant_rain_gives_the_closed_form(rain: float, wanted: float) -> None:
    """What is given in n days is min(n·D, V0 + (n−1)·Q) where the butt never spills over."""
    days, start, roof = 40, 100.0, Roof(10.0, "tiles")
    each = 10.0 * 0.8 * rain
    size = start + days * each
    made = course(start, size, caught_l([roof], np.full(days, rain)), np.full(days, wanted))
    n = np.arange(1, days + 1)
    assert made.given_l.cumsum() == pytest.approx(np.minimum(n * wanted,
                                                             start + (n - 1) * each))


def test_a_full_butt_in_steady_rain_spills_what_is_not_taken() -> None:
    made = course(200.0, 200.0, np.full(10, 50.0), np.full(10, 20.0))
    assert made.spilled_l == pytest.approx(np.full(10, 30.0))


def test_the_first_rain_of_a_spell_is_led_away() -> None:
    rain = np.array([0.0, 5.0, 5.0, 0.1, 0.3, 0.0, np.nan, 2.0])
    got = caught_l([Roof(10.0, "gravel", 0.5)], rain)
    assert got == pytest.approx(6.0 * np.array([0.0, 4.5, 5.0, 0.1, 0.0, 0.0, 0.0, 1.5]))


def test_roofs_add_up_and_a_coefficient_has_a_range() -> None:
    rain = np.array([10.0])
    both = caught_l([Roof(10.0), Roof(5.0, "metal")], rain)
    assert both == pytest.approx(caught_l([Roof(10.0)], rain) + caught_l([Roof(5.0, "metal")],
                                                                         rain))
    low, high = (caught_l([Roof(10.0)], rain, along)[0] for along in (0.0, 1.0))
    assert (low, high) == pytest.approx((75.0, 90.0))
    assert all(each.low <= each.value <= each.high < 1.0 for each in COVERINGS.values())


def test_the_level_spreads_with_the_rain_since_the_reading() -> None:
    roofs = [Roof(20.0)]
    dry = level_now((100.0, 2.0), 500.0, roofs, np.zeros(5), np.full(5, 10.0))
    wet = level_now((100.0, 2.0), 500.0, roofs, np.full(5, 4.0), np.full(5, 10.0))
    assert dry.shape == wet.shape == (MANY,)
    assert np.median(dry) == pytest.approx(50.0, abs=1.0)
    assert np.median(wet) == pytest.approx(50.0 + 5 * 20 * 4 * 0.825, rel=0.02)
    assert wet.std() > 3 * dry.std()
    assert level_now((100.0, 2.0), 500.0, roofs, np.zeros(0), np.zeros(0)).mean() == pytest.approx(
        100.0)


def test_days_it_lasts() -> None:
    days = course(np.full(MANY, 100.0), 200.0, np.zeros((MANY, 20)), np.full(20, 11.0))
    assert (lasts(days, 200.0).low, lasts(days, 200.0).high) == (9, 9)
    assert lasts(days, 200.0).dry_chance == 1.0
    rain = np.zeros((MANY, 20))
    rain[::2, 3] = 500.0  # half of them are filled on the fourth day
    half = lasts(course(np.full(MANY, 100.0), 200.0, rain, np.full(20, 9.0)), 200.0)
    assert half.dry_chance == 0.5
    assert (half.low, half.high) == (11, None)


def test_what_size_would_have_lasted() -> None:
    year = np.repeat(np.arange(2010, 2020), 100)
    rain = np.tile(np.append(np.full(10, 100.0), np.zeros(90)), 10)
    wanted = np.tile(np.append(np.zeros(10), np.full(90, 10.0)), 10)
    curve = size_curve([100.0, 450.0, 900.0, 2000.0], rain, wanted, year)
    assert [each.years_lasted for each in curve] == [0, 0, 10, 10]
    assert [each.share_given for each in curve] == pytest.approx([1 / 9, 0.5, 1.0, 1.0])
    assert curve[0].dry_days == 80.0
    enough = would_do(curve)
    assert enough is not None
    assert enough.litres == 900.0
    assert would_do(curve[:2]) is None


def test_who_gets_it_first() -> None:
    """Lime-haters, then maples and small pots, pines last: common practice."""
    trees = [("pine", False), ("oak", False), ("maple", False), ("azalea", False), ("oak", True),
             ("pine", True), ("azalea", True)]
    assert [turn(*each) for each in trees] == [3, 2, 1, 0, 1, 3, 0]
    given_l = shared_out(5.0, [(turn(*each), 1.5) for each in trees[:5]])
    assert given_l == pytest.approx([0.0, 0.5, 1.5, 1.5, 1.5])


def test_a_dip_reading() -> None:
    assert dipped(Butt(300.0, 1000.0), 400.0) == (pytest.approx(120.0), pytest.approx(3.0))
    with pytest.raises(Refused, match="dip reading: 1200 mm"):
        dipped(Butt(300.0, 1000.0), 1200.0)
    with pytest.raises(Refused, match="a butt whose height is told"):
        dipped(Butt(300.0), 10.0)


@pytest.mark.parametrize(("roof", "butt", "what"), [
    (Roof(0.0), Butt(200.0), "roof: 0 m²"),
    (Roof(10.0, "tile"), Butt(200.0), "Did you mean 'tiles'"),
    (Roof(10.0, "tiles", 40.0), Butt(200.0), "first flush: 40 mm"),
    (Roof(10.0), Butt(1.0), "rain butt: 1 L"),
])
def test_what_is_refused(roof, butt, what) -> None:
    with pytest.raises(Refused, match=what):
        refuse_odd([roof], [butt])
