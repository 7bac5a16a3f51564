"""What reaches a pot, hour by hour."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scenes import (
    BERLIN,
    DAY,
    FIRST,
    HOBART,
    HOUR,
    changed,
    hours,
    known,
    pot,
    told,
    tree,
    until,
)

from advisor.balance import layout
from advisor.demand import plant
from advisor.garden.records import Event, Move, Rounds, Watering
from advisor.jobs.describe import describe
from advisor.jobs.forcing import happening, watered

AT = FIRST + 20 * DAY + 5 * HOUR
POTTED = FIRST + 2 * DAY + 10 * HOUR
SPAN = (60, 24 * 24)
EMPTY = np.array([0.0, 0.0, 15.0])


def happens(records, weather=None, at=AT, span=SPAN, label="1", site=BERLIN):
    """The forcing of one tree, and the weather it came from."""
    scene = told(known(records, site, at), weather or hours(), at)
    made = describe(scene.knowledge, label, at)
    return happening(made, scene, scene.almanac.days(made), span, EMPTY).forcing, scene, made


def column(records, what, **more):
    return happens(records, **more)[0].hours[:, what]


PINE = tree("1", "pine", POTTED)


# --- watering -------------------------------------------------------------------------------


@pytest.mark.parametrize("minutes", [0, 1, 59])
def test_what_was_poured_lands_in_its_hour(minutes):
    at = FIRST + 10 * DAY + timedelta(minutes=minutes)
    fill = column([*PINE, Watering("1", at)], layout.FILL)
    assert np.flatnonzero(fill).tolist() == [240 - SPAN[0]]
    assert fill.max() == 1.0


def test_litres_become_millimetres_over_the_pot():
    litres = [Watering("1", FIRST + 10 * DAY + i * timedelta(minutes=20), 0.3, until_ran=False)
              for i in range(2)]
    made, _, model = happens([*PINE, *litres])
    poured = made.hours[:, layout.POUR]
    assert np.flatnonzero(poured).tolist() == [240 - SPAN[0]]
    assert poured.sum() * model.filled.pot.surface_m2 == pytest.approx(0.6)
    assert made.hours[:, layout.FILL].sum() == 0.0


def test_until_it_ran_goes_before_litres():
    made = happens([*PINE, Watering("1", FIRST + 10 * DAY, 0.3)])[0]
    assert made.hours[:, layout.FILL].sum() == 1.0
    assert made.hours[:, layout.POUR].sum() == 0.0


def test_only_the_present_potting_is_watered_and_other_trees_are_not():
    records = [*PINE, *tree("2", "pine", POTTED), Watering("2", FIRST + 9 * DAY),
               Watering("1", FIRST + 9 * DAY), pot("1", FIRST + 10 * DAY),
               Watering("1", FIRST + 10 * DAY - HOUR)]
    assert column(records, layout.FILL).sum() == 0.0


def test_a_round_to_come_can_be_watered_without_touching_the_rest():
    made = happens(PINE)[0]
    then = watered(made, 30)
    assert np.flatnonzero(then.hours[:, layout.FILL]).tolist() == [30]
    assert made.hours[:, layout.FILL].sum() == 0.0
    assert then.noise is made.noise
    assert watered(made, -1).hours[:, layout.FILL].sum() == 0.0


# --- places ---------------------------------------------------------------------------------


@pytest.mark.parametrize("what", [layout.EVAPORATION, layout.TRANSPIRATION])
def test_a_move_counts_from_its_hour(what):
    bench, shade = PINE, tree("1", "pine", POTTED, "shade")
    hour = 250
    moved = [*PINE, Move("1", FIRST + hour * HOUR + timedelta(minutes=30), "shade")]
    there, here, both = (column(each, what) for each in (shade, bench, moved))
    cut = hour - SPAN[0]
    assert both[:cut].tolist() == here[:cut].tolist()
    assert both[cut:].tolist() == there[cut:].tolist()
    assert there.sum() < here.sum()


def test_surround_and_neighbours_count_by_place():
    bench, shade = (column(tree("1", "pine", POTTED, place), layout.TRANSPIRATION)
                    for place in ("bench", "shade"))
    day = bench > 0.0
    # ET0 of the shade is .6 of the bench's in these scenes
    ratio = 0.6 * plant.oasis_factor("earth", True) / plant.oasis_factor("gravel", False)
    assert shade[day] / bench[day] == pytest.approx(np.full(day.sum(), ratio))


def test_rain_is_that_of_the_place():
    weather = hours()
    heavy = replace(weather, rain_mm=np.where(weather.rain_mm > 0.0, 30.0, 0.0))
    bench, shade = (column(tree("1", "pine", POTTED, place), layout.RAIN, weather=heavy).sum()
                    for place in ("bench", "shade"))
    assert shade == pytest.approx(0.2 * bench, rel=0.15)
    assert 0.0 < bench < heavy.rain_mm.sum()


def test_two_moves_back_and_forth():
    away = [Move("1", FIRST + 250 * HOUR, "shade"), Move("1", FIRST + 260 * HOUR, "bench")]
    here, there = (column(each, layout.EVAPORATION) for each in (PINE, [*PINE, *away]))
    assert set(np.flatnonzero(here != there) + SPAN[0]) <= set(range(250, 260))
    assert (here != there).any()


# --- rounds of which nothing was told -----------------------------------------------------------


def maybe_days(records, at=AT, weather=None) -> list[str]:
    made, scene, _ = happens(records, at=at, weather=weather)
    marked = np.flatnonzero(made.hours[:, layout.MAYBE]) + SPAN[0]
    return [f"{scene.sky.instant(i).astimezone(BERLIN.zone):%d %H:%M}" for i in marked]


ONCE = Rounds("summer", ("07:30",), ("tue", "fri"))
RECENT = [*tree("1", "pine", FIRST + 8 * DAY), ONCE]


def test_a_past_round_of_a_silent_day_may_have_brought_water():
    assert maybe_days(RECENT) == [
        "05 07:00", "12 07:00", "16 07:00", "19 07:00"]  # the 9th was the day of its potting


def test_a_day_on_which_anything_was_told_is_not_silent():
    told_of = [*RECENT, *tree("2", "larch", FIRST + 8 * DAY), Event("2", FIRST + 15 * DAY, "fed")]
    assert maybe_days(told_of) == ["05 07:00", "12 07:00", "19 07:00"]
    watering = [*RECENT, Watering("1", FIRST + 18 * DAY + 12 * HOUR)]
    assert maybe_days(watering) == ["05 07:00", "12 07:00", "16 07:00"]


def test_today_is_not_over_and_days_to_come_are_open():
    tuesday = FIRST + 15 * DAY + 12 * HOUR
    assert maybe_days(RECENT, at=tuesday) == ["05 07:00", "12 07:00"]


def test_no_rounds_no_doubt():
    saturdays = Rounds("summer", ("10:00",), ("sat",))
    assert maybe_days([*tree("1", "pine", FIRST + 15 * DAY), saturdays])[-1] == "20 10:00"


# --- frost, foliage, seasons ----------------------------------------------------------------


def test_nothing_is_drunk_in_an_hour_of_frost_and_a_cold_pot_freezes():
    cold = changed(hours(), slice(300, 320), -6.0)
    made = happens(PINE, weather=cold)[0].hours
    warm = happens(PINE)[0].hours
    frost = slice(300 - SPAN[0], 320 - SPAN[0])
    assert warm[frost, layout.TRANSPIRATION].sum() > 0.0
    assert made[frost, layout.TRANSPIRATION].sum() == 0.0
    frozen = np.flatnonzero(made[:, layout.FROZEN]) + SPAN[0]
    assert 300 < frozen[0] < 312  # a pot follows the air within hours
    assert 318 < frozen[-1] < 332
    assert warm[:, layout.FROZEN].sum() == 0.0


def test_a_night_seen_frozen_counts_from_midnight_to_mid_morning():
    seen = Event("1", FIRST + 10 * DAY + 6 * HOUR, "frozen night")
    frozen = np.flatnonzero(column([*PINE, seen], layout.FROZEN)) + SPAN[0]
    assert frozen.tolist() == list(range(240 - 2, 240 + 7))


def test_a_larger_pot_freezes_later():
    cold = changed(hours(), slice(300, 340), -6.0)
    first = [np.flatnonzero(column(tree("1", "pine", POTTED, outside_mm=size), layout.FROZEN,
                                   weather=cold))[0]
             for size in ((120.0, 90.0, 45.0), (350.0, 250.0, 80.0), (700.0, 500.0, 250.0))]
    assert first == sorted(set(first))


def test_foliage_taken_off_lowers_what_is_drunk_until_it_is_back():
    at = FIRST + 10 * DAY
    whole = column(PINE, layout.TRANSPIRATION)
    for amount, left in (("quarter", 0.8), ("all", 0.15)):
        less = column([*PINE, Event("1", at, "foliage off", amount)], layout.TRANSPIRATION)
        day = 24 * 10 - 2 - SPAN[0]  # local midnight
        assert less[:day].tolist() == whole[:day].tolist()
        first = less[day:day + 24].sum() / whole[day:day + 24].sum()
        later = less[day + 240:day + 264].sum() / whole[day + 240:day + 264].sum()
        assert first == pytest.approx(left, abs=0.02)
        assert first < later < 1.0


def test_each_time_foliage_was_taken_off_counts_for_its_own_days():
    first = Event("1", FIRST + 8 * DAY, "foliage off", "all")
    second = Event("1", FIRST + 14 * DAY, "foliage off", "quarter")
    once, twice = (column([*PINE, *events], layout.TRANSPIRATION)
                   for events in ([first], [first, second]))
    cut = 24 * 14 - 2 - SPAN[0]
    assert twice[:cut].tolist() == once[:cut].tolist()
    assert (twice[cut:] >= once[cut:]).all()


@pytest.mark.parametrize("group", ["pine", "maple", "azalea"])
def test_a_southern_garden_mirrors_a_northern_one(group):
    south = datetime(2026, 11, 29, tzinfo=UTC)  # 151 days after its 1 July, as 1 June is
    demands = []
    for first, site in ((FIRST, BERLIN), (south, HOBART)):
        at = first + 20 * DAY
        scene = told(known(tree("1", group, first), replace(site, latitude_deg=np.copysign(
            50.0, site.latitude_deg), time_zone="UTC"), at), hours(30, first), at)
        demands.append(scene.almanac.days(describe(scene.knowledge, "1", at)))
    north, mirrored = demands
    assert north.demand == pytest.approx(mirrored.demand, rel=1e-12)
    assert north.leaf == pytest.approx(mirrored.leaf, rel=1e-12)
    assert north.demand.max() > 0.5


def test_recovery_lowers_demand_and_opens_the_new_grains_with_warmth():
    lost = tree("1", "pine", POTTED, root_work="half bare")
    scene = told(known(lost, at=AT), until(hours(), AT), AT)
    days = scene.almanac.days(describe(scene.knowledge, "1", AT))
    since = slice(3, 20)
    assert (np.diff(days.outside[since]) >= 0.0).all()
    assert days.outside[since][0] == pytest.approx(0.0, abs=0.1)
    whole = scene.almanac.days(describe(known(PINE, at=AT), "1", AT))
    ratio = days.demand[since] / whole.demand[since]
    warmth = np.cumsum(np.maximum(scene.sky.tmean_c[2:20] - 6.0, 0.0))[1:]
    assert ratio == pytest.approx(1.0 - (1.0 - 0.5 ** 1.2) * np.exp(-warmth / 250.0))


# --- what frost would hurt -------------------------------------------------------------------


@pytest.mark.parametrize(("group", "days"), [("maple", (60, 140)), ("spruce", (60, 140))])
def test_leaves_and_soft_growth_are_tender(group, days):
    first = datetime(2025, 1, 1, tzinfo=UTC)
    year = hours(300, first, mean_c=12.0)
    records = [*tree("1", group, first + DAY),
               Event("1", first + 110 * DAY, "bud-break", "")]
    scene = told(known(records, BERLIN, first + 290 * DAY), year, first + 290 * DAY)
    made = describe(scene.knowledge, "1", first + 290 * DAY)
    tender = scene.almanac.days(made).tender
    assert not tender[days[0]]
    assert tender[days[1]]
    # a broad-leaved tree until its leaves fall, an evergreen until its new growth has hardened
    assert tender[200] == (group == "maple")
