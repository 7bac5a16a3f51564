"""`advisor start`: make the garden's file."""

from datetime import datetime
from typing import TYPE_CHECKING, Final

import click

from advisor.cli.ask import Asking
from advisor.cli.session import Session, at_option, pass_session
from advisor.cli.values import Number
from advisor.errors import Refused

if TYPE_CHECKING:
    from advisor.garden.records import Site

MOST_APART_H: Final = 4.0  # between sun and clock [J; 3.2 in the west of China]


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
    if session.path.exists():
        raise Refused("garden", f"there is one already at {session.path}",
                      "a file that does not exist yet",
                      "Go on with it, or name another: advisor --garden FILE start.")
    resolved(site, Names(), session.clock())
    refuse_other_side(site)
    made_at = session.now(at, ZoneInfo(site.time_zone))
    with Garden.create(session.path, site, made_at):
        click.echo(f"Garden started: {session.path} ({_degrees(site.latitude_deg, 'NS')}, "
                   f"{_degrees(site.longitude_deg, 'EW')}, {site.elevation_m:g} m, "
                   f"{site.time_zone}).")
    ask.say()
    click.echo("Next: `advisor add place`, `advisor add mix`, `advisor add tree`, "
               "then `advisor weather add FILE`.")


def refuse_other_side(site: "Site") -> None:
    """Refuse a longitude far from where its time zone is.

    Raises
    ------
    Refused
        Sun and clock differ by more than `MOST_APART_H`; a slip of the sign is named.
    """
    def apart_h(longitude_deg: float) -> float:
        days = (datetime(2026, month, 1, tzinfo=site.zone) for month in (1, 7))
        clocks = [offset.total_seconds() / 3600.0 for day in days if (offset := day.utcoffset())
                  is not None]
        return min(abs((clock - longitude_deg / 15.0 + 12.0) % 24.0 - 12.0) for clock in clocks)

    there = site.longitude_deg
    if apart_h(there) > MOST_APART_H:
        slip = apart_h(-there) <= MOST_APART_H
        raise Refused("longitude", f"{there:g}°",
                      f"a place whose sun goes with the clock of {site.time_zone}",
                      f"Did you mean {-there:g}? East is positive, west negative." if slip else
                      "Check longitude and time zone.")


def _degrees(angle: float, sides: str) -> str:
    return f"{abs(angle):g}° {sides[angle < 0]}"
