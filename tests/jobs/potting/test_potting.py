"""Choices of pot and mix beside each other, over past years."""

from dataclasses import replace
from datetime import UTC, datetime
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import DAY, known, sky, tree
from scenes import hours as spells

from advisor.balance import layout
from advisor.errors import Refused
from advisor.jobs.potting.choices import Known, read_choice
from advisor.jobs.potting.compare import compare, holds_of, interval
from advisor.jobs.potting.past_weather import COUNT, Keeper, Stage, kept, poured_l, waterings
from advisor.pot.shape import OUTLINES

FIRST = datetime(2024, 1, 1, tzinfo=UTC)
DAYS = 400
KNOWLEDGE = known(tree("1", "pine", FIRST, crown=40.0))
LEAFY = known(tree("1", "maple", FIRST, crown=40.0))
NOW = Known(KNOWLEDGE.mixes, {}, KNOWLEDGE.potting_of("1"))
BASE = "rectangle 350x250x80; pumice"


def weather(hotter: float = 1.0, days: int = DAYS):
    """A year with a winter: spells and showers of `scenes.hours`, the sun of the season."""
    made = spells(days, FIRST, mean_c=4.0)
    season = (1.0 - np.cos(2.0 * np.pi * (np.arange(24 * days) / 24.0 - 10.0) / 365.25)) / 2.0
    return replace(made, temp_c=made.temp_c + 16.0 * season, et0_mm={
        place: et0 * (0.15 + 0.95 * season) * hotter for place, et0 in made.et0_mm.items()})


@cache
def stage(hotter: float = 1.0, leafy: bool = False) -> Stage:
    at = FIRST + DAYS * DAY
    return Stage(LEAFY if leafy else KNOWLEDGE, sky(weather(hotter), at), "1", at)


def choice(words: str):
    return read_choice(words, NOW)


@cache
def outcome(words: str, hotter: float = 1.0, leafy: bool = False):
    return compare(stage(hotter, leafy), [choice(words)]).outcomes[0]


def holds(words: str):
    return holds_of(stage(), choice(words))


# --- what it holds -----------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(depth=st.floats(35.0, 150.0), more=st.floats(0.0, 60.0),
       outline=st.sampled_from(sorted(OUTLINES)),
       mix=st.sampled_from(["pumice", "akadama", "40% akadama, 30% pumice, 30% lava", "loam"]))
def test_a_deeper_pot_never_holds_less(depth, more, outline, mix) -> None:
    low, deep = (holds(f"{outline} 350x250x{each:.2f}; {mix}") for each in (depth, depth + more))
    assert deep.held_l >= low.held_l - 1e-9
    assert deep.available_l >= low.available_l - 1e-9


@pytest.mark.parametrize(("fine", "coarse"), [
    ("akadama 1-3", "akadama 2-5"), ("pumice 2-5", "pumice 5-10"),
    ("50% akadama 1-3, 50% pumice 2-5", "50% akadama 2-5, 50% pumice 5-10")])
@pytest.mark.parametrize("height", [40, 80, 150])
def test_coarser_grains_never_hold_more(fine, coarse, height) -> None:
    size = f"rectangle 350x250x{height}"
    assert holds(f"{size}; {coarse}").held_l <= holds(f"{size}; {fine}").held_l


def test_weights_add_up() -> None:
    made = holds(BASE)
    assert made.wet_kg == pytest.approx(made.dry_kg + made.held_l)
    assert made.dry_kg == pytest.approx(0.50 * made.soil_l)  # density of pumice, physics table
    assert 0.0 < made.available_l < made.held_l < made.soil_l


def test_air_and_water_fill_the_pores() -> None:
    made = holds(BASE)
    assert made.air_share + made.held_l / made.soil_l == pytest.approx(0.68, abs=0.005)


def test_the_wet_layer_at_the_base_does_not_depend_on_the_depth() -> None:
    """Rest hangs on the height above the hole, so a shallow pot is wet for more of its depth."""
    shallow, deep = holds("350x250x60; pumice"), holds("350x250x120; pumice")
    assert shallow.wet_base_mm == pytest.approx(deep.wet_base_mm, abs=0.5)
    assert shallow.air_share < deep.air_share


def test_a_drainage_layer_takes_water_away() -> None:
    """It takes water from the pot far more often than it adds any (Rowe 2025)."""
    made = holds(f"{BASE}; drainage 15")
    assert made.held_without_drainage_l is not None
    assert made.held_l < made.held_without_drainage_l
    assert made.held_without_drainage_l == pytest.approx(holds(BASE).held_l)
    assert holds(BASE).held_without_drainage_l is None


# --- how often it wants water ------------------------------------------------------------


