"""`advisor undo`: take back an entry, or list the entries."""

from typing import Any
from zoneinfo import ZoneInfo

import click

from advisor.cli.clock import instant_words, iso
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
from advisor.garden.store import Entry

SHOWN = 20
COLUMNS = ("entry", "at", "words", "undone")


@click.command()
@click.argument("number", type=click.IntRange(min=1), required=False)
@click.option("--list", "as_list", is_flag=True,
              help="List the last entries, the newest first: as many as NUMBER, else 20.")
@json_option
@csv_option
@at_option
@pass_session
def undo(session: Session, number: int | None, as_list: bool, as_json: bool, as_csv: bool,
         at: str | None) -> None:
    """Take back the last entry, or entry NUMBER of the list.

    Nothing is lost: what was taken back stays in the list. Weather files are no entries
    and not in it: `advisor weather remove` takes one back.
    """
    refuse_both(as_json, as_csv)
    if (as_json or as_csv) and not as_list:
        raise click.UsageError("--json and --csv go with --list.", click.get_current_context())
    with session.desk(at, readonly=as_list) as desk:
        if as_list:
            rows = [_row(entry, desk.zone) for entry in desk.garden.entries(number or SHOWN)]
            if as_json:
                emit({"entries": rows})
            elif as_csv:
                emit_csv(COLUMNS, [[row[name] for name in COLUMNS] for row in rows])
            else:
                _show(desk.garden.entries(number or SHOWN), desk.zone)
            return
        entry = desk.garden.undo(desk.at, number)
        click.echo(f"Taken back: {entry.id}, {entry.words} "
                   f"({instant_words(entry.made_at, desk.zone)}).")


def _row(entry: Entry, zone: ZoneInfo) -> dict[str, Any]:
    undone = iso(entry.undone_at, zone) if entry.undone_at else None
    return {"entry": entry.id, "at": iso(entry.made_at, zone), "words": entry.words,
            "undone": undone}


def _show(entries: list[Entry], zone: ZoneInfo) -> None:
    for entry in entries:
        back = " (taken back)" if entry.undone_at else ""
        click.echo(f"{entry.id:>4}  {instant_words(entry.made_at, zone)}  {entry.words}{back}")
