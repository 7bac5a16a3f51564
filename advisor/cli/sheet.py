"""`advisor import` and `advisor export`: trees from and to a spreadsheet."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import click

from advisor.cli.session import Session, at_option, pass_session
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Move, Potting, Record, Tree


class _DryRun(Exception):
    """Everything would be taken; nothing is to be kept."""


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Say what would be brought in; write nothing.")
@at_option
@pass_session
def import_trees(session: Session, file: Path, dry_run: bool, at: str | None) -> None:
    """Bring trees in from FILE, a spreadsheet saved as CSV: one row a tree.

    `advisor export` writes such a file. Where a row cannot be used, every such row is
    listed and nothing is written.
    """
    from advisor.garden.spreadsheet import read_trees

    with session.desk(at) as desk:
        told = read_trees(file, desk.knowledge, desk.at,
                          lambda knowledge, label: _refuse_unsound(knowledge, label, desk.at))
        if not told:
            click.echo(f"{file} tells nothing new.")
            return
        words = _words(told, desk.knowledge)
        with suppress(_DryRun), desk.entry(f"brought in {words} from {file.name}") as entry:
            for record in told:
                entry.add(record)
            if dry_run:
                raise _DryRun
    click.echo(f"Would bring in {words} from {file}; nothing written." if dry_run else
               f"Brought in {words} from {file}.")
    if dry_run:
        click.echo("\n".join(_named(told, desk.knowledge)))


@click.command("export")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@at_option
@pass_session
def export_trees(session: Session, file: Path, at: str | None) -> None:
    """Take the trees out to FILE, a new CSV for a spreadsheet; - prints it.

    Trees that are gone are left out.
    """
    from advisor.garden.spreadsheet import here, trees_text, write_trees

    with session.desk(at, day=True, readonly=True) as desk:
        knowledge = desk.garden.knowledge(desk.at)
    if str(file) == "-":
        click.echo(trees_text(knowledge), nl=False)
        return
    write_trees(file, knowledge)
    count = len(here(knowledge))
    gone = len(knowledge.trees) - count
    left = f"; {_trees(gone, 'gone ')} left out" if gone else ""
    click.echo(f"{_trees(count)} written to {file}{left}.")


def _trees(count: int, kind: str = "") -> str:
    return f"{count} {kind}tree" + ("s" if count != 1 else "")


def _labels(told: Sequence[Record]) -> list[str]:
    """Give the trees that are told of, each once."""
    return list(dict.fromkeys(label for record in told if (
        label := getattr(record, "label", None) or getattr(record, "tree", None))))


def _words(told: Sequence[Record], knowledge: Knowledge) -> str:
    labels = _labels(told)
    new = [label for label in labels if label not in knowledge.trees]
    return f"{_trees(len(labels))} ({len(new)} new, {len(labels) - len(new)} changed)"


def _named(told: Sequence[Record], knowledge: Knowledge) -> list[str]:
    """Name the trees that are new, and what changes of the others."""
    labels = _labels(told)
    new = [label for label in labels if label not in knowledge.trees]
    lines = [f"New: {', '.join(new)}."] if new else []
    for label in labels:
        if label not in new:
            records = [each for each in told if label in (getattr(each, "label", None),
                                                          getattr(each, "tree", None))]
            fields = [name for each in records for name in _changed(each, knowledge)]
            lines.append(f"Changed: {label} ({', '.join(dict.fromkeys(fields))}).")
    return lines


def _changed(record: Record, knowledge: Knowledge) -> list[str]:
    """Give the columns in which a record differs from what is known."""
    from advisor.garden.columns import COLUMNS

    if isinstance(record, Move):
        return ["place"]
    before: Record | None = None
    if isinstance(record, Tree):
        before = knowledge.trees[record.label]
    elif isinstance(record, Potting):
        same = [each for each in knowledge.pottings[record.tree] if each.at == record.at]
        before = same[-1] if same else None
        if before is None:
            return ["a new potting"]
    kind = "tree" if isinstance(record, Tree) else "potting"
    names = {column.field: column.name for column in reversed(COLUMNS) if column.record == kind}
    return [name for field, name in reversed(names.items())
            if getattr(record, field) != getattr(before, field)]


def _refuse_unsound(knowledge: Knowledge, label: str, at: datetime) -> None:
    """Refuse a tree whose kind, pot or mix cannot be reckoned with."""
    from advisor.cli.pot import refuse_absurd
    from advisor.demand import groups
    from advisor.jobs.describe import describe

    groups.find(knowledge.trees[label].group)
    model = describe(knowledge, label, at)
    if model is not None:
        refuse_absurd(model)
