"""`advisor habits`: how much each tree drinks and its pot holds, as its readings told."""

from functools import partial

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


@click.command()
@click.argument("tree", required=False)
@json_option
@csv_option
@at_option
@pass_session
def habits(session: Session, tree: str | None, as_json: bool, as_csv: bool,
           at: str | None) -> None:
    """Say how much the trees drink and their pots hold, as their readings told; or only TREE.

    Beside what was assumed of each, with how many readings that rests on and how well the last
    ten were foreseen.
    """
    from advisor.cli.hours import read_sky, refresh
    from advisor.cli.morning import say_when_preparing
    from advisor.cli.recovery import one_tree
    from advisor.cli.working import beliefs, opened
    from advisor.jobs.followed import model_of
    from advisor.jobs.habits import habits as known_of
    from advisor.jobs.morning import potted
    from advisor.show import habits_words as words

    refuse_both(as_json, as_csv)
    say_when_preparing()
    with opened(session.path) as garden:
        zone = garden.site().zone
        instant = session.now(at, zone)
        knowledge = garden.knowledge(instant)
        if tree is None:
            labels = potted(knowledge, instant)
        else:
            labels = [model_of(knowledge, one_tree(knowledge, tree, instant), instant).label]
        refresh(garden, knowledge.site, knowledge.places.values(), instant)
        found = known_of(knowledge, read_sky(garden, knowledge, instant), instant, labels,
                         partial(beliefs, garden))
    if as_json:
        emit(words.document(found, zone))
    elif as_csv:
        emit_csv(words.HEADER, words.rows(found))
    elif tree is not None and found:
        click.echo(words.tree_text(found[0], instant, zone))
    else:
        click.echo(words.list_text(found))
