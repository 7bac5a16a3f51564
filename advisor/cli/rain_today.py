"""Work out the rain butts of a garden: today and the coming days, and over past years."""

import sys
from collections import Counter
from datetime import date
from typing import TYPE_CHECKING, Any, Final

import click
import numpy as np
from numpy.typing import NDArray

from advisor.cli.hours import read_sky, refresh
from advisor.cli.morning import say_when_preparing
from advisor.cli.potting import past_sky
from advisor.cli.session import Desk
from advisor.cli.working import work_round
from advisor.errors import Refused
from advisor.jobs.judge import LEAVE, LOOK_FIRST
from advisor.jobs.outlook import LEFT_MID
from advisor.jobs.potting.past_weather import Stage
from advisor.jobs.rain import butts
from advisor.jobs.rain.demand import Takes, daily_rain_mm, inflow_l, taken
from advisor.jobs.rain.tap_water import Hardness, feeding_days, hardness
from advisor.show.rain_words import Butts

if TYPE_CHECKING:
    from advisor.jobs.morning import Round

HARDNESS: Final = "tap water mmol/L"
BEFORE_D: Final = 10  # in which the pots find their usual wetness again
COMING_D: Final = 9
MOST_SINCE_D: Final = 90  # of a level read so long ago nothing is left
READ_BEFORE_H: Final = 10  # a level read until then was read before the morning's watering
LESS_AND_MORE: Final = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0)
STEP_L: Final = 50.0


def today(desk: Desk) -> Butts:
    """Work out the butts now and in the coming days.

    Raises
    ------
    Refused
        No weather reaches to now.
    """
    say_when_preparing()
    knowledge = desk.garden.knowledge(desk.at)
    refresh(desk.garden, knowledge.site, knowledge.places.values(), desk.at)
    sky = read_sky(desk.garden, knowledge, desk.at)
    now = int(sky.day[min(sky.index(desk.at), sky.hours - 1)])
    start = _since(desk, sky, now)
    last = min(now + COMING_D, int(sky.day[-1]))
    span = tuple(int(np.searchsorted(sky.day, day)) for day in
                 (max(start - BEFORE_D, 0), last + 1))
    stage = Stage(knowledge, sky, "", desk.at, until=span[1])
    takes = list(taken(stage, (span[0], span[1])))
    told, _ = work_round(desk.garden, desk.at)
    wants = _wanted_today(told)
    wanted = np.sum([each.litres for each in takes], axis=0) if takes else np.zeros(
        sky.dates.size)
    wanted[now] = sum(wants.values())
    roofs = [butts.Roof(r.area_m2, r.covering, r.first_flush_mm)
             for r in desk.garden.roofs().values()]
    rain = daily_rain_mm(sky)
    coming = slice(now, last + 1)
    caught = inflow_l(roofs, rain[:, coming])
    size = sum(each.litres for each in desk.garden.butts().values())
    levels = _levels(desk, roofs, size, (rain[0, start:now], wanted[start:now]))
    lasting = None
    if levels is not None and size:
        lasting = butts.lasts(butts.course(levels, size, caught, wanted[coming]), size)
    return Butts(
        roofs=list(desk.garden.roofs().values()), butts=list(desk.garden.butts().values()),
        level_l=None if levels is None else _spread(levels), lasts=lasting,
        days_known=last + 1 - now, a_day_l=float(wanted[coming].mean()),
        today=_shared(takes, wants, None if levels is None else float(np.median(levels))),
        rain_l=_spread(caught.sum(axis=1)), hardness=_hardness(desk),
        feeding=_feeding(desk, told), trees=len(takes), turns=_turns(takes))


def sizes(desk: Desk) -> tuple[list[butts.Sized], float]:
    """Run other sizes of butt over the past years; give the curve and the size there is."""
    say_when_preparing()
    roofs = [butts.Roof(r.area_m2, r.covering, r.first_flush_mm)
             for r in desk.garden.roofs().values()]
    if not roofs:
        raise Refused("roofs", "none told", "at least one", "Tell it: advisor rainwater roof.")
    have = sum(each.litres for each in desk.garden.butts().values())
    knowledge, sky = past_sky(desk)
    stage = Stage(knowledge, sky, "", desk.at)
    with click.progressbar(taken(stage, (0, stage.hours)), length=len(knowledge.trees),
                           label="Running the years",
                           file=sys.stderr) as bar:
        wanted = np.sum([each.litres for each in bar], axis=0)
    days = int(sky.day[stage.hours - 1]) + 1
    year = sky.dates[:days].astype("datetime64[Y]").astype(np.int64) + 1970
    rain = _by_day(sky.day[:stage.hours], sky.rain_mm[:stage.hours], days)
    base = have or max(round(7.0 * float(wanted.mean()) / STEP_L), 1) * STEP_L
    tried = [base * each for each in LESS_AND_MORE]
    return butts.size_curve(tried, butts.caught_l(roofs, rain), wanted[:days], year), have


