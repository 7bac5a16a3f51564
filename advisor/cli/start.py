"""`advisor start`: make the garden's file."""

import click

from advisor.cli.ask import Asking
from advisor.cli.session import Session, at_option, pass_session
from advisor.cli.values import Number


@click.command()
@click.option("--latitude", type=Number(), metavar="DEGREES", help="North; south is negative.")
@click.option("--longitude", type=Number(), metavar="DEGREES", help="East; west is negative.")
@click.option("--elevation", type=Number(), metavar="METRES", help="Above the sea; else 0.")
@click.option("--time-zone", metavar="NAME", help="As Europe/Berlin.")
@at_option
@pass_session
def start(session: Session, latitude: float | None, longitude: float | None,
          elevation: float | None, time_zone: str | None, at: str | None) -> None:
    """Start a garden: where it is.

    What is not given is asked for on a terminal.
    """
    from zoneinfo import ZoneInfo

    from advisor.garden.records import Site
    from advisor.garden.rules import Names, resolved
    from advisor.garden.store import Garden

    ask = Asking()
    site = Site(
        latitude_deg=ask.needed("Latitude in degrees, south negative", "--latitude", latitude,
                                Number()),
        longitude_deg=ask.needed("Longitude in degrees, west negative", "--longitude", longitude,
                                 Number()),
        elevation_m=ask.default("Height above the sea in metres", "height above the sea",
                                elevation, 0.0, Number(), "0 m"),
        time_zone=ask.needed("Time zone, as Europe/Berlin", "--time-zone", time_zone),
    )
    resolved(site, Names(), session.clock())
    made_at = session.now(at, ZoneInfo(site.time_zone))
    with Garden.create(session.path, site, made_at):
        click.echo(f"Garden started: {session.path} ({_degrees(site.latitude_deg, 'NS')}, "
                   f"{_degrees(site.longitude_deg, 'EW')}, {site.elevation_m:g} m, "
                   f"{site.time_zone}).")
    ask.say()
    click.echo("Next: `advisor add place`, `advisor add mix`, `advisor add tree`, "
               "then `advisor weather add FILE`.")


def _degrees(angle: float, sides: str) -> str:
    return f"{abs(angle):g}° {sides[angle < 0]}"
