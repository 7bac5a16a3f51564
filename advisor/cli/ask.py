"""Plain questions on a terminal; without one, defaults that say they are one."""

from typing import Any, TypeVar

import click

from advisor.cli import session
from advisor.cli.values import Value
from advisor.errors import Refused

T = TypeVar("T")


class Asking:
    """Asks for what was not given, and remembers which defaults were taken unasked."""

    def __init__(self) -> None:
        self.terminal = session.on_terminal()
        self.taken: list[str] = []

    def needed(self, question: str, option: str, given: T | None,
               kind: Value | None = None) -> T:
        """Give what was given, else ask for it; without a terminal it is missing (exit 2)."""
        if given is not None:
            return given
        if not self.terminal:
            raise click.UsageError(f"Missing option '{option}'.", click.get_current_context())
        answer: T = _ask(question, None, kind)
        return answer

    def default(self, question: str, what: str, given: T | None, default: T,
                kind: Value | None = None, shown: str = "") -> T:
        """Give what was given, else ask with a default; without a terminal take it and say so.

        Parameters
        ----------
        question : str
            As it is put on the terminal.
        what : str
            The thing in the sentence that says which defaults were taken.
        given : T or None
            None where it was not given.
        default : T
        kind : Value, optional
            Reads the answer.
        shown : str
            The default as it is written; the default itself where empty.
        """
        if given is not None:
            return given
        shown = shown or str(default)
        if self.terminal:
            answer: T = _ask(question, (shown, default), kind)
            return answer
        self.taken.append(f"{what} {shown}".strip())
        return default

    def say(self) -> None:
        """Say which defaults were taken."""
        if self.taken:
            click.echo(f"Taken as default: {', '.join(self.taken)}.")


def _ask(question: str, default: tuple[str, Any] | None, kind: Value | None) -> Any:
    """Ask until the answer can be used; an empty line takes the default."""
    while True:
        text = click.prompt(question, default=default[0] if default else None, err=True)
        if default and text == default[0]:
            return default[1]
        try:
            return kind.convert(text, None, None) if kind else text
        except Refused as refused:
            click.echo(str(refused), err=True)
