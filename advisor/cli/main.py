"""The command `advisor`: its options and its commands in the order of a grower's work."""

import io
import sys
from dataclasses import replace
from pathlib import Path
from typing import Final

import click

from advisor import __version__
from advisor.cli.lazy import HELP, LazyGroup, Where

#: name -> module below `advisor.cli` (or from another floor) and attribute, and the help in a line
REGISTER: Final = {name: Where(module if "." in module else f"advisor.cli.{module}",
                               attribute, line)
                   for name, module, attribute, line in (
    ("start", "start", "start", "Start a garden: where it is."),
    ("add", "add", "add", "Add a place, a mix or a tree, or change one."),
    ("import", "sheet", "import_trees", "Bring trees in from a spreadsheet (CSV)."),
    ("export", "sheet", "export_trees", "Take the trees out to a spreadsheet (CSV)."),
    ("trees", "trees", "trees", "List the trees with their pots, place by place."),
    ("places", "listings", "places", "List the places in the order of the walk."),
    ("mixes", "listings", "mixes", "List the mixes with what they are made of."),
    ("pots", "add_pot", "pots", "List your empty pots."),
    ("materials", "listings", "materials", "List the materials a mix can be made of."),
    ("species", "listings", "species", "List the kinds of trees that are known."),
    ("rounds", "rounds", "rounds", "When you walk the round, season by season."),
    ("weather", "weather", "weather", "Weather: get it, add it, show it, draw it."),
    ("morning", "morning", "morning", "The round: which pots want water now, later, or not."),
    ("page", "advisor.page.command", "page", "The round in a browser, here or on a phone."),
    ("away", "away", "away", "Plan the fewest visits while you are away; print a sheet."),
    ("chart", "chart", "chart", "Draw one tree: water left and dry depth, past and coming."),
    ("explain", "explain", "explain", "Why a tree gets its verdict, from the weather on."),
    ("recovery", "recovery", "recovery", "The trees that recover from repotting, or one of them."),
    ("habits", "habits", "habits", "How much each tree drinks and holds, as readings told."),
    ("watered", "watered", "watered", "Enter what was watered."),
    ("reading", "reading", "reading", "Enter what a skewer, a scale or your eyes say of a tree."),
    ("readings", "readings", "readings", "List the readings."),
    ("moved", "moved", "moved", "Enter that trees stand in another place."),
    ("repotted", "repotted", "repotted", "Enter that a tree was repotted."),
    ("foliage", "foliage", "foliage", "Enter bud-break, full leaf, leaf-fall, foliage taken off."),
    ("fed", "events", "fed", "Enter that trees were fed."),
    ("frozen", "events", "frozen", "Enter a night in which pots froze."),
    ("tipped", "events", "tipped", "Enter that pots were tipped, or set level again."),
    ("gone", "events", "gone", "Enter that a tree was lost or given away."),
    ("year", "year", "year", "The season behind: litres, waterings, driest days, tree by tree."),
    ("rainwater", "rainwater", "rainwater", "Rain butts: what is in them, how long it lasts."),
    ("mix", "mix_measure", "mix_group", "Measure a mix with a kitchen scale."),
    ("potting", "potting", "potting", "Compare pots and mixes for a tree, or when to repot it."),
    ("undo", "undo", "undo", "Take back an entry, or list the entries."),
    ("backup", "backup", "backup", "Copy the garden to a file, checked."),
    ("restore", "restore", "restore", "Put a copy of the garden back."),
    ("demo", "demo", "demo", "Make and walk an example garden."),
)}


@click.group(cls=LazyGroup, register=REGISTER,
             context_settings={"help_option_names": list(HELP)})
@click.option("--garden", type=click.Path(path_type=Path), envvar="ADVISOR_GARDEN",
              metavar="FILE", help="The garden's file (or ADVISOR_GARDEN); else one of your own.")
@click.version_option(__version__, prog_name="advisor")
@click.pass_context
def cli(ctx: click.Context, garden: Path | None) -> None:
    """Decide each morning which trees in shallow pots want water."""
    from advisor.cli.session import Session

    session = ctx.obj or Session()
    ctx.obj = replace(session, garden_file=garden or session.garden_file)


def main() -> None:
    """Run the command line; letters that the terminal has none of become question marks."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
            stream.reconfigure(errors="replace")
    cli(prog_name="advisor")
