"""`advisor add mix`: what the pots are filled with."""

import math
from collections.abc import Sequence
from dataclasses import replace

import click

from advisor.cli.choose import known
from advisor.cli.session import Session, at_option, pass_session
from advisor.cli.values import Part, Quantity, Share
from advisor.errors import Refused
from advisor.garden.records import Mix
from advisor.show.lists import listed

ROUNDED = 0.005  # by which parts may miss the whole
SHOWN_DEPTH_MM = 50.0  # of the pot in the answer


@click.command("mix")
@click.argument("name")
@click.option("--part", "parts", multiple=True, type=Part(),
              help="A material and its part by volume, in percent or as a share. Repeat it.")
@click.option("--measured-capacity", type=Share(),
              help="Measured: the share of its volume that stays in it as water.")
@click.option("--measured-depth", "measured_depth_mm", type=Quantity("length_mm", "mm"),
              help="... in a straight container filled so deep.")
@click.option("--density", "measured_density_kgl", type=Quantity("density_kgl", "kg/L"),
              help="Measured: the dry weight of a litre.")
@at_option
@pass_session
def add_mix(session: Session, name: str, parts: tuple[tuple[str, float], ...], at: str | None,
            **measured: float | None) -> None:
    """Add the mix NAME, or change it.

    A change counts for every pot filled with it. For example:
    advisor add mix "third each" --part akadama=33.3 --part pumice=33.3 --part lava=33.3
    """
    from advisor.jobs.shapes import curve_of
    from advisor.pot.capacity import container_capacity
    from advisor.pot.shape import Shape

    with session.desk(at) as desk:
        before = known(desk.knowledge.mixes, name)
        if before is None and not parts:
            raise click.UsageError("Missing option '--part'.", click.get_current_context())
        given = {field: value for field, value in measured.items() if value is not None}
        base = before or Mix(name, ())
        mix = replace(base, name=name, parts=shares(parts) if parts else base.parts, **given)
        verb = "changed" if before else "added"
        with desk.entry(f"{verb} the mix {name}") as entry:
            entry.add(mix)
            curve = curve_of(mix, "grains")
    held = container_capacity(curve, Shape("rectangle", 300.0, 200.0, SHOWN_DEPTH_MM))
    click.echo(f"Mix {verb}: {mix.name} ({parts_words(mix)}). In a pot "
               f"{SHOWN_DEPTH_MM:g} mm deep it holds {held:.0%} of its volume after draining; "
               f"{curve.density_kgl:.2g} kg a litre, dry.")


def parts_words(mix: Mix) -> str:
    """Give what a mix is made of: "40% akadama and 60% pumice"."""
    return listed([f"{share:.0%} {material}" for material, share in mix.parts])


def shares(parts: Sequence[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """Give parts as shares of the volume, told in percent or as shares.

    Raises
    ------
    Refused
        They add up to neither 100 nor 1.
    """
    total = math.fsum(part for _, part in parts)
    for whole in (1.0, 100.0):
        if abs(total - whole) <= ROUNDED * whole:
            return tuple((material, part / whole) for material, part in parts)
    told = " + ".join(f"{part:g}" for _, part in parts)
    raise Refused("parts of a mix", f"{told} = {total:g}", "100 in all, or shares that make 1",
                  "Give each part in percent of the volume before mixing.")
