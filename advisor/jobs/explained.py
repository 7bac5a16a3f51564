"""One tree's verdict today, link by link: each number with its unit, source and origin."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import members
from advisor.balance.run import water_mm
from advisor.demand import groups, plant, season, surface
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Mix, Place, Potting, Tree
from advisor.jobs import recovery as recovering
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import Point, advance, beginning, course_of
from advisor.jobs.changing import Case, Change, changes
from advisor.jobs.describe import TreeModel
from advisor.jobs.followed import model_of
from advisor.jobs.judge import When
from advisor.jobs.morning import Round, TreeVerdict
from advisor.jobs.named import OPEN_PLACE
from advisor.jobs.observed import observed
from advisor.jobs.rests import last_hour
from advisor.jobs.sky import Sky
from advisor.jobs.summary import QUANTILES
from advisor.jobs.tags import WORDS, in_words, source_of
from advisor.pot import materials

Floats = NDArray[np.float64]

TOLD: Final = "told"
DEFAULT: Final = "default"
LEARNED: Final = "learned"
TABLE: Final = "table"
WORKED: Final = "worked out"
CLOSES_L: Final = 1e-6  # what is not explained by flows is what readings set right [C]
BACK_DAYS: Final = 3  # looked back at where no watering was told
ET0_SOURCE: Final = "FAO-56 Eq. 53 [S]"


@dataclass(frozen=True)
class Number:
    """One number of the chain.

    Attributes
    ----------
    key : str
        Its name, for scripts.
    value : float, str or None
    unit : str
        "-" where it has none; "" of a word.
    origin : str
        Told, default, learned, table, worked out, or the source of the weather.
    source : str
        What it rests on; "" where nothing more is to be said.
    spread : tuple of float, optional
        Low and high (5 and 95 %).
    """

    key: str
    value: float | str | None
    unit: str
    origin: str
    source: str = ""
    spread: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Explained:
    """A verdict, the chain that leads to it, and what would change it."""

    tree: TreeVerdict
    day: np.datetime64  # whose weather and factors are shown
    since: datetime  # what went in and out is shown from here on
    watered: bool  # whether that is a watering
    parts: Mapping[str, tuple[Number, ...]]
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Rests:
    """The ET0 of the last whole day at the site, and what that day's weather rests on.

    Attributes
    ----------
    site_et0_mm : float
        In the open [mm].
    origins : mapping of str to str
        Of "temp_c", "rain_mm", and "et0_mm", which rests on all that is measured.
    """

    site_et0_mm: float
    origins: Mapping[str, str]


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
        "weather": _weather(model, sky, day, rests),
        "demand": _demand(model, told, now, day),
        "pot": _pot(model, knowledge, now),
        "balance": _balance(model, start, now, totals),
        "state": _state(tree, model, told),
    }
    case = Case(model, told, start, When(sky, at, told_round.rounds))
    return Explained(tree, sky.dates[day], since, watered, parts, changes(case))


def _since(model: TreeModel, told: Told) -> tuple[datetime, bool]:
    """Give the last watering of this potting, and that it is one; else some days ago."""
    poured = [w.at for w in told.knowledge.waterings[model.label]
              if model.potting.at <= w.at <= told.at]
    if poured:
        return poured[-1], True
    back = max(told.sky.index(told.at) - 24 * BACK_DAYS, 0)
    return max(told.sky.instant(back), model.potting.at), False


# --- the parts -------------------------------------------------------------------------


def _weather(model: TreeModel, sky: Sky, day: int, rests: Rests) -> tuple[Number, ...]:
    """Give the weather of the last whole day, at the site and in the open."""
    here = sky.day == day
    temp, air, rain = sky.temp_c[here], rests.origins["temp_c"], rests.origins["rain_mm"]
    return (
        Number("temp_mean_c", float(temp.mean()), "°C", air),
        Number("temp_low_c", float(temp.min()), "°C", air),
        Number("temp_high_c", float(temp.max()), "°C", air),
        Number("rain_mm", float(sky.rain_mm[here].sum()), "mm", rain),
        Number("et0_site_mm", rests.site_et0_mm, "mm", rests.origins["et0_mm"],
               in_words(ET0_SOURCE)),
    )


def _demand(model: TreeModel, told: Told, now: Point, day: int) -> tuple[Number, ...]:
    """Give every factor between the day's ET0 where the tree stands and what it asked."""
    sky, tree, almanac = told.sky, model.tree, told.almanac
    place = told.knowledge.place_of(model.label, sky.instant(
        int(np.flatnonzero(sky.day == day)[-1]))) or OPEN_PLACE
    days = almanac.days(model)
    kcb, cold = float(almanac.course(model)[0][day]), float(almanac.cold[day])
    recovery = float(almanac.recovery(model)[1][day])
    oasis = plant.oasis_factor(place.ground, place.grouped)
    awake = (sky.day == day) & (sky.temp_c > season.NO_UPTAKE_BELOW_C)
    et0_mm = float(sky.et0_mm[place.name][sky.day == day].sum())
    awake_mm = float(sky.et0_mm[place.name][awake].sum())
    asked_l = awake_mm * oasis * model.crown_m2 * float(days.demand[day])
    thirst = _number("thirst", now.members[0], "-", _learned(model, told),
                     _spread_source(members.SD_LN_THIRST))
    return (
        Number("et0_place_mm", et0_mm, "mm", WORKED, in_words(ET0_SOURCE)),
        Number("et0_awake_mm", awake_mm, "mm", WORKED,
               source_of(season, "NO_UPTAKE_BELOW_C")),
        Number("kcb_height", model.group.kcb_peak, "-", TABLE, in_words(model.group.source)),
        Number("season", kcb / model.group.kcb_peak, "-",
               TOLD if any(each.kind in ("bud-break", "full leaf", "leaf-fall")
                           for each in model.events) else WORKED, _season_source(model)),
        Number("cold", cold, "-", WORKED, source_of(season, "COLD_FLOOR")),
        Number("recovery", recovery, "-", _origin(model.potting, "root_work"),
               source_of(plant, "ROOT_WORK")),
        Number("foliage", float(days.demand[day]) / (kcb * cold * recovery), "-",
               TOLD if any(each.kind == "foliage off" for each in model.events) else DEFAULT,
               source_of(plant, "FOLIAGE_OFF")),
        Number("crown_m2", model.crown_m2, "m²", _crown_origin(tree),
               source_of(plant, "DENSITY")),
        Number("oasis", oasis, "-", _origin(place, "ground"), source_of(plant, "OASIS")),
        thirst,
        Number("asked_l", asked_l * float(np.median(now.members[0])), "L/day", WORKED),
    )


