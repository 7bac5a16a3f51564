"""What water asks for besides watering, from weather written by hand."""

from dataclasses import replace

import numpy as np
import pytest
from scenes import DAY, FIRST, HOUR, hours, pot, sky

from advisor.demand import groups
from advisor.jobs.beside import Kind, beside
from advisor.jobs.judge import When
from advisor.jobs.outlook import FROZEN, POT_C, RAIN_IN, ROWS, TENDER, Outlook, Standing
from advisor.jobs.recovery import recovery_of

AT = FIRST + 20 * DAY + 5 * HOUR
NOW = 24 * 20 + 5
MIDNIGHT = NOW - 7
IN_RECOVERY = recovery_of(pot("1", AT - 5 * DAY, root_work="half bare"), groups.find("pine"), 84.0)
DAMP = recovery_of(pot("1", AT - 5 * DAY, root_work="half bare"), groups.find("maple"), 84.0)
PINE = Kind(None, True)
RECOVERING = Kind(IN_RECOVERY, True)
BROAD = Kind(DAMP, False)
MAPLE = Kind(None, False)
SPRUCE = Kind(None, False)


def told(kind, air=None, rain=None, frozen=None, pot_c=None, tender=1.0, at=AT, target=np.nan):
    """What is asked of a tree at an instant; values are given by hours from AT."""
    rows = np.zeros((ROWS, 11 * 24), dtype=np.float32)
    rows[TENDER] = tender
    rows[POT_C] = 10.0
    for row, given in ((RAIN_IN, rain), (FROZEN, frozen), (POT_C, pot_c)):
        for hour, value in (given or {}).items():
            rows[row, NOW - MIDNIGHT + hour] = value
    weather = hours()
    temp = np.full(weather.temp_c.size, 15.0)
    for hour, value in (air or {}).items():
        temp[NOW + hour] = value
    standing = Standing(0.3, 0.3, 0.08, target, 2.0, 60.0, 5.0)
    when = When(sky(replace(weather, temp_c=temp), at), at, [at + 12 * HOUR, at + DAY])
    return beside(Outlook(MIDNIGHT, rows, standing), when, kind)


def asked(kind, **weather):
    """What is asked, by what is to be done: hours from AT and an amount."""
    found = told(kind, **weather)
    assert len({each.do for each in found}) == len(found)
    return {each.do: (each.start and (each.start - AT) / HOUR,
                      each.end and (each.end - AT) / HOUR, each.amount) for each in found}


def during(first, last, value):
    return dict.fromkeys(range(first, last), value)


def test_rain_need_not_be_kept_off_what_is_watered_now():
    rain = during(3, 9, 2.0)
    assert "keep_rain_off" in asked(RECOVERING, rain=rain)
    assert "keep_rain_off" not in asked(replace(RECOVERING, watered=True), rain=rain)


def test_mild_and_dry_nothing_is_asked():
    for kind in (PINE, RECOVERING, BROAD, MAPLE, SPRUCE):
        assert asked(kind) == {}


# --- rain ---------------------------------------------------------------------------------


def test_rain_is_kept_off_a_tree_on_the_dry_side():
    found = asked(RECOVERING, rain=during(30, 33, 2.0))
    assert found == {"keep_rain_off": (30.0, 33.0, pytest.approx(6.0))}


@pytest.mark.parametrize(("mm", "asked_for"), [
    (4.9, set()), (5.0, {"keep_rain_off"}), (14.9, {"keep_rain_off"}),
    (15.0, {"keep_rain_off", "tip"}),
])
def test_days_of_rain_ask_for_tipping_too(mm, asked_for):
    assert set(asked(RECOVERING, rain={10: mm})) == asked_for


@pytest.mark.parametrize(("kind", "mm", "asked_for"), [
    (PINE, 39.9, set()), (PINE, 40.0, {"tip"}), (SPRUCE, 90.0, set()), (MAPLE, 90.0, set()),
    (BROAD, 90.0, set()),
])
def test_another_tree_is_tipped_only_if_it_likes_to_dry(kind, mm, asked_for):
    assert set(asked(kind, rain={10: mm})) == asked_for


@pytest.mark.parametrize("kind", [PINE, RECOVERING])
def test_a_heavy_box_is_never_tipped(kind):
    assert "tip" in asked(kind, rain={10: 90.0})
    assert "tip" not in asked(replace(kind, heavy=True), rain={10: 90.0})


def test_rain_after_three_days_is_not_asked_about_yet():
    assert asked(RECOVERING, rain={71: 9.0})
    assert asked(RECOVERING, rain={72: 9.0}) == {}


def test_from_the_first_wet_hour_to_the_last():
    rain = {5: 0.04, 10: 3.0, 40: 3.0, 60: 0.06}
    assert asked(RECOVERING, rain=rain)["keep_rain_off"][:2] == (10.0, 61.0)


# --- frost --------------------------------------------------------------------------------

FROST_NIGHT = during(19, 23, -2.0)


@pytest.mark.parametrize("kind", [RECOVERING, BROAD])
def test_a_recovering_tree_is_brought_in_before_frost_and_taken_out_after(kind):
    air = FROST_NIGHT | {23: 1.0, 24: 1.9, 25: 2.1}
    found = asked(kind, air=air)
    assert found["bring_in"] == (19.0, 25.0, -2.0)
    assert found["take_out"][0] == 25.0
    assert set(found) == {"bring_in", "take_out"}


