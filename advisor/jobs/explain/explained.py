"""One tree's verdict today, link by link: each number with its unit, source and origin."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import members
from advisor.demand import plant, season, surface
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Place, Tree
from advisor.jobs import describe
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import Point, advance, beginning, course_of
from advisor.jobs.describe import TreeModel
from advisor.jobs.explain.changing import Case, Change, changes
from advisor.jobs.explain.explained_pot import balance_numbers, pot_numbers, state_numbers
from advisor.jobs.explain.numbers import (
    DEFAULT,
    LEARNED,
    TABLE,
    TOLD,
    WORKED,
    Number,
    origin_of,
    spread_number,
    spread_source,
)
from advisor.jobs.explain.tags import in_words, source_of
from advisor.jobs.followed import model_of
from advisor.jobs.judge import When
from advisor.jobs.morning import Round, TreeVerdict
from advisor.jobs.named import OPEN_PLACE
from advisor.jobs.observed import observed
from advisor.jobs.rests import last_hour

Floats = NDArray[np.float64]

BACK_DAYS: Final = 3  # looked back at where no watering was told
ET0_SOURCE: Final = "FAO-56 Eq. 53 [S]"


@dataclass(frozen=True, eq=False)
class Explained:
    """A verdict, the chain that leads to it, and what would change it."""

    tree: TreeVerdict
    day: np.datetime64  # whose weather and factors are shown
    since: datetime  # what went in and out is shown from here on
    watered: bool  # whether that is a watering
    parts: Mapping[str, tuple[Number, ...]]
    changes: tuple[Change, ...]

    @property
    def frozen(self) -> bool:
        """Whether its pot is frozen, so that it is left whatever else."""
        return is_frozen(self.tree)


@dataclass(frozen=True)
class Rests:
    """The ET0 of the last whole day at the site, and what that day's weather rests on.

    Attributes
    ----------
    site_et0_mm : float
        In the open [mm].
    origins : mapping of str to str
        Of "temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "rain_mm", and "et0_mm", which rests on
        all that is measured.
    measured : mapping of str to float
        "vapour_kpa" and "wind_ms" at 2 m, means; "light_mj", the day's sum [MJ/m²]. What was
        not measured in every hour is left out.
    """

    site_et0_mm: float
    origins: Mapping[str, str]
    measured: Mapping[str, float] = field(default_factory=dict)


def explained(told_round: Round, tree: TreeVerdict, knowledge: Knowledge,
              rests: Rests) -> Explained:
    """Explain one verdict of a round.

    Parameters
    ----------
    told_round : Round
    tree : TreeVerdict
        Of it.
    knowledge : Knowledge
        All of it, as at the round.
    rests : Rests

    Raises
    ------
    Refused
        The tree has no pot.
    """
    sky, at = told_round.sky, told_round.at
    told = Told(knowledge, Almanac(sky, knowledge.site.latitude_deg), at)
    model = model_of(knowledge, tree.label, at)
    point = beginning(model, told)
    course = course_of(model, told, point, last_hour(told))
    hour = min(max(sky.index(at), point.index), course.last)
    since, watered = _since(model, told)
    start, _ = advance(course, point, min(max(sky.index(since) + watered, point.index), hour),
                       keep=False)
    now, past = advance(course, start, hour, keep=True, told_to=at)
    totals = sum((path.totals_mm for path in past.paths), np.zeros((4, now.members.shape[1])))
    day = max(int(sky.day[min(max(sky.index(at), 0), sky.hours - 1)]) - 1, 0)
    parts = {
        "weather": _weather(told, _place_of(model, told, day), day, rests),
        "demand": _demand(model, told, now, day),
        "pot": pot_numbers(model, knowledge, now),
        "balance": balance_numbers(model, start, now, totals),
        "state": state_numbers(tree, model, told),
    }
    case = Case(model, told, start, When(sky, at, told_round.rounds))
    return Explained(tree, sky.dates[day], since, watered, parts,
                     () if is_frozen(tree) else changes(case))


def is_frozen(tree: TreeVerdict) -> bool:
    """Tell whether a tree is left because its pot is frozen."""
    return any(each.do == "frozen_leave" for each in tree.also)


def _since(model: TreeModel, told: Told) -> tuple[datetime, bool]:
    """Give the last watering of this potting, and that it is one; else some days ago."""
    poured = [w.at for w in told.knowledge.waterings[model.label]
              if model.potting.at <= w.at <= told.at]
    if poured:
        return poured[-1], True
    back = max(told.sky.index(told.at) - 24 * BACK_DAYS, 0)
    return max(told.sky.instant(back), model.potting.at), False


# --- the parts -------------------------------------------------------------------------


def _place_of(model: TreeModel, told: Told, day: int) -> Place:
    """Give where the tree stood on a day; in the open where nobody told."""
    last = int(np.flatnonzero(told.sky.day == day)[-1])
    return told.knowledge.place_of(model.label, told.sky.instant(last)) or OPEN_PLACE


def _weather(told: Told, place: Place, day: int, rests: Rests) -> tuple[Number, ...]:
    """Give the weather of the last whole day in the open, and what the place lets through."""
    sky, origins = told.sky, rests.origins
    here = sky.day == day
    temp, air = sky.temp_c[here], origins["temp_c"]
    return (
        Number("temp_mean_c", float(temp.mean()), "°C", air),
        Number("temp_low_c", float(temp.min()), "°C", air),
        Number("temp_high_c", float(temp.max()), "°C", air),
        *(_measured(key, unit, rests, origins[of]) for key, unit, of in (
            ("vapour_kpa", "kPa", "vapour_kpa"), ("wind_ms", "m/s", "wind_ms"),
            ("light_mj", "MJ/m²", "ghi_wm2"))),
        Number("rain_mm", float(sky.rain_mm[here].sum()), "mm", origins["rain_mm"]),
        Number("et0_site_mm", rests.site_et0_mm, "mm", origins["et0_mm"], in_words(ET0_SOURCE)),
        Number("wind_share", describe.WIND[place.wind], "-", origin_of(place, "wind"),
               source_of(describe, "WIND")),
        Number("shade", place.shade, "-", origin_of(place, "shade")),
        Number("skyline", _skyline(place), "", TOLD if _skyline(place) != "open" else DEFAULT),
        Number("rain_share", place.rain_factor, "-", origin_of(place, "rain_factor")),
    )


def _measured(key: str, unit: str, rests: Rests, origin: str) -> Number:
    """Give a mean or sum of the day; where a rule stands in, say that nothing was measured."""
    if key in rests.measured:
        return Number(key, rests.measured[key], unit, origin)
    return Number(key, "not measured", "", origin)


def _skyline(place: Place) -> str:
    """Say what hides the sun: "sun June 7-14, Sept 8-14"."""
    told = [f"{month} {span[0]:g}-{span[1]:g}" for month, span in (
        ("June", place.sun_june), ("Sept", place.sun_september)) if span]
    if told:
        return f"sun {', '.join(told)}"
    return "as told" if place.horizon else "open"


def _demand(model: TreeModel, told: Told, now: Point, day: int) -> tuple[Number, ...]:
    """Give every factor between the day's ET0 where the tree stands and what it asked."""
    sky, almanac, place = told.sky, told.almanac, _place_of(model, told, day)
    days = almanac.days(model)
    kcb, cold = float(almanac.course(model)[0][day]), float(almanac.cold[day])
    recovery = float(almanac.recovery(model)[1][day])
    oasis = plant.oasis_factor(place.ground, place.grouped)
    awake = (sky.day == day) & (sky.temp_c > season.NO_UPTAKE_BELOW_C)
    et0_mm = float(sky.et0_mm[place.name][sky.day == day].sum())
    awake_mm = float(sky.et0_mm[place.name][awake].sum())
    asked_l = awake_mm * oasis * model.crown_m2 * float(days.demand[day])
    thirst = spread_number("thirst", now.members[0], "-", _learned(model, told),
                           spread_source(members.SD_LN_THIRST))
    return (
        Number("et0_place_mm", et0_mm, "mm", WORKED, in_words(ET0_SOURCE)),
        Number("et0_awake_mm", awake_mm, "mm", WORKED,
               source_of(season, "NO_UPTAKE_BELOW_C")),
        Number("kcb_height", model.group.kcb_peak, "-", TABLE, in_words(model.group.source)),
        Number("season", kcb / model.group.kcb_peak, "-",
               TOLD if any(each.kind in ("bud-break", "full leaf", "leaf-fall")
                           for each in model.events) else WORKED, _season_source(model)),
        Number("cold", cold, "-", WORKED, source_of(season, "COLD_FLOOR")),
        Number("recovery", recovery, "-", origin_of(model.potting, "root_work"),
               source_of(plant, "ROOT_WORK")),
        Number("foliage", float(days.demand[day]) / (kcb * cold * recovery), "-",
               TOLD if any(each.kind == "foliage off" for each in model.events) else DEFAULT,
               source_of(plant, "FOLIAGE_OFF")),
        Number("crown_m2", model.crown_m2, "m²", _crown_origin(model.tree),
               source_of(plant, "DENSITY")),
        Number("oasis", oasis, "-", origin_of(place, "ground"), source_of(plant, "OASIS")),
        thirst,
        Number("asked_l", asked_l * float(np.median(now.members[0])), "L/day", WORKED),
        *_soil_asked(model, et0_mm, float(days.leaf[day])),
    )


def _soil_asked(model: TreeModel, et0_mm: float, leaf: float) -> tuple[Number, Number]:
    """Give what soil and walls of the pot give off at most: less once the top is dry."""
    factor = model.wall * float(surface.surface_factor(model.cover * leaf,
                                                       model.potting.dressing))
    return (Number("surface_factor", factor, "-", WORKED, source_of(surface, "SURFACE_DEMAND")),
            Number("surface_asked_l", et0_mm * factor * model.filled.pot.surface_m2, "L/day",
                   WORKED))


def _season_source(model: TreeModel) -> str:
    return source_of(season, "COURSE" if model.group.evergreen else "AUTUMN")


def _crown_origin(tree: Tree) -> str:
    return DEFAULT if tree.crown_width_cm is None and tree.crown_depth_cm is None else TOLD


def _learned(model: TreeModel, told: Told) -> str:
    """Say whether readings taught a tree's ways, in this pot or an earlier one."""
    taught = observed(model, told) or any(
        each.at < model.potting.at for each in told.knowledge.readings[model.label])
    return LEARNED if taught else DEFAULT
