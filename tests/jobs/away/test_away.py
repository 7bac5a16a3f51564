"""An absence worked out: how long trees last, what must hold for any plan, rules, remedies."""

import re
from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from away_made import NOW, left_of, small_garden, worked

from advisor.balance.members import MEMBERS
from advisor.demand import groups
from advisor.errors import Refused
from advisor.jobs.away import remedies, signs
from advisor.jobs.away import sky as away_sky
from advisor.jobs.away.absence import Ask, Left, check, points
from advisor.jobs.away.cover import Cover
from advisor.jobs.away.lives import lives
from advisor.jobs.away.plan_case import Impossible, Limits, Plan, watered
from advisor.jobs.away.plan_visits import plan
from advisor.jobs.away.remedies import Begun, Tries
from advisor.jobs.away.replay import planned, risks, trials, under_past_years
from advisor.jobs.away.sky import AwaySky, widening
from advisor.jobs.ways import Ways
from advisor.show.away_words import sheet_of

ASK = Ask(date(2019, 7, 12), date(2019, 7, 22))
TODAY = date(2019, 7, 10)


@pytest.fixture(scope="module")
def left(tmp_path_factory: pytest.TempPathFactory) -> tuple[Left, AwaySky, Begun]:
    return worked(small_garden(tmp_path_factory.mktemp("away"), 20), ASK)


def visits(garden: Left) -> int:
    """Give how many visits a garden needs; more than any where no plan does."""
    made = plan(garden.case(), 3.0)
    return garden.ask.end + 1 if isinstance(made, Impossible) else len(made.visits)


def other_weather(left: tuple[Left, AwaySky, Begun], demand: float, rain: float) -> Left:
    """Give the garden under the same ways, asking more or raining less from the departure on."""
    garden, away, begun = left
    ways = away.sky.ways
    assert ways is not None
    factor = ways.factor.copy()
    factor[away.sky.day[int(garden.span.at_h[0])]:] *= demand
    sky = replace(away.sky, ways=Ways(factor, ways.first, ways.rain_mm * rain))
    return left_of(garden.ask, sky, garden.span.told, begun)


def test_lives_agree_with_a_walk_through_the_plan(left: tuple[Left, AwaySky, Begun]) -> None:
    """Two ways to the same: arcs from full pots, and one run with the visits in it."""
    garden = left[0]
    case = garden.case()
    made = plan(case)
    assert isinstance(made, Plan)
    under = trials(garden.kept, garden.span, planned(made, case.trees, case.end + 1))
    harmed = set(np.flatnonzero(np.any([each.harm for each in under], axis=0)))
    assert len(harmed ^ set(made.lost)) <= 1  # one watered pot holds a little over its rest
    assert len(made.lost) <= case.may_lose


def test_a_tree_lasts_as_long_however_it_is_cut(left: tuple[Left, AwaySky, Begun],
                                                monkeypatch: pytest.MonkeyPatch) -> None:
    from advisor.jobs.away import lives as away_lives

    garden = left[0]
    monkeypatch.setattr(away_lives, "CHUNK_H", 7)
    for kept, told in zip(garden.kept[:4], garden.lives, strict=False):
        again = away_lives.lives(kept, garden.span)
        assert (again.life == told.life).all()
        assert (again.ready == told.ready).all()


def test_a_life_never_ends_before_it_begins(left: tuple[Left, AwaySky, Begun]) -> None:
    case = left[0].case()
    assert (case.life >= np.arange(case.end + 1)).all()
    assert (case.life <= case.end).all()


@pytest.mark.parametrize(("demand", "rain"), [(1.25, 1.0), (1.0, 0.0), (1.4, 0.3)])
def test_hotter_or_drier_weather_never_needs_fewer_visits(
        left: tuple[Left, AwaySky, Begun], demand: float, rain: float) -> None:
    plain = [i for i, kept in enumerate(left[0].kept) if not kept.floor_until]
    mild, harsh = (replace(each, kept=tuple(each.kept[i] for i in plain),
                           lives=tuple(each.lives[i] for i in plain))
                   for each in (other_weather(left, 1.0, 1.0), other_weather(left, demand, rain)))
    longer = np.array([(other.life - one.life)[:, 1:] for one, other in
                       zip(mild.lives, harsh.lives, strict=True)])
    assert longer.max() <= 1  # a hair's breadth: a surface just wetted evaporates more
    assert (longer > 0).mean() <= 0.001
    assert visits(harsh) >= visits(mild)


