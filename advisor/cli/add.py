"""`advisor add`: places, mixes and trees."""

from typing import Final

import click

from advisor.cli.lazy import LazyGroup, Where

REGISTER: Final = {
    "place": Where("advisor.cli.add_place", "add_place", "A bench or corner of the garden."),
    "mix": Where("advisor.cli.add_mix", "add_mix", "A mix: its materials and their parts."),
    "pot": Where("advisor.cli.add_pot", "add_pot", "An empty pot of yours."),
    "tree": Where("advisor.cli.add_tree", "add_tree", "A tree, where it stands, and its pot."),
}


@click.group(cls=LazyGroup, register=REGISTER)
def add() -> None:
    """Add a place, a mix, an empty pot or a tree; one that is there already is changed."""
