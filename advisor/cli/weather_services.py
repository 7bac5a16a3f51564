"""`advisor weather get` and `contact`: weather that arrives by itself."""

import click

from advisor.cli.session import Session, pass_session


@click.command()
@click.option("--from", "only", multiple=True, metavar="SERVICE",
              help="Only from this one: open-meteo, met-norway, bright-sky or open-meteo-spread. "
              "Repeat it.")
@pass_session
def get(session: Session, only: tuple[str, ...]) -> None:
    """Get past and coming weather for the garden from open services.

    Their terms hold: open-meteo is free for what earns no money; met-norway wants to know who asks
    (advisor weather contact). open-meteo-spread is asked once a day how sure the coming days are:
    many ways they may go. Nothing is asked again while an answer is fresh, and all together
    take at most 30 seconds. Exit code 1 when none of those asked gave weather.
    """
    from advisor.cli.services import get as get_from

    now = session.clock()
    with session.open() as garden:
        found = get_from(garden, now, only)
    for each in found:
        click.echo(f"{each.service}: {each.words}", err=each.failed)
    asked = [each for each in found if not each.words.startswith("not asked")]
    if not any(not each.failed for each in asked):
        raise SystemExit(1)


@click.command()
@click.argument("address")
@pass_session
def contact(session: Session, address: str) -> None:
    """Say how services can reach you: a mail address or a web page; "" takes it back.

    It is sent to the services that are asked, and nowhere else.
    """
    from advisor.weather.services import SERVICES, headers

    if address.strip():
        headers(SERVICES["met-norway"], address)  # the strictest; no other takes what it does not
    with session.desk(None) as desk, desk.entry("contact for weather services") as entry:
        desk.garden.add_setting(entry.id, "contact", address.strip())
    click.echo("Contact kept." if address.strip() else "No contact is given any more.")
