"""`advisor repotted`: enter that a tree was repotted."""

from collections.abc import Mapping
from typing import Any, Final

import click

from advisor.cli.pot import SIZES, care, holds, pot_fields, pot_options
from advisor.cli.session import Session, at_option, pass_session
from advisor.cli.words import listed, pot_words, tree_words
from advisor.errors import Refused
from advisor.garden.records import Potting
from advisor.jobs.describe import describe

#: What stays with the tree or the pot unless it is told anew.
KEPT: Final = ("mix", "form", "outline", "wall", "mound_mm", "drainage_mm", "drainage_grain_mm",
               "rock_share", "dressing")
#: What stays only where the pot is the same.
SAME_POT: Final = (*SIZES, "base_share")
ROOT_WORK: Final = "edges combed"


@click.command()
@click.argument("tree")
@pot_options
@at_option
@pass_session
def repotted(session: Session, tree: str, at: str | None, **told: Any) -> None:
    """Enter that TREE was repotted.

    Pot and mix are those of before where nothing else is told. For example:
    advisor repotted 5 --mix "third each" --roots "half bare" --at 2026-09-10
    """
    given = pot_fields(told)
    with session.desk(at, day=True) as desk:
        labels = desk.choose((tree,))
        if len(labels) > 1:
            raise Refused("tree", repr(tree), "one tree", "Name the trees one by one.")
        label = labels[0]
        before = desk.knowledge.potting_of(label, desk.at)
        potting = Potting(label, desk.at, **_fields(before, given))
        with desk.entry(f"repotted {tree_words(desk.knowledge.trees[label])}") as entry:
            entry.add(potting)
            model = describe(desk.garden.knowledge(), label, desk.at)
        assert model is not None  # it stands in the pot just told
        lines = [holds(model), *_taken(before, potting, given), *care(model, desk.at, desk.zone)]
    click.echo("\n".join(lines))


def _fields(before: Potting | None, given: Mapping[str, Any]) -> dict[str, Any]:
    """Give the fields of the new potting: as given, else as before, else the default."""
    kept: dict[str, Any] = {"mix": ""}
    if before is not None:
        names = KEPT if _new_size(given) else KEPT + SAME_POT
        kept = {name: getattr(before, name) for name in names}
    return kept | {"root_work": ROOT_WORK} | dict(given)


def _new_size(given: Mapping[str, Any]) -> bool:
    return any(name in given for name in SIZES[:3])


def _taken(before: Potting | None, potting: Potting, given: Mapping[str, Any]) -> list[str]:
    """Say what was taken from the potting before, and what by default."""
    same = []
    if before is not None:
        same += [] if "mix" in given else [f"mix {potting.mix}"]
        same += [] if _new_size(given) else [pot_words(potting)]
        same += [f"under {potting.dressing}"] if (
            "dressing" not in given and potting.dressing != "none") else []
    plain = {"root_work": f"roots {ROOT_WORK}", "condition": "soil in grains",
             "watered_in": "watered in"}
    default = [words for name, words in plain.items() if name not in given]
    lines = [f"As before: {listed(same)}."] if same else []
    return [*lines, f"Taken as default: {', '.join(default)}."] if default else lines
