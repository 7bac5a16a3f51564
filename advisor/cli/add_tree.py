"""`advisor add tree`: a tree, where it stands, and what it stands in."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import click

from advisor.cli.ask import Asking
from advisor.cli.choose import gone_since, known, refuse_reserved
from advisor.cli.clock import day_words
from advisor.cli.pot import SIZES, care, holds, pot_fields, pot_options, refuse_absurd
from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.cli.values import Share, Sizes, Told, Value, Word
from advisor.cli.words import tree_words
from advisor.demand import groups, plant
from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.records import Move, Potting, Record, Tree
from advisor.jobs.describe import TreeModel, describe

CROWN = Sizes(2, "cm")
#: field -> question, the thing in a sentence, the words allowed; the default is the record's
QUESTIONS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "density": ("Crown: see-through, medium or dense", "foliage", records.DENSITIES),
    "form": (f"Kind of pot: {', '.join(records.FORMS)}", "form", records.FORMS),
    "outline": ("Seen from above: rectangle, oval or round", "outline", records.OUTLINES),
    "condition": ("The soil: grains, gritty or broken down", "soil", records.CONDITIONS),
    "dressing": ("On the soil: none, moss, sphagnum or grit", "dressing", records.DRESSINGS),
    "enters": ("Water poured on: sinks, stands or runs off", "water", records.ENTERS),
}


@click.command("tree")
@click.argument("label")
@click.option("--group", help="What it is, as black pine, larch or maple.")
@click.option("--name", help="What you call it.")
@click.option("--place", help="Where it stands.")
@click.option("--potted", metavar="DAY", help="When it was potted, as 2024-03-15.")
@click.option("--crown", type=CROWN, metavar="WxD", help="Crown, width and depth in cm.")
@click.option("--density", type=Word("crown", records.DENSITIES), help="How dense the crown is.")
@click.option("--bears", type=Word("bears", records.BEARS), help="If not as its kind does.")
@click.option("--limit", type=Share(), help="Share of its water left at which it wants more.")
@click.option("--chance", type=Share(), help="Chance of that at which it is called.")
@click.option("--must-not-lose/--as-the-others", default=None, help="Call it earlier.")
@pot_options
@at_option
@pass_session
def add_tree(session: Session, label: str, at: str | None, place: str | None,
             potted: str | None, **told: Any) -> None:
    """Add the tree LABEL, or change it: only what is given changes.

    What is not given is asked for on a terminal. What is given of the pot of a tree that is
    known corrects its present pot; what happens to it later is told with `advisor repotted`,
    and where it goes with `advisor moved`.
    """
    refuse_reserved("label of a tree", label)
    with session.desk(at) as desk:
        before = known(desk.knowledge.trees, label)
        if before:
            _refuse_gone(desk, before)
        ask = Asking()
        entry = _Changed(desk, before, told) if before else _New(desk, ask, label, told)
        new = entry.records(place, potted)
        verb = "changed" if before else "added"
        with desk.entry(f"{verb} {tree_words(entry.tree)}") as draft:
            for record in new:
                draft.add(record)
            model = describe(desk.garden.knowledge(), entry.tree.label, desk.at)
            if model is not None:
                refuse_absurd(model)
        if before and any(isinstance(record, Potting) for record in new):
            verb = "corrected"
        _say(model, entry.tree, verb, ask, desk)


def _refuse_gone(desk: Desk, tree: Tree) -> None:
    if desk.knowledge.is_gone(tree.label, desk.at):
        since = gone_since(desk.knowledge, tree.label)
        raise Refused("label of a tree", f"{tree.label!r} is that of a tree gone since {since}",
                      "a label of its own for every tree", "Choose another label.")


def _say(model: TreeModel | None, tree: Tree, verb: str, ask: Asking, desk: Desk) -> None:
    if verb == "changed" or model is None:
        click.echo(f"Tree {verb}: {tree_words(tree)}.")
    else:
        click.echo(("Pot corrected. " if verb == "corrected" else "") + holds(model))
        shape = model.filled.shape
        width, depth = plant.default_crown_cm(shape.length_mm, shape.width_mm)
        ask.taken = [each.replace("crown from the pot", f"crown {width:.0f} × {depth:.0f} cm "
                                  "(from the pot)") for each in ask.taken]
        for line in care(model, desk.at, desk.zone):
            click.echo(line)
    ask.say()


def _tree_fields(told: Mapping[str, Any]) -> dict[str, Any]:
    fields = {name: value for name, value in told.items()
              if name in Tree.__dataclass_fields__ and value is not None}
    if told.get("crown"):
        fields["crown_width_cm"], fields["crown_depth_cm"] = told["crown"]
    return fields


class _Group(Value):
    """What a tree is, refused where no part of the name is known."""

    name = "group"

    def read(self, text: str) -> str:
        """Read "Japanese black pine"; it stays as it is written."""
        groups.find(text)
        return text


class _New:
    """A new tree: what was not given is asked for, or taken as default."""

    def __init__(self, desk: Desk, ask: Asking, label: str, told: Mapping[str, Any]) -> None:
        self._desk, self._ask, self._told = desk, ask, dict(told)
        self._pot = pot_fields(self._told)
        group = ask.needed("What it is, as black pine, larch or maple", "--group", told["group"],
                           _Group())
        self.tree = Tree(label, group)

    def records(self, place: str | None, potted: str | None) -> list[Record]:
        """Give the tree, its potting and its place, told since the potting."""
        knowledge = self._desk.knowledge
        place = self._one_of("Where it stands", "--place", "place", place, list(knowledge.places))
        mix = self._one_of("Filled with the mix", "--mix", "mix", self._pot.pop("mix", None),
                           list(knowledge.mixes))
        since = self._ask.default("When it was potted, as 2024-03-15", "potted", potted, "",
                                  Told(self._day_gone_by), "today")
        at = self._desk.instant(since or None, day=True)
        self._sizes()
        self._words()
        self.tree = replace(self.tree, **_tree_fields(self._told))
        potting = Potting(self.tree.label, at, mix, **self._pot)
        return [self.tree, Move(self.tree.label, at, place), potting]

    def _day_gone_by(self, text: str) -> None:
        at = self._desk.instant(text, day=True)
        if at > self._desk.at:
            raise Refused("day of potting", text, "not after today", "Enter it once it happened.")

    def _one_of(self, question: str, option: str, what: str, given: str | None,
                known: list[str]) -> str:
        if len(known) == 1:
            return self._ask.default(question, what, given, known[0], Word(what, known))
        return self._ask.needed(f"{question} ({', '.join(known)})", option, given,
                                Word(what, known))

    def _sizes(self) -> None:
        if self._ask.terminal and not any(name in self._pot for name in SIZES[:3]):
            self._pot["outside_mm"] = self._ask.needed(
                "Outside length x width x height in mm", "--outside", None, Sizes(3))
        if "outside_mm" in self._pot and "soil_depth_mm" not in self._pot:
            depth = self._ask.default("Depth where a skewer finds the base, in mm", "soil depth",
                                      None, None, Sizes(1), "from the pot's height")
            self._pot["soil_depth_mm"] = depth[0] if depth else None
        self._told["crown"] = self._ask.default("Crown, width x depth in cm", "crown",
                                                self._told["crown"], None, CROWN, "from the pot")

    def _words(self) -> None:
        for field, (question, what, words) in QUESTIONS.items():
            fields = self._told if field == "density" else self._pot
            record: Any = Tree if field == "density" else Potting
            default: str = record.__dataclass_fields__[field].default
            fields[field] = self._ask.default(question, what, fields.get(field), default,
                                              Word(field, words))


class _Changed:
    """A tree that is known: only what was given changes."""

    def __init__(self, desk: Desk, known: Tree, told: Mapping[str, Any]) -> None:
        self._desk, self._known, self._told = desk, known, told
        self.tree = replace(known, **_tree_fields(told))

    def records(self, place: str | None, potted: str | None) -> list[Record]:
        """Give what is new of it."""
        label = self.tree.label
        pot = pot_fields(dict(self._told))
        told: list[Record] = [self.tree] if self.tree != self._known else []
        if place is not None:
            told.append(Move(label, self._desk.at, place))
        if pot or potted:
            told.append(self._potting(pot, potted))
        if not told:
            raise Refused(f"tree {label}", "nothing told that is new", "what is to be changed",
                          "Give it with an option, as --crown 45x40.")
        return told

    def _potting(self, pot: dict[str, Any], potted: str | None) -> Potting:
        """Give the present potting as it is corrected, or the first one."""
        label = self.tree.label
        present = self._desk.knowledge.potting_of(label, self._desk.at)
        at = self._desk.instant(potted, day=True)
        if present is None:
            return Potting(label, at, pot.pop("mix", ""), **pot)
        if potted and at != present.at:
            raise Refused(f"day of the potting of {label}", potted,
                          f"the day told, {day_words(present.at, self._desk.zone)}",
                          "A new pot is told with `advisor repotted`; a wrong day is taken back "
                          "with `advisor undo`.")
        if any(name in pot for name in SIZES[:3]):
            pot = dict.fromkeys(SIZES[:3]) | pot
        return replace(present, **pot)