def smaller(left: tuple[Left, AwaySky, Begun], share: float) -> Left:
    """Give the plain trees in pots of a share of their length, width and depth."""
    garden, away, _ = left
    told = garden.span.told

    def cut(size: Any) -> Any:
        return None if size is None else tuple(share * each for each in size)

    pottings = {label: tuple(replace(
        each, outside_mm=cut(each.outside_mm), inside_mm=cut(each.inside_mm),
        soil_depth_mm=None if each.soil_depth_mm is None else share * each.soil_depth_mm)
        for each in those) for label, those in told.knowledge.pottings.items()}
    plain = [kept.label for kept in garden.kept if not kept.floor_until]
    told = replace(told, knowledge=replace(told.knowledge, pottings=pottings))
    return left_of(garden.ask, away.sky, told, points(told, plain, lambda *_: ()))


def test_smaller_pots_never_need_fewer_visits(left: tuple[Left, AwaySky, Begun]) -> None:
    """Nor does any tree last longer in one: less water, and the crown asks as much."""
    sizes = [smaller(left, share) for share in (1.0, 0.85, 0.7)]
    for large, small in pairwise(sizes):
        longer = np.array([(other.life - one.life)[:, 1:] for one, other in
                           zip(large.lives, small.lives, strict=True)])
        assert longer.max() <= 1  # as above
        assert (longer > 0).mean() <= 0.001
        assert (longer < 0).any()
    counts = [visits(each) for each in sizes]
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]


def test_more_trees_never_need_fewer_visits(left: tuple[Left, AwaySky, Begun]) -> None:
    garden = left[0]
    counts = [visits(replace(garden, kept=garden.kept[:n], lives=garden.lives[:n]))
              for n in (2, 6, 12, 20)]
    assert counts == sorted(counts)


def test_more_days_never_need_more_visits(left: tuple[Left, AwaySky, Begun]) -> None:
    garden = left[0]
    counts = [visits(replace(garden, ask=replace(ASK, weekdays=days))) for days in (
        ("mon", "wed", "fri", "sat"), ("mon", "tue", "wed", "fri", "sat"),
        ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))]
    assert counts == sorted(counts, reverse=True)


def test_a_recovering_tree_waits_until_it_is_dry(left: tuple[Left, AwaySky, Begun]) -> None:
    garden = left[0]
    dry = [i for i, kept in enumerate(garden.kept) if kept.floor_until]
    assert dry
    for i in dry:
        ready = garden.lives[i].ready[1:-1]
        assert (ready > np.arange(1, ready.size + 1)).all()


def test_how_deep_it_must_be_dry_is_told_in_inches_too(left: tuple[Left, AwaySky, Begun]) -> None:
    garden, away, _ = left
    every = by_hand(garden, list(range(1, garden.span.end)))
    for us, said in ((False, r"the top \d cm are dry"), (True, r"the top [\d.]+ in are dry")):
        told = sheet_of(Cover(garden, away, every), us=us).visits[0].pots
        assert any(re.match(said, pot.only_if) for pot in told if pot.only_if)
        assert all(re.match(said, pot.only_if) for pot in told if pot.only_if)


def test_risks_say_what_the_plan_lost(left: tuple[Left, AwaySky, Begun]) -> None:
    garden, away, begun = left
    made = plan(garden.case())
    assert isinstance(made, Plan)
    told, under = risks(garden, made, under_past_years(garden, away, begun))
    assert (max(each.chance for each in told) > 0.0) == bool(made.lost)
    assert len(under) == len(garden.kept)
    for each in told:
        assert 0.0 <= each.years_harm <= each.years_limit + 1e-9 or garden.kept[
            garden.labels.index(each.label)].floor_until
        assert (each.worst is not None) == bool(each.chance or each.years_harm)


# --- rules ----------------------------------------------------------------------------------


def by_hand(garden: Left, turns: list[int]) -> Plan:
    """Give a plan that waters every tree at some turns, whatever comes of it."""
    mask = np.zeros((len(garden.kept), garden.span.end + 1), dtype=bool)
    mask[:, turns] = True
    return Plan(watered(garden.case(), mask), (), len(turns))


def test_a_plan_too_thin_gets_a_hot_rule_that_saves(left: tuple[Left, AwaySky, Begun]) -> None:
    """With a visit every second day only, a sign that a helper can see brings trees through."""
    garden, away, begun = left
    past = under_past_years(garden, away, begun)
    assert past is not None
    thin = by_hand(garden, [2, 4, 6, 8])
    _, under = risks(garden, thin, past)
    seen = signs.seen(past, away)
    rule = signs.hot_rule(garden, thin, past, seen, under)
    assert rule is not None
    assert rule.tested.harmed_with < rule.tested.harmed_without
    assert rule.extra > 0.0
    assert rule.over_c is not None or rule.washing
    assert not {each.label for each in garden.kept if each.floor_until} & set(rule.labels)


