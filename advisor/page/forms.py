"""A form is a command's own options: its help is the label, its words are the choices."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Final

import click

from advisor.cli.values import Word
from advisor.errors import Refused
from advisor.page.told import Misused

MOST_FIELD: Final = 2000  # letters
BEFORE: Final = "told-"  # of the names under which fields are sent
_OPTION: Final = re.compile(r"--([a-z][a-z-]*)")


@dataclass(frozen=True)
class Design:
    """Which command a form stands for, and what of it is asked first.

    Attributes
    ----------
    command : tuple of str
        As it is typed.
    where : str
        Its module and name below `advisor.cli`.
    title, button : str
    first : tuple of str
        Options in the order in which they are asked; the others are folded away below.
    left_out : tuple of str
    queued : bool
        Kept on the phone where the house is out of reach.
    """

    command: tuple[str, ...]
    where: str
    title: str
    button: str
    first: tuple[str, ...]
    left_out: tuple[str, ...] = ()
    queued: bool = False


DESIGNS: Final[Mapping[str, Design]] = {
    "watered": Design(("watered",), "watered:watered", "Watered", "Enter the watering",
                      ("litres", "until-ran"), ("but", "as-listed", "nothing", "at"), True),
    "reading": Design(("reading",), "reading:reading", "A reading", "Enter the reading",
                      ("dry-depth", "finger", "weight", "feels", "at-depth", "lift", "ran-after",
                       "not-run-after", "note"), ("at",), True),
    "repotted": Design(("repotted",), "repotted:repotted", "Repotted", "Enter the repotting",
                       ("at", "mix", "roots", "outside", "soil-depth", "outline")),
    "moved": Design(("moved",), "moved:moved", "Moved", "Enter the move", ("to",),
                    ("but", "at")),
    "tree": Design(("add", "tree"), "add_tree:add_tree", "A tree", "Enter the tree",
                   ("name", "group", "place", "mix", "potted", "outside", "outline",
                    "soil-depth", "crown", "density"), ("at",)),
    "place": Design(("add", "place"), "add_place:add_place", "A place", "Enter the place",
                    ("sun-june", "sun-september", "wind", "ground", "grouped", "rain"), ("at",)),
    "mix": Design(("add", "mix"), "add_mix:add_mix", "A mix", "Enter the mix", ("part",),
                  ("at",)),
}
#: Options that name what the garden knows, and what that is.
KNOWN: Final = {"to": "places", "place": "places", "mix": "mixes", "old-soil": "mixes"}


@dataclass
class Field:
    """One field of a form.

    Attributes
    ----------
    name : str
        Of the option, as "dry-depth", or of the argument, as "label".
    label : str
    kind : str
        "text", "choice", "check" or "lines".
    choices : tuple of (str, str)
        What is sent and what is shown.
    now : str
        What it is at present.
    value, fault : str
        As it was typed, and what is wrong with it.
    folded : bool
    """

    name: str
    label: str
    kind: str
    choices: tuple[tuple[str, str], ...] = ()
    now: str = ""
    value: str = ""
    fault: str = ""
    folded: bool = False
    argument: bool = False

    @property
    def key(self) -> str:
        """The name under which it is sent."""
        return BEFORE + self.name


@dataclass
class Form:
    """A form with what was typed into it, and what is wrong with it."""

    design: Design
    fields: list[Field]
    subject: str | None
    fault: str = ""

    @property
    def folded_open(self) -> bool:
        """Whether something that is folded away was typed or is wrong."""
        return any(each.folded and (each.value or each.fault) for each in self.fields)

    def words(self) -> list[str]:
        """Give the command line that the form stands for."""
        line, named = list(self.design.command), [self.subject] if self.subject else []
        for each in self.fields:
            text = each.value.strip()
            if not text:
                continue
            if each.argument:
                named.append(text)
            elif each.kind == "check" or (each.kind == "choice" and text.startswith("--")):
                line.append(text)
            elif each.kind == "lines":
                line += [f"--{each.name}={part.strip()}" for part in text.splitlines()
                         if part.strip()]
            else:
                line.append(f"--{each.name}={text}")
        return [*line, "--", *named]

    def refused(self, refusal: Refused | Misused) -> None:
        """Put a refusal beside the field it is of, else on top."""
        text = str(refusal) if isinstance(refusal, Refused) else refusal.text
        found = self._meant(refusal)
        if found is None:
            self.fault = text
        else:
            found.fault = text

    def _meant(self, refusal: Refused | Misused) -> Field | None:
        if isinstance(refusal, Misused):
            option = (refusal.option or "").removeprefix("--")
            return next((each for each in self.fields if each.name == option), None)
        what = refusal.what.lower()
        if what.startswith("--"):
            option = what.removeprefix("--").split(",")[0]
            return next((each for each in self.fields if each.name == option), None)
        typed = [each for each in self.fields if each.value and each.kind != "check"
                 and _is_of(each, str(refusal.value))]
        named = [each for each in self.fields
                 if what.startswith(each.name.replace("-", " "))
                 or (each.name == "part" and "part" in what)]
        return next(iter([*typed, *named]), None)


def _is_of(field: Field, refused: str) -> bool:
    """Whether a refused value is what was typed into a field, or a line of it."""
    quoted = refused[1:-1] if refused[:1] == refused[-1:] == "'" else ""
    return f"'{field.value.strip()}'" in refused or bool(
        quoted and field.kind == "lines" and quoted in field.value)


def form(design: Design, subject: str | None = None, *, known: Mapping[str, Sequence[str]],
         now: object = None) -> Form:
    """Make a form out of the options of a command.

    Parameters
    ----------
    design : Design
    subject : str, optional
        The argument where it stands fast, as the label of a tree; it is asked for where None.
    known : mapping of str to sequence of str
        Names of places and mixes.
    now : object, optional
        A record that tells what is so at present.
    """
    module, name = design.where.split(":")
    command: click.Command = getattr(import_module(f"advisor.cli.{module}"), name)
    fields = list(_fields(command, design, known, now))
    if subject is not None:
        fields = [each for each in fields if not each.argument]
    order = {option: i for i, option in enumerate(design.first)}
    fields.sort(key=lambda each: -1 if each.argument else order.get(each.name, len(order)))
    for each in fields:
        each.folded = not each.argument and each.name not in order
    return Form(design, fields, subject)


def filled(empty: Form, sent: Mapping[str, str]) -> Form:
    """Fill a form with what was sent.

    Raises
    ------
    Refused
        A field that is longer than anybody types.
    """
    for each in empty.fields:
        each.value = sent.get(each.key, "")
        if len(each.value) > MOST_FIELD or "\0" in each.value:
            raise Refused(each.name, f"{len(each.value)} letters", f"at most {MOST_FIELD} letters",
                          "Write it shorter.")
    return empty


def _fields(command: click.Command, design: Design, known: Mapping[str, Sequence[str]],
            now: object) -> Iterator[Field]:
    for each in command.params:
        if isinstance(each, click.Argument) and each.name:
            yield Field(each.name, each.name.capitalize(), "text", argument=True)
        elif isinstance(each, click.Option):
            option = max(each.opts, key=len).removeprefix("--")
            if option not in design.left_out:
                yield _field(each, option, known, now)


def _field(each: click.Option, option: str, known: Mapping[str, Sequence[str]],
           now: object) -> Field:
    label = option.replace("-", " ").capitalize().replace("september", "September")
    if each.help:
        said = _OPTION.sub(lambda named: f"“{named[1].replace('-', ' ')}”", each.help.strip(". "))
        plain = said.lower().startswith(option.split("-")[0])
        label = said if plain else f"{label}: {said[:1].lower()}{said[1:]}"
    present = _present(getattr(now, each.name or "", None))
    if each.secondary_opts:
        sides = [max(names, key=len) for names in (each.opts, each.secondary_opts)]
        return Field(option, label, "choice",
                     tuple((side, side.removeprefix("--").replace("-", " ")) for side in sides),
                     now=present)
    if each.is_flag:
        return Field(option, label, "check", ((f"--{option}", label),))
    if isinstance(each.type, Word):
        return Field(option, label, "choice", tuple((word, word) for word in each.type.words),
                     now=present)
    if option in KNOWN:
        names = known.get(KNOWN[option], ())
        return Field(option, label, "choice", tuple((name, name) for name in names), now=present)
    if each.multiple:
        return Field(option, label.replace("Repeat it", "A line each"), "lines", now=present)
    return Field(option, label, "text", now=present)


def _present(value: Any) -> str:
    """Say what a field of a record is at present, as it would be typed."""
    if value is None or value == () or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return " × ".join(_present(part) for part in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
