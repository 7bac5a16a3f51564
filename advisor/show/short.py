"""The round as one short paragraph, fit for a message."""

from collections.abc import Sequence
from itertools import groupby

from advisor.jobs.judge import LOOK_FIRST, WATER_LATER, WATER_NOW
from advisor.jobs.morning import Round, TreeVerdict
from advisor.show.moments import age, headline, moment
from advisor.show.reasons import Words, beside_words
from advisor.show.wording import FRESH, Leaning, summary

SHOWN = 12  # labels of one place; then their count


def short_text(told: Round, leaning: Leaning, us: bool = False) -> str:
    """Say what is due, what threatens a recovering tree, and how old the weather is.

    Parameters
    ----------
    told : Round
    leaning : Leaning
    us : bool
        US gallons.
    """
    words = Words(told, us)
    said = [f"{headline(told.at, words.zone)}: {_lower(summary(told, words))}"]
    for verdict, head in ((WATER_NOW, "Water"), (LOOK_FIRST, "Look first at"),
                          (WATER_LATER, f"Water {_later(words)}")):
        trees = [tree for tree in told.trees if tree.verdict == verdict]
        if trees:
            said.append(f"{head} {_by_place(trees)}.")
    for tree in told.trees:
        if tree.recovery is not None:
            said += [f"{tree.label} recovers: {beside_words(each, words)}." for each in tree.also]
    if leaning.newest < told.at - FRESH:
        said.append(f"Weather is {age(told.at - leaning.newest)} old: look before you water.")
    return " ".join(said)


def is_due(told: Round) -> bool:
    """Whether anything is to be watered, looked at, or done besides."""
    return any(tree.verdict in (WATER_NOW, WATER_LATER, LOOK_FIRST) or tree.also
               for tree in told.trees)


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _later(words: Words) -> str:
    return moment(words.round.rounds[0], words.round.at, words.zone)


def _by_place(trees: Sequence[TreeVerdict]) -> str:
    """List trees place by place: "south bench 1, 2; wall 7"."""
    parts = []
    for place, those in groupby(trees, key=lambda tree: tree.place):
        labels = [tree.label for tree in those]
        more = f" and {len(labels) - SHOWN} more" if len(labels) > SHOWN else ""
        parts.append(f"{place.name if place else 'no place told'} "
                     f"{', '.join(labels[:SHOWN])}{more}")
    return "; ".join(parts)
