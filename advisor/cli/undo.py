"""`advisor undo`: take back an entry, or list the entries."""

from zoneinfo import ZoneInfo

import click

from advisor.cli.clock import instant_words, iso
from advisor.cli.session import Session, at_option, emit, json_option, pass_session
from advisor.garden.store import Entry

SHOWN = 20


@click.command()
@click.argument("number", type=click.IntRange(min=1), required=False)
@click.option("--list", "as_list", is_flag=True, help="List the last entries, the newest first.")
@json_option
@at_option
@pass_session
def undo(session: Session, number: int | None, as_list: bool, as_json: bool,
         at: str | None) -> None:
    """Take back the last entry, or entry NUMBER of the list.

    Nothing is lost: what was taken back stays in the list.
    """
    if as_json and not as_list:
        raise click.UsageError("--json goes with --list.", click.get_current_context())
    with session.desk(at, readonly=as_list) as desk:
        if as_list:
            _show(desk.garden.entries(number or SHOWN), desk.zone, as_json)
            return
        entry = desk.garden.undo(desk.at, number)
        click.echo(f"Taken back: {entry.id}, {entry.words} "
                   f"({instant_words(entry.made_at, desk.zone)}).")


def _show(entries: list[Entry], zone: ZoneInfo, as_json: bool) -> None:
    if as_json:
        emit({"entries": [
            {"entry": entry.id, "at": iso(entry.made_at, zone), "words": entry.words,
             "undone": iso(entry.undone_at, zone) if entry.undone_at else None}
            for entry in entries]})
        return
    for entry in entries:
        back = " (taken back)" if entry.undone_at else ""
        click.echo(f"{entry.id:>4}  {instant_words(entry.made_at, zone)}  {entry.words}{back}")
