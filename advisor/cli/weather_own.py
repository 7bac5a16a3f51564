"""`advisor weather gauge` and `thermometer`: own instruments, read now and then."""

import re
from datetime import datetime
from typing import TYPE_CHECKING, Final

import click

from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.cli.since import since
from advisor.cli.values import Quantity, Value
from advisor.errors import Refused
from advisor.show.moments import clock, dated
from advisor.units import factor

if TYPE_CHECKING:
    from advisor.weather.gauge import GaugeTotal, MinMax

_TEMPERATURE: Final = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*([^\d\s]*)\s*", re.ASCII)


class Temperature(Value):
    """A temperature, in °C unless °F is written behind it."""

    name = "°C"

    def read(self, text: str) -> float:
        """Read "-4.2" or "25 F"."""
        match = _TEMPERATURE.fullmatch(text.replace("°", ""))
        if match is None:
            raise Refused("temperature", repr(text), "a number in °C", "Write it as 21.5.")
        times, plus = factor("temp_c", match[2] or "C")
        return float(match[1]) * times + plus


@click.command()
@click.argument("mm", type=Quantity("rain_day_mm", "mm"))
@click.option("--since", "start", required=True, metavar="INSTANT",
              help="When it was emptied before, as 'monday 08:00' or 2026-07-01T08:00.")
@click.option("--until", metavar="INSTANT", help="When it was read; else now.")
@at_option
@pass_session
def gauge(session: Session, mm: float, start: str, until: str | None, at: str | None) -> None:
    """Enter that MM of rain were found in your gauge.

    They are spread over the hours in which another source saw rain, else evenly, and count before
    what any service says. For example: advisor weather gauge 14 --since "monday 08:00"
    """
    from advisor.weather.gauge import GaugeTotal

    with session.desk(at) as desk:
        reading = GaugeTotal(*_span(desk, start, until), mm)
        seen = _seen(desk, reading)
        _enter(desk, reading, f"{mm:g} mm")
    click.echo(seen)


@click.command()
@click.option("--min", "tmin_c", required=True, type=Temperature(), help="The lowest it shows.")
@click.option("--max", "tmax_c", required=True, type=Temperature(), help="The highest it shows.")
@click.option("--since", "start", required=True, metavar="INSTANT",
              help="When it was set back, as 'yesterday 08:00' or 2026-07-01T08:00.")
@click.option("--until", metavar="INSTANT", help="When it was read; else now.")
@at_option
@pass_session
def thermometer(session: Session, tmin_c: float, tmax_c: float, start: str, until: str | None,
                at: str | None) -> None:
    """Enter the lowest and the highest that your thermometer shows.

    The hours since it was set back, at most 36, are stretched to that range; hours of your own
    weather station stay as they are.
    """
    from advisor.weather.gauge import MinMax

    with session.desk(at) as desk:
        reading = MinMax(*_span(desk, start, until), tmin_c, tmax_c)
        _enter(desk, reading, f"{tmin_c:.1f} to {tmax_c:.1f} °C")


def _span(desk: Desk, start: str, until: str | None) -> tuple[datetime, datetime]:
    end = since(until, desk) if until else desk.at.astimezone(desk.zone)
    return since(start, desk), end


def _enter(desk: Desk, reading: "GaugeTotal | MinMax", shown: str) -> None:
    """Make the entry of a reading, and say so."""
    from advisor.weather.gauge import words

    span = (f"{dated(reading.start, reading.end, desk.zone)} to "
            f"{clock(reading.end, reading.start, desk.zone)}")
    told = f"{words(reading)}, {shown}, {span}"
    with desk.entry(told) as entry:
        desk.garden.add_reading(entry.id, reading, desk.at)
    click.echo(f"Entered: {told}.")


def _seen(desk: Desk, reading: "GaugeTotal") -> str:
    """Say how much rain other sources saw in the span of a gauge."""
    import numpy as np

    from advisor.garden.instants import to_seconds
    from advisor.weather.gauge import shares

    series = desk.garden.weather(reading.start, reading.end, desk.at)
    share = shares(series["hour"], to_seconds(reading.start), to_seconds(reading.end))
    if not share.size or np.isnan(series["rain_mm"]).all():
        return "No other source told of rain then: spread evenly."
    rain_mm = float(np.nansum(share * series["rain_mm"]))
    how = "spread as it fell there" if rain_mm > 0.0 else "spread evenly"
    return f"Other sources had {rain_mm:.1f} mm then: {how}."
