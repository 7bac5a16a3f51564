"""`advisor demo`: an example garden, made and walked, offline."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from datetime import datetime, timedelta
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from advisor.cli.session import emit, json_option
from advisor.errors import Refused

if TYPE_CHECKING:
    from advisor.garden.store import Garden

WEATHER: Final = "greensboro_2026.csv"
KEPT_DAYS: Final = 9  # for which the example's grower did as the round said


@click.command()
@click.option("--into", type=click.Path(path_type=Path, file_okay=False), metavar="FOLDER",
              help="Keep the garden there as garden.db, to go on with.")
@json_option
def demo(into: Path | None, as_json: bool) -> None:
    """Make an example garden of twenty trees and walk its round on a September morning.

    Trees and names are invented; the weather is a real station's typical year, packaged, so
    nothing is got from a network.
    """
    from advisor.cli.morning import worked
    from advisor.garden import example
    from advisor.garden.store import Garden
    from advisor.show.wording import round_text

    with _folder(into) as folder:
        path = folder / "garden.db"
        if path.exists():
            raise Refused("demo garden", f"there is one already at {path}",
                          "a folder that holds none", "Name another folder with --into.")
        if not as_json:
            click.echo("Making a garden of twenty trees and its last nine days …", err=True)
        with _placed(path) as new, Garden.create(
                new, example.SITE, example.AT - timedelta(days=30)) as garden:
            make(garden)
            told, leaning = worked(garden, example.AT)
        at = example.AT.astimezone(told.sky.zone).isoformat(timespec="minutes")
        if as_json:
            emit({"garden": str(path), "at": at})
            return
        click.echo(round_text(told, leaning))
        if into is not None:
            click.echo(f"\nKept in {path}. Go on with it, for example:\n"
                       f"  advisor --garden {path} morning --at {at}\n"
                       f"  advisor --garden {path} chart 15 --at {at} --out 15.png")


def make(garden: "Garden") -> None:
    """Tell a new garden the example: trees, weather, and waterings as the round listed them."""
    from advisor.cli.morning import worked
    from advisor.cli.weather_file import add_file
    from advisor.garden import example
    from advisor.garden.records import Watering
    from advisor.jobs.judge import WATER_NOW
    from advisor.show.moments import round_litres

    began = example.AT - timedelta(days=KEPT_DAYS)
    with garden.entry(example.AT, "brought in the example's places, mixes and trees") as entry:
        for record in example.records():
            entry.add(record)
    add_file(garden, sample(WEATHER), example.AT)
    for at in _rounds(garden, began, example.AT):
        told, _ = worked(garden, at)
        with garden.entry(at, "watered as listed, and after a look") as entry:
            for tree in told.trees:  # who looks first finds what the figures say
                if WATER_NOW in (tree.verdict, tree.call.verdict):
                    litres = round_litres(tree.call.litres)
                    entry.add(Watering(tree.label, at, litres, until_ran=True))


def _rounds(garden: "Garden", start: datetime, end: datetime) -> list[datetime]:
    from advisor.jobs.rounds import rounds_between

    knowledge = garden.knowledge(end)
    found = rounds_between(knowledge.rounds, knowledge.site, start, end)
    return [at for at in found if at < end]


def sample(name: str) -> Path:
    """Give a packaged weather file; in a source tree it lies beside the package."""
    packaged = Path(str(files("advisor"))) / "sample_weather" / name
    return packaged if packaged.exists() else packaged.parents[2] / "sample_weather" / name


@contextmanager
def _placed(path: Path) -> Iterator[Path]:
    """Give where to make the garden; it comes to its place once it is whole."""
    from advisor.garden.making import making, put

    try:
        with making(path) as new:
            yield new
            put(new, path)
    except OSError as error:
        raise Refused("demo garden", f"{path}, {error.strerror or error}",
                      "a folder that may be written", "Name another with --into.") from error


@contextmanager
def _folder(into: Path | None) -> Iterator[Path]:
    keep = nullcontext(str(into)) if into is not None else tempfile.TemporaryDirectory()
    with keep as folder:
        yield Path(folder)
