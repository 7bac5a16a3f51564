"""`advisor weather`: what the sky did and will do."""

from typing import Final

import click

from advisor.cli.lazy import LazyGroup, Where

#: name -> module and attribute below `advisor.cli`, and the help in one line
REGISTER: Final = {name: Where(f"advisor.cli.{module}", attribute, line)
                   for name, module, attribute, line in (
    ("get", "weather_services", "get", "Get past and coming weather from open services."),
    ("past", "weather_past", "past", "Get the weather of past years, a year at a time."),
    ("add", "weather_file", "add", "Read a weather file into the garden."),
    ("station", "weather_station", "station", "Read the file of your own weather station."),
    ("gauge", "weather_own", "gauge", "Enter what was in your rain gauge."),
    ("thermometer", "weather_own", "thermometer", "Enter your thermometer's lowest and highest."),
    ("show", "weather_show", "show", "Show what is known: days, sources, values set aside."),
    ("chart", "weather_chart", "chart", "Draw two weeks past and ten days coming."),
    ("check", "weather_check", "check", "How services answered, and what this month rests on."),
    ("remove", "weather_remove", "remove", "Take a file of weather back."),
    ("contact", "weather_services", "contact", "Say how services can reach you."),
)}


@click.group(cls=LazyGroup, register=REGISTER)
def weather() -> None:
    """Weather from services, files and your own instruments."""
