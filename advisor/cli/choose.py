"""Which trees an entry means: labels, places, all of them, with exceptions."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import TypeVar

from advisor.errors import Refused
from advisor.garden.instants import day_words
from advisor.garden.knowledge import Knowledge
from advisor.garden.naming import fold, unknown

T = TypeVar("T")

ALL = "all"
_DO = "See `advisor trees`, or add it first: `advisor add`."


def choose_trees(
    knowledge: Knowledge, who: Sequence[str], but: Sequence[str] = (), at: datetime | None = None
) -> list[str]:
    """Give the labels of the trees that are meant, each once, in walking order.

    Parameters
    ----------
    knowledge : Knowledge
        What is known.
    who : sequence of str
        Labels, names of places, and names that only one tree has, in any case; several in
        one text are parted by commas; "all" stands for every tree.
    but : sequence of str
        The exceptions, named in the same way.
    at : datetime, optional
        The instant at which they stand there; the last known where None.

    Raises
    ------
    Refused
        An unknown name, a place where nothing stands, an exception that is not among the
        trees meant, or nothing left.
    """
    here = _Here(knowledge, at)
    meant = {label for name in who for label in here.named(name)}
    excepted = set()
    for name in but:
        labels = set(here.named(name))
        if not labels & meant:
            raise Refused("exception", repr(name), "one of the trees meant", "Leave it out.")
        excepted |= labels
    chosen = [label for label in knowledge.trees if label in meant - excepted]
    if not chosen:
        raise Refused("trees", ", ".join(who) or "none", "at least one tree",
                      "Name a tree or a place, or leave out an exception.")
    return chosen


class _Here:
    """Who stands where at an instant."""

    def __init__(self, knowledge: Knowledge, at: datetime | None) -> None:
        self._here = [label for label in knowledge.trees if not knowledge.is_gone(label, at)]
        self._knowledge = knowledge
        self._trees = {fold(label): label for label in knowledge.trees}
        self._named = _names(knowledge)
        self._places: Mapping[str, str] = {fold(name): name for name in knowledge.places}
        self._standing: dict[str, list[str]] = {name: [] for name in knowledge.places}
        for label in self._here:
            place = knowledge.place_of(label, at)
            if place:
                self._standing[place.name].append(label)

    def named(self, text: str) -> Iterable[str]:
        """Give the labels that a text names."""
        parts = [text] if "," not in text or self._knows(text) else text.split(",")
        return [label for part in parts for label in self._one(part.strip())]

    def _knows(self, name: str) -> bool:
        return any(fold(name) in names for names in (self._trees, self._places, self._named))

    def _one(self, name: str) -> list[str]:
        key = fold(name)
        if key in self._trees:
            return self._tree(self._trees[key])
        if key in self._places:
            place = self._places[key]
            if not self._standing[place]:
                raise Refused("place", repr(place), "a place where a tree stands",
                              "See `advisor trees`.")
            return self._standing[place]
        if key == ALL:
            return self._here
        if key in self._named:
            return self._tree(self._named[key])
        raise unknown("tree or place", name, [*self._trees.values(), *self._places.values()], _DO)

    def _tree(self, label: str) -> list[str]:
        if label not in self._here:
            since = gone_since(self._knowledge, label)
            raise Refused("tree", f"{label!r} is gone since {since}", "a tree that is still here",
                          "If that is wrong, `advisor undo --list` shows the entry to take back.")
        return [label]


def _names(knowledge: Knowledge) -> dict[str, str]:
    """Give folded name to label, for the names that only one tree has."""
    labels: dict[str, list[str]] = {}
    for label, tree in knowledge.trees.items():
        if tree.name:
            labels.setdefault(fold(tree.name), []).append(label)
    return {name: those[0] for name, those in labels.items() if len(those) == 1}


def gone_since(knowledge: Knowledge, label: str) -> str:
    """Give the local day since which a tree is gone, in words."""
    at = min(event.at for event in knowledge.events[label] if event.kind == "gone")
    return day_words(at, knowledge.site.zone)


def known(records: Mapping[str, T], name: str) -> T | None:
    """Give the record of a name in any case, or None."""
    return {fold(each): record for each, record in records.items()}.get(fold(name))


def refuse_reserved(what: str, name: str) -> None:
    """Refuse a name that means every tree."""
    if fold(name) == ALL:
        raise Refused(what, repr(name), "another word", f"{ALL!r} stands for every tree.")
