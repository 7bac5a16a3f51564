"""`advisor recovery`: the trees that recover from repotting, and the page of one."""

from datetime import datetime, timedelta
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

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.garden.knowledge import Knowledge
    from advisor.garden.store import Garden
    from advisor.jobs.followed import Followed


@click.command()
@click.argument("tree", required=False)
@json_option
@csv_option
@at_option
@pass_session
def recovery(session: Session, tree: str | None, as_json: bool, as_csv: bool,
             at: str | None) -> None:
    """List the trees that recover from repotting, or say everything about TREE.

    How deep it is dry and when it reaches its depth, how often it has dried, how it comes back
    to normal keeping, and what threatens it from the coming weather.
    """
    from advisor.cli.working import opened
    from advisor.show import recovery_words as words

    refuse_both(as_json, as_csv)
    with opened(session.path) as garden:
        zone = garden.site().zone
        instant = session.now(at, zone)
        if tree is None:
            from advisor.cli.morning import worked
            from advisor.jobs.recovering import recovering

            states = recovering(worked(garden, instant)[0])
            text, document = words.list_text, words.list_document(states, instant, zone)
            said = "" if as_json or as_csv else text(states, instant, zone)
        else:
            page = _page(garden, tree, instant)
            states = [page.state]
            said, document = words.page_text(page, zone), words.page_document(page, zone)
    if as_json:
        emit(document)
    elif as_csv:
        emit_csv(words.HEADER, words.list_rows(states, instant, zone))
    else:
        click.echo(said)


def _page(garden: "Garden", tree: str, at: datetime) -> Any:
    from advisor.jobs.recovering import page, recovery_in_force

    followed = followed_tree(garden, tree, at)
    recovery_in_force(followed.model, at)
    return page(followed, _wind(garden, followed))


def followed_tree(garden: "Garden", tree: str, at: datetime) -> "Followed":
    """Follow a tree, named by its label or a name of its own, to the end of what is foreseen."""
    from advisor.cli.hours import read_sky, refresh
    from advisor.cli.morning import say_when_preparing
    from advisor.jobs.followed import follow

    say_when_preparing()
    knowledge = garden.knowledge(at)
    label = one_tree(knowledge, tree, at)
    refresh(garden, knowledge.site, knowledge.places.values(), at)
    return follow(knowledge, read_sky(garden, knowledge, at), label, at)


def one_tree(knowledge: "Knowledge", tree: str, at: datetime) -> str:
    """Give the label of the one tree that is meant."""
    from advisor.cli.choose import choose_trees
    from advisor.errors import Refused

    labels = choose_trees(knowledge, [tree], (), at)
    if len(labels) > 1:
        raise Refused("tree", f"{tree!r} names {len(labels)} trees", "one tree", "Name one.")
    return labels[0]


def _wind(garden: "Garden", followed: "Followed") -> "NDArray[Any] | None":
    """Give the wind at 2 m in the open from now on; None where none is foretold [m/s]."""
    import numpy as np

    from advisor.demand.air import wind_at_2m

    sky, now = followed.told.sky, followed.now.index
    start, end = sky.instant(now), sky.instant(followed.course.last)
    weather = garden.weather(start, end + timedelta(hours=1), followed.told.at)
    if not weather["hour"].size or np.isnan(weather["wind_ms"]).all():
        return None
    wind = np.full(followed.course.last - now, np.nan)
    place = (weather["hour"] - int(start.timestamp())) // 3600
    there = (place >= 0) & (place < wind.size)
    height = np.where(np.isnan(weather["wind_height_m"]), 10.0, weather["wind_height_m"])
    wind[place[there]] = np.asarray(wind_at_2m(weather["wind_ms"], height))[there]
    return wind