def _season_source(model: TreeModel) -> str:
    return source_of(season, "COURSE" if model.group.evergreen else "AUTUMN")


def _crown_origin(tree: Tree) -> str:
    return DEFAULT if tree.crown_width_cm is None and tree.crown_depth_cm is None else TOLD


def _learned(model: TreeModel, told: Told) -> str:
    """Say whether readings taught a tree's ways, in this pot or an earlier one."""
    taught = observed(model, told) or any(
        each.at < model.potting.at for each in told.knowledge.readings[model.label])
    return LEARNED if taught else DEFAULT


def _pot(model: TreeModel, knowledge: Knowledge, now: Point) -> tuple[Number, ...]:
    """Give the pot, its mix, and the water it holds."""
    filled, potting = model.filled, model.potting
    mix = knowledge.mixes[potting.mix]
    holds = now.members[1]
    learned = LEARNED if model.readings else WORKED
    return (
        Number("soil_l", filled.soil_l, "L", TOLD),
        Number("soil_depth_mm", filled.pot.depth_mm, "mm",
               TOLD if potting.soil_depth_mm is not None else WORKED),
        Number("surface_m2", filled.pot.surface_m2, "m²", WORKED),
        Number("mix", mix.name, "", TOLD, _mix_source(mix)),
        Number("condition", potting.condition, "", _origin(potting, "condition")),
        _number("holds_l", filled.held_l * holds, "L", learned, _holds_source(mix, potting)),
        _number("available_l", filled.pot.available_l * holds, "L", learned,
                _holds_source(mix, potting)),
    )


