"""`advisor year`: the season behind."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
from advisor.cli.words import tree_words

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from advisor.garden.knowledge import Knowledge
    from advisor.garden.store import Garden


@click.command()
@click.argument("year", type=int)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Draw it as well: .png, .svg or .pdf.")
@json_option
@csv_option
@at_option
@pass_session
def year(session: Session, year: int, out: Path | None, as_json: bool, as_csv: bool,
         at: str | None) -> None:
    """Sum up YEAR tree by tree: litres, waterings, rain, driest days, what was learned."""
    from advisor.cli.hours import read_sky, refresh
    from advisor.cli.morning import say_when_preparing
    from advisor.cli.working import unwritable
    from advisor.jobs.year import tree_years
    from advisor.show.year_words import HEADER, year_document, year_rows, year_text

    refuse_both(as_json, as_csv)
    say_when_preparing()
    with session.desk(at, day=True, readonly=unwritable(session.path)) as desk:
        knowledge = desk.garden.knowledge(desk.at)
        refresh(desk.garden, knowledge.site, knowledge.places.values(), desk.at)
        sky = read_sky(desk.garden, knowledge, desk.at)
        read = _read(desk.garden, knowledge, desk.at)
        with click.progressbar(tree_years(knowledge, sky, year, desk.at, read),
                               length=len(knowledge.trees), label="Running the year",
                               file=sys.stderr) as bar:
            trees = list(bar)
    names = {label: tree_words(tree) for label, tree in knowledge.trees.items()}
    if as_json:
        emit(year_document(year, trees))
    elif as_csv:
        emit_csv(HEADER, year_rows(trees))
    else:
        click.echo(year_text(year, trees, names) if trees else f"No tree stood in a pot in {year}.")
    if out is not None and trees:
        from advisor.show.charts import save
        from advisor.show.year_chart import drawing

        save(drawing(year, trees, names), out)
        click.echo(f"Drawn: {out}", err=as_json or as_csv)


def _read(garden: "Garden", knowledge: "Knowledge", at: "datetime") -> "dict[str, NDArray[Any]]":
    """Give what is believed of each tree of which something was read."""
    found = {}
    for label, readings in knowledge.readings.items():
        belief = garden.belief(label, at) if readings else None
        if belief is not None and "members" in belief.numbers:
            found[label] = belief.numbers["members"]
    return found
