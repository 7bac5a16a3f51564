"""`advisor weather get`, `check` and `contact`: weather that arrives by itself."""

from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

from advisor.cli.session import (
    Session,
    csv_option,
    emit,
    emit_csv,
    json_option,
    pass_session,
    refuse_both,
)

if TYPE_CHECKING:
    from advisor.garden.store import Garden

CHECKED = ("service", "asked", "answered", "fresh_until", "last_error")


@click.command()
@click.option("--from", "only", multiple=True, metavar="SERVICE",
              help="Only from this one: open-meteo, met-norway or bright-sky. Repeat it.")
@pass_session
def get(session: Session, only: tuple[str, ...]) -> None:
    """Get past and coming weather for the garden from open services.

    Their terms hold: open-meteo is free for what earns no money; met-norway wants to know who asks
    (advisor weather contact). Nothing is asked again while an answer is fresh, and all together
    take at most 30 seconds. Exit code 1 when none of those asked gave weather.
    """
    from advisor.cli.services import get as get_from

    now = session.clock()
    with session.open() as garden:
        found = get_from(garden, now, only)
    for each in found:
        click.echo(f"{each.service}: {each.words}", err=each.failed)
    asked = [each for each in found if not each.words.startswith("not asked")]
    if not any(not each.failed for each in asked):
        raise SystemExit(1)


@click.command()
@click.argument("address")
@pass_session
def contact(session: Session, address: str) -> None:
    """Say how services can reach you: a mail address or a web page; "" takes it back.

    It is sent to the services that are asked, and nowhere else.
    """
    with session.desk(None) as desk, desk.entry("contact for weather services") as entry:
        desk.garden.add_setting(entry.id, "contact", address.strip())
    click.echo("Contact kept." if address.strip() else "No contact is given any more.")


@click.command()
@json_option
@csv_option
@pass_session
def check(session: Session, as_json: bool, as_csv: bool) -> None:
    """Say how each service was last reached, and until when its answer is fresh."""
    refuse_both(as_json, as_csv)
    with session.open(readonly=True) as garden:
        rows = checked(garden)
    if as_json:
        emit({"services": rows})
    elif as_csv:
        emit_csv(CHECKED, [[row[name] for name in CHECKED] for row in rows])
    elif not rows:
        click.echo("No service was asked yet (advisor weather get).")
    else:
        for row in rows:
            click.echo(_line(row))


def checked(garden: "Garden") -> list[dict[str, Any]]:
    """Give how each service was last reached, as rows of a document."""
    zone = garden.site().zone

    def local(at: datetime | None) -> str | None:
        return None if at is None else at.astimezone(zone).isoformat(timespec="seconds")

    return [{"service": each.service, "asked": local(each.tried_at),
             "answered": local(each.fetched_at), "fresh_until": local(each.fresh_until),
             "last_error": each.error or None} for each in garden.answers()]


def _line(row: dict[str, Any]) -> str:
    answered = f"answered {_short(row['answered'])}" if row["answered"] else "has not answered yet"
    error = f"; last error: {row['last_error']}" if row["last_error"] else ""
    return (f"{row['service']}: asked {_short(row['asked'])}, {answered}, fresh until "
            f"{_short(row['fresh_until'])}{error}")


def _short(iso: str) -> str:
    return iso[:16].replace("T", " ")
