"""`advisor explain`: from the weather to the verdict of one tree, every number told."""

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from advisor.cli.session import Session, at_option, emit, json_option, pass_session

if TYPE_CHECKING:
    from advisor.garden.derived import Arrays
    from advisor.garden.store import Garden
    from advisor.jobs.explain.explained import Rests


@click.command()
@click.argument("tree")
@json_option
@at_option
@pass_session
def explain(session: Session, tree: str, as_json: bool, at: str | None) -> None:
    """Explain the verdict of one tree: each number with its unit, where it is from, its source.

    From the weather of the last whole day to what the tree asked, what the pot holds, what went
    in and out since it was last watered, how dry it is now, and what would change the verdict.
    """
    from advisor.cli.morning import worked
    from advisor.cli.recovery import one_tree
    from advisor.cli.working import opened
    from advisor.jobs.explain.explained import explained
    from advisor.jobs.followed import model_of
    from advisor.show.explain_words import explain_document, explain_text

    with opened(session.path) as garden:
        zone = garden.site().zone
        instant = session.now(at, zone)
        knowledge = garden.knowledge(instant)
        label = model_of(knowledge, one_tree(knowledge, tree, instant), instant).label
        told, _ = worked(garden, instant)
        verdict = next(each for each in told.trees if each.label == label)
        yesterday = instant.astimezone(zone).date() - timedelta(days=1)
        found = explained(told, verdict, knowledge, rests(garden, yesterday, zone))
    if as_json:
        emit(explain_document(found, told))
    else:
        click.echo(explain_text(found, told))


def rests(garden: "Garden", on: date, zone: ZoneInfo) -> "Rests":
    """Give a local day's ET0 at the site, and the sources of its weather."""
    from advisor.garden.filled import filled, shares
    from advisor.garden.instants import to_seconds
    from advisor.jobs.explain.explained import Rests

    start, end = (datetime(day.year, day.month, day.day, tzinfo=zone)
                  for day in (on, on + timedelta(days=1)))
    days, hours = garden.days(on, on), garden.weather(start, end)
    found = shares(filled(hours, days, to_seconds(start), to_seconds(end)))
    origins = {name: _origin(told) for name, told in found.items()}
    every = {word for told in origins.values() for word in told.split("; ")}
    et0 = float(days["et0_mm"][0]) if len(days["date"]) else float("nan")
    return Rests(et0, origins | {"et0_mm": "; ".join(sorted(every))},
                 measured(hours, round((end - start) / timedelta(hours=1))))


def measured(hours: "Arrays", count: int) -> dict[str, float]:
    """Give humidity [kPa], wind at 2 m [m/s] and light [MJ/m²] of a day, where wholly measured."""
    import numpy as np

    from advisor.demand.air import wind_at_2m
    from advisor.demand.place import MJ_PER_WM2_HOUR

    known = {name: hours[name] for name in ("vapour_kpa", "wind_ms", "ghi_wm2")
             if len(hours[name]) == count and hours[name].min() >= 0.0}
    told = {}
    if "vapour_kpa" in known:
        told["vapour_kpa"] = float(known["vapour_kpa"].mean())
    if "wind_ms" in known:
        at_2m = np.asarray(wind_at_2m(known["wind_ms"], hours["wind_height_m"]))
        told["wind_ms"] = float(at_2m.mean())
    if "ghi_wm2" in known:
        told["light_mj"] = float(known["ghi_wm2"].sum()) * MJ_PER_WM2_HOUR
    return told


def _origin(told: dict[str, float]) -> str:
    """Give the sources of a value: "open-meteo, analysis; radiation from cloud cover"."""
    return "; ".join(told)
