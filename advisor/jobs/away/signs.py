"""Rules that a helper can follow by what a helper can see: heat, drying washing, a rain gauge.

They are found by walking the plan through even past years and tested on odd ones. Nothing in
them is fixed but the steps in which a threshold is told, and what washing needs to dry.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance.members import MEMBERS
from advisor.jobs.away.absence import Left
from advisor.jobs.away.plan_case import Plan
from advisor.jobs.away.replay import Past, Trial, planned, trial
from advisor.jobs.away.sky import AwaySky
from advisor.jobs.morning import side_by_side
from advisor.jobs.named import OPEN_PLACE
from advisor.jobs.ways import hours_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

#: Hourly ET0 in the open from which thin washing on a line dries within the hour [mm] [J; .4-.7]:
#: some 0.5 kg of water a square metre after spinning, given off on both sides.
WASHING_MM_H: Final = 0.5
HEATS_C: Final = (24, 26, 28, 30, 32, 34)
GAUGES_MM: Final = (5, 8, 12, 16, 20)
LEAST_YEARS: Final = 4  # below which a rule cannot be tested on other years
SPARE: Final = 0.10  # of available water over harm, below which a tree stands on bench B [J]
ROOM: Final = 0.15  # the same, that a skipped watering must leave [J]
MOST_B: Final = 0.5  # of the trees: a bench of more is a visit [J]
HARMS: Final = 0.02  # of their ways, by which a rule may do harm where it is tested [J]
LEAST_SAVED: Final = 0.5  # of the harm that a rule must prevent to be worth telling [J]
LEAST_SPARED: Final = 0.05  # of their waterings that rain must spare pots, to be worth it [J]


@dataclass(frozen=True)
class Tested:
    """How a rule did on the years it was not found on.

    Attributes
    ----------
    years : int
    harmed_without, harmed_with : float
        Share of their ways in which a tree came to harm.
    """

    years: int
    harmed_without: float
    harmed_with: float


@dataclass(frozen=True)
class HotRule:
    """Come on the evening of a day that shows a sign, and water bench B.

    Attributes
    ----------
    over_c : int or None
        Highest temperature of the day above which to come [°C].
    washing : bool
        Whether washing that dries within the hour is a sign.
    both : bool
        Whether both signs are needed, else either.
    labels : tuple of str
        Bench B.
    extra : float
        Visits more in an absence, on average of the years it was tested on.
    tested : Tested
    """

    over_c: int | None
    washing: bool
    both: bool
    labels: tuple[str, ...]
    extra: float
    tested: Tested


@dataclass(frozen=True)
class RainRule:
    """Skip pots where the gauge shows more than so much since the last visit.

    Attributes
    ----------
    over_mm : int
    labels : tuple of str
        The pots marked R.
    spared : float
        Share of their waterings that it spared, on the years it was tested on.
    tested : Tested
    """

    over_mm: int
    labels: tuple[str, ...]
    spared: float
    tested: Tested


@dataclass(frozen=True, eq=False)
class Signs:
    """What a helper sees in each way: (D + 1, ways) arrays.

    Attributes
    ----------
    tmax_c : array
        Highest temperature of the day up to the visit [°C].
    washing : bool array
        Whether washing dried within the hour.
    gauge_mm : array
        Rain since the turn before [mm].
    """

    tmax_c: Floats
    washing: Flags
    gauge_mm: Floats


def seen(past: Past, away: AwaySky) -> Signs:
    """Give what a helper would have seen on the days of past years."""
    span, sky = past.span, past.span.told.sky
    lanes = np.array([past.starts[j % past.starts.size] for j in range(MEMBERS)])
    length = span.last_h - int(span.at_h[0])
    air, open_et0, rain = (hours_of(column, lanes, length) for column in (
        away.record.temp_c, away.record.et0_mm[OPEN_PLACE.name], away.record.rain_mm))
    rain = np.nan_to_num(rain)
    shape = (span.end + 1, MEMBERS)
    tmax, washing, gauge = np.zeros(shape), np.zeros(shape, dtype=bool), np.zeros(shape)
    for turn in range(1, span.end + 1):
        stop = int(span.at_h[turn]) - int(span.at_h[0])
        day = sky.day[int(span.at_h[turn])]
        begin = max(int(np.searchsorted(sky.day, day)) - int(span.at_h[0]), 0)
        begin = min(begin, stop - 1)
        tmax[turn] = air[begin:stop].max(axis=0)
        washing[turn] = open_et0[begin:stop].max(axis=0) >= WASHING_MM_H
        gauge[turn] = rain[int(span.at_h[turn - 1]) - int(span.at_h[0]):stop].sum(axis=0)
    return Signs(tmax, washing, gauge)


def _halves(past: Past) -> tuple[Flags, Flags]:
    """Tell which ways are of even and which of odd past years: (ways,)."""
    even = np.zeros(MEMBERS, dtype=bool)
    odd = even.copy()
    even[:past.years.size] = past.years % 2 == 0
    odd[:past.years.size] = past.years % 2 == 1
    return even, odd


def hot_rule(left: Left, plan: Plan, past: Past, signs: Signs,
             under: Sequence[Trial]) -> HotRule | None:
    """Find the sign that prevents the most harm in even years with the fewest visits.

    Parameters
    ----------
    left : Left
    plan : Plan
    past : Past
    signs : Signs
    under : sequence of Trial
        Each tree under the plan in past years.

    Returns
    -------
    HotRule or None
        None where too few years are in store, or no sign that can be seen helps.
    """
    even, odd = _halves(past)
    bench = _bench(past, under, even | odd)
    harm = [i for i in bench if under[i].harm.any()]  # more water does none of it to the others
    before = np.any([under[i].harm for i in harm], axis=0) if harm else np.zeros(MEMBERS, bool)
    if past.count < LEAST_YEARS or not before[even].any():
        return None
    mask = planned(plan, len(left.kept), past.span.end + 1)
    busy = np.asarray(mask.any(axis=0))
    best: tuple[float, float, HotRule] | None = None
    for over_c, washing, both in _signs():
        calls = _shows(signs, over_c, washing, both) & ~busy[:, None]
        calls[:left.first], calls[-1] = False, False
        harmed = _harmed(past, mask, calls, harm)
        extra = float(calls.sum(axis=0)[even].mean())
        if harmed[even].mean() > (1.0 - LEAST_SAVED) * before[even].mean():
            continue
        rule = HotRule(over_c, washing, both, tuple(left.kept[i].label for i in bench),
                       float(calls.sum(axis=0)[odd].mean()),
                       Tested(int(np.unique(past.years[past.years % 2 == 1]).size),
                              float(before[odd].mean()), float(harmed[odd].mean())))
        if best is None or (harmed[even].mean(), extra) < best[:2]:
            best = (float(harmed[even].mean()), extra, rule)
    return best[2] if best and _helped(best[2].tested) else None


def _helped(tested: Tested) -> bool:
    """Whether a rule prevented harm on the years it was not found on, where there was any."""
    return tested.harmed_with < tested.harmed_without or tested.harmed_without == 0.0


def _harmed(past: Past, mask: Flags, calls: Flags, trees: Sequence[int]) -> Flags:
    """Tell in which ways one of some trees comes to harm, watered when it is called too."""
    def one(i: int) -> Flags:
        return trial(past.kept[i], past.span, mask[i][:, None] | calls).harm

    return np.asarray(np.any(side_by_side(one, trees), axis=0))


def _bench(past: Past, under: Sequence[Trial], ways: Flags) -> list[int]:
    """Give the trees that come nearest to harm: bench B; never one that is kept dry."""
    spare = np.array([np.where(each.harm, -1.0, each.spare)[ways].min() for each in under])
    near = [int(i) for i in np.argsort(spare, kind="stable") if spare[i] < SPARE
            and not past.kept[int(i)].floor_until]
    return sorted(near[:max(int(MOST_B * len(under)), 1)])


def _signs() -> Iterator[tuple[int | None, bool, bool]]:
    """Give the signs that can be told: a heat, drying washing, either, both."""
    yield None, True, False
    for over_c in HEATS_C:
        yield from ((over_c, False, False), (over_c, True, False), (over_c, True, True))


def _shows(signs: Signs, over_c: int | None, washing: bool, both: bool) -> Flags:
    """Tell on which days a sign shows: (D + 1, ways)."""
    if over_c is None:
        return signs.washing.copy()
    hot = signs.tmax_c > over_c
    if not washing:
        return hot
    return hot & signs.washing if both else hot | signs.washing


def rain_rule(left: Left, plan: Plan, past: Past, signs: Signs,
              under: Sequence[Trial]) -> RainRule | None:
    """Find how much rain spares which pots a watering, in even years, and test it on odd ones.

    Parameters
    ----------
    left : Left
    plan : Plan
    past : Past
    signs : Signs
    under : sequence of Trial
        Each tree under the plan in past years.
    """
    if past.count < LEAST_YEARS or not plan.visits:
        return None
    even, odd = _halves(past)
    mask = planned(plan, len(left.kept), past.span.end + 1)
    trees = [i for i in range(len(left.kept)) if mask[i].any() and not past.kept[i].floor_until
             and not under[i].harm[even].any()]
    busy = np.asarray(mask.any(axis=0))
    gauge = _since_visits(signs, busy)
    best: tuple[float, RainRule] | None = None
    for over_mm in GAUGES_MM:
        wet = gauge > over_mm
        if not (wet & busy[:, None])[:, even].any():
            continue
        tried = _all_spared(past, mask, wet, trees)
        marked = [(i, each) for i, each in zip(trees, tried, strict=True)
                  if not each.harm[even].any() and each.spare[even].min() >= ROOM]
        saved = sum(float((wet & mask[i][:, None])[:, even].sum()) for i, _ in marked)
        if marked and saved > 0.0 and (best is None or saved > best[0]):
            best = saved, _rain_told(left, past, over_mm, marked, (mask, wet, odd, under))
    return best[1] if best and _held(best[1]) else None


def _held(rule: RainRule) -> bool:
    """Whether a rule spared work, and did no harm worth naming, on years it was not found on."""
    tested = rule.tested
    return (rule.spared >= LEAST_SPARED
            and tested.harmed_with <= tested.harmed_without + HARMS)


def _all_spared(past: Past, mask: Flags, wet: Flags, trees: Sequence[int]) -> list[Trial]:
    """Run trees through the plan without the waterings that the gauge spares."""
    def one(i: int) -> Trial:
        return trial(past.kept[i], past.span, mask[i][:, None] & ~wet)

    return side_by_side(one, trees)


def _since_visits(signs: Signs, visits: Flags) -> Floats:
    """Give what the gauge shows at each visit, emptied at the one before: (D + 1, ways)."""
    shown, sum_mm = np.zeros_like(signs.gauge_mm), np.zeros(MEMBERS)
    for turn in range(1, len(shown)):
        sum_mm = sum_mm + signs.gauge_mm[turn]
        shown[turn] = sum_mm
        if visits[turn]:
            sum_mm = np.zeros(MEMBERS)
    return shown


def _rain_told(left: Left, past: Past, over_mm: int, marked: Sequence[tuple[int, Trial]],
               how: tuple[Flags, Flags, Flags, Sequence[Trial]]) -> RainRule:
    mask, wet, odd, under = how
    trees = [i for i, _ in marked]
    spared = sum((wet & mask[i][:, None])[:, odd].sum() for i in trees)
    due = sum(mask[i].sum() for i in trees) * odd.sum()
    without, with_rule = (float(np.any([each.harm for each in those], axis=0)[odd].mean())
                          for those in ([under[i] for i in trees], [each for _, each in marked]))
    return RainRule(over_mm, tuple(left.kept[i].label for i in trees),
                    float(spared / max(due, 1)),
                    Tested(int(np.unique(past.years[past.years % 2 == 1]).size), without,
                           with_rule))
