"""The season behind, tree by tree."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scenes import DAY, FIRST, HOUR, hours, known, pot, sky, tree

from advisor.errors import Refused
from advisor.garden.records import Event, Rounds, Watering
from advisor.jobs.year import learned, tree_years

END = FIRST + 60 * DAY
#: Nobody is taken to have watered on days without an entry.
NO_ROUNDS = [Rounds(season, ("07:00",), ("sun",)) for season in
             ("spring", "summer", "autumn", "winter")]


def told(records, year=2026, at=END, weather=None, members=None):
    knowledge = known([*NO_ROUNDS, *records])
    seen = sky(weather or hours(60), at)
    return {each.label: each for each in tree_years(knowledge, seen, year, at, members)}


def every(days: int, label: str = "1") -> list[Watering]:
    return [Watering(label, FIRST + i * DAY + 5 * HOUR) for i in range(1, 60, days)]


def test_what_comes_in_goes_out_or_stays() -> None:
    made = told([*tree("1", "pine", FIRST), *every(1)])["1"]
    assert made.days == 61  # of the local calendar
    assert made.waterings == 59
    assert 5.0 < made.drunk_l < made.poured_l + made.rain_l
    dry = told([*tree("1", "pine", FIRST), *every(1)], weather=hours(60, rain=False))["1"]
    assert dry.rain_l == 0.0
    # all it drank was poured but for what it held at first; .15 runs through
    assert 0.95 * dry.drunk_l - 2.0 < dry.poured_l / 1.15 < 1.02 * dry.drunk_l
    assert made.month_l.sum() == pytest.approx(made.drunk_l)
    assert made.month_l[[5, 6]].min() > 0
    assert made.month_l[[0, 11]].sum() == 0
    assert made.place == "bench"
    assert made.learned is None


def test_a_tree_left_alone_stands_dry() -> None:
    dry, other = hours(60, rain=False), [*tree("2", "pine", FIRST), *every(1, "2")]
    left, kept = (told([*tree("1", "pine", FIRST), *waterings, *other], weather=dry)["1"]
                  for waterings in ([], every(1)))
    assert left.days_past_limit > 20
    assert left.days_past_harm > 5
    assert kept.days_past_harm == 0
    assert left.driest[0].left < kept.driest[0].left
    assert [d.left for d in left.driest] == sorted(d.left for d in left.driest)
    assert len(left.driest) == 3
    assert left.rain_l == 0.0
    assert kept.drunk_l > left.drunk_l


def test_how_dry_it_stood_counts_only_where_something_was_told() -> None:
    dry = hours(60, rain=False)
    made = told([*tree("1", "pine", FIRST), Watering("1", FIRST + 40 * DAY)], weather=dry)["1"]
    assert made.days_told == 4  # the day of the watering, and three after it
    assert {d.day for d in made.driest} <= {(FIRST + i * DAY).date() for i in (40, 41, 42, 43)}
    assert made.days_past_limit <= 4


def test_rain_reaches_the_pot_as_far_as_its_place_lets_it() -> None:
    open_, shade = (told(tree("1", "pine", FIRST, place=place))["1"] for place in
                    ("bench", "shade"))
    assert 0.0 < shade.rain_l <= 0.2 * open_.rain_l  # needles keep their share of every shower


def test_every_pot_of_the_year_counts() -> None:
    later = FIRST + 30 * DAY
    one = told([*tree("1", "pine", FIRST), *every(1)])["1"]
    two = told([*tree("1", "pine", FIRST), pot("1", later), *every(1)])["1"]
    assert two.days in (one.days, one.days + 1)
    assert two.drunk_l == pytest.approx(one.drunk_l, rel=0.05)
    assert two.waterings == one.waterings


def test_a_tree_that_is_gone_counts_up_to_then() -> None:
    made = told([*tree("1", "pine", FIRST), Event("1", FIRST + 20 * DAY, "gone"), *every(1)])["1"]
    assert made.days == 21


def test_only_the_year_asked_for() -> None:
    first = datetime(2025, 12, 1, tzinfo=UTC)
    weather, at = hours(60, first), first + 60 * DAY
    before, after = (told(tree("1", "pine", first), year, at, weather)["1"]
                     for year in (2025, 2026))
    assert before.month_l[0] == 0.0
    assert after.month_l[11] == 0.0
    assert before.days == 31
    assert after.days == 30
    with pytest.raises(Refused, match="year: 2020. Wanted: 2025 to 2026"):
        told(tree("1", "pine", first), 2020, at, weather)


def test_a_tree_without_a_pot_is_left_out() -> None:
    assert set(told([*tree("1", "pine", FIRST), *tree("2", "pine", END - 2 * DAY),
                     tree("3", "pine", FIRST)[0]])) == {"1", "2"}


def test_what_was_learned() -> None:
    members = np.ones((4, 64))
    members[0] = np.linspace(1.0, 1.4, 64)
    made = told(tree("1", "pine", FIRST), members={"1": members})["1"]
    assert made.learned == learned(members)
    assert made.learned.mid == pytest.approx(1.2)
    assert (made.learned.low, made.learned.high) == pytest.approx((1.02, 1.38))


def test_the_present_year_ends_now() -> None:
    at = FIRST + 20 * DAY + timedelta(hours=3)
    made = told([*tree("1", "pine", FIRST), *every(1)], at=at, weather=hours(60))["1"]
    assert made.days <= 21
    assert replace(made.driest[0]).day < at.date() + timedelta(days=1)
