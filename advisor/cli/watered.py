"""`advisor watered`: enter what was watered."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

import click

from advisor.cli.clock import instant_words
from advisor.cli.session import Desk, Session, at_option, one_of, pass_session, who_options
from advisor.cli.values import Day, Quantity
from advisor.cli.words import entered, labels_words, litres_words
from advisor.errors import Refused
from advisor.garden.records import Walk, Watering

MOST_POTFULS: Final = 10.0  # of the soil's volume in one watering [J; 1-2 is generous]


@click.command()
@who_options(needed=False)
@click.option("--litres", type=Quantity("litres", "L"), metavar="L", help="To each of them.")
@click.option("--until-ran", is_flag=True, help="Until it ran below; so where no litres are told.")
@click.option("--as-listed", is_flag=True, help="What the round lists, with the litres it lists.")
@click.option("--nothing", is_flag=True, help="The round was walked, and nothing watered.")
@click.option("--from-sheet", type=Day(), metavar="DATE", help="The helper's ticks of a day: what "
              "the plan listed, at its time.")
@at_option
@pass_session
def watered(session: Session, who: tuple[str, ...], but: tuple[str, ...], litres: float | None,
            at: str | None, from_sheet: date | None, **flags: bool) -> None:
    """Enter what was watered: WHO are trees, places, or all.

    For example: advisor watered "south bench" --but 3,11
    """
    as_listed, until_ran = flags["as_listed"], flags["until_ran"]
    if from_sheet is not None:
        one_of(from_sheet=True, litres=litres is not None, **flags)
    else:
        _refuse_misuse(who, but, litres, flags)
    with session.desk(at) as desk:
        if from_sheet is not None:
            from advisor.cli.ticks import enter_ticks

            enter_ticks(desk, from_sheet, who, but)
            return
        if flags["nothing"]:
            _walked(desk)
            return
        told = _listed(desk, who, but) if as_listed else dict.fromkeys(desk.choose(who, but),
                                                                      litres)
        labels = list(told)
        if not labels:
            _none_listed(desk, part=bool(who or but))
            return
        if litres is not None:
            refuse_floods(desk, labels, litres)
        how = _how(list(told.values()), until_ran)
        with desk.entry(f"watered {labels_words(labels)}{how}") as entry:
            for label, poured in told.items():
                ran = until_ran or as_listed or poured is None  # the round lists until it runs
                entry.add(Watering(label, desk.at, poured, ran))
        click.echo(entered("Watered", labels, how, desk.at, desk.zone))


def _refuse_misuse(who: Sequence[str], but: Sequence[str], litres: float | None,
                   flags: Mapping[str, bool]) -> None:
    """Refuse a call that says too little or too much (exit code 2)."""
    if flags["nothing"]:
        one_of(nothing=True, **{name: value for name, value in flags.items() if name != "nothing"},
               litres=litres is not None)
        if who or but:
            raise click.UsageError("--nothing is told of the whole round: name no tree.",
                                   click.get_current_context())
    elif flags["as_listed"]:
        one_of(litres=litres is not None, as_listed=True)
    elif not who:
        raise click.UsageError("Name a tree or a place, or give --as-listed or --nothing.",
                               click.get_current_context())


def _walked(desk: Desk) -> None:
    with desk.entry("walked the round, watered nothing") as entry:
        entry.add(Walk(desk.at))
    click.echo(f"The round walked and nothing watered, {instant_words(desk.at, desk.zone)}.")


def _none_listed(desk: Desk, part: bool) -> None:
    """Say that nothing was listed; of the whole round, that it was walked is entered."""
    if part:
        click.echo("Nothing is listed to be watered now; nothing entered.")
        return
    click.echo("Nothing is listed to be watered now.")
    _walked(desk)


def refuse_floods(desk: Desk, labels: Sequence[str], litres: float) -> None:
    """Refuse more litres than anybody pours on such a pot.

    Raises
    ------
    Refused
        More than `MOST_POTFULS` times the volume of the soil.
    """
    from advisor.jobs.describe import describe

    for label in labels:
        model = describe(desk.knowledge, label, desk.at)
        if model is not None and litres > (most := MOST_POTFULS * model.filled.soil_l):
            raise Refused(f"watering of {label}", f"{litres:g} L",
                          f"at most {litres_words(most)}, ten times its soil",
                          "Check the litres: they are poured on each of the trees.")


def _listed(desk: Desk, who: Sequence[str], but: Sequence[str]) -> dict[str, float | None]:
    """Give what the round lists now, of the trees meant, with its litres."""
    from advisor.cli.morning import listed_now

    meant = desk.choose(who or ["all"], but)
    listed: dict[str, float | None] = dict(listed_now(desk.garden, desk.at))
    return {label: listed[label] for label in meant if label in listed}


def _how(poured: Sequence[float | None], until_ran: bool) -> str:
    told = [litres for litres in poured if litres is not None]
    ran = ", until it ran below" if until_ran or not told else ""
    if not told:
        return ran
    if len(set(told)) == 1:
        each = " each" if len(told) > 1 else ""
        return f", {litres_words(told[0])}{each}{ran}"
    return f", {litres_words(sum(told))} in all{ran}"
