"""`advisor weather show`: what is in store."""

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, Final, NamedTuple

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
    from zoneinfo import ZoneInfo

    from advisor.garden.sources import KeptSource
    from advisor.garden.store import Garden
    from advisor.weather.quality import Doubt

SHOWN_DAYS: Final = 10
DOUBT_DAYS: Final = 31
DAY_COLUMNS: Final = ("date", "tmin_c", "tmax_c", "rain_mm", "et0_mm", "rules")
DOUBT_COLUMNS: Final = ("from", "to", "hours", "what", "value", "source", "why", "instead")
SOURCE_COLUMNS: Final = ("number", "name", "kind", "from", "to", "hours", "added", "taken_back")
NUMBERED: Final = ("file", "station", "instrument")  # kinds taken back by their number


@click.command()
@click.option("--doubts", is_flag=True, help=f"What was set aside or is missing in the last "
              f"{DOUBT_DAYS} days.")
@click.option("--sources", is_flag=True, help="Files and stations with their numbers.")
@at_option
@json_option
@csv_option
@pass_session
def show(session: Session, doubts: bool, sources: bool, at: str | None, as_json: bool,
         as_csv: bool) -> None:
    """Show the weather in store: its sources, and the days around now."""
    from advisor.cli.working import opened

    refuse_both(as_json, as_csv)
    if doubts and sources:
        raise click.UsageError("Give --doubts or --sources, not both.",
                               click.get_current_context())
    with opened(session.path) as garden:
        now = session.now(at, garden.site().zone)
        bring_up_to_date(garden, now)
        part = _doubts if doubts else _sources if sources else _days
        page = part(garden, now)
    if as_json:
        emit(page.document)
    elif as_csv:
        emit_csv(page.columns, [[_plain(row[name]) for name in page.columns]
                                for row in page.rows])
    else:
        click.echo(page.text)


class Page(NamedTuple):
    """One listing, for readers, for scripts and as a table."""

    text: str
    document: dict[str, Any]
    columns: tuple[str, ...]
    rows: list[dict[str, Any]]


def _days(garden: "Garden", now: datetime) -> Page:
    from advisor.show.weather_words import days_text

    document = shown(garden, now)
    return Page(days_text(document), document, DAY_COLUMNS, document["days"])


def _doubts(garden: "Garden", now: datetime) -> Page:
    from advisor.show.weather_words import doubts_text

    zone, found = garden.site().zone, doubted(garden, now)
    spans = [(datetime.fromtimestamp(each.first, UTC),
              datetime.fromtimestamp(each.last + 3600, UTC)) for each in found]
    rows = [doubt_row(each, zone) for each in found]
    return Page(doubts_text(found, spans, now, zone), {"doubts": rows}, DOUBT_COLUMNS, rows)


def _sources(garden: "Garden", now: datetime) -> Page:
    from advisor.show.weather_words import sources_text

    zone = garden.site().zone
    kept = [each for each in garden.kept_sources() if each.source.kind in NUMBERED]
    rows = [source_row(each, zone) for each in kept]
    return Page(sources_text(kept, zone), {"sources": rows}, SOURCE_COLUMNS, rows)


def bring_up_to_date(garden: "Garden", at: datetime) -> None:
    """Work the days out anew where weather changed since; where it may not be written, don't."""
    from advisor.cli.hours import refresh

    if garden.weather_revision(at) and not garden.readonly:
        refresh(garden, garden.site(), garden.knowledge(at, since=at).places.values(), at)


def shown(garden: "Garden", at: datetime) -> dict[str, Any]:
    """Give sources, newest hour and the days around an instant, as a document."""
    import numpy as np

    zone = garden.site().zone
    today = at.astimezone(zone).date()
    days = garden.days(today - timedelta(days=SHOWN_DAYS), today + timedelta(days=SHOWN_DAYS))
    rows = []
    for i in range(len(days["date"])):
        row: dict[str, Any] = {"date": str(days["date"][i])}
        for name in DAY_COLUMNS[1:-1]:
            value = float(days[name][i])
            row[name] = None if np.isnan(value) else round(value, 2)
        row["rules"] = str(days["rules"][i])
        rows.append(row)
    hours = garden.hours("")
    newest = None
    if hours["hour"].size:
        known = np.flatnonzero(~np.isnan(hours["temp_c"]))
        if known.size:
            newest = _iso(int(hours["hour"][known[-1]]) + 3600, zone)
    return {"at": at.astimezone(zone).isoformat(timespec="seconds"), "newest": newest,
            "sources": list(newest_sources(garden).values()), "days": rows}


def newest_sources(garden: "Garden") -> dict[str, dict[str, Any]]:
    """Give each source once, as it was heard last."""
    found: dict[str, dict[str, Any]] = {}
    for s in garden.weather_sources():
        found.setdefault(f"{s.name} {s.kind}", {
            "name": s.name, "kind": s.kind, "source": s.words, "licence": s.licence,
            "attribution": s.attribution})
    return found


def doubted(garden: "Garden", now: datetime) -> "list[Doubt]":
    """Give the doubts of the last days, the newest first, with the rule where no source fills."""
    from dataclasses import replace

    from advisor.garden.filled import RULES, UNKNOWN, filled
    from advisor.garden.instants import to_seconds

    start = (now - timedelta(days=DOUBT_DAYS)).replace(minute=0, second=0, microsecond=0)
    zone = garden.site().zone
    days = garden.days(start.astimezone(zone).date(), now.astimezone(zone).date())
    rests = filled(garden.weather(start, now, now), days, to_seconds(start), to_seconds(now))
    found = []
    for doubt in garden.doubts(start, now, now):
        if not doubt.instead and doubt.value in RULES:
            first = (doubt.first - to_seconds(start)) // 3600
            words = set(rests[doubt.value][first:first + doubt.hours].tolist()) - {UNKNOWN}
            doubt = replace(doubt, instead=tuple(sorted(words)))
        found.append(doubt)
    return sorted(found, key=lambda doubt: (-doubt.first, doubt.value, doubt.source))


def doubt_row(doubt: "Doubt", zone: "ZoneInfo") -> dict[str, Any]:
    """Give a doubt as a row of a document."""
    from advisor.show.weather_words import VALUES

    return {"from": _iso(doubt.first, zone), "to": _iso(doubt.last + 3600, zone),
            "hours": doubt.hours, "what": VALUES[doubt.value], "value": doubt.given or None,
            "source": doubt.source, "why": doubt.why, "instead": list(doubt.instead)}


def source_row(kept: "KeptSource", zone: "ZoneInfo") -> dict[str, Any]:
    """Give a file or a station as a row of a document."""
    def local(at: datetime | None) -> str | None:
        return None if at is None else at.astimezone(zone).isoformat(timespec="seconds")

    return {"number": kept.number, "name": kept.source.name, "kind": kept.source.kind,
            "from": local(kept.start), "to": local(kept.end), "hours": kept.hours,
            "added": local(kept.made_at), "taken_back": kept.removed}


def _iso(seconds: int, zone: "ZoneInfo") -> str:
    return datetime.fromtimestamp(seconds, zone).isoformat(timespec="seconds")


def _plain(cell: Any) -> Any:
    return "; ".join(cell) if isinstance(cell, list) else cell
