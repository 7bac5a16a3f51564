"""The ticks of the helper's sheet, entered as waterings at the time of the visit."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

import click

from advisor.cli.session import Desk
from advisor.cli.words import entered, labels_words, litres_words
from advisor.errors import Refused
from advisor.garden.records import Watering


def enter_ticks(desk: Desk, on: date, who: Sequence[str], but: Sequence[str]) -> None:
    """Enter what the plan listed for a day, but what was not ticked.

    Parameters
    ----------
    desk : Desk
    on : date
        Of the visit, local.
    who : sequence of str
        What was ticked; all that was listed where empty.
    but : sequence of str
        What was not.

    Raises
    ------
    Refused
        There is no plan, no visit on that day, or it is still to come.
    """
    visit = _visit(desk, on)
    at = datetime.fromisoformat(visit["at"])
    listed = {pot["tree"]: float(pot["litres"]) for pot in visit["pots"]}
    meant = desk.choose(who or list(listed), but)
    told = {label: listed[label] for label in meant if label in listed}
    if not told:
        raise Refused("trees", "none of them was listed that day", f"one of {', '.join(listed)}",
                      "Enter them without --from-sheet.")
    how = f", {litres_words(sum(told.values()))} in all, until it ran below"
    with desk.entry(f"watered {labels_words(list(told))}, from the sheet of {on}") as entry:
        for label, litres in told.items():
            entry.add(Watering(label, at, litres, until_ran=True))
    click.echo(entered("Watered", list(told), how, at, desk.zone))


def _visit(desk: Desk, on: date) -> dict[str, Any]:
    """Give the visit that the plan made last lists for a day."""
    kept = desk.garden.last_plan(desk.at)
    if kept is None:
        raise Refused("--from-sheet", "no plan is kept", "a plan made before",
                      "Enter the trees by name (advisor watered 3,11).")
    visits = {datetime.fromisoformat(each["at"]).astimezone(desk.zone).date(): each
              for each in kept["document"]["visits"]}
    if on not in visits:
        days = ", ".join(f"{day:%d %B}" for day in visits)
        raise Refused("--from-sheet", f"no visit on {on:%d %B %Y}", f"a day of the plan: {days}",
                      "Give the day of the visit.")
    if datetime.fromisoformat(visits[on]["at"]) > desk.at:
        raise Refused("--from-sheet", f"the visit of {on:%d %B %Y} is still to come",
                      "a visit that was made", "Enter it afterwards.")
    return dict(visits[on])
