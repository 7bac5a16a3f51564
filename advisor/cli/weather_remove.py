"""`advisor weather remove`: a file of weather taken back."""

import click

from advisor.cli.session import Session, at_option, pass_session
from advisor.cli.weather_show import NUMBERED
from advisor.errors import Refused


@click.command()
@click.argument("number", type=click.IntRange(min=1))
@at_option
@pass_session
def remove(session: Session, number: int, at: str | None) -> None:
    """Take back the file or station table NUMBER (advisor weather show --sources).

    It no longer counts, and what it replaced counts again. Nothing is lost: `advisor undo` brings
    it back.
    """
    from advisor.cli.hours import refresh

    with session.desk(at) as desk:
        garden = desk.garden
        kept = {each.number: each for each in garden.kept_sources()
                if each.source.kind in NUMBERED}
        if number not in kept:
            raise Refused("source of weather", number, "the number of a file or a station",
                          "See advisor weather show --sources.")
        name = kept[number].source.name
        with garden.writing():
            with desk.entry(f"weather of {name} ({number}) taken back") as entry:
                garden.remove_source(entry.id, number)
            if garden.weather_revision(desk.at):
                refresh(garden, desk.knowledge.site, desk.knowledge.places.values(), desk.at)
            else:
                garden.drop_derived()
        left = "" if garden.weather_revision(desk.at) else " No weather is left."
    click.echo(f"Taken back: {number}, {name}. `advisor undo` brings it back.{left}")
