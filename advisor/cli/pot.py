"""The options that tell a pot, and the sentences that answer them."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final, TypeVar
from zoneinfo import ZoneInfo

import click

from advisor.cli.clock import day_words
from advisor.cli.values import Quantity, Share, Sizes, Whole, Word
from advisor.cli.words import litres_words, tree_words
from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.records import Potting
from advisor.jobs import recovery
from advisor.jobs.describe import TreeModel

F = TypeVar("F", bound=Callable[..., Any])
HEAVY_KG: Final = 20.0  # wet soil for two people [J; common advice for lifting alone is 15-25]
MOST_CROWN: Final = 12.0  # crown beside the pot's longer side [J; 1-4 is common]
#: What tells the size of a pot: given anew together, or not at all.
SIZES: Final = ("outside_mm", "inside_mm", "litres", "soil_depth_mm")
_MM: Final = Quantity("length_mm", "mm")

_OPTIONS: Final = (
    click.option("--mix", help="What it is filled with."),
    click.option("--form", type=Word("form", records.FORMS), help="What kind of pot."),
    click.option("--outline", type=Word("outline", records.OUTLINES), help="Seen from above."),
    click.option("--outside", "outside_mm", type=Sizes(3), metavar="LxWxH",
                 help="Outside length, width and height in mm."),
    click.option("--inside", "inside_mm", type=Sizes(2), metavar="LxW",
                 help="Or inside length and width in mm at the soil's surface."),
    click.option("--litres", type=Quantity("litres", "L"),
                 help="Or the volume of the soil; needs --soil-depth as well."),
    click.option("--soil-depth", "soil_depth_mm", type=_MM,
                 help="Where a skewer finds the base."),
    click.option("--base", "base_share", type=Share(),
                 help="Length at the base as a share of the length on top."),
    click.option("--mound", "mound_mm", type=_MM, help="Height of the mound above the rim."),
    click.option("--wall", type=Word("wall", records.WALLS), help="What the walls let through."),
    click.option("--drainage", "drainage_mm", type=_MM, help="Thickness of a drainage layer."),
    click.option("--drainage-grain", "drainage_grain_mm", type=_MM, help="Its grain."),
    click.option("--rock", "rock_share", type=Share(), help="Share of the volume that is rock."),
    click.option("--old-soil", "ball_mix", metavar="MIX", help="The old soil in the middle."),
    click.option("--old-share", "ball_share", type=Share(), help="Its share of the pot's area."),
    click.option("--condition", type=Word("condition", records.CONDITIONS),
                 help="The state of the soil."),
    click.option("--dressing", type=Word("dressing", records.DRESSINGS), help="What lies on it."),
    click.option("--water", "enters", type=Word("water", records.ENTERS),
                 help="What water does when it is poured on."),
    click.option("--roots", "root_work", type=Word("root work", records.ROOT_WORK),
                 help="What was done to the roots."),
    click.option("--collected", is_flag=True, default=None, help="Dug in the wild or a field."),
    click.option("--watered-in/--not-watered-in", default=None, help="Whether it was watered in."),
    click.option("--target", "target_mm", type=_MM, help="Dry depth to wait for in recovery."),
    click.option("--recovery-days", type=Whole(), help="How long it recovers."),
    click.option("--shorter", is_flag=True, help="Allow a recovery shorter than six weeks."),
)


def pot_options(command: F) -> F:
    """Add every option that tells a pot."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def pot_fields(told: dict[str, Any]) -> dict[str, Any]:
    """Give the fields of a potting that were given.

    Raises
    ------
    Refused
        A recovery shorter than six weeks that was not asked for in so many words.
    """
    names = Potting.__dataclass_fields__
    given = {name: value for name, value in told.items() if name in names and value is not None}
    days = given.get("recovery_days")
    if days is not None and days < recovery.DAYS and not told.get("shorter"):
        raise Refused("recovery", f"{days} days", f"at least {recovery.DAYS}: roots need six weeks",
                      "Give --shorter as well where you mean it.")
    return given


def refuse_absurd(model: TreeModel) -> None:
    """Refuse what no pot and tree can be together.

    Raises
    ------
    Refused
        A target deeper than the soil, or a crown far wider than the pot.
    """
    label, shape = model.label, model.filled.shape
    depth, target = model.filled.pot.depth_mm, model.potting.target_mm
    if target is not None and target > depth:
        raise Refused(f"target depth of {label}", f"{target:g} mm",
                      f"at most the {depth:.0f} mm of its soil", "Give the depth in mm.")
    most = MOST_CROWN * max(shape.length_mm, shape.width_mm) / 10.0
    for crown in (model.tree.crown_width_cm, model.tree.crown_depth_cm):
        if crown is not None and crown > most:
            raise Refused(f"crown of {label}", f"{crown:g} cm",
                          f"at most {most:.0f} cm, {MOST_CROWN:g} times its pot",
                          "Give the crown in cm and the pot in mm.")


def holds(model: TreeModel) -> str:
    """Give what a pot holds: "3 black pine: 2.9 L of soil, 41 mm deep, holds 1.3 L …"."""
    filled, pot = model.filled, model.filled.pot
    return (f"{tree_words(model.tree)}: {litres_words(filled.soil_l)} of soil, "
            f"{pot.depth_mm:.0f} mm deep, holds {litres_words(filled.held_l)} after draining, "
            f"{litres_words(pot.available_l)} of it for the tree.")


def wet_kg(model: TreeModel) -> float:
    """Give the weight of soil and water after draining, without pot and tree [kg]."""
    return model.filled.curve.density_kgl * model.filled.soil_l + model.filled.held_l


def care(model: TreeModel, at: datetime, zone: ZoneInfo) -> list[str]:
    """Give what follows from a potting: how it is kept until when, and that it is heavy."""
    lines = []
    state = model.recovering(at)
    if state is not None:
        until = day_words(state.ends, zone)
        if not state.dry:
            lines.append(f"Keep it evenly damp until {until}: broad-leaved trees and larches are; "
                         "only evergreen conifers are kept dry.")
        elif state.target_mm is None:
            lines.append(f"Too shallow for a dry depth to wait for ({model.filled.pot.depth_mm:.0f}"
                         f" mm): it is watered a little later than usual, until {until}.")
        else:
            lines.append(f"Let it dry to {state.target_mm:.0f} mm before watering, until {until}.")
    weight = wet_kg(model)
    if weight > HEAVY_KG:
        lines.append(f"About {weight:.0f} kg of wet soil, the pot not counted: two people or "
                     "a trolley.")
    return lines
