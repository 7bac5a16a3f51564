"""`advisor chart`: one tree, drawn."""

from datetime import timedelta
from pathlib import Path

import click

from advisor.cli.session import Session, at_option, pass_session


@click.command()
@click.argument("tree")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Where to draw it: .png, .svg or .pdf; else TREE.png here.")
@click.option("--days-back", type=click.IntRange(0, 365), default=7, show_default=True)
@click.option("--days-ahead", type=click.IntRange(1, 9), default=7, show_default=True)
@at_option
@pass_session
def chart(session: Session, tree: str, out: Path | None, days_back: int, days_ahead: int,
          at: str | None) -> None:
    """Draw one tree: water left and dry depth with their spread, past and coming."""
    from advisor.cli.hours import read_sky, refresh
    from advisor.cli.morning import say_when_preparing
    from advisor.cli.working import opened
    from advisor.garden.naming import fold, unknown
    from advisor.jobs.story import story
    from advisor.show.charts import save
    from advisor.show.tree_chart import drawing

    say_when_preparing()
    with opened(session.path) as garden:
        site = garden.site()
        instant = session.now(at, site.zone)
        knowledge = garden.knowledge(instant)
        labels = {fold(label): label for label in knowledge.trees}
        if fold(tree) not in labels:
            raise unknown("tree", tree, knowledge.trees, "See advisor trees.")
        refresh(garden, site, knowledge.places.values(), instant)
        sky = read_sky(garden, knowledge, instant)
    told = story(knowledge, sky, labels[fold(tree)], instant, timedelta(days=days_back),
                 timedelta(days=days_ahead))
    path = out or Path(f"{labels[fold(tree)]}.png")
    save(drawing(told), path)
    click.echo(f"Drawn: {path}")
