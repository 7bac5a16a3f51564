"""What a form tells is a command: the same words, the same refusals, the same answer."""

import io
import secrets
from collections.abc import Sequence
from contextlib import redirect_stdout
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from threading import Lock
from typing import Final

import click

from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.errors import Refused
from advisor.page.gardens import PageSession

MOST_WAITED: Final = timedelta(days=7)  # of a tick kept on a phone
LONGEST_IDENTIFIER: Final = 64
LEFT_EMPTY: Final = "Left empty. Wanted: something here. Nothing was entered."
_ONE_AT_A_TIME: Final = Lock()  # the answer of a command is read off the one standard output


@dataclass(frozen=True)
class Answer:
    """What a command answered, and the entry it made."""

    text: str
    entry: int | None
    again: bool = False  # told before under the same identifier


@dataclass(frozen=True)
class Misused:
    """A form that says too little or too much, in the words of the command."""

    text: str
    option: str | None


class Wrong(Exception):
    """A command was used wrongly; nothing was entered."""

    def __init__(self, told: Misused) -> None:
        super().__init__(told.text)
        self.told = told


def is_of_file(refused: Refused) -> bool:
    """Whether the garden's file could not be used for now, whatever was to be entered."""
    return refused.what.startswith("garden file")


def new_identifier() -> str:
    """Give an identifier that no other form carries."""
    return secrets.token_urlsafe(16)


def happened_at(now: datetime, ago_s: str | None) -> datetime:
    """Give when a tick was made: so many seconds ago on the clock of the phone.

    Raises
    ------
    Refused
        Not a number of seconds within `MOST_WAITED`.
    """
    if not ago_s:
        return now
    most = MOST_WAITED.total_seconds()
    if not ago_s.isascii() or not ago_s.isdigit() or len(ago_s) > 9 or int(ago_s) > most:
        raise Refused("age of a tick", f"{ago_s[:20]} s", f"0 to {most:.0f} s, a week",
                      "Enter it at the computer, with --at.")
    return now - timedelta(seconds=int(ago_s))


def tell(session: PageSession, words: Sequence[str], identifier: str, at: datetime) -> Answer:
    """Run a command as it stands on a command line; under one identifier once only.

    Parameters
    ----------
    session : PageSession
    words : sequence of str
        The command and what follows it.
    identifier : str
    at : datetime
        What the clock shows for it.

    Raises
    ------
    Refused
        What the command refuses.
    Wrong
        What it calls wrong usage.
    """
    if not 8 <= len(identifier) <= LONGEST_IDENTIFIER:
        raise Refused("identifier of a tick", f"{len(identifier)} letters",
                      f"8 to {LONGEST_IDENTIFIER}", "Load the page again.")
    with _ONE_AT_A_TIME, session.open() as garden:
        if before := garden.ticked(identifier):
            return Answer(f"Entered: {before[1]}.", before[0], again=True)
        text = _run(replace(session, clock=lambda: at, identifier=identifier), words)
        made = garden.ticked(identifier)
    return Answer(text, made[0] if made else None)


def _run(session: Session, words: Sequence[str]) -> str:
    """Run a command with nobody at the terminal; give what it prints."""
    printed = io.StringIO()
    try:
        with redirect_stdout(printed), cli.make_context("advisor", list(words),
                                                        obj=session) as context:
            cli.invoke(context)
    except click.UsageError as error:
        option = error.param.opts[0] if isinstance(
            error, click.MissingParameter) and error.param else None
        text = error.format_message()
        named = [word.strip("'\".,:") for word in text.split()]
        option = option or next((word for word in named if word.startswith("--")), None)
        text = LEFT_EMPTY if option and text.startswith("Missing") else text
        raise Wrong(Misused(text, option)) from error
    except click.ClickException as error:
        if isinstance(error.__cause__, Refused):
            raise error.__cause__ from None
        raise Refused("entry", error.format_message(), "one that can be made",
                      "Try it at the computer.") from error
    return printed.getvalue().strip()