def test_a_hotter_year_never_has_longer_intervals() -> None:
    usual, hot = outcome(BASE), outcome(BASE, hotter=1.4)
    both = [(a, b) for a, b in zip(usual.months, hot.months, strict=True) if a and b]
    assert len(both) >= 6
    assert all(b.median_d <= a.median_d and b.tenth_d <= a.tenth_d for a, b in both[1:-1])
    assert hot.waterings > usual.waterings
    assert hot.litres > usual.litres
    assert hot.twice_share >= usual.twice_share
    assert hot.harm_days >= usual.harm_days


def test_summer_is_shorter_than_spring_and_a_small_pot_shorter_still() -> None:
    usual, small = outcome(BASE), outcome("small pot 120x90x40; pumice")
    assert usual.months[6].median_d < usual.months[3].median_d
    assert small.months[6].median_d < usual.months[6].median_d
    assert small.twice_share > usual.twice_share
    assert small.harm_days > usual.harm_days
    assert not small.would_do


def test_a_roomy_box_would_do() -> None:
    made = outcome("box 600x450x160; as now")
    assert made.would_do
    assert made.months[6].median_d > outcome(BASE).months[6].median_d


def test_waterings_are_counted_once_each() -> None:
    """Without rain, what was poured is what left the pot, and each watering fills it."""
    here = stage()
    model, happens = here.happens(choice(BASE), FIRST, "none", (0, here.hours))
    happens.hours[:, layout.RAIN] = 0.0
    drawn = np.array([[1.0], [1.0], [1e-5], [0.35]])
    even = replace(happens, noise=np.ones((len(happens.noise), 1)),
                   coin=np.ones((len(happens.coin), 1)))
    keeper = Keeper(np.isin(here.hour_of_day, (7, 19)))
    path = kept(model, even, keeper, drawn)
    marks = waterings(model, even, keeper, path.left, drawn)[:, 0]
    assert poured_l(model, path.left, marks[:, None], drawn).sum() == pytest.approx(
        float(path.totals_mm[2:, 0].sum()) * model.filled.pot.surface_m2 * 1.15,
        rel=0.03)  # but for the hour before
    at = np.flatnonzero(marks)
    assert at.size > 50
    assert path.left[at, 0].min() > 0.98
    assert path.left[at - 1, 0].max() < model.bears.limit + 0.05
    assert path.left[:, 0].min() > model.bears.limit - 0.35
    gaps = interval(here, marks[:, None], 7)
    july = at[here.month[at] == 7]
    assert gaps.median_d == np.median(np.diff(np.append(july, at[at > july[-1]][:1]))) / 24


def test_a_month_without_waterings_says_nothing() -> None:
    assert interval(stage(), np.zeros((stage().hours, COUNT), dtype=bool), 7) is None


# --- recovery ----------------------------------------------------------------------------


def test_days_to_dry_to_the_target() -> None:
    """After autumn repotting, rain kept off: to 25 mm in 4-10 days (common practice)."""
    made = outcome("350x250x100; 40% akadama, 30% pumice, 30% lava")
    low, mid, high = made.to_target_d
    assert made.target_mm == pytest.approx(29.8, abs=0.1)
    assert 3.0 <= low <= mid <= high <= 21.0


def test_broad_leaved_trees_have_no_target() -> None:
    made = outcome(BASE, leafy=True)
    assert (made.to_target_d, made.target_mm) == (None, None)


def test_month_of_repotting_by_kind_and_side() -> None:
    assert compare(stage(), [choice(BASE)]).repot_month == 9
    assert compare(stage(leafy=True), [choice(BASE)]).repot_month == 3
    assert compare(stage(), [choice(BASE)], repot_month=5).repot_month == 5


# --- the whole ---------------------------------------------------------------------------


def test_choices_stand_beside_each_other_in_their_order() -> None:
    done: list[int] = []
    texts = [BASE, "as now", "round 300x90; kanuma; drainage 10"]
    made = compare(stage(), [choice(each) for each in texts], progress=done.append)
    assert [each.choice.words for each in made.outcomes] == texts
    assert done == [0, 1, 2, 3]
    assert made.warm_month in (6, 7, 8)
    assert made.years == pytest.approx(DAYS / 365.25, abs=0.01)


def test_a_choice_is_the_same_whatever_stands_beside_it() -> None:
    texts = ["as now", BASE]
    beside = compare(stage(), [choice(each) for each in texts]).outcomes[1]
    assert beside.waterings == outcome(BASE).waterings
    assert beside.months == outcome(BASE).months


def test_what_moves_it_most_is_the_tree_itself() -> None:
    made = compare(stage(), [choice(BASE)]).moves
    assert made[0].what == "how much this tree drinks"
    assert all(each.low_d <= each.high_d for each in made)
    assert {each.what.split()[1] for each in made} >= {"much", "deep"}


def test_too_little_weather_is_refused() -> None:
    at = FIRST + 90 * DAY
    with pytest.raises(Refused, match="weather of past years: 90 days"):
        compare(Stage(KNOWLEDGE, sky(weather(days=90), at), "1", at), [choice(BASE)])