@pytest.mark.parametrize(("kind", "tender", "in_danger"), [
    (MAPLE, 1.0, True), (MAPLE, 0.0, False), (SPRUCE, 1.0, True), (SPRUCE, 0.0, False),
])
def test_frost_hurts_soft_leaves(kind, tender, in_danger):
    assert ("bring_in" in asked(kind, air=FROST_NIGHT, tender=tender)) == in_danger


@pytest.mark.parametrize("kind", [RECOVERING, BROAD, MAPLE])
@pytest.mark.parametrize(("degrees", "in_danger"), [
    (0.0, False), (-0.5, False), (-1.0, False), (-1.1, True)])
def test_a_little_frost_is_no_reason(kind, degrees, in_danger):
    assert ("bring_in" in asked(kind, air=during(19, 23, degrees))) == in_danger


def test_only_the_coming_night_counts():
    assert asked(RECOVERING, air=during(23, 27, -2.0))
    assert asked(RECOVERING, air=during(24, 28, -2.0)) == {}


NIGHTS = during(19, 23, -2.0) | during(43, 47, -4.0) | during(67, 71, -3.0)


def test_a_spell_of_three_nights_is_in_once_and_out_once():
    first = asked(MAPLE, air=NIGHTS)
    assert first == {"bring_in": (19.0, 71.0, -4.0)}  # out again is for a later round to say
    second = asked(MAPLE, air=NIGHTS, at=AT + DAY)
    assert second == {"bring_in": (43.0, 71.0, -4.0)}
    third = asked(MAPLE, air=NIGHTS, at=AT + 2 * DAY)
    assert third == {"bring_in": (67.0, 71.0, -3.0), "take_out": (71.0, None, 0.0)}
    assert asked(MAPLE, air=NIGHTS, at=AT + 3 * DAY) == {}


def test_a_spell_ends_where_a_day_stays_mild():
    nights = during(19, 23, -2.0) | during(48, 52, -4.0)
    found = asked(MAPLE, air=nights)
    assert found == {"bring_in": (19.0, 23.0, -2.0), "take_out": (23.0, None, 0.0)}


@pytest.mark.parametrize(("group", "degrees", "in_danger"), [
    ("citrus", -3.0, True), ("citrus", -0.9, False), ("azalea", -3.0, False),
    ("azalea", -6.1, True), ("spruce", -17.0, False)])
def test_roots_in_a_pot_bear_the_frost_of_their_group(group, degrees, in_danger):
    kind = Kind(None, False, groups.find(group).roots_bear_c)
    found = told(kind, pot_c=during(20, 26, degrees), tender=0.0)
    assert [(each.do, each.why) for each in found] == [
        ("bring_in", "frost in the roots"), ("take_out", "frost over")] * in_danger
    if in_danger:
        assert found[0].amount == pytest.approx(degrees)


def test_of_frost_in_leaf_and_roots_the_roots_are_told():
    found = told(replace(MAPLE, roots_bear_c=-9.0), air=during(19, 23, -14.0),
                 pot_c={22: -10.0})
    assert (found[0].why, found[0].amount) == ("frost in the roots", -10.0)


@pytest.mark.parametrize(("kind", "why"), [
    (RECOVERING, "frost in recovery"), (BROAD, "frost in recovery"), (MAPLE, "frost in leaf")])
def test_why_it_is_brought_in(kind, why):
    assert told(kind, air=FROST_NIGHT)[0].why == why


def test_frost_within_the_hour_is_brought_in_now():
    assert asked(MAPLE, air=during(0, 2, -2.0))["bring_in"][0] is None


def test_where_it_stays_cold_it_is_not_taken_out_again():
    cold = asked(RECOVERING, air=during(19, 300, -2.0))
    assert cold["bring_in"][1] is None
    assert "take_out" not in cold
    long = asked(RECOVERING, air=during(19, 34, -2.0))
    assert long["bring_in"][1] == 34.0  # later than tomorrow noon: another round will say so
    assert "take_out" not in long


# --- heat, frozen pots ----------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "degrees", "asked_for"), [
    (RECOVERING, 32.0, True), (BROAD, 34.0, True), (RECOVERING, 31.9, False), (PINE, 40.0, False),
])
def test_heat_asks_for_shade_where_there_are_few_roots(kind, degrees, asked_for):
    found = asked(kind, air=during(6, 10, degrees))
    assert found == ({"shade": (6.0, 10.0, degrees)} if asked_for else {})


@pytest.mark.parametrize(("target", "why"), [
    (np.nan, "cannot last"), (32.0, "roots cannot keep up")])
def test_a_tree_that_cannot_last_is_shaded(target, why):
    (shade,) = told(replace(PINE, beyond=True), target=target)
    assert (shade.do, shade.why) == ("shade", why)
    assert (shade.start, shade.end) == (AT, AT + 12 * HOUR)


def test_a_frozen_pot_is_left_until_the_thaw():
    found = asked(PINE, frozen=during(-2, 6, 1.0))
    assert found == {"frozen_leave": (0.0, 6.0, 0.0)}
    assert asked(PINE, frozen=during(-7, 257, 1.0))["frozen_leave"][1] is None
    assert asked(PINE, frozen=during(1, 6, 1.0)) == {}
