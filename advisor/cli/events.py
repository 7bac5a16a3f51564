"""`advisor fed`, `frozen`, `tipped` and `gone`: what else happens to a tree."""

from collections.abc import Sequence

import click

from advisor.cli.session import Desk, Session, at_option, one_of, pass_session, who_options
from advisor.cli.values import Number
from advisor.cli.words import entered, labels_words
from advisor.garden.records import Event


@click.command()
@who_options()
@click.option("--degrees", type=Number(), metavar="DEGREES", help="How far, on a long edge.")
@click.option("--level", is_flag=True, help="Set level again.")
@at_option
@pass_session
def tipped(session: Session, who: tuple[str, ...], but: tuple[str, ...], degrees: float | None,
           level: bool, at: str | None) -> None:
    """Enter that pots were tipped, or set level again: WHO are trees, places, or all."""
    one_of(degrees=degrees is not None, level=level)
    angle = 0.0 if level or degrees is None else degrees
    verb, how = ("Set level", "") if angle == 0.0 else ("Tipped", f" by {angle:g}°")
    with session.desk(at) as desk:
        labels = desk.choose(who, but)
        with desk.entry(f"{verb.lower()} {labels_words(labels)}{how}") as entry:
            for label in labels:
                entry.add(Event(label, desk.at, "tipped", f"{angle:g}"))
        click.echo(entered(verb, labels, how, desk.at, desk.zone))


@click.command()
@who_options()
@at_option
@pass_session
def gone(session: Session, who: tuple[str, ...], but: tuple[str, ...], at: str | None) -> None:
    """Enter that trees were lost or given away: from then on the round leaves them out."""
    with session.desk(at, day=True) as desk:
        _enter(desk, desk.choose(who, but), "gone", "Gone:")


@click.command()
@who_options()
@at_option
@pass_session
def fed(session: Session, who: tuple[str, ...], but: tuple[str, ...], at: str | None) -> None:
    """Enter that trees were fed: WHO are trees, places, or all."""
    with session.desk(at, day=True) as desk:
        _enter(desk, desk.choose(who, but), "fed", "Fed")


@click.command()
@who_options()
@at_option
@pass_session
def frozen(session: Session, who: tuple[str, ...], but: tuple[str, ...], at: str | None) -> None:
    """Enter a night in which pots froze: WHO are trees, places, or all.

    The day is that of the morning after.
    """
    with session.desk(at, day=True) as desk:
        _enter(desk, desk.choose(who, but), "frozen night", "Frozen overnight:")


def _enter(desk: Desk, labels: Sequence[str], kind: str, said: str) -> None:
    """Enter an event of each tree, and say so."""
    with desk.entry(f"{kind}: {labels_words(labels)}") as entry:
        for label in labels:
            entry.add(Event(label, desk.at, kind))
    click.echo(entered(said, labels, "", desk.at, desk.zone))
