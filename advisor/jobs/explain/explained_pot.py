"""The links of the chain within one pot: what it holds, what went in and out, how dry it is."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.balance import members
from advisor.balance.run import water_mm
from advisor.demand import groups, surface
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Mix, Potting
from advisor.jobs import judge, shapes
from advisor.jobs import recovery as recovering
from advisor.jobs.almanac import Told
from advisor.jobs.carry import Point
from advisor.jobs.describe import TreeModel
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
from advisor.jobs.explain.tags import WORDS, source_of
from advisor.jobs.morning import TreeVerdict
from advisor.jobs.outlook import BALL_MID, FROZEN, POT_C
from advisor.pot import materials

Floats = NDArray[np.float64]
#: Ranges as in `pot.shape.TAKE_OFFS`.
TAKEN_OFF: Final = "wall, base, feet and rim taken off the outside [judgement; ± 15 %]"
CLOSES_L: Final = 1e-6  # what is not explained by flows is what readings set right [C]


def pot_numbers(model: TreeModel, knowledge: Knowledge, now: Point) -> tuple[Number, ...]:
    """Give the pot, its mix, and the water it holds."""
    filled, potting = model.filled, model.potting
    mix = knowledge.mixes[potting.mix]
    holds = now.members[1]
    learned = LEARNED if model.readings else WORKED
    source = _holds_source(mix, potting)
    return (
        _soil(model),
        Number("soil_depth_mm", filled.pot.depth_mm, "mm",
               TOLD if potting.soil_depth_mm is not None else WORKED),
        Number("surface_m2", filled.pot.surface_m2, "m²", WORKED),
        Number("mix", mix.name, "", TOLD, _mix_source(mix)),
        Number("condition", potting.condition, "", origin_of(potting, "condition")),
        *_old_ball(model, knowledge),
        spread_number("holds_l", filled.held_l * holds, "L", learned, source),
        spread_number("available_l", filled.pot.available_l * holds, "L", learned, source),
        *_tipped(model, knowledge, holds, source),
    )


def _soil(model: TreeModel) -> Number:
    """Give the volume of soil: told, else by the pot's inside, else by its outside."""
    potting, litres = model.potting, model.filled.soil_l
    if potting.litres is not None:
        return Number("soil_l", litres, "L", TOLD)
    return Number("soil_l", litres, "L", WORKED, TAKEN_OFF if potting.inside_mm is None else "")


def _old_ball(model: TreeModel, knowledge: Knowledge) -> Sequence[Number]:
    """Give the old root ball: its soil, and its share of the pot's area."""
    potting, share = model.potting, model.filled.ball_share
    if not share:
        return ()
    before = [each for each in knowledge.pottings[model.label] if each.at < potting.at]
    name = shapes.ball_mix_name(potting, before[-1] if before else None)
    assert name is not None
    return (Number("ball_mix", knowledge.mixes[name].name, "",
                   TOLD if potting.ball_mix else DEFAULT, _mix_source(knowledge.mixes[name])),
            Number("ball_share", share, "-", TOLD if potting.ball_share else TABLE,
                   source_of(shapes, "BALL_SHARE")))


def _tipped(model: TreeModel, knowledge: Knowledge, holds: Floats, source: str
            ) -> Sequence[Number]:
    """Give the angle of a pot that is tipped, and what it holds so."""
    angle = model.tips()[-1][1] if model.tips() else 0.0
    if not angle:
        return ()
    held_l = model.tipped(knowledge, angle).held_l
    return (Number("tip_deg", angle, "°", TOLD),
            spread_number("holds_tipped_l", held_l * holds, "L", WORKED, source))


def _mix_source(mix: Mix) -> str:
    rows = [materials.find(name) for name, _ in mix.parts]
    return "; ".join(f"{row.name} [{WORDS[row.source[0]]}; {row.confidence}]{row.source[1:]}"
                     for row in rows)


def _holds_source(mix: Mix, potting: Potting) -> str:
    if mix.measured_capacity is not None:
        return "as you measured it"
    old = potting.condition == "broken down"
    return spread_source(members.SD_LN_CAPACITY_OLD if old else members.SD_LN_CAPACITY)