def test_a_plan_with_water_to_spare_gets_a_rain_rule(left: tuple[Left, AwaySky, Begun]) -> None:
    """Watered every day, pots can do without where it rained enough."""
    garden, away, begun = left
    past = under_past_years(garden, away, begun)
    assert past is not None
    daily = by_hand(garden, list(range(1, garden.span.end)))
    _, under = risks(garden, daily, past)
    rule = signs.rain_rule(garden, daily, past, signs.seen(past, away), under)
    assert rule is not None
    assert set(rule.labels) <= set(garden.labels)
    assert rule.tested.harmed_with <= rule.tested.harmed_without + signs.HARMS
    assert 0.0 < rule.spared < 1.0


def test_signs_are_those_of_the_days(left: tuple[Left, AwaySky, Begun]) -> None:
    """The record's own days: highest temperatures in summer, rain that adds up."""
    garden, away, begun = left
    past = under_past_years(garden, away, begun)
    assert past is not None
    seen = signs.seen(past, away)
    assert 10.0 < seen.tmax_c[1:].min() < seen.tmax_c[1:].max() < 40.0
    hours = int(garden.span.at_h[-1] - garden.span.at_h[0])
    for j, start in enumerate(past.starts[:5]):
        fell = np.nan_to_num(away.record.rain_mm[start:start + hours]).sum()
        assert seen.gauge_mm[:, j].sum() == pytest.approx(fell)


def test_the_gauge_counts_since_the_last_visit() -> None:
    fell = np.repeat(np.array([0.0, 1.0, 2.0, 4.0, 8.0])[:, None], MEMBERS, axis=1)
    seen = signs.Signs(fell, fell > 0.0, fell)
    shown = signs._since_visits(seen, np.array([False, False, True, False, False]))
    assert shown[:, 0].tolist() == [0.0, 1.0, 3.0, 4.0, 12.0]


# --- what would save visits -------------------------------------------------------------------


def test_remedies_are_told_as_they_are_found(left: tuple[Left, AwaySky, Begun]) -> None:
    garden, _, begun = left
    made = plan(garden.case())
    assert isinstance(made, Plan)
    found = list(remedies.remedies(Tries(garden, begun, made, {})))
    for each in found:
        assert each.visits is not None
        assert each.saved == len(made.visits) - each.visits > 0
        kept = [garden.kept[garden.labels.index(label)] for label in each.trees]
        if "tray" in each.remedy or "dunked" in each.remedy:
            assert not [one for one in kept if one.model.group == groups.find("pine")]
            assert not [one for one in kept if one.model.recovering(NOW)]


def test_a_tray_never_makes_a_tree_last_less(left: tuple[Left, AwaySky, Begun]) -> None:
    garden = left[0]
    bearing = [i for i, kept in enumerate(garden.kept)
               if remedies._may_stand_in_water(kept, garden)]
    assert bearing
    for i in bearing[:3]:
        inside = lives(replace(garden.kept[i], tray_mm=remedies.TRAY_MM), garden.span)
        assert (inside.life >= garden.lives[i].life).all()
        assert (inside.life > garden.lives[i].life).any()


# --- weather and asking -------------------------------------------------------------------------


def test_few_years_let_days_further_off_stand_in(tmp_path: Path) -> None:
    _, away, _ = worked(small_garden(tmp_path, 2, years=2), ASK)
    assert 0 < away.years < away_sky.ENOUGH_YEARS
    assert away.stood_in


def test_the_wider_spread_is_students_prediction_interval() -> None:
    """Student's t .95 of 4, 9 and 19 degrees of freedom: 2.132, 1.833, 1.729 (any table of t)."""
    assert widening(5) == pytest.approx(2.132 * 1.2**0.5 / 1.645)
    assert widening(10) == pytest.approx(1.833 * 1.1**0.5 / 1.645)
    assert 1.05 < widening(20) < widening(6) < widening(3) == widening(1) == 2.0


@pytest.mark.parametrize(("change", "what"), [
    ({"start": TODAY - timedelta(days=1)}, "--from"),
    ({"until": ASK.start}, "--until"),
    ({"until": ASK.start + timedelta(days=121)}, "absence"),
    ({"can_l": 0.0}, "--can"),
    ({"safety": 0.0}, "--safety"),
    ({"weekdays": ("fri",), "until": ASK.start + timedelta(days=7),
      "not_on": (ASK.start,)}, "days on which"),
])
def test_what_cannot_be_asked_is_refused(change: dict[str, object], what: str) -> None:
    with pytest.raises(Refused) as refused:
        check(replace(ASK, **change), TODAY)  # type: ignore[arg-type]
    assert refused.value.what.startswith(what)


def test_turns_count_from_the_departure() -> None:
    ask = replace(ASK, visit_time=time(18), limits=Limits(30.0))
    assert [ask.date(turn) for turn in (0, 1, 2, ask.end)] == [
        ASK.start, ASK.start, ASK.start + timedelta(days=1), ASK.until]
    assert ask.allowed().tolist() == [False, *[True] * (ask.end - 1), False]
    assert not ask.allowed(2)[1]
