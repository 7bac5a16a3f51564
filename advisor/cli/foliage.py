"""`advisor foliage`: what a grower sees of the leaves, or takes off."""

import click
import numpy as np

from advisor.cli.clock import day_words
from advisor.cli.session import Desk, Session, at_option, one_of, pass_session, who_options
from advisor.cli.values import Word
from advisor.cli.words import entered, labels_words
from advisor.demand import groups, season
from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import FOLIAGE_OFF, Event

OPTIONS = {"bud_break": "bud-break", "full_leaf": "full leaf", "leaf_fall": "leaf-fall"}
#: what was seen -> the verb of the answer
SEEN = {"bud-break": "Bud-break:", "full leaf": "In full leaf:", "leaf-fall": "Leaves fallen:"}

#: what is seen of trees only that stand bare in winter
DECIDUOUS = ("full leaf", "leaf-fall")


@click.command()
@who_options()
@click.option("--off", type=Word("foliage off", FOLIAGE_OFF), help="So much was taken off.")
@click.option("--bud-break", is_flag=True, help="The buds open.")
@click.option("--full-leaf", is_flag=True, help="The leaves have their full size.")
@click.option("--leaf-fall", is_flag=True, help="The last leaf is gone.")
@at_option
@pass_session
def foliage(session: Session, who: tuple[str, ...], but: tuple[str, ...], off: str | None,
            at: str | None, **seen: bool) -> None:
    """Enter bud-break, full leaf, leaf-fall, or foliage taken off.

    WHO are trees, places, or all. For example: advisor foliage 7 --off half
    """
    one_of(off=off is not None, **{name: seen[name] for name in OPTIONS})
    kind = "foliage off" if off else next(OPTIONS[name] for name in OPTIONS if seen[name])
    with session.desk(at, day=True) as desk:
        labels = desk.choose(who, but)
        if kind in DECIDUOUS:
            refuse_evergreens(desk.knowledge, labels, kind)
        how = f", {off} of it" if off else ""
        with desk.entry(f"{kind}: {labels_words(labels)}{how}") as entry:
            for label in labels:
                entry.add(Event(label, desk.at, kind, off or ""))
            if kind in SEEN:
                refuse_contradictions(desk, desk.garden.knowledge(), labels)
        click.echo(entered(SEEN.get(kind, "Foliage taken off:"), labels, how, desk.at, desk.zone))


def refuse_evergreens(knowledge: Knowledge, labels: list[str], kind: str) -> None:
    """Refuse full leaf and leaf-fall of trees that are never bare.

    Raises
    ------
    Refused
        One of the trees is evergreen.
    """
    evergreen = [label for label in labels if groups.find(
        knowledge.trees[label].group).evergreen]
    if evergreen:
        raise Refused(f"{kind} of {labels_words(evergreen)}", "evergreen",
                      "a tree that is bare in winter",
                      f"Leave these out with --but {','.join(evergreen[:3])}.")


def refuse_contradictions(desk: Desk, knowledge: Knowledge, labels: list[str]) -> None:
    """Refuse dates of the leaves that cannot both be true.

    Raises
    ------
    Refused
        Full leaf not after the bud-break of the same season.
    """
    for label in labels:
        events = {kind: [e.at for e in knowledge.events[label] if e.kind == kind] for kind in SEEN}
        seen = {kind: [np.datetime64(at.date(), "D") for at in told]
                for kind, told in events.items()}
        told = [day for days in seen.values() for day in days]
        days = np.arange(min(told), max(told) + np.timedelta64(1, "D"))
        try:
            season.leaf_share(groups.find(knowledge.trees[label].group), days, None,
                              knowledge.site.latitude_deg,
                              season.LeafDates(seen["bud-break"], seen["full leaf"],
                                               seen["leaf-fall"]))
        except Refused as refused:
            leaf, bud = (day_words(events[kind][-1], desk.zone)
                         for kind in ("full leaf", "bud-break"))
            raise Refused(f"full leaf of {label}", leaf, f"after its bud-break, {bud}",
                          "Give another day, or take the wrong one back with "
                          "`advisor undo`.") from refused
