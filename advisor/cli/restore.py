"""`advisor restore`: put a copy in the garden's place."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from advisor.cli.backup import copy_row, entries_words
from advisor.cli.session import Session, at_option, emit, json_option, pass_session
from advisor.errors import Refused

if TYPE_CHECKING:
    from advisor.garden.copies import Copy


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@json_option
@at_option
@pass_session
def restore(session: Session, file: Path | None, as_json: bool, at: str | None) -> None:
    """Put FILE in the garden's place, else the last good copy beside it.

    The file that stood there is kept beside it under another name. What was entered after the
    copy was made has to be entered again.
    """
    from advisor.garden.backup import restore as put_back

    copy = _copy(session.path, file)
    aside = put_back(session.path, copy, session.now(at, copy.zone))
    if as_json:
        emit({"restored": copy_row(copy), "aside": str(aside) if aside else None})
        return
    click.echo(f"Put back: {copy.path}, {entries_words(copy)}.")
    if aside:
        click.echo(f"The file that stood there is kept: {aside}")


def _copy(garden: Path, file: Path | None) -> "Copy":
    """Give the copy that is meant, having read it from end to end."""
    from advisor.garden.copies import NotWhole, examined, last_good

    if file is None:
        if copy := last_good(garden):
            return copy
        raise Refused("copy to put back", "none", f"a whole copy beside {garden}",
                      "Name a file: `advisor restore FILE`.")
    try:
        return examined(file)
    except NotWhole as error:
        raise Refused("copy to put back", f"{file}, {error}", "a whole garden file",
                      "`advisor backup --list` shows those there are.") from error
