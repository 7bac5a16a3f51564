"""Sentence by sentence: what stands behind a verdict."""

from dataclasses import replace
from datetime import timedelta

import pytest
from rounds_made import AT, BENCH, EVENING, TOMORROW, Told, local, round_of, tree

from advisor.garden.records import Place
from advisor.jobs.beside import Beside
from advisor.jobs.judge import Reached
from advisor.jobs.recovery import Recovery
from advisor.show.reasons import Words, beside_words, reasons, state

ROOFED = Place("overhang", 3, rain_factor=0.1)
RECOVERY = Recovery(AT - timedelta(days=3), AT + timedelta(days=39), 32.0, dry=True)
TO_TARGET = Told(dry_mm=(8.0, 19.0, 27.0), left=(0.4, 0.55, 0.7), target_mm=32.0, chance=0.01,
                 recovery=RECOVERY, reached=Reached(None, None, None), next=None)


def said(told, temp_c=18.0, us=False):
    one = tree("1", told)
    return reasons(one, Words(round_of([one], temp_c), us))


@pytest.mark.parametrize(("left", "word"), [(1.0, "damp"), (0.75, "damp"), (0.74, "drying"),
                                            (0.45, "drying"), (0.44, "dry on top"),
                                            (0.25, "dry on top"), (0.24, "dry"), (-0.1, "dry")])
def test_words_before_numbers(left, word):
    assert state(left) == word


def test_less_than_nothing_left_is_nothing():
    assert said(Told("water_now", left=(-0.2, -0.05, 0.1), chance=1.0, litres=1.0)) == [
        "dry: about 0 % of its water left (0-10 %), wants it at 30 %",
        "100 % chance of falling below 30 % by this evening"]


def test_a_tree_to_be_left_needs_no_chance():
    assert said(Told()) == ["damp: about 80 % of its water left (60-90 %), wants it at 30 %"]


def test_later_today_says_until_when_it_would_last():
    assert said(Told("water_later", chance=0.1))[1] == (
        "should fall below that by tomorrow morning unless watered this evening")


@pytest.mark.parametrize(("verdict", "told", "sentence"), [
    ("water_now", {"at_target": 0.84}, "84 % sure that it has dried to its depth"),
    ("water_now", {"chance": 0.45}, "45 % chance that the soil its roots are in falls to the last "
     "15 % of its water: do not wait for the depth"),
    ("leave", {}, "does not dry to its depth in the 13 days foreseen"),
    ("leave", {"reached": None}, "does not dry to its depth in the 13 days foreseen"),
    ("leave", {"reached": Reached(None, local("2026-07-04T15:00"), None)},
     "reaches its depth Saturday afternoon"),
    ("leave", {"reached": Reached(TOMORROW, local("2026-07-04T15:00"), None)},
     "reaches its depth Saturday afternoon (tomorrow morning at the earliest)"),
    ("leave", {"reached": Reached(TOMORROW, TOMORROW, TOMORROW)},
     "reaches its depth tomorrow morning"),
    ("leave", {"reached": Reached(AT, TOMORROW, local("2026-07-02T12:00"))},
     "reaches its depth tomorrow morning (this morning at the earliest, tomorrow midday at the "
     "latest)"),
    ("leave", {"next": local("2026-07-03T07:00"),
               "reached": Reached(TOMORROW, local("2026-07-04T15:00"), None)},
     "the soil its roots are in wants water before it reaches its depth Saturday afternoon")])
def test_a_tree_kept_dry_says_when_it_reaches_its_depth(verdict, told, sentence):
    assert said(replace(TO_TARGET, verdict=verdict, **told))[1] == sentence


@pytest.mark.parametrize(("ball", "ends"), [
    (0.48, "% of its water left, 48 % in the old root ball"), (-0.1, ", 0 % in the old root ball"),
    (float("nan"), "55 % of its water left")])
def test_the_old_root_ball_is_told_where_there_is_one(ball, ends):
    assert said(replace(TO_TARGET, ball=ball))[0].endswith(ends)


