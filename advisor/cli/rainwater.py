"""`advisor rainwater`: roofs, butts, how long the water lasts, who gets it first."""

from dataclasses import asdict, replace
from typing import Any, Final

import click

from advisor.cli.choose import known
from advisor.cli.session import (
    Desk,
    Session,
    at_option,
    csv_option,
    emit,
    emit_csv,
    json_option,
    one_of,
    pass_session,
    refuse_both,
)
from advisor.cli.values import Number, Quantity
from advisor.errors import Refused
from advisor.garden.stock import ButtLevel, RainButt, RainRoof, Stock

HARDNESS: Final = "tap water mmol/L"
LEVEL_SHARE: Final = 0.05  # of what is told in litres, as its spread


@click.group(invoke_without_command=True)
@json_option
@at_option
@click.pass_context
def rainwater(ctx: click.Context, as_json: bool, at: str | None) -> None:
    """Roofs, rain butts and tap water; alone, what `now` says."""
    if ctx.invoked_subcommand is None:
        ctx.invoke(now, as_json=as_json, at=at)
    elif as_json or at is not None:
        raise click.UsageError(f"Give --json and --at behind {ctx.invoked_subcommand}.", ctx)


@rainwater.command()
@json_option
@at_option
@pass_session
def now(session: Session, as_json: bool, at: str | None) -> None:
    """Say what is in the butts, how long it lasts, who gets it first, and good feeding days."""
    from advisor.cli.rain_today import today
    from advisor.cli.working import unwritable
    from advisor.show.rain_words import butts_document, butts_text

    with session.desk(at, readonly=unwritable(session.path)) as desk:
        told = today(desk)
    if as_json:
        emit(butts_document(told))
    else:
        click.echo(butts_text(told))


@rainwater.command()
@click.argument("name")
@click.option("--area", "area_m2", type=Number(), metavar="M2", help="Seen from above.")
@click.option("--covering", help="tiles, slate, metal, glass, plastic, bitumen, gravel, "
              "'green, thin' or 'green, deep'.")
@click.option("--first-flush", "first_flush_mm", type=Number(), metavar="MM",
              help="Rain of a spell that is led away first; else 0.")
@click.option("--gone", is_flag=True, help="It no longer feeds the butts.")
@at_option
@pass_session
def roof(session: Session, name: str, at: str | None, gone: bool, **told: Any) -> None:
    """Tell the roof NAME whose rain goes into the butts, or change it."""
    from advisor.jobs.rain.butts import Roof, covering, refuse_odd

    with session.desk(at) as desk:
        before = known(desk.garden.roofs(), name)
        given = {field: value for field, value in told.items() if value is not None}
        if before is None and not {"area_m2", "covering"} <= given.keys():
            raise click.UsageError("Give --area and --covering.", click.get_current_context())
        base = before or RainRoof(name, given["area_m2"], given["covering"])
        made = replace(base, gone=gone, **given)
        refuse_odd([Roof(made.area_m2, made.covering, made.first_flush_mm)], [])
        _tell(desk, made, f"roof {made.name}")
    share = covering(made.covering)
    click.echo(f"Roof {'gone' if gone else 'told'}: {made.name}, {made.area_m2:g} m² of "
               f"{made.covering}; {share.value:.0%} of the rain runs off ({share.low:.0%} to "
               f"{share.high:.0%}; DIN 1989-1, from memory).")


@rainwater.command()
@click.argument("name")
@click.option("--litres", type=Quantity("litres", "L"), help="What it holds to the overflow.")
@click.option("--height", "height_mm", type=Quantity("length_mm", "mm"),
              help="How high the water then stands, for dip readings.")
@click.option("--gone", is_flag=True, help="It is no longer there.")
@at_option
@pass_session
def butt(session: Session, name: str, at: str | None, gone: bool, **told: Any) -> None:
    """Tell the rain butt NAME, or change it."""
    from advisor.jobs.rain.butts import Butt, refuse_odd

    with session.desk(at) as desk:
        before = known(desk.garden.butts(), name)
        given = {field: value for field, value in told.items() if value is not None}
        if before is None and "litres" not in given:
            raise click.UsageError("Missing option '--litres'.", click.get_current_context())
        base = before or RainButt(name, given["litres"])
        made = replace(base, gone=gone, **given)
        refuse_odd([], [Butt(made.litres)])
        _tell(desk, made, f"rain butt {made.name}")
    click.echo(f"Rain butt {'gone' if gone else 'told'}: {made.name}, {made.litres:g} L.")


