"""`advisor mix measure`: a mix weighed with a kitchen scale, step by step."""

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

from advisor.cli import session as sessions
from advisor.cli.ask import Asking
from advisor.cli.choose import known
from advisor.cli.session import Desk, Session, at_option, emit, json_option, pass_session
from advisor.cli.values import Number, Quantity, Word
from advisor.errors import Refused
from advisor.garden.naming import unknown
from advisor.garden.records import Mix
from advisor.garden.stock import Container, MixWeight, Stock

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.jobs.potting.measuring import Fitted

CONTAINER = ("litres", "depth_mm", "empty_g")


@click.group("mix")
def mix_group() -> None:
    """Measure a mix with a kitchen scale."""


@mix_group.command()
@click.argument("name")
@click.option("--litres", type=Quantity("litres", "L"), help="How much mix is in the container.")
@click.option("--depth", "depth_mm", type=Quantity("length_mm", "mm"), help="How deep.")
@click.option("--empty", "empty_g", type=Number(), metavar="GRAMS", help="The container alone.")
@click.option("--outdoors", is_flag=True, help="It dries outdoors under a roof, not in a room.")
@click.option("--dry", multiple=True, type=Number(), metavar="GRAMS", help="Weight, dry. Repeat.")
@click.option("--drained", multiple=True, type=Number(), metavar="GRAMS",
              help="Weight an hour after soaking. Repeat.")
@click.option("--weight", "drying", multiple=True, type=Number(), metavar="GRAMS",
              help="Weight while it dries.")
@click.option("--keep", is_flag=True, help="Keep what was found as the mix's own values.")
@json_option
@at_option
@pass_session
def measure(session: Session, name: str, keep: bool, as_json: bool, at: str | None,
            **told: Any) -> None:
    """Measure the mix NAME: what it holds, what it weighs, how it dries.

    Told piece by piece, over days; every weight is kept at once, and called without anything
    it says what was told and what comes next. On a terminal it asks. A wrong weight is taken
    back with advisor undo; a container given again begins anew. For example:
    advisor mix measure "third each" --litres 1 --depth 80 --empty 95
    """
    with session.desk(at) as desk:
        mix = _mix(desk, name)
        records = _records(desk, mix, told)
        if not records and not keep and not as_json and sessions.on_terminal():
            _ask(desk, mix)
        elif records:
            _tell(desk, records, f"weighed the mix {mix.name}")
        _answer(desk, mix, keep, as_json)


def _mix(desk: Desk, name: str) -> Mix:
    mix = known(desk.knowledge.mixes, name)
    if mix is None:
        raise unknown("mix", name, desk.knowledge.mixes, "Add it first: `advisor add mix`.")
    return mix


def _records(desk: Desk, mix: Mix, told: dict[str, Any]) -> list[Stock]:
    """Give what was told with options, a container first."""
    given = [name for name in CONTAINER if told[name] is not None]
    records: list[Stock] = []
    if given and len(given) < len(CONTAINER):
        raise click.UsageError("Give --litres, --depth and --empty together.",
                               click.get_current_context())
    if told["outdoors"] and not given:
        raise click.UsageError("Give --outdoors with the container.", click.get_current_context())
    if given:
        records.append(Container(mix.name, desk.at, told["litres"], told["depth_mm"],
                                 told["empty_g"], told["outdoors"]))
    weights = [MixWeight(mix.name, desk.at, kind, grams)
               for kind in ("dry", "drained", "drying") for grams in told[kind]]
    if weights and not given and desk.garden.weighed(mix.name, desk.at) is None:
        raise Refused(f"weight of the mix {mix.name}", "no container told",
                      "its volume, depth and weight first",
                      "Give --litres, --depth and --empty.")
    return [*records, *weights]


def _tell(desk: Desk, records: list[Stock], words: str) -> None:
    _refuse_times(desk, records)
    with desk.entry(words) as entry:
        for record in records:
            desk.garden.add_stock(entry.id, record, desk.at, desk.zone)


def _refuse_times(desk: Desk, records: list[Stock]) -> None:
    """Refuse a weight while drying that does not come after the drained one, before it is kept."""
    from advisor.jobs.potting.measuring import Weighing, hours_dried

    weights = [each for each in records if isinstance(each, MixWeight)]
    if len(weights) == len(records):  # no new container: the weights before count
        _, before = desk.garden.weighed(weights[0].mix, desk.at) or (None, [])
        weights = [*before, *weights]
    told = [Weighing(each.kind, each.at, each.grams) for each in weights]
    for drained in [each for each in told if each.kind == "drained"][:1]:
        for each in told:
            hours_dried(each, drained)


