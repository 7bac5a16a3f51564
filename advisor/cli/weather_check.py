"""`advisor weather check`: how services answered, and what this month's hours rest on."""

from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

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

if TYPE_CHECKING:
    from advisor.garden.answers import KeptAnswer
    from advisor.garden.store import Garden

CHECKED: Final = ("service", "what", "asked", "answered", "fresh_until", "last_error")
#: interface of a service -> what it is asked for
ASKED: Final = {"forecast": "forecast", "ensemble": "ways it may go", "archive": "past years",
                "hourly": "past years", "daily": "past years"}


@click.command()
@at_option
@json_option
@csv_option
@pass_session
def check(session: Session, at: str | None, as_json: bool, as_csv: bool) -> None:
    """Say how each service was last reached, and what this month's hours rest on.

    The table (--csv) holds the services only.
    """
    from advisor.cli.weather_show import bring_up_to_date
    from advisor.cli.working import opened
    from advisor.show.weather_words import filled_text

    refuse_both(as_json, as_csv)
    with opened(session.path) as garden:
        now = session.now(at, garden.site().zone)
        bring_up_to_date(garden, now)
        rows, month = checked(garden), month_filled(garden, now)
    if as_json:
        emit({"services": rows, "this_month": month})
    elif as_csv:
        emit_csv(CHECKED, [[row[name] for name in CHECKED] for row in rows])
    else:
        lines = [_line(row) for row in rows]
        click.echo("\n".join(lines) or "No service was asked yet (advisor weather get).")
        if month["hours"]:
            click.echo(f"\nThis month's {month['hours']} hours rest on:\n"
                       f"{filled_text(month['rests_on'])}")


def checked(garden: "Garden") -> list[dict[str, Any]]:
    """Give how each service was last reached, as rows of a document."""
    zone = garden.site().zone

    def local(at: datetime | None) -> str | None:
        return None if at is None else at.astimezone(zone).isoformat(timespec="seconds")

    newest: dict[tuple[str, str], KeptAnswer] = {}
    for each in sorted(garden.answers(), key=lambda each: each.tried_at):
        newest[each.service, ASKED[each.request.partition(" ")[0]]] = each
    return [{"service": service, "what": what, "asked": local(each.tried_at),
             "answered": local(each.fetched_at), "fresh_until": local(each.fresh_until),
             "last_error": each.error or None} for (service, what), each in sorted(newest.items())]


def month_filled(garden: "Garden", now: datetime) -> dict[str, Any]:
    """Give the hours of this month up to now, and which share of each value rests on what."""
    from advisor.garden.filled import filled, shares
    from advisor.garden.instants import to_seconds

    zone = garden.site().zone
    here = now.astimezone(zone)
    start = here.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    first = to_seconds(start) // 3600 * 3600
    series = garden.weather(start, now, now)
    days = garden.days(start.date(), here.date())
    found = filled(series, days, first, to_seconds(now))
    rests = {name: {word: round(share, 4) for word, share in words.items()}
             for name, words in shares(found).items()}
    return {"month": f"{here:%Y-%m}", "hours": len(found["temp_c"]), "rests_on": rests}


def _line(row: dict[str, Any]) -> str:
    answered = f"answered {_short(row['answered'])}" if row["answered"] else "has not answered yet"
    error = f"; last error: {row['last_error']}" if row["last_error"] else ""
    return (f"{row['service']}, {row['what']}: asked {_short(row['asked'])}, {answered}, fresh "
            f"until {_short(row['fresh_until'])}{error}")


def _short(iso: str) -> str:
    return iso[:16].replace("T", " ")