def balance_numbers(model: TreeModel, start: Point, now: Point, totals_mm: Floats
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


def state_numbers(tree: TreeVerdict, model: TreeModel, told: Told) -> tuple[Number, ...]:
    """Give how dry it is, and what it is judged by."""
    call = tree.call
    rows = [Number("left", call.left.mid, "-", WORKED, "", (call.left.low, call.left.high)),
            Number("dry_depth_mm", call.dry_mm.mid, "mm", WORKED,
                   f"reads dry under {members.THRESHOLD:.2f} of the water between wilting and "
                   f"20 hPa, ± {members.SD_THRESHOLD:.2f} [judgement]",
                   (call.dry_mm.low, call.dry_mm.high))]
    judged = _by_depth if model.dry_target_mm(told.at) is not None else _by_limit
    rows += judged(tree, model, told)
    if tree.verdict == judge.LOOK_FIRST:
        rows.append(_doubt(tree))
    rows.append(Number("pot_c", _now(tree, told, POT_C), "°C", WORKED,
                       source_of(surface, "POT_HOURS")))
    if _now(tree, told, FROZEN):
        rows.append(Number("frozen_below_c", surface.FROZEN_BELOW_C, "°C", TABLE,
                           source_of(surface, "FROZEN_BELOW_C")))
    return tuple(rows)


def _now(tree: TreeVerdict, told: Told, row: int) -> float:
    """Give a row of a tree's outlook in the present hour."""
    outlook = tree.outlook
    hour = min(max(told.sky.index(told.at) - outlook.first, 0), outlook.rows.shape[1] - 1)
    return float(outlook.rows[row, hour])


def _by_limit(tree: TreeVerdict, model: TreeModel, told: Told) -> list[Number]:
    """Give the limit of a tree judged by the water left, and the chance that it is passed."""
    bears = source_of(groups, "BEARS")
    called = _called(tree, model, bears)
    rows = [Number("limit", model.limit_at(told.at), "-",
                   TOLD if model.tree.limit is not None else TABLE, bears), called,
            Number("chance_past_limit", tree.call.chance_past_limit, "-", WORKED)]
    if (tree.call.verdict == judge.LEAVE
            and tree.call.chance_past_limit > tree.outlook.standing.chance):
        rows.append(Number("full_from", judge.FULL, "-", TABLE, source_of(judge, "FULL")))
    return rows


def _called(tree: TreeVerdict, model: TreeModel, source: str) -> Number:
    """Give the chance at which it is called: its kind's, or what was told of this tree."""
    own = model.tree.chance is not None or model.tree.must_not_lose
    return Number("called_at", tree.outlook.standing.chance, "-", TOLD if own else TABLE, source)


def _by_depth(tree: TreeVerdict, model: TreeModel, told: Told) -> list[Number]:
    """Give the depth that a recovering tree is kept dry to, and the floor under it."""
    call, ball = tree.call, _now(tree, told, BALL_MID)
    rows = [Number("target_mm", model.dry_target_mm(told.at), "mm",
                   TOLD if model.potting.target_mm else DEFAULT,
                   source_of(recovering, "TARGET_SHARE")),
            Number("chance_at_target", call.chance_at_target, "-", WORKED),
            Number("target_called_at", recovering.CHANCE, "-", TABLE,
                   source_of(recovering, "CHANCE"))]
    if not np.isnan(ball):
        rows.append(Number("ball_left", ball, "-", WORKED))
    return [*rows,
            Number("floor", recovering.FLOOR, "-", TABLE, source_of(recovering, "FLOOR")),
            Number("chance_past_limit", call.chance_past_limit, "-", WORKED),
            _called(tree, model, source_of(recovering, "FLOOR_CHANCE"))]


def _doubt(tree: TreeVerdict) -> Number:
    """Give how far apart the figures lie, for which it is to be looked at first."""
    call = tree.call
    if tree.outlook.standing.to_target:
        return Number("doubt_mm", call.dry_mm.high - call.dry_mm.low, "mm", WORKED,
                      f"worth a look from {judge.WIDE_DRY_MM:.0f} mm on [judgement]")
    return Number("doubt", call.left.high - call.left.low, "-", WORKED,
                  f"worth a look from {judge.WIDE_LEFT:.2f} on [judgement]")
