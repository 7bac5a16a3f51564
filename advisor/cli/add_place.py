"""`advisor add place`: a bench or corner of the garden."""

from dataclasses import replace
from typing import Any

import click

from advisor.cli.ask import Asking
from advisor.cli.choose import known, refuse_reserved
from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.cli.values import ALL_DAY, Hours, Share, Skyline, Value, Whole, Word, YesNo
from advisor.cli.words import hours_words
from advisor.garden.records import GROUNDS, WINDS, Place

#: field -> question, the thing in a sentence, how the answer is read, the default as shown
QUESTIONS: dict[str, tuple[str, str, Value, str]] = {
    "sun_june": ("Sun from ... to ... in June, as 6-20", "sun in June", Hours(), ALL_DAY),
    "sun_september": ("Sun from ... to ... in September, as 9-17", "in September", Hours(),
                      ALL_DAY),
    "wind": ("Wind: open, half or sheltered", "wind", Word("wind", WINDS), "open"),
    "ground": (f"It stands on: {', '.join(GROUNDS)}", "on", Word("ground", GROUNDS), "slats"),
    "grouped": ("Do the trees stand close together", "close together", YesNo(), "no"),
    "rain_factor": ("Share of the rain that reaches it (1 open sky, 0 a roof)", "rain", Share(),
                    "1"),
}


@click.command("place")
@click.argument("name")
@click.option("--sun-june", type=Hours(), help="Sun from-to in June, as 6-20, or 'all day'.")
@click.option("--sun-september", type=Hours(), help="The same in September.")
@click.option("--horizon", type=Skyline(), help="Or the skyline: compass:height, as 90:20,180:5.")
@click.option("--wind", type=Word("wind", WINDS), help="How the wind reaches it.")
@click.option("--ground", type=Word("ground", GROUNDS), help="What the pots stand on or before.")
@click.option("--grouped/--apart", default=None, help="Whether the trees stand close together.")
@click.option("--rain", "rain_factor", type=Share(), help="Share of the rain that reaches it.")
@click.option("--shade", type=Share(), help="Share of the light that net or leaves take.")
@click.option("--position", type=Whole(), help="Its turn in the walk; else the last.")
@at_option
@pass_session
def add_place(session: Session, name: str, at: str | None, **told: Any) -> None:
    """Add the place NAME, or change it: only what is given changes."""
    refuse_reserved("name of a place", name)
    with session.desk(at) as desk:
        before = known(desk.knowledge.places, name)
        ask = Asking()
        given = {field: value for field, value in told.items() if value is not None}
        if before and not given and name == before.name:
            click.echo(f"Nothing to change: {before.name} ({words(before)}).")
            return
        fields = _plain(given if before else _asked(given, ask))
        base = before or Place(name, position=_last(desk) + 1)
        place = replace(base, name=name, **fields)
        verb = "changed" if before else "added"
        with desk.entry(f"{verb} the place {name}") as entry:
            entry.add(place)
    click.echo(f"Place {verb}: {place.name} ({words(place)}).")
    ask.say()


def _asked(given: dict[str, Any], ask: Asking) -> dict[str, Any]:
    """Ask for what was not given of a new place; a skyline stands for the hours of sun."""
    answers = dict(given)
    for field, (question, what, kind, shown) in QUESTIONS.items():
        if field.startswith("sun") and "horizon" in given:
            continue
        default = kind.convert(shown, None, None)
        answers[field] = ask.default(question, what, given.get(field), default, kind, shown)
    return answers


def _plain(fields: dict[str, Any]) -> dict[str, Any]:
    return {field: None if value == ALL_DAY else value for field, value in fields.items()}


def _last(desk: Desk) -> int:
    return max((place.position for place in desk.knowledge.places.values()), default=0)


def words(place: Place) -> str:
    """Give what was told of a place, in a line."""
    sun = (f"sun {hours_words(place.sun_june)} in June, "
           f"{hours_words(place.sun_september)} in September")
    if place.horizon:
        sun = "sun above its skyline"
    close = ", close together" if place.grouped else ""
    shade = f", shade {place.shade:.0%}" if place.shade else ""
    rain = "" if place.rain_factor == 1.0 else f", {place.rain_factor:.0%} of the rain"
    wind = place.wind if place.wind == "sheltered" else f"{place.wind} to the wind"
    wind = "half sheltered" if place.wind == "half" else wind
    return f"{sun}, {wind}, on {place.ground}{close}{shade}{rain}, turn {place.position}"