def test_looking_at_a_tree_kept_dry_is_a_skewer_to_its_target():
    look = said(replace(TO_TARGET, verdict="look_first", call="leave"))
    assert look[2] == ("the figures are unsure: push a skewer; dry to 32 mm or deeper, water it; "
                       "less, leave it")


@pytest.mark.parametrize(("recovery", "sentence"), [
    (RECOVERY, "day 4 after repotting"),
    (replace(RECOVERY, target_mm=None), "day 4 after repotting: under 35 mm of soil nothing dries "
     "on top alone, so it is judged by the water left, a little later than usual"),
    (replace(RECOVERY, dry=False, target_mm=None),
     "day 4 after repotting: kept evenly damp; only evergreen conifers wait to dry")])
def test_how_a_repotted_tree_is_kept(recovery, sentence):
    assert said(Told(recovery=recovery))[-1] == sentence


@pytest.mark.parametrize(("rain", "sentence"), [
    ((14, 7.6), "about 8 mm of rain should reach its soil, most of it this evening"),
    ((22, 7.6), "about 8 mm of rain should reach its soil, most of it tomorrow morning"),
    ((14, 2.9), None), ((60, 20.0), None)])
def test_rain_to_come_is_told_where_it_matters(rain, sentence):
    assert said(Told(rain=rain))[1:] == ([sentence] if sentence else [])


@pytest.mark.parametrize(("place", "temp_c", "told"), [
    (ROOFED, 2.0, True), (ROOFED, 18.0, False), (BENCH, 2.0, False), (None, 2.0, False)])
def test_pots_under_a_roof_are_remembered_in_the_cold(place, temp_c, told):
    sentences = said(Told(place=place), temp_c)
    assert ("under a roof in the cold: no rain reaches it, so look at it now and then"
            in sentences) == told


@pytest.mark.parametrize(("why", "amount", "sentence"), [
    ("rain in recovery", 18.2, "keep the rain off from 19:00 to Thu 2 Jul 07:00: about 18 mm "
     "would undo the drying"),
    ("days of rain", 41.0, "tip the pot on a long edge from 19:00 to Thu 2 Jul 07:00, if the rain "
     "(41 mm) cannot be kept off"),
    ("heat in recovery", 33.6, "shade it from 19:00 to Thu 2 Jul 07:00: 34 °C expected, and few "
     "roots"),
    ("cannot last", 0.0, "even full it may not last until this evening: shade it, or look again "
     "before"),
    ("roots cannot keep up", 0.0, "it drinks faster than the soil its roots are in can give: "
     "shade it well, and keep the wind off"),
    ("frost in recovery", -2.4, "bring it in before 19:00: frost to -2 °C expected, and few roots"),
    ("frost in leaf", -2.4, "bring it in before 19:00: frost to -2 °C expected, and soft leaves"),
    ("frost in the roots", -3.0, "bring it in before 19:00, or pack it: -3 °C in the pot expected, "
     "more than its roots may bear"),
    ("frost over", 0.0, "take it out again at 19:00"),
    ("frozen", 0.0, "frozen: leave it until the thaw (Thu 2 Jul 07:00), then see whether it wants "
     "water")])
def test_what_water_asks_for_besides(why, amount, sentence):
    words = Words(round_of([]))
    assert beside_words(Beside("", EVENING, TOMORROW, why, amount), words) == sentence


@pytest.mark.parametrize(("why", "amount", "sentence"), [
    ("frozen", 0.0, "frozen: leave it until the thaw, then see whether it wants water"),
    ("rain in recovery", 7.0, "keep the rain off from now on: about 7 mm would undo the drying"),
    ("frost in leaf", -2.0, "bring it in now: frost to -2 °C expected, and soft leaves")])
def test_what_has_begun_and_ends_out_of_sight(why, amount, sentence):
    assert beside_words(Beside("", None, None, why, amount), Words(round_of([]))) == sentence


@pytest.mark.parametrize("why", ["frost in leaf", "frost in recovery", "frost in the roots"])
def test_no_frost_is_of_minus_nothing(why):
    said = beside_words(Beside("bring_in", EVENING, None, why, -0.4), Words(round_of([])))
    assert "0 °C" in said
    assert "-0" not in said
