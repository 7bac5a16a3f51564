"""`advisor readings`: list what was read of the trees."""

from typing import Any

import click

from advisor.cli.clock import instant_words
from advisor.cli.reading import UNITS, reading_words
from advisor.cli.session import (
    Desk,
    Session,
    at_option,
    csv_option,
    emit,
    emit_csv,
    json_option,
    pass_session,
    refuse_both,
    who_options,
)
from advisor.garden.readings import spread_of
from advisor.garden.records import Reading

COLUMNS = ("tree", "at", "kind", "value", "unit", "word", "depth_mm", "give_or_take", "since",
           "note")


@click.command()
@who_options(needed=False)
@json_option
@csv_option
@at_option
@pass_session
def readings(session: Session, who: tuple[str, ...], but: tuple[str, ...], as_json: bool,
             as_csv: bool, at: str | None) -> None:
    """List the readings in the order in which they were taken: WHO are trees, places, or all."""
    refuse_both(as_json, as_csv)
    with session.desk(at, day=True, readonly=True) as desk:
        known = desk.garden.knowledge(desk.at)
        labels = desk.choose(who or ["all"], but) if who or but else known.trees
        told = [each for label in labels for each in known.readings[label]]
        told.sort(key=lambda each: each.at)  # of one instant, in walking order
        if as_json:
            emit({"readings": [_row(each, desk) for each in told]})
        elif as_csv:
            emit_csv(COLUMNS, [list(_row(each, desk).values()) for each in told])
        else:
            click.echo("\n".join(_line(each, desk) for each in told) or "No readings yet.")


def _row(reading: Reading, desk: Desk) -> dict[str, Any]:
    unit = UNITS[reading.kind][1] if reading.kind in UNITS else None
    off = spread_of(reading)
    values = (reading.tree, desk.iso(reading.at), reading.kind, reading.value, unit,
              reading.word or None, reading.depth_mm, None if off is None else round(off, 4),
              desk.iso(reading.since) if reading.since else None, reading.note or None)
    return dict(zip(COLUMNS, values, strict=True))


def _line(reading: Reading, desk: Desk) -> str:
    note = f" ({reading.note})" if reading.note else ""
    return (f"{instant_words(reading.at, desk.zone)}  {reading.tree}: "
            f"{reading_words(reading, desk)}{note}")
