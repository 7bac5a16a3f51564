"""`advisor potting`: pots and mixes compared before the tree is repotted."""

import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.session import (
    Desk,
    Session,
    at_option,
    csv_option,
    emit,
    emit_csv,
    json_option,
    pass_session,
    refuse_both,
)
from advisor.cli.values import Word
from advisor.cli.words import place_words, tree_words
from advisor.errors import Refused
from advisor.garden import records

if TYPE_CHECKING:
    from advisor.garden.knowledge import Knowledge
    from advisor.jobs.potting.choices import Choice, Known
    from advisor.jobs.potting.past_weather import Stage
    from advisor.jobs.sky import Sky

MOST: Final = 12  # choices in one table


@click.command()
@click.argument("tree")
@click.option("--try", "tried", multiple=True, metavar="CHOICE",
              help="Pot; mix; what else is so. Repeat it.")
@click.option("--own", is_flag=True, help="Try your empty pots as well, with its present mix.")
@click.option("--own-mix", metavar="MIX", help="... with this mix.")
@click.option("--month", type=click.IntRange(1, 12), help="Month of repotting; else by its kind.")
@click.option("--roots", "root_work", type=Word("root work", records.ROOT_WORK),
              help="What will be done to the roots; else edges combed.")
@click.option("--when", is_flag=True, help="When to repot, from past years, in place of where to.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Draw it as well: .png, .svg or .pdf.")
@json_option
@csv_option
@at_option
@pass_session
def potting(session: Session, tree: str, tried: tuple[str, ...], own: bool, own_mix: str | None,
            month: int | None, root_work: str | None, when: bool, out: Path | None,
            as_json: bool, as_csv: bool, at: str | None) -> None:
    """Compare pots and mixes for TREE over the past years of this garden.

    A choice is the pot, outside in mm, then the mix, then what else is so, with semicolons
    between; "as now" is the present pot or mix, and an empty pot goes by its name. For example:
    advisor potting 7 --try "as now" --try "oval 420x310x75; 50% akadama, 50% pumice; drainage 15"
    """
    refuse_both(as_json, as_csv)
    if when and (tried or own or own_mix or out or as_csv):
        raise click.UsageError("Give --when alone, or with --json.", click.get_current_context())
    if not (when or tried or own or own_mix):
        raise click.UsageError("Give --try, --own or --when.", click.get_current_context())
    from advisor.cli.working import unwritable

    with session.desk(at, day=True, readonly=unwritable(session.path)) as desk:
        label = _one(desk, tree)
        if when:
            _say_when(desk, label, as_json)
        else:
            _compare(desk, label, (_wanted(desk, label, tried, own, own_mix), month,
                                   root_work or "edges combed"), (out, as_json, as_csv))


def _one(desk: Desk, tree: str) -> str:
    labels = desk.choose((tree,))
    if len(labels) > 1:
        raise Refused("tree", repr(tree), "one tree", "Name one.")
    return labels[0]


def _wanted(desk: Desk, label: str, tried: tuple[str, ...], own: bool,
            own_mix: str | None) -> "list[Choice]":
    from advisor.jobs.potting.choices import AS_NOW, read_choice

    known = _known(desk, label)
    texts = list(tried)
    if own or own_mix:
        if not known.pots:
            raise Refused("empty pots", "none told", "at least one", "Add it: advisor add pot.")
        texts += [f"{name}; {own_mix or AS_NOW}" for name in known.pots]
    if len(texts) > MOST:
        raise Refused("choices", len(texts), f"at most {MOST} side by side",
                      "Compare them in turns.")
    return [read_choice(text, known) for text in texts]


def _known(desk: Desk, label: str) -> "Known":
    from advisor.garden.records import Potting
    from advisor.jobs.potting.choices import NEVER, Known

    pots = {pot.name: Potting("", NEVER, "", form=pot.form, outline=pot.outline,
                              outside_mm=pot.outside_mm, soil_depth_mm=pot.soil_depth_mm,
                              base_share=pot.base_share, wall=pot.wall)
            for pot in desk.garden.empty_pots().values()}
    return Known(desk.knowledge.mixes, pots, desk.knowledge.potting_of(label, desk.at))


def past_sky(desk: Desk) -> "tuple[Knowledge, Sky]":
    """Give all that is known and the sky over all weather in store, forecasts left aside.

    Weather from files counts as known, whatever the instant: a typical year stands for others.
    """
    import numpy as np

    from advisor.cli.hours import read_sky, refresh
    from advisor.garden.derived import SITE

    knowledge = desk.garden.knowledge(desk.at)
    refresh(desk.garden, knowledge.site, knowledge.places.values(), desk.at)
    kept = desk.garden.hours(SITE)
    known = np.flatnonzero(~np.isnan(kept["temp_c"]) & (kept["lead_d"] == 0.0))
    if not known.size:
        raise Refused("weather", "none but forecasts", "past weather",
                      "Get it: advisor weather past.")
    end = datetime.fromtimestamp(int(kept["hour"][known[-1]]) + 3600, desk.zone)
    return knowledge, read_sky(desk.garden, knowledge, end)


def stage_of(desk: Desk, label: str, root_work: str) -> "Stage":
    """Set one tree under the past weather of its garden."""
    from advisor.jobs.potting.past_weather import Stage

    knowledge, sky = past_sky(desk)
    return Stage(knowledge, sky, label, desk.at, root_work)


def _compare(desk: Desk, label: str, wanted: "tuple[list[Choice], int | None, str]",
             shown: tuple[Path | None, bool, bool]) -> None:
    from advisor.cli.morning import say_when_preparing
    from advisor.jobs.potting.compare import compare
    from advisor.show.potting_words import compared_document, compared_rows, compared_text

    choices, month, root_work = wanted
    out, as_json, as_csv = shown
    say_when_preparing()
    stage = stage_of(desk, label, root_work)
    with click.progressbar(length=len(choices), label="Running the years",
                           file=sys.stderr) as bar:
        compared = compare(stage, choices, month, progress=_shown(bar))
    place = desk.knowledge.place_of(label, desk.at)
    title = f"{tree_words(desk.knowledge.trees[label])}, {place_words(place)}"
    if as_json:
        emit(compared_document(label, place.name if place else None, compared))
    elif as_csv:
        emit_csv(*compared_rows(compared))
    else:
        click.echo(compared_text(title, compared))
    if out is not None:
        from advisor.show.charts import save
        from advisor.show.potting_chart import drawing

        save(drawing(title, compared), out)
        click.echo(f"Drawn: {out}", err=as_json or as_csv)


def _shown(bar: Any) -> Callable[[int], Any]:
    return lambda done: bar.update(done - bar.pos)


def _say_when(desk: Desk, label: str, as_json: bool) -> None:
    from advisor.demand import groups
    from advisor.jobs.potting.window import daily, windows
    from advisor.show.potting_words import windows_document, windows_text

    stage = stage_of(desk, label, "edges combed")
    tree = desk.knowledge.trees[label]
    found = windows(groups.find(tree.group), daily(stage.sky, stage.hours),
                    desk.knowledge.site.latitude_deg)
    if as_json:
        emit(windows_document(label, found))
    else:
        click.echo(windows_text(f"When to repot {tree_words(tree)}", found))
