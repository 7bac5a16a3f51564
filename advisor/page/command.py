"""`advisor page`: the round in a browser, on this computer or on a phone."""

import webbrowser
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.session import Session, at_option, on_terminal, pass_session

if TYPE_CHECKING:
    from socket import socket

    from advisor.page.gardens import PageSession
    from advisor.page.guard import Pairing
    from advisor.page.house import House

PORT: Final = 8765


@click.command()
@click.option("--port", type=click.IntRange(0, 65535), default=PORT, show_default=True,
              help="0 takes any that is free.")
@click.option("--lan", is_flag=True, help="On the house network too, for phones that are paired.")
@click.option("--tls", is_flag=True, help="By https, with a certificate made here or your own.")
@click.option("--certificate", type=click.Path(path_type=Path), metavar="FILE",
              help="Your own certificate (PEM); goes with --tls and --key.")
@click.option("--key", type=click.Path(path_type=Path), metavar="FILE", help="Its key (PEM).")
@click.option("--forget-phones", is_flag=True, help="Pair every phone anew.")
@click.option("--no-browser", is_flag=True, help="Open no browser.")
@click.option("--offline", is_flag=True, help="Ask no weather service.")
@at_option
@pass_session
def page(session: Session, at: str | None, port: int, **told: Any) -> None:
    """Open the round in a browser: read it, tick what was watered, enter a reading.

    Only this computer reaches it, unless --lan lets in phones that are paired with the code
    shown here. Ctrl-C ends it.
    """
    from advisor.cli.morning import renew_weather, say_when_preparing
    from advisor.page import serve

    if (told["certificate"] is None) != (told["key"] is None) or (told["key"] and not told["tls"]):
        raise click.UsageError("--certificate and --key go together, with --tls.",
                               click.get_current_context())
    fixed = _fixed(session, at)
    address = serve.house_address() if told["lan"] else serve.LOOPBACK
    with serve.bound(port, told["lan"]) as listening:
        house = _house(fixed, address, listening.getsockname()[1], told)
        say_when_preparing()
        _open(house, address, listening, on_terminal() and not told["no_browser"])
        serve.ask_nobody()
        serve.end_when_told()
        serve.beside(house.rounds.prepare, serve.ROUND_EVERY_S)
        if at is None and not told["offline"]:
            serve.beside(lambda: renew_weather(fixed), serve.WEATHER_EVERY_S)
        serve.beside(fixed.gardens.rest, serve.REST_EVERY_S)
        try:
            _serve(house, address, listening, told)
        finally:
            fixed.gardens.rest(0.0)


def _fixed(session: Session, at: str | None) -> "PageSession":
    """Give a session whose garden is named, and whose clock stands where it was set."""
    with session.open() as garden:
        zone = garden.site().zone
    from advisor.page.gardens import PageSession

    session = PageSession(session.path, session.clock)
    if at is None:
        return session
    instant = session.now(at, zone)
    return replace(session, clock=lambda: instant)


def _house(session: "PageSession", address: str, port: int, told: dict[str, Any]) -> "House":
    from advisor.page import serve
    from advisor.page.guard import Pairing, key_file, new_code, read_key
    from advisor.page.house import House

    where = key_file(session.path)
    if told["forget_phones"]:
        where.unlink(missing_ok=True)
    pairing = Pairing(new_code(), Session().clock) if told["lan"] else None
    called = serve.hosts({address, serve.LOOPBACK, "localhost"}, port)
    return House(session, read_key(where), called, pairing, told["tls"])


def _open(house: "House", address: str, listening: "socket", in_browser: bool) -> None:
    """Say where the page is, and open it."""
    url = f"http{'s' if house.secure else ''}://{address}:{listening.getsockname()[1]}/"
    click.echo(f"The round: {url} (Ctrl-C ends it)", err=True)
    if house.pairing:
        _invite(url, house.pairing)
    elif in_browser:
        webbrowser.open(url)


def _invite(url: str, pairing: "Pairing") -> None:
    """Show a phone the way: address and code, as a picture and in letters."""
    import io

    import segno

    picture = io.StringIO()
    segno.make(f"{url}pair?code={pairing.code}").terminal(picture, compact=True)
    for line in picture.getvalue().splitlines():  # light on dark, whatever the terminal's colours
        click.secho(line, err=True, fg="bright_white", bg="black")
    click.echo(f"Pairing code: {pairing.code[:4]} {pairing.code[4:]}", err=True)
    if url.startswith("http:"):
        click.echo("On this network others could read along: what is due, what is entered, and "
                   "the code. With --tls they cannot.", err=True)


def _serve(house: "House", address: str, listening: "socket", told: dict[str, Any]) -> None:
    """Serve until the keyboard ends it, by https where it is asked for."""
    from advisor.page import serve, tls
    from advisor.page.app import make_app

    app = make_app(house)
    if not house.secure:
        serve.run(app, listening)
        return
    own = (told["certificate"], told["key"])
    certificate, key = own if told["key"] else tls.made(
        house.session.path, sorted({address, serve.LOOPBACK}), Session().clock())
    click.echo(f"Certificate: {certificate}", err=True)
    secured = tls.context(certificate, key)
    inside = serve.bound(0, lan=False)
    serve.beside(lambda: serve.run(app, inside))
    tls.front(listening, inside.getsockname()[1], secured, serve.MOST_CONNECTIONS)
