"""`advisor rounds`: when the grower walks the round."""

import re
from dataclasses import replace

import click

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
from advisor.cli.values import Clock, Value, Word
from advisor.errors import Refused
from advisor.garden.naming import fold
from advisor.garden.records import SEASONS, WEEKDAYS, Rounds

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = dict(zip(DAYS, WEEKDAYS, strict=True))


class Days(Value):
    """Days of the week, as sat or mon,thu."""

    name = "days"

    def read(self, text: str) -> tuple[str, ...]:
        """Read "sat", "mon,thu" or "every day"."""
        if fold(text) == "every day":
            return WEEKDAYS
        told = [fold(day) for day in re.split(r"[,\s]+", text.strip())]
        told = [_SHORT.get(day, day) for day in told]
        if any(day not in WEEKDAYS for day in told):
            raise Refused("days", repr(text), ", ".join(WEEKDAYS), "Write them as mon,thu.")
        return tuple(day for day in WEEKDAYS if day in told)


@click.command()
@click.argument("season", type=Word("season", SEASONS), required=False)
@click.argument("times", nargs=-1, type=Clock())
@click.option("--on", "days", type=Days(), help="On these days, as sat or mon,thu; 'every day'.")
@json_option
@csv_option
@at_option
@pass_session
def rounds(session: Session, season: str | None, times: tuple[str, ...],
           days: tuple[str, ...] | None, as_json: bool, as_csv: bool, at: str | None) -> None:
    """Show when you walk the round, or tell it for a season.

    For example: advisor rounds winter 10:00 --on sat
    """
    refuse_both(as_json, as_csv)
    if days and season is None:
        raise click.UsageError("Name the season as well.", click.get_current_context())
    with session.desk(at, readonly=not (times or days)) as desk:
        told = dict(desk.knowledge.rounds)
        if season:
            before = told[season]
            new = replace(before, weekdays=days or before.weekdays, times=tuple(
                sorted(times)) or before.times)
            told = {season: new}
            if times or days:
                with desk.entry(f"rounds: {_words(new)}") as entry:
                    entry.add(new)
    if as_json:
        emit({"rounds": [{"season": each.season, "times": each.times, "days": each.weekdays}
                         for each in told.values()]})
    elif as_csv:
        emit_csv(("season", "times", "days"), [
            (each.season, " ".join(each.times), " ".join(each.weekdays)) for each in told.values()])
    else:
        click.echo("\n".join(_words(each) for each in told.values()))


def _words(told: Rounds) -> str:
    days = "" if told.weekdays == WEEKDAYS else f" on {', '.join(told.weekdays)}"
    return f"{told.season} {', '.join(told.times)}{days}"
