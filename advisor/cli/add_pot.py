"""`advisor add pot` and `advisor pots`: the grower's own empty pots."""

from dataclasses import asdict, replace
from typing import Any

import click

from advisor.cli.choose import known
from advisor.cli.session import (
    Session,
    at_option,
    csv_option,
    emit,
    emit_csv,
    json_option,
    pass_session,
    refuse_both,
)
from advisor.cli.values import Quantity, Share, Sizes, Word
from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.stock import EmptyPot


@click.command("pot")
@click.argument("name")
@click.option("--outside", "outside_mm", type=Sizes(3), metavar="LxWxH",
              help="Outside length, width and height in mm.")
@click.option("--outline", type=Word("outline", records.OUTLINES), help="Seen from above.")
@click.option("--form", type=Word("form", records.FORMS), help="What kind of pot.")
@click.option("--wall", type=Word("wall", records.WALLS), help="What the walls let through.")
@click.option("--soil-depth", "soil_depth_mm", type=Quantity("length_mm", "mm"),
              help="Room for soil, from the base to below the rim.")
@click.option("--base", "base_share", type=Share(),
              help="Length at the base as a share of the length on top.")
@click.option("--gone", is_flag=True, help="It is no longer there.")
@at_option
@pass_session
def add_pot(session: Session, name: str, at: str | None, gone: bool, **told: Any) -> None:
    """Add the empty pot NAME, or change it: `advisor potting` tries it by its name.

    For example: advisor add pot "blue oval" --outside 420x310x75 --outline oval
    """
    with session.desk(at) as desk:
        before = known(desk.garden.empty_pots(), name)
        given = {field: value for field, value in told.items() if value is not None}
        if before is None and gone:
            raise Refused("empty pot", repr(name), "one that was told", "See `advisor pots`.")
        if before is None and "outside_mm" not in given:
            raise click.UsageError("Missing option '--outside'.", click.get_current_context())
        base = before or EmptyPot(name, given["outside_mm"])
        pot = replace(base, gone=gone, **given)
        verb = "gone" if gone else ("changed" if before else "added")
        with desk.entry(f"empty pot {verb}: {pot.name}") as entry:
            desk.garden.add_stock(entry.id, pot, desk.at, desk.zone)
    click.echo(f"Empty pot {verb}: {pot_line(pot)}.")


@click.command()
@json_option
@csv_option
@at_option
@pass_session
def pots(session: Session, as_json: bool, as_csv: bool, at: str | None) -> None:
    """List your empty pots."""
    refuse_both(as_json, as_csv)
    with session.desk(at, day=True, readonly=True) as desk:
        told = list(desk.garden.empty_pots().values())
    rows = [{key: value for key, value in asdict(pot).items() if key != "gone"} for pot in told]
    if as_json:
        emit({"pots": rows})
    elif as_csv:
        header = ["name", "length_mm", "width_mm", "height_mm", "form", "outline", "wall",
                  "soil_depth_mm", "base_share"]
        emit_csv(header, [[pot.name, *pot.outside_mm, pot.form, pot.outline, pot.wall,
                           pot.soil_depth_mm, pot.base_share] for pot in told])
    else:
        click.echo("\n".join(pot_line(pot) for pot in told) or
                   "No empty pots yet: advisor add pot.")


def pot_line(pot: EmptyPot) -> str:
    """Give an empty pot in a line: "blue oval: oval pot, 420 × 310 × 75 mm outside"."""
    size = " × ".join(f"{side:g}" for side in pot.outside_mm)
    kind = " ".join(word for word, plain in ((pot.wall, "closed"), (pot.outline, "rectangle"))
                    if word != plain)
    return f"{pot.name}: {kind + ' ' if kind else ''}{pot.form}, {size} mm outside"
