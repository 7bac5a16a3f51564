"""`advisor moved`: enter that trees stand in another place."""

import click

from advisor.cli.choose import known
from advisor.cli.session import Session, at_option, pass_session, who_options
from advisor.cli.words import entered, labels_words
from advisor.garden.records import Move


@click.command()
@who_options()
@click.option("--to", "place", required=True, metavar="PLACE", help="Where they stand now.")
@at_option
@pass_session
def moved(session: Session, who: tuple[str, ...], but: tuple[str, ...], place: str,
          at: str | None) -> None:
    """Enter that trees stand in another place: WHO are trees, places, or all.

    For example: advisor moved all --but "damp sand" --to "winter place"
    """
    with session.desk(at, day=True) as desk:
        labels = desk.choose(who, but)
        there = known(desk.knowledge.places, place)
        name = there.name if there else place
        with desk.entry(f"moved {labels_words(labels)} to {name}") as entry:
            for label in labels:
                entry.add(Move(label, desk.at, name))
        click.echo(entered("Moved", labels, f" to {name}", desk.at, desk.zone))
