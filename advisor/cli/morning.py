"""`advisor morning`: the round."""

from datetime import datetime
from typing import TYPE_CHECKING

import click

from advisor.cli.session import Session, at_option, emit, json_option, pass_session

if TYPE_CHECKING:
    from advisor.garden.store import Garden
    from advisor.jobs.morning import Round
    from advisor.show.wording import Leaning


@click.command()
@at_option
@json_option
@click.option("--every", is_flag=True, help="A line of its own for every tree.")
@click.option("--us", is_flag=True, help="Inches and US gallons.")
@pass_session
def morning(session: Session, at: str | None, as_json: bool, every: bool, us: bool) -> None:
    """Say which pots want water now, which later today, which to look at, which to leave.

    Place by place in walking order. Estimates, not orders: the tree and the finger decide.
    """
    from advisor.show.wording import round_document, round_text

    told, leaning = round_at(session, at)
    if as_json:
        emit(round_document(told, leaning))
    else:
        click.echo(round_text(told, leaning, us=us, every=every))


def round_at(session: Session, at: str | None) -> "tuple[Round, Leaning]":
    """Work out the round at the instant a grower wrote, else now."""
    from advisor.cli.working import opened

    with opened(session.path) as garden:
        return worked(garden, session.now(at, garden.site().zone))


def worked(garden: "Garden", at: datetime) -> "tuple[Round, Leaning]":
    """Work a round out, saying so first where the kernels must be compiled."""
    from advisor.cli.working import work_round

    say_when_preparing()
    return work_round(garden, at)


def say_when_preparing() -> None:
    """Say on stderr that the first run takes its time, when no compiled copy is at hand."""
    from advisor.balance.cache import prepared

    if not prepared():
        click.echo("Preparing the water balance for this computer; this happens once and takes "
                   "about half a minute.", err=True)


def listed_now(garden: "Garden", at: datetime) -> list[tuple[str, float]]:
    """Give the trees that the round lists to be watered now, with their litres."""
    from advisor.jobs.judge import WATER_NOW
    from advisor.show.moments import round_litres

    told, _ = worked(garden, at)
    return [(tree.label, round_litres(tree.call.litres)) for tree in told.trees
            if tree.verdict == WATER_NOW]
