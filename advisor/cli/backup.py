"""`advisor backup`: copy the garden to a file that was read from end to end."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from advisor.cli.session import Session, at_option, emit, json_option, pass_session

if TYPE_CHECKING:
    from advisor.garden.copies import Copy


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--list", "as_list", is_flag=True, help="List the copies that are whole.")
@json_option
@at_option
@pass_session
def backup(session: Session, file: Path | None, as_list: bool, as_json: bool,
           at: str | None) -> None:
    """Copy the garden to FILE, else beside it, and read the copy from end to end.

    Of the copies beside it the newest five stay. A garden of an earlier version is copied so
    by itself before it is brought up to date. Keep one on another disk too.
    """
    from advisor.garden.backup import back_up
    from advisor.garden.copies import copies

    if as_list and file:
        raise click.UsageError("Give FILE or --list, not both.", click.get_current_context())
    found = copies(session.path) if as_list else [
        back_up(session.path, _instant(session, at), file)]
    if as_json:
        emit({"copies": [copy_row(copy) for copy in found]})
    elif not found:
        click.echo("No copies yet: `advisor backup` makes one.")
    for copy in [] if as_json else found:
        click.echo(f"{copy.path}: whole, {entries_words(copy)}.")


def _instant(session: Session, at: str | None) -> datetime:
    with session.open(readonly=False) as garden:
        return session.now(at, garden.site().zone)


def entries_words(copy: "Copy") -> str:
    """Give what a copy holds: "27 entries up to 10 September 2026, 07:00"."""
    entries = "1 entry" if copy.entries == 1 else f"{copy.entries} entries"
    return f"{entries} up to {copy.until}"


def copy_row(copy: "Copy") -> dict[str, Any]:
    """Give a copy for scripts."""
    told = copy.told_at.astimezone(copy.zone).isoformat(timespec="seconds")
    return {"file": str(copy.path), "entries": copy.entries, "until": told}