def _mix_source(mix: Mix) -> str:
    rows = [materials.find(name) for name, _ in mix.parts]
    return "; ".join(f"{row.name} [{WORDS[row.source[0]]}; {row.confidence}]{row.source[1:]}"
                     for row in rows)


def _holds_source(mix: Mix, potting: Potting) -> str:
    if mix.measured_capacity is not None:
        return "as you measured it"
    old = potting.condition == "broken down"
    return _spread_source(members.SD_LN_CAPACITY_OLD if old else members.SD_LN_CAPACITY)


def _spread_source(sd_ln: float) -> str:
    """Say how far apart pots and trees of a kind may lie, before anything is read of one."""
    return f"before anything is read ± {100.0 * sd_ln:.0f} % [judgement]"


def _balance(model: TreeModel, start: Point, now: Point, totals_mm: Floats
             ) -> tuple[Number, ...]:
    """Give what went in and out since, and what is left; means, which add up."""
    pot = model.filled.pot
    to_l = pot.surface_m2
    held = [float(water_mm(pot, point.members, point.state).mean()) * to_l
            for point in (start, now)]
    came, ran, evaporated, drunk = (float(total.mean()) * to_l for total in totals_mm)
    read = held[1] - held[0] - (came - ran - evaporated - drunk)
    rows = [
        Number("held_then_l", held[0], "L", WORKED),
        Number("came_in_l", came, "L", WORKED),
        Number("ran_out_l", -ran, "L", WORKED),
        Number("evaporated_l", -evaporated, "L", WORKED, source_of(surface, "SURFACE_DEMAND")),
        Number("drunk_l", -drunk, "L", WORKED),
    ]
    if abs(read) > CLOSES_L:
        rows.append(Number("readings_l", read, "L", LEARNED))
    return (*rows, Number("held_now_l", held[1], "L", WORKED))


def _state(tree: TreeVerdict, model: TreeModel, told: Told) -> tuple[Number, ...]:
    """Give how dry it is, and what it is judged by."""
    call, bears = tree.call, source_of(groups, "BEARS")
    own = model.tree
    rows = [Number("left", call.left.mid, "-", WORKED, "", (call.left.low, call.left.high)),
            Number("dry_depth_mm", call.dry_mm.mid, "mm", WORKED,
                   f"reads dry under {members.THRESHOLD:.2f} of the water between wilting and "
                   f"20 hPa, ± {members.SD_THRESHOLD:.2f} [judgement]",
                   (call.dry_mm.low, call.dry_mm.high))]
    recovery = model.recovering(told.at)
    if recovery is not None and recovery.target_mm is not None and recovery.dry:
        rows += [Number("target_mm", recovery.target_mm, "mm",
                        TOLD if model.potting.target_mm else DEFAULT,
                        source_of(recovering, "TARGET_SHARE")),
                 Number("chance_at_target", call.chance_at_target, "-", WORKED),
                 Number("called_at", recovering.CHANCE, "-", TABLE,
                        source_of(recovering, "CHANCE"))]
    else:
        rows.append(Number("limit", model.limit_at(told.at), "-",
                           TOLD if own.limit is not None else TABLE, bears))
        rows.append(Number("called_at", model.bears.chance, "-", TOLD if (
            own.chance is not None or own.must_not_lose) else TABLE, bears))
    rows.append(Number("chance_past_limit", call.chance_past_limit, "-", WORKED))
    return tuple(rows)


def _number(key: str, values: Floats, unit: str, origin: str, source: str) -> Number:
    low, mid, high = (float(each) for each in np.quantile(values, QUANTILES))
    return Number(key, mid, unit, origin, source, (low, high))


def _origin(record: Place | Potting, field: str) -> str:
    """Say whether a word was told, or is the one that is taken where nothing was."""
    default = type(record).__dataclass_fields__[field].default
    return DEFAULT if getattr(record, field) == default else TOLD