def _ask(desk: Desk, mix: Mix) -> None:
    """Ask for what comes next; every answer is kept before the next question."""
    from advisor.show.measuring_words import next_step

    ask = Asking()
    while True:
        container, weights = desk.garden.weighed(mix.name, desk.at) or (None, [])
        kind, words = next_step(container, weights)
        if kind == "keep":
            return
        click.echo(words, err=True)
        if kind == "container":
            litres: float = ask.needed("Litres of mix in it", "--litres", None,
                                       Quantity("litres", "L"))
            depth: float = ask.needed("How deep, in mm", "--depth", None,
                                      Quantity("length_mm", "mm"))
            empty: float = ask.needed("The empty pot, in grams", "--empty", None, Number())
            where: str = ask.needed("Where it will dry: indoors, or outdoors under a roof",
                                    "--outdoors", None, Word("place", ("indoors", "outdoors")))
            record: Stock = Container(mix.name, desk.at, litres, depth, empty,
                                      outdoors=where == "outdoors")
        else:
            grams = ask.default(f"Weight, {kind}, in grams (empty: not yet)", kind, None, None,
                                Number(), "not yet")
            if grams is None:
                return
            record = MixWeight(mix.name, desk.at, kind, grams)
        _tell(desk, [record], f"weighed the mix {mix.name}")
        if kind == "drying":
            return


def _answer(desk: Desk, mix: Mix, keep: bool, as_json: bool) -> None:
    from advisor.show.measuring_words import series_document, series_text

    container, weights = desk.garden.weighed(mix.name, desk.at) or (None, [])
    fitted = None
    if container is not None and {"dry", "drained"} <= {w.kind for w in weights}:
        fitted = _fitted(desk, mix, container, weights)
    if keep:
        _keep(desk, mix, fitted)
    if as_json:
        emit(series_document(mix.name, container, weights, fitted, desk.zone))
        return
    text = series_text(mix.name, container, weights, fitted, desk.at, desk.zone)
    if keep:
        text = text.rsplit("\nNext: ", 1)[0] + (
            f"\nKept: from now on every pot filled with {mix.name} goes by these values.")
    click.echo(text)


def _fitted(desk: Desk, mix: Mix, container: Container, weights: list[MixWeight]) -> "Fitted":
    from advisor.cli.morning import say_when_preparing
    from advisor.jobs.potting.measuring import Box, Weighing, fit

    say_when_preparing()
    box = Box(container.litres, container.depth_mm, container.empty_g)
    drained = next(w.at for w in weights if w.kind == "drained")
    et0_mm = _air(desk, drained) if container.outdoors else None
    return fit(box, [Weighing(w.kind, w.at, w.grams) for w in weights], mix.parts, et0_mm)


def _air(desk: Desk, since: datetime) -> "NDArray[Any]":
    """Give the hours of ET0 in the open from an instant on."""
    from advisor.cli.hours import refresh
    from advisor.jobs.named import OPEN_PLACE

    refresh(desk.garden, desk.knowledge.site, desk.knowledge.places.values(), desk.at)
    hours = desk.garden.hours(OPEN_PLACE.name)
    return hours["et0_mm"][hours["hour"] + 3600 > int(since.timestamp())]


def _keep(desk: Desk, mix: Mix, fitted: "Fitted | None") -> None:
    if fitted is None:
        raise Refused(f"values of the mix {mix.name}", "not weighed enough",
                      "dry and drained weights at least",
                      f'See what comes next: advisor mix measure "{mix.name}".')
    own = fitted.own
    measured = replace(mix, measured_capacity=own.capacity_share, measured_depth_mm=own.depth_mm,
                       measured_density_kgl=own.density_kgl, measured_k_c_cmh=own.k_c_cmh,
                       measured_sd=fitted.sd_ln_held, measured_sd_ln_k_c=fitted.sd_ln_k_c,
                       measured_vapour_depth_mm=own.vapour_depth_mm)
    with desk.entry(f"measured the mix {mix.name}") as entry:
        entry.add(measured)
