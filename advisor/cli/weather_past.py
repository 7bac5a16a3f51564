"""`advisor weather past`: the weather of past years."""

from typing import TYPE_CHECKING, Final

import click

from advisor.cli.session import Session, pass_session

if TYPE_CHECKING:
    from advisor.cli.past_years import Year

YEARS: Final = 10
MOST_YEARS: Final = 20  # a year counts as 26 calls, and under 600 are free in a minute [S]


@click.command()
@click.option("--years", type=click.IntRange(1, MOST_YEARS), default=YEARS, show_default=True,
              help="How many years before this one.")
@pass_session
def past(session: Session, years: int) -> None:
    """Get the hours of past years, and of this one up to a week ago, for the garden.

    They come from the archive of open-meteo (free for what earns no money), from power (NASA)
    where that fails or knows no radiation. Each year is kept whole or not at all, and a year that
    is kept is not asked for again. All together take at most ten minutes. Exit code 1 when not
    one came.
    """
    from advisor.cli.past_years import get_past, missing

    now = session.clock()
    with session.open() as garden:
        wanted = missing(garden, now, years)
        if not wanted:
            click.echo(f"All is in store, from {now.year - years} on.")
            return
        got: list[Year] = []
        for year in get_past(garden, now, wanted):
            click.echo(f"{year.year}: {year.words}", err=True)
            got.append(year)
        kept = [year for year in got if not year.failed]
        if kept:
            from advisor.cli.weather_show import bring_up_to_date

            click.echo("Working out the places' hours …", err=True)
            bring_up_to_date(garden, now)
    click.echo(_summed_up(kept, len(wanted)))
    if not kept:
        raise SystemExit(1)


def _summed_up(kept: "list[Year]", wanted: int) -> str:
    """Say how many years came, and whom to thank."""
    from advisor.weather.services import SERVICES

    if not kept:
        return "No year was got; what is in store is used. Ask again later."
    left = f"; {wanted - len(kept)} still to come: ask again" if len(kept) < wanted else ""
    thanks = dict.fromkeys(f"{SERVICES[name].attribution} ({SERVICES[name].link})"
                           for year in kept for name in year.services)
    return f"{len(kept)} of {wanted} years kept{left}. {'. '.join(thanks)}"
