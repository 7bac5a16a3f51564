"""From weather, place and plant to what happens to one pot, hour by hour."""

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout, members
from advisor.balance.pot_weather import PotWeather, pot_weather, rain_of_ways
from advisor.balance.run import Forcing
from advisor.demand import plant, season, surface
from advisor.demand.plant import Crown
from advisor.jobs.almanac import Days, Told
from advisor.jobs.describe import TreeModel
from advisor.jobs.named import OPEN_PLACE
from advisor.jobs.rounds import rounds_between
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]
FROZEN_TO_H: Final = 9  # a pot found frozen was so from midnight for so many hours [J]
#: Air [°C], ET0 [mm], what the crown holds back [mm] and the share that falls through, an hour.
Reaching = tuple[Floats, Floats, Floats, Floats]


@dataclass(frozen=True, eq=False)
class Happens:
    """What happens to one pot over a span of hours.

    Attributes
    ----------
    forcing : Forcing
        Limit and target are left to the caller, and where rain differs from way to way.
    weather : PotWeather
        As expected.
    falls_mm : (hours, members) array
        Rain that reaches the soil in each way, of the last hours of the span [mm].
    """

    forcing: Forcing
    weather: PotWeather
    falls_mm: Floats


def happening(model: TreeModel, told: Told, days: Days, span: tuple[int, int],
              carried: Floats) -> Happens:
    """Give what happens to a pot over a span of hours.

    Parameters
    ----------
    model : TreeModel
    told : Told
    days : Days
        Of this tree.
    span : tuple of int
        First hour and the one after the last, as indices of the sky.
    carried : (3,) array
        Needle store [mm], snow [mm] and pot temperature [°C] at the start.
    """
    sky, (first, last) = told.sky, span
    hours, day = slice(first, last), sky.day[first:last]
    et0, rain, oasis = _at_place(model, told, span)
    leaf = days.leaf[day]
    air = sky.temp_c[hours]
    filled, tree = model.filled, model.tree
    into = (air, et0, surface.needle_store_mm(model.cover, leaf),
            surface.throughfall(model.group, tree.density, leaf, model.under))
    weather = pot_weather(rain, *into, surface.pot_hours(filled.soil_l), carried)
    weather = replace(weather, rain_mm=_caught(weather.rain_mm, model, told, first))
    table = np.zeros((last - first, 9))
    table[:, layout.RAIN] = weather.rain_mm
    table[:, layout.DRIZZLE] = weather.drizzle
    falls = _ways_of_rain(table, model, told, span, (into, weather))
    table[:, layout.EVAPORATION] = et0 * model.wall * surface.surface_factor(
        model.cover * leaf, model.potting.dressing)
    litres_per_mm = plant.transpiration_factor(Crown(model.crown_m2), days.demand[day])
    awake = air > season.NO_UPTAKE_BELOW_C
    table[:, layout.TRANSPIRATION] = et0 * oasis * litres_per_mm * awake / filled.pot.surface_m2
    table[:, layout.OUTSIDE] = days.outside[day]
    table[:, layout.FROZEN] = weather.frozen | _seen_frozen(model, sky, span)
    _pour(table, model, told, first)
    table[:, layout.MAYBE] = _maybe(told, span)
    noise, coin, row = _noise(model, sky, span)
    happens = Forcing(table, noise, coin, enters=model.enters_at(told.at), day=row)
    return Happens(happens, weather, falls)


def _seen_frozen(model: TreeModel, sky: Sky, span: tuple[int, int]) -> NDArray[np.bool_]:
    """Mark the nights after which the grower found the pot frozen."""
    frozen = np.zeros(span[1] - span[0], dtype=bool)
    for event in model.events:
        if event.kind == "frozen night":
            night = sky.index(sky.midnight(event.at)) - span[0]
            frozen[max(night, 0):max(night + FROZEN_TO_H, 0)] = True
    return frozen


def _caught(into_mm: Floats, model: TreeModel, told: Told, first: int) -> Floats:
    """Where a gauge stood under the crown, give what it caught, spread as the rain fell."""
    gauges = [each for each in model.readings if each.kind == "rain under"]
    if not gauges:
        return into_mm
    caught, sky = into_mm.copy(), told.sky
    for gauge in gauges:
        assert gauge.since is not None
        assert gauge.value is not None
        span = slice(max(sky.index(gauge.since), 0), max(sky.index(gauge.at), 1))
        fell = sky.rain_mm[span]
        share = fell / fell.sum() if fell.sum() > 0.0 else np.full(fell.size, 1.0 / fell.size)
        begin, end = max(span.start, first), min(span.stop, first + caught.size)
        if begin < end:
            caught[begin - first:end - first] = gauge.value * share[begin - span.start:
                                                                    end - span.start]
    return caught