@rainwater.command()
@click.option("--litres", type=Number(), metavar="L", help="In all butts together.")
@click.option("--dip", multiple=True, metavar="BUTT=MM",
              help="How high the water stands in a butt. Repeat it for every butt.")
@at_option
@pass_session
def level(session: Session, litres: float | None, dip: tuple[str, ...], at: str | None) -> None:
    """Tell how much water is in the butts now."""
    one_of(litres=litres is not None, dip=bool(dip))
    with session.desk(at) as desk:
        butts = desk.garden.butts()
        if not butts:
            raise Refused("level", "no rain butt told", "at least one",
                          "Tell it: advisor rainwater butt.")
        size = sum(each.litres for each in butts.values())
        held, sd = _dipped(butts, dip) if litres is None else (litres, LEVEL_SHARE * litres)
        if not 0.0 <= held <= size:
            raise Refused("level", f"{held:g} L", f"0 to {size:g} L, what the butts hold",
                          "Check the number.")
        _tell(desk, ButtLevel(desk.at, held, sd), f"{held:.0f} L in the butts")
    click.echo(f"In the butts: {held:.0f} L of {size:g} L.")


def _dipped(butts: dict[str, RainButt], dips: tuple[str, ...]) -> tuple[float, float]:
    from advisor.jobs.rain.butts import Butt, dipped

    read: dict[str, float] = {}
    for text in dips:
        name, _, height = text.rpartition("=")
        found = known(butts, name.strip()) if name else None
        if found is None and not name and len(butts) == 1:
            found = next(iter(butts.values()))
        if found is None:
            raise Refused("--dip", repr(text), f"a butt and mm; butts: {', '.join(butts)}",
                          "Write it as NAME=400.")
        read[found.name] = Quantity("length_mm", "mm").convert(height, None, None)
    missing = [name for name in butts if name not in read]
    if missing:
        raise Refused("dip readings", f"none of {', '.join(missing)}", "one of every butt",
                      "Give --dip for each.")
    each = [dipped(Butt(butts[name].litres, butts[name].height_mm), mm)
            for name, mm in read.items()]
    return sum(l for l, _ in each), sum(sd**2 for _, sd in each) ** 0.5  # noqa: E741


@rainwater.command()
@click.argument("value", type=Number())
@click.option("--unit", default="°dH", show_default=True,
              help="mmol/L, °dH, °fH, °e, 'mg/L CaCO3', ppm or gpg.")
@at_option
@pass_session
def hardness(session: Session, value: float, unit: str, at: str | None) -> None:
    """Tell how hard the tap water is, from the supplier's sheet."""
    from advisor.jobs.rain.tap_water import NEVER_SOFTENED
    from advisor.jobs.rain.tap_water import hardness as read

    told = read(value, unit)
    with session.desk(at) as desk, desk.entry(f"tap water of {value:g} {unit}") as entry:
        desk.garden.add_setting(entry.id, HARDNESS, f"{told.mmol:.4f}")
    click.echo(f"Tap water: {told.word}, {told.mmol:.1f} mmol/L. {told.note} {NEVER_SOFTENED}")


@rainwater.command()
@json_option
@csv_option
@at_option
@pass_session
def size(session: Session, as_json: bool, as_csv: bool, at: str | None) -> None:
    """Say what size of butt would have lasted in past years."""
    from advisor.cli.rain_today import sizes
    from advisor.cli.working import unwritable
    from advisor.show.rain_words import sizes_text

    refuse_both(as_json, as_csv)
    with session.desk(at, day=True, readonly=unwritable(session.path)) as desk:
        curve, have = sizes(desk)
    rows = [asdict(each) for each in curve]
    if as_json:
        emit({"have_l": have, "sizes": rows})
    elif as_csv:
        emit_csv(list(rows[0]), [list(row.values()) for row in rows])
    else:
        click.echo(sizes_text(curve, have))


def _tell(desk: Desk, record: Stock, words: str) -> None:
    with desk.entry(words) as entry:
        desk.garden.add_stock(entry.id, record, desk.at, desk.zone)
