"""`advisor chart`: one tree, drawn."""

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.session import Session, at_option, pass_session

if TYPE_CHECKING:
    from advisor.jobs.followed import Followed

DAYS_BACK: Final = 7
MOST_BACK: Final = 45  # days since repotting that are drawn


@click.command()
@click.argument("tree")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Where to draw it: .png, .svg or .pdf; else TREE.png here.")
@click.option("--recovery", is_flag=True, help="Its dry depth since repotting, with the target.")
@click.option("--profile", is_flag=True,
              help="How wet it is from the surface down, now and when it is dry.")
@click.option("--days-back", type=click.IntRange(0, 365),
              help=f"Else {DAYS_BACK}; with --recovery since repotting.")
@click.option("--days-ahead", type=click.IntRange(1, 9), default=7, show_default=True)
@at_option
@pass_session
def chart(session: Session, tree: str, out: Path | None, recovery: bool, profile: bool,
          days_back: int | None, days_ahead: int, at: str | None) -> None:
    """Draw one tree: water left and dry depth with their spread, past and coming.

    What was read of it stands there as points.
    """
    from advisor.cli.hours import read_sky, refresh
    from advisor.cli.morning import say_when_preparing
    from advisor.cli.recovery import followed_tree, one_tree
    from advisor.cli.working import opened
    from advisor.show.charts import save

    if recovery and profile:
        raise click.UsageError("Give --recovery or --profile, not both.",
                               click.get_current_context())
    with opened(session.path) as garden:
        site = garden.site()
        instant = session.now(at, site.zone)
        if recovery or profile:
            followed = followed_tree(garden, tree, instant)
            label, figure = followed.model.label, (
                _profile(followed) if profile else _recovery(followed, days_back, days_ahead))
        else:
            from advisor.jobs.story import story
            from advisor.show.tree_chart import drawing

            say_when_preparing()
            knowledge = garden.knowledge(instant)
            label = one_tree(knowledge, tree, instant)
            refresh(garden, site, knowledge.places.values(), instant)
            back = DAYS_BACK if days_back is None else days_back
            figure = drawing(story(knowledge, read_sky(garden, knowledge, instant), label, instant,
                                   timedelta(days=back), timedelta(days=days_ahead)))
    path = out or Path(f"{label}.png")
    save(figure, path)
    click.echo(f"Drawn: {path}")


def _recovery(followed: "Followed", days_back: int | None, days_ahead: int) -> Any:
    from advisor.jobs.recovering import recovery_in_force
    from advisor.jobs.story import story_of
    from advisor.show.recovery_chart import drawing

    recovery = recovery_in_force(followed.model, followed.told.at)
    back = MOST_BACK if days_back is None else days_back
    return drawing(story_of(followed, timedelta(days=back), timedelta(days=days_ahead)), recovery)


def _profile(followed: "Followed") -> Any:
    from advisor.jobs.profile import profile
    from advisor.show.profile_chart import drawing

    model, told = followed.model, followed.told
    place = told.knowledge.place_of(model.label, told.at)
    title = f"{model.label}  {model.tree.name or model.tree.group}" + (
        f", {place.name}" if place else "")
    return drawing(title, profile(followed), told.at, told.sky.zone)