def _ways_of_rain(table: Floats, model: TreeModel, told: Told, span: tuple[int, int],
                  pot: tuple[Reaching, PotWeather]) -> Floats:
    """Give the rain of every way that reaches the soil; enter the most of any into the table."""
    ways, (first, last) = told.sky.ways, span
    start = last if ways is None else max(min(ways.first, last), first)
    if ways is None or start == last:
        return np.empty((0, members.MEMBERS))
    place = told.knowledge.place_of(model.label, told.at) or OPEN_PLACE
    theirs, ours = slice(start - ways.first, last - ways.first), slice(start - first, None)
    into, weather = pot
    air, et0, store, through = (column[ours] for column in into)
    falls = rain_of_ways(ways.rain_mm[theirs] * place.rain_factor, (air, et0, store, through),
                         weather.carried[start - first])
    table[ours, layout.RAIN] = falls.max(axis=1)
    table[ours, layout.DRIZZLE] = ways.most_mm[theirs] <= surface.DRIZZLE_MM_H
    return falls


def watered(happens: Forcing, hour: int) -> Forcing:
    """Give the same with a watering until it runs in an hour."""
    table = happens.hours.copy()
    if 0 <= hour < len(table):
        table[hour, layout.FILL] = 1.0
    return replace(happens, hours=table)


def _at_place(model: TreeModel, told: Told, span: tuple[int, int]) -> tuple[Floats, Floats, Floats]:
    """ET0 [mm], rain [mm] and f_oasis [-] where the tree stood in each hour."""
    sky, (first, last) = told.sky, span
    et0, rain, oasis = (np.empty(last - first) for _ in range(3))
    moves = told.knowledge.moves[model.label]
    starts = [max(sky.index(move.at), first) for move in moves] or [first]
    starts[0] = first
    for i, start in enumerate(starts):
        stop = min(starts[i + 1] if i + 1 < len(starts) else last, last)
        place = told.knowledge.places[moves[i].place] if moves else OPEN_PLACE
        here, there = slice(start - first, stop - first), slice(start, stop)
        if stop > start:
            et0[here] = sky.et0_mm[place.name][there]
            rain[here] = sky.rain_mm[there] * place.rain_factor
            oasis[here] = plant.oasis_factor(place.ground, place.grouped)
    return et0, rain, oasis


def _pour(table: Floats, model: TreeModel, told: Told, first: int) -> None:
    """Enter what the grower poured into the hours."""
    for watering in told.knowledge.waterings[model.label]:
        i = told.sky.index(watering.at) - first
        if not 0 <= i < len(table) or not model.potting.at <= watering.at <= told.at:
            continue
        if watering.until_ran:
            table[i, layout.FILL] = 1.0
        elif watering.litres is not None:
            table[i, layout.POUR] += watering.litres / model.filled.pot.surface_m2


def _maybe(told: Told, span: tuple[int, int]) -> Floats:
    """Mark the rounds of past days of which nothing was told: they may have brought water."""
    sky, (first, last) = told.sky, span
    marks, recorded = np.zeros(last - first), set(told.recorded)
    today = sky.date(sky.index(told.at))
    start = sky.instant(first) - timedelta(seconds=1)  # a round at that very instant counts
    end = min(sky.instant(last), told.at)
    for at in rounds_between(told.knowledge.rounds, told.knowledge.site, start, end):
        day = at.astimezone(sky.zone).date()
        i = sky.index(at) - first
        if day < today and day not in recorded and 0 <= i < marks.size:
            marks[i] = 1.0
    return marks


def _noise(model: TreeModel, sky: Sky,
           span: tuple[int, int]) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Give each day's factor on demand and coin, a member, and the row of each hour."""
    day = sky.day[span[0]:span[1]]
    days = slice(int(day[0]), int(day[-1]) + 1) if day.size else slice(0, 1)
    factor, coin = members.days(model.seed, sky.dates[days].astype(np.int64))
    if sky.ways is not None:
        factor = factor * sky.ways.factor[days]
    return factor, coin, day - days.start
