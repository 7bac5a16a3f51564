"""`advisor import` and `advisor export`: trees from and to a spreadsheet."""

from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import click

from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.errors import ManyRefused, Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Record, Tree


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
        told = read_trees(file, desk.knowledge, desk.at)
        if not told:
            click.echo(f"{file} tells nothing new.")
            return
        words = _words(told, desk.knowledge)
        with suppress(_DryRun), desk.entry(f"brought in {words} from {file.name}") as entry:
            for record in told:
                entry.add(record)
            _refuse_pots(desk, file, _labels(told))
            if dry_run:
                raise _DryRun
    click.echo(f"Would bring in {words} from {file}; nothing written." if dry_run else
               f"Brought in {words} from {file}.")


@click.command("export")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@at_option
@pass_session
def export_trees(session: Session, file: Path, at: str | None) -> None:
    """Take the trees out to FILE, a new CSV for a spreadsheet; - prints it."""
    from advisor.garden.spreadsheet import trees_text, write_trees

    with session.desk(at, day=True, readonly=True) as desk:
        knowledge = desk.garden.knowledge(desk.at)
    if str(file) == "-":
        click.echo(trees_text(knowledge), nl=False)
        return
    write_trees(file, knowledge)
    click.echo(f"{len(knowledge.trees)} trees written to {file}.")


def _labels(told: Sequence[Record]) -> list[str]:
    """Give the trees that are told of, each once."""
    return list(dict.fromkeys(label for record in told if (
        label := getattr(record, "label", None) or getattr(record, "tree", None))))


def _words(told: Sequence[Record], knowledge: Knowledge) -> str:
    labels = _labels(told)
    new = {record.label for record in told
           if isinstance(record, Tree) and record.label not in knowledge.trees}
    count = f"{len(labels)} tree" + ("s" if len(labels) > 1 else "")
    return f"{count} ({len(new)} new, {len(labels) - len(new)} changed)"


def _refuse_pots(desk: Desk, file: Path, labels: Sequence[str]) -> None:
    """Refuse trees whose kind, pot or mix cannot be reckoned with."""
    from advisor.jobs.describe import describe

    knowledge, refusals = desk.garden.knowledge(), []
    for label in labels:
        try:
            describe(knowledge, label, desk.at)
        except Refused as refused:
            refusals.append(Refused(f"{label}, {refused.what}", refused.value, refused.limit,
                                    refused.do))
    if refusals:
        raise ManyRefused(str(file), refusals, "Mend these rows and import the file again.")
