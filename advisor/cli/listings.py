"""`advisor places`, `mixes`, `materials` and `species`: what there is to name."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

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

Rows = Sequence[dict[str, Any]]


@click.command()
@json_option
@csv_option
@at_option
@pass_session
def places(session: Session, as_json: bool, as_csv: bool, at: str | None) -> None:
    """List the places in the order of the walk, with what was told of each."""
    from advisor.cli.add_place import words

    refuse_both(as_json, as_csv)
    with session.desk(at, day=True, readonly=True) as desk:
        known = list(desk.knowledge.places.values())
    _list("places", [asdict(place) for place in known],
          [f"{place.name}: {words(place)}" for place in known], (as_json, as_csv))


@click.command()
@json_option
@csv_option
@at_option
@pass_session
def mixes(session: Session, as_json: bool, as_csv: bool, at: str | None) -> None:
    """List the mixes with what they are made of."""
    from advisor.cli.add_mix import parts_words

    refuse_both(as_json, as_csv)
    with session.desk(at, day=True, readonly=True) as desk:
        known = list(desk.knowledge.mixes.values())
    _list("mixes", [asdict(mix) for mix in known],
          [f"{mix.name}: {parts_words(mix)}" for mix in known], (as_json, as_csv))


@click.command()
@json_option
@csv_option
def materials(as_json: bool, as_csv: bool) -> None:
    """List the materials a mix can be made of: names, other names, how sure their numbers are."""
    from advisor.pot.materials import table

    refuse_both(as_json, as_csv)
    rows = [{"name": row.name, "also": list(row.aliases), "grade_mm": row.grade_mm,
             "confidence": row.confidence, "source": row.source} for row in table()]
    _list("materials", rows, [f"{row['name']}{_also(row)}; {row['confidence']}" for row in rows],
          (as_json, as_csv))


@click.command()
@json_option
@csv_option
def species(as_json: bool, as_csv: bool) -> None:
    """List the kinds of trees that are known: names, other names, how they bear dryness."""
    from advisor.demand.groups import table

    refuse_both(as_json, as_csv)
    rows = [{"name": group.name, "also": list(group.also), "habit": group.habit,
             "bears": group.bears, "source": group.source} for group in table().values()]
    _list("species", rows, [f"{row['name']}{_also(row)}; {row['habit']}, {row['bears']}"
                            for row in rows], (as_json, as_csv))


def _also(row: dict[str, Any]) -> str:
    return f" (also {', '.join(row['also'])})" if row["also"] else ""


def _list(what: str, rows: Rows, lines: Sequence[str], scripts: tuple[bool, bool]) -> None:
    """Print rows as JSON, as CSV or in words."""
    as_json, as_csv = scripts
    if as_json:
        emit({what: rows})
    elif as_csv and rows:
        emit_csv(list(rows[0]), [[_cell(value) for value in row.values()] for row in rows])
    elif not as_csv:
        click.echo("\n".join(lines) or f"No {what} yet.")


def _cell(value: Any) -> Any:
    """Give a cell; several things in one are parted by semicolons, pairs by colons."""
    if not isinstance(value, (list, tuple)):
        return value
    return ";".join(":".join(map(str, each)) if isinstance(each, tuple) else str(each)
                    for each in value)
