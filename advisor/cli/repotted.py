"""`advisor repotted`: enter that a tree was repotted."""

from collections.abc import Mapping
from typing import Any, Final

import click

from advisor.cli.clock import day_words
from advisor.cli.pot import SIZES, care, holds, pot_fields, pot_options, refuse_absurd
from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.cli.words import pot_words, tree_words
from advisor.errors import Refused
from advisor.garden.records import Potting
from advisor.jobs.describe import describe
from advisor.show.lists import listed

#: What stays with the tree or the pot unless it is told anew.
KEPT: Final = ("mix", "form", "outline", "wall", "mound_mm", "drainage_mm", "drainage_grain_mm",
               "rock_share", "dressing")
#: What stays only where the pot is the same.
SAME_POT: Final = (*SIZES, "base_share")
ROOT_WORK: Final = "edges combed"
#: What stays in the middle of an old ball told before, by what was done to the roots [J].
BALL_LEFT: Final = {"none": 1.0, "slipped over": 1.0, "edges combed": 0.8, "half bare": 0.5,
                    "all bare": 0.0}


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
        if before is None and "mix" not in given:
            raise Refused("mix of the potting", f"none told, and no pot of {label} before "
                          f"{day_words(desk.at, desk.zone)}", "a mix", "Give --mix.")
        potting = Potting(label, desk.at, **_fields(before, given))
        with desk.entry(f"repotted {tree_words(desk.knowledge.trees[label])}") as entry:
            entry.add(potting)
            model = describe(desk.garden.knowledge(), label, desk.at)
            assert model is not None  # it stands in the pot just told
            refuse_absurd(model)
        lines = [holds(model), *_taken(before, potting, given), *_ball_words(potting, given),
                 *care(model, desk.at, desk.zone), *_later(desk, label)]
    click.echo("\n".join(lines))


def _fields(before: Potting | None, given: Mapping[str, Any]) -> dict[str, Any]:
    """Give the fields of the new potting: as given, else as before, else the default."""
    kept: dict[str, Any] = {}
    if before is not None:
        names = KEPT if _new_size(given) else KEPT + SAME_POT
        kept = {name: getattr(before, name) for name in names}
        kept |= _ball(before, given.get("root_work", ROOT_WORK))
    if "ball_mix" in given or "ball_share" in given:
        kept = {name: value for name, value in kept.items() if not name.startswith("ball_")}
    return kept | {"root_work": ROOT_WORK} | dict(given)


def _ball(before: Potting, root_work: str) -> dict[str, Any]:
    """Give what stays of an old ball that was told before."""
    share = before.ball_share * BALL_LEFT[root_work]
    return {"ball_mix": before.ball_mix, "ball_share": share} if share else {}


def _ball_words(potting: Potting, given: Mapping[str, Any]) -> list[str]:
    if potting.ball_mix is None or "ball_mix" in given:
        return []
    return [f"Of the old soil in the middle, {potting.ball_mix}, {potting.ball_share:.0%} of the "
            "pot's area is taken to be left; --old-soil and --old-share tell it otherwise."]


def _later(desk: Desk, label: str) -> list[str]:
    """Say so where a later potting was told before this one."""
    later = [potting.at for potting in desk.knowledge.pottings[label] if potting.at > desk.at]
    return [f"The potting of {day_words(at, desk.zone)} stands after it." for at in later]


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