def _by_day(day: NDArray[np.int64], values: NDArray[np.float64],
            days: int) -> NDArray[np.float64]:
    return np.asarray(np.bincount(day, values, days), dtype=np.float64)


def _since(desk: Desk, sky: Any, now: int) -> int:
    """Give the first day whose watering comes after the level read last."""
    read = desk.garden.butt_level(desk.at)
    if read is None:
        return now
    local = read.at.astimezone(desk.zone)
    day = (np.datetime64(local.date()) - sky.dates[0]).astype(int) + (local.hour >= READ_BEFORE_H)
    return int(min(max(day, 0, now - MOST_SINCE_D), now))


def _levels(desk: Desk, roofs: list[butts.Roof], size: float,
            since: tuple[NDArray[np.float64], NDArray[np.float64]]) -> NDArray[np.float64] | None:
    read = desk.garden.butt_level(desk.at)
    if read is None:
        return None
    return butts.level_now((read.litres, read.sd_l), size, roofs, *since)


def _spread(values: NDArray[np.float64]) -> tuple[float, float, float]:
    low, mid, high = (float(np.quantile(values, q)) for q in (0.05, 0.5, 0.95))
    return low, mid, high


def _wanted_today(told: "Round") -> dict[str, float]:
    """Give what the trees called today want [L]; one to look at first wants nothing yet."""
    return {tree.label: tree.call.litres for tree in told.trees
            if tree.verdict not in (LEAVE, LOOK_FIRST)}


def _shared(takes: list[Takes], wants: dict[str, float],
            level: float | None) -> list[tuple[str, int, float, float]]:
    """Give who takes how much today, and what of it comes from the butt."""
    wanted = [(each.turn, wants.get(each.label, 0.0)) for each in takes]
    rain = butts.shared_out(level or 0.0, wanted)
    return [(each.label, each.turn, litres, from_butt) for each, (_, litres), from_butt in
            zip(takes, wanted, rain, strict=True) if litres > 0.0]


def _turns(takes: list[Takes]) -> list[tuple[int, list[str]]]:
    found: dict[int, list[str]] = {}
    for each in takes:
        found.setdefault(each.turn, []).append(each.label)
    return sorted(found.items())


def _hardness(desk: Desk) -> Hardness | None:
    told = desk.garden.setting(HARDNESS)
    return hardness(float(told), "mmol/L") if told else None


def _feeding(desk: Desk, told: "Round") -> list[tuple[date, int]]:
    """Give the coming days on which feeding does good, and for how many trees."""
    count: Counter[date] = Counter()
    for tree in told.trees:
        count.update(_good_days(desk, told, tree))
    return sorted(count.items())


def _good_days(desk: Desk, told: "Round", tree: Any) -> list[date]:
    from advisor.demand import season

    sky, outlook = told.sky, tree.outlook
    hours = np.arange(outlook.first, outlook.first + outlook.rows.shape[1])
    day = sky.day[hours]
    here = np.unique(day[hours >= sky.index(desk.at)])
    first = np.array([int(np.searchsorted(day, each)) for each in here])
    potting = desk.knowledge.potting_of(tree.label, desk.at)
    worked = potting is not None and potting.root_work != "none"
    rain = _by_day(sky.day, sky.rain_mm, sky.dates.size)[here]
    growing = season.growing(sky.dates, desk.knowledge.site.latitude_deg)[here]
    left = outlook.rows[LEFT_MID][first]  # and full again once it was watered:
    left = np.where(np.minimum.accumulate(left) < outlook.standing.limit, 1.0, left)
    return feeding_days(sky.dates[here], left, rain, growing,
                        potting.at.astimezone(desk.zone).date() if worked and potting else None)
