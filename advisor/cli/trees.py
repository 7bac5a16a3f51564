"""`advisor trees`: the trees with their pots, place by place."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

import click

from advisor.cli.clock import day_words
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
)
from advisor.cli.words import place_words, pot_words
from advisor.jobs.describe import describe

KEYS = ("tree", "name", "group", "place", "pot", "mix", "soil_l", "depth_mm", "available_l",
        "potted", "recovery_until", "crown_width_cm", "crown_depth_cm", "old_soil", "old_share")


@click.command()
@json_option
@csv_option
@at_option
@pass_session
def trees(session: Session, as_json: bool, as_csv: bool, at: str | None) -> None:
    """List the trees with their pots, place by place, in the order of the walk."""
    refuse_both(as_json, as_csv)
    with session.desk(at, day=True, readonly=True) as desk:
        labels = [label for label in desk.knowledge.trees
                  if not desk.knowledge.is_gone(label, desk.at)]
        rows = [_row(desk, label) for label in labels]
        if as_json:
            emit({"trees": rows})
        elif as_csv:
            emit_csv(KEYS, [[row[key] for key in KEYS] for row in rows])
        elif rows:
            click.echo("\n".join(_lines(desk, labels, rows)))
        else:
            click.echo("No trees yet. Add one with `advisor add tree`.")


def _row(desk: Desk, label: str) -> dict[str, Any]:
    knowledge, at = desk.knowledge, desk.at
    tree, place = knowledge.trees[label], knowledge.place_of(label, at)
    row: dict[str, Any] = dict.fromkeys(KEYS) | {
        "tree": label, "name": tree.name, "group": tree.group,
        "place": place.name if place else None, "crown_width_cm": tree.crown_width_cm,
        "crown_depth_cm": tree.crown_depth_cm}
    model = describe(knowledge, label, at)
    if model is None:
        return row
    pot, state = model.filled.pot, model.recovering(at)
    return row | {
        "pot": pot_words(model.potting), "mix": model.potting.mix,
        "soil_l": round(model.filled.soil_l, 3), "depth_mm": round(pot.depth_mm, 1),
        "available_l": round(pot.available_l, 3), "potted": desk.iso(model.potting.at),
        "recovery_until": desk.iso(state.ends) if state else None,
        "old_soil": model.potting.ball_mix, "old_share": model.potting.ball_share or None}


def _lines(desk: Desk, labels: Sequence[str], rows: Sequence[dict[str, Any]]) -> list[str]:
    knowledge, at = desk.knowledge, desk.at
    width = max(len(label) for label in labels)
    lines: list[str] = []
    for place, bench in groupby(zip(labels, rows, strict=True),
                                lambda each: place_words(knowledge.place_of(each[0], at))):
        lines += ["", place] if lines else [place]
        lines += [f"  {label:>{width}}  {_words(desk, label, row)}" for label, row in bench]
    return lines


def _words(desk: Desk, label: str, row: dict[str, Any]) -> str:
    called = f"{row['name']}, {row['group']}" if row["name"] else row["group"]
    potting = desk.knowledge.potting_of(label, desk.at)
    if potting is None:
        later = desk.knowledge.pottings[label]
        return f"{called}; " + (f"not potted yet, from {day_words(later[0].at, desk.zone)} on"
                                if later else "no pot told")
    model = describe(desk.knowledge, label, desk.at)
    state = model.recovering(desk.at) if model else None
    recovers = f"; recovers until {day_words(state.ends, desk.zone)}" if state else ""
    return (f"{called}; {row['pot']}; {row['soil_l']:.3g} L of {row['mix']}; "
            f"potted {day_words(potting.at, desk.zone)}{recovers}")
