"""The page of a recovering tree: cycles, demand, the way back, and what threatens it."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from scenes import DAY, FIRST, HOUR, Diary, changed, hours, known, sky, tree, until, utc

from advisor.errors import Refused
from advisor.garden.records import Event, Record, Walk, Watering
from advisor.jobs.followed import Followed, follow
from advisor.jobs.judge import LEAVE, WATER_NOW, Call, Reached, Spread
from advisor.jobs.recovering import Page, cycles, page, recovering, watered_before
from advisor.jobs.threats import TIPS_DEG, Threat, frosts
from advisor.pot.capacity import rest_contents
from advisor.pot.shape import layers

POTTED = FIRST + 2 * DAY + 10 * HOUR
NOW = POTTED + 10 * DAY
WALKS: list[Record] = [Walk(FIRST + i * DAY + 5 * HOUR) for i in range(60)]
PINE = [*tree("1", "pine", POTTED, root_work="half bare"), *WALKS]
DRY = hours(rain=False, et0_mm=3.0)


def followed(records: list[Record], at: datetime = NOW, weather=DRY) -> Followed:
    knowledge = known(records, at=at)
    return follow(knowledge, sky(weather, at), "1", at)


def pages(records: list[Record], at: datetime = NOW, weather=DRY, wind=None) -> Page:
    return page(followed(records, at, weather), wind)


def raining(mm: float, at: datetime, hours_long: int = 4, weather=DRY):
    """The same weather with rain from an instant on, spread over some hours."""
    start = int((at - FIRST) / HOUR)
    return changed(weather, slice(start, start + hours_long), mm / hours_long, "rain_mm")


def of(kind: str, found: Page) -> list[Threat]:
    return [each for each in found.threats if each.kind == kind]


# --- where it stands -------------------------------------------------------------------------


def test_the_page_and_the_round_say_the_same():
    worked = Diary(PINE, DRY).walk(NOW)
    (state,) = recovering(worked.round)
    found = pages(PINE, weather=until(DRY, NOW)).state
    assert (found.left, found.dry_mm, found.reaches) == (state.left, state.dry_mm, state.reaches)
    assert (found.recovery, found.tree, found.place) == (state.recovery, state.tree, state.place)


def test_only_trees_whose_roots_were_worked_are_listed_until_a_week_after_the_end():
    records = [*PINE, *tree("2", "pine", POTTED),
               *tree("3", "maple", POTTED, root_work="half bare")]
    listed = {}
    for days in (1, 41, 43, 48, 50):
        at = POTTED + days * DAY
        listed[days] = [state.tree.label for state in recovering(
            Diary(records, hours(70, rain=False)).walk(at).round)]
    # the maple, kept evenly damp, has nothing to come back from
    assert listed == {1: ["1", "3"], 41: ["1", "3"], 43: ["1"], 48: ["1"], 50: []}


def test_a_tree_that_does_not_recover_has_no_page():
    with pytest.raises(Refused, match="recovery of 1: none now"):
        pages([*tree("1", "pine", POTTED), *WALKS])
    with pytest.raises(Refused, match="none now"):
        pages(PINE, POTTED + 50 * DAY, hours(70, rain=False))


def test_a_tree_without_a_pot_cannot_be_followed():
    with pytest.raises(Refused, match="tree 1: no pot at that time"):
        followed(PINE, POTTED - DAY)


def test_demand_comes_back_with_warmth_from_what_the_root_work_left():
    """C = 1 - (1 - C0) exp(-G/250), C0 = (1 - r)^1.2, G over 6 °C (jobs and plant say so)."""
    even = replace(DRY, temp_c=np.full(DRY.temp_c.size, 16.0))
    found = pages(PINE, weather=even)
    assert found.warmth_cd == pytest.approx(10.0 * 11, abs=10.0)  # eleven days of ten degrees
    early = pages(PINE, POTTED + HOUR, even)
    assert early.demand_share < found.demand_share < 1.0
    lost = 1.0 - found.demand_share
    at_first = 1.0 - early.demand_share
    assert lost / at_first == pytest.approx(
        np.exp(-(found.warmth_cd - early.warmth_cd) / 250.0), rel=1e-6)


def test_it_comes_back_within_a_week_of_the_end():
    found = pages(PINE)
    assert found.state.recovery.ends == POTTED + 42 * DAY
    assert found.state.back == POTTED + 49 * DAY
    assert (found.limit_after, found.limit_usual) == (pytest.approx(0.20), 0.30)


# --- cycles ----------------------------------------------------------------------------------


def dried(records: list[Record]) -> datetime:
    """Give when half of the guesses are dry to the target, nothing poured."""
    made = followed(records, POTTED + DAY)
    hour = np.flatnonzero(made.coming.joined("dry_mm").__ge__(
        made.model.recovery.target_mm).mean(axis=1) >= 0.5)[0]
    return made.told.sky.instant(made.now.index + int(hour))


def verdict(what, low, next_at, chance=0.0):
    """A call as far as it matters here: its target is reached in three days."""
    some = Spread(0.0, 0.0, 0.0)
    return Call(what, some, some, 0.0, chance, 0.0, next_at, None, low, 0.0)


@pytest.mark.parametrize(("call", "before"), [
    (verdict(LEAVE, None, NOW + DAY), None),
    (verdict(LEAVE, Reached(None, NOW + 3 * DAY, None), NOW + DAY), NOW + DAY),
    (verdict(LEAVE, Reached(None, NOW + 3 * DAY, None), NOW + 4 * DAY), None),
    (verdict(LEAVE, Reached(None, None, None), NOW + 4 * DAY), NOW + 4 * DAY),
    (verdict(WATER_NOW, Reached(None, NOW, None), NOW + 4 * DAY), NOW),
    (verdict(WATER_NOW, Reached(None, NOW, None), NOW + 4 * DAY, 0.7), None),
])
def test_water_before_the_target_is_for_the_floor(call, before):
    assert watered_before(call, NOW) == before


def test_a_cycle_is_dried_to_the_target_and_then_watered():
    at = dried(PINE)
    watered = at + 6 * HOUR + timedelta(minutes=30)
    found = list(cycles(followed([*PINE, Watering("1", watered)], watered + 2 * DAY)))
    assert [each.watered for each in found] == [watered]
    assert abs(found[0].dried - at) <= 2 * HOUR


def test_watered_too_early_it_is_none_and_twice_in_an_hour_it_is_one():
    at = dried(PINE)
    early = [*PINE, Watering("1", at - 2 * DAY)]
    assert list(cycles(followed(early, at - DAY))) == []
    twice = [*PINE, Watering("1", at + 6 * HOUR), Watering("1", at + 6.25 * HOUR)]
    assert len(list(cycles(followed(twice, at + DAY)))) == 1
    again = [*PINE, Watering("1", at + 6 * HOUR), Watering("1", at + 8 * HOUR)]
    assert len(list(cycles(followed(again, at + DAY)))) == 1


def test_a_tree_kept_damp_has_no_cycles():
    maple = [*tree("1", "maple", POTTED, root_work="half bare"), *WALKS,
             Watering("1", POTTED + 5 * DAY)]
    assert pages(maple).cycles == ()


# --- rain ------------------------------------------------------------------------------------


def test_rain_that_puts_the_drying_back_is_told_with_its_hours():
    at = NOW + 2 * DAY
    (rain,) = of("rain", pages(PINE, weather=raining(20.0, at)))
    assert rain.start == at
    assert at + 4 * HOUR <= rain.end <= at + 6 * HOUR  # what the crown held back drips later
    assert 10.0 < rain.amount <= 20.0
    assert rain.chance > 0.9
    assert rain.back_d > 1.0


def test_more_rain_puts_it_back_further_and_a_shower_does_not():
    back = [sum(each.back_d for each in of("rain", pages(PINE, weather=raining(mm, NOW + DAY))))
            for mm in (0.6, 6.0, 12.0, 25.0)]
    assert back[0] == 0.0
    assert 0.0 < back[1] < back[2] < back[3]


def test_rain_on_days_far_apart_is_told_twice_each_for_what_it_brings():
    at, later = POTTED + 4 * DAY, POTTED + 7.25 * DAY
    weather = raining(5.0, later, weather=raining(8.0, at + DAY))
    first, second = of("rain", pages(PINE, at, weather))
    assert first.end < second.start == later
    (alone,) = of("rain", pages(PINE, at, raining(5.0, later)))
    assert second.back_d <= alone.back_d


def test_under_a_roof_no_rain_threatens():
    roofed = [*tree("1", "pine", POTTED, "shade", root_work="half bare"), *WALKS]
    weather = raining(5.0, NOW + DAY)
    assert of("rain", pages(PINE, weather=weather))
    assert not of("rain", pages(roofed, weather=weather))  # a fifth of it reaches the pot


def test_a_tree_kept_damp_may_be_rained_on():
    maple = [*tree("1", "maple", POTTED, root_work="half bare"), *WALKS]
    assert not of("rain", pages(maple, weather=raining(30.0, NOW + DAY)))


def test_the_tipped_pot_drains_what_the_pot_s_heights_say():
    made = followed(PINE, weather=raining(20.0, NOW + DAY))
    (rain,) = of("rain", page(made))
    filled = made.model.filled
    slices = layers(filled.shape)
    litres = slices.thickness_mm * slices.area_ratio * filled.shape.surface_m2
    across_mm = min(filled.shape.length_mm, filled.shape.width_mm)

    def held_l(angle: float) -> float:
        return float(rest_contents(filled.curve, slices, 0.0, angle, across_mm) @ litres)

    assert rain.tip.angle_deg in TIPS_DEG
    assert rain.tip.holds_l == pytest.approx(held_l(0.0))
    assert rain.tip.drains_l == pytest.approx(held_l(0.0) - held_l(rain.tip.angle_deg))
    assert rain.tip.drains_l > 0.0


@pytest.mark.parametrize("records", [
    [*tree("1", "pine", POTTED, root_work="half bare", outside_mm=(600.0, 450.0, 150.0)), *WALKS],
    [*PINE, Event("1", NOW - DAY, "tipped", "15")],
], ids=["too heavy", "tipped already"])
def test_what_cannot_be_tipped_further_is_not_to_be_tipped(records):
    found = of("rain", pages(records, weather=raining(40.0, NOW + DAY)))
    assert found
    assert all(each.tip is None for each in found)


def test_set_level_again_it_can_be_tipped():
    records = [*PINE, Event("1", NOW - 2 * DAY, "tipped", "15"),
               Event("1", NOW - DAY, "tipped", "0")]
    assert of("rain", pages(records, weather=raining(40.0, NOW + DAY)))[0].tip is not None


def test_once_recovery_has_ended_rain_is_no_threat():
    weather = raining(30.0, POTTED + 46 * DAY, weather=hours(70, rain=False, et0_mm=3.0))
    assert of("rain", pages(PINE, POTTED + 41 * DAY, raining(30.0, POTTED + 41.5 * DAY,
                                                             weather=weather)))
    after = pages(PINE, POTTED + 44 * DAY, weather)
    assert not of("rain", after)
    assert after.frosts is None


# --- frost, heat and wind --------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "air"), [("heat", 34.0), ("frost", -4.0)])
def test_heat_and_frost_of_the_coming_days_are_told(kind, air):
    start = int((NOW + DAY - FIRST) / HOUR)
    weather = changed(DRY, slice(start, start + 5), air)
    (found,) = [each for each in pages(PINE, weather=weather).threats if each.amount == air]
    assert found.kind == kind
    assert (found.start, found.end) == (NOW + DAY, NOW + DAY + 5 * HOUR)


def test_wind_counts_where_the_tree_stands():
    wind = np.full(240, 3.0)
    wind[30:40] = 9.0
    (found,) = of("wind", pages(PINE, wind=wind))
    assert (found.amount, found.start) == (9.0, NOW + 30 * HOUR)
    assert found.end == NOW + 40 * HOUR
    half = [*tree("1", "pine", POTTED, "shade", root_work="half bare"), *WALKS]
    assert of("wind", pages(half, wind=wind))[0].amount == 6.75  # .75 of the wind reaches it
    wind[30:40] = 7.0
    assert not of("wind", pages(half, wind=wind))
    assert not of("wind", pages(PINE, wind=None))


def test_wind_that_is_not_known_is_no_wind():
    assert not of("wind", pages(PINE, wind=np.full(240, np.nan)))


# --- frost of past years ---------------------------------------------------------------------

TODAY = utc("2026-09-10T05:00")
ENDS = utc("2026-10-15T05:00")


def years(*cold: str, first: str = "2021-09-01", without: str | None = None):
    """Weather at 8 °C since a day, with nights of frost; one day may be unknown."""
    start = utc(f"{first}T00:00")
    days = (TODAY.date() - start.date()).days + 12
    weather = hours(days, start, mean_c=8.0, rain=False)
    weather = replace(weather, temp_c=np.full(weather.temp_c.size, 8.0))
    for night in cold:
        at = int((utc(f"{night}T04:00") - start) / HOUR)
        weather = changed(weather, slice(at, at + 2), -2.0)
    if without:
        at = int((utc(f"{without}T04:00") - start) / HOUR)
        weather = changed(weather, slice(at, at + 24), np.nan)
    return sky(weather, TODAY)


def test_years_with_frost_between_this_date_and_the_end_are_counted():
    found = frosts(years("2021-10-12", "2023-09-28", "2023-10-05", "2024-10-20", "2025-10-03"),
                   TODAY, ENDS)
    assert (found.years, found.with_frost) == (5, 3)  # 20 October 2024 lies after the end
    assert (found.earliest, found.middle) == (date(2026, 9, 28), date(2026, 10, 3))


def test_frost_before_this_date_and_on_the_last_day():
    assert frosts(years("2022-09-09"), TODAY, ENDS).with_frost == 0
    assert frosts(years("2022-10-15"), TODAY, ENDS).with_frost == 1
    assert frosts(years("2022-10-16"), TODAY, ENDS).with_frost == 0


def test_a_year_with_a_hole_in_it_does_not_count():
    assert frosts(years(without="2022-09-20"), TODAY, ENDS).years == 4
    assert frosts(years(without="2022-08-20"), TODAY, ENDS).years == 5


def test_without_past_years_nothing_is_known():
    assert frosts(years(first="2026-08-01"), TODAY, ENDS) is None


def test_a_recovery_over_a_29_february():
    leap = utc("2024-02-29T06:00")
    start = utc("2022-01-01T00:00")
    weather = hours(800, start, mean_c=8.0)
    weather = replace(weather, temp_c=np.full(weather.temp_c.size, 8.0))
    assert frosts(sky(weather, leap), leap, leap + 42 * DAY).years == 2
