"""`advisor away`: watering while you are away."""

from dataclasses import dataclass
from datetime import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.rounds import Days
from advisor.cli.session import Session, at_option, emit, json_option, pass_session
from advisor.cli.values import Clock, Day, Number, Quantity, Share
from advisor.errors import Refused

if TYPE_CHECKING:
    from advisor.jobs.away.absence import Ask
    from advisor.jobs.away.cover import Cover

VISIT_TIME: Final = "19:00"


@dataclass(frozen=True)
class Wanted:
    """What is to be written."""

    sheet: Path | None
    calendar: Path | None
    letter: bool
    one_page_a_visit: bool
    phone: str | None
    us: bool
    as_json: bool


@click.command()
@click.option("--from", "start", type=Day(), help="The day on which you leave.")
@click.option("--until", type=Day(), help="The day on which you are back.")
@click.option("--visits-on", "weekdays", type=Days(), help="Days on which somebody can come, as "
              "mon,thu,sat; else any.")
@click.option("--not-on", type=Day(), multiple=True, help="A day on which nobody can.")
@click.option("--visit-time", type=Clock(), default=VISIT_TIME, help="When; 19:00 where not told.")
@click.option("--minutes", type=Number(), help="The longest a visit may take.")
@click.option("--litres", type=Quantity("litres", "L"), help="The most that can be carried in one.")
@click.option("--can", type=Quantity("litres", "L"), default="10", help="What the can holds; 10 L "
              "where not told.")
@click.option("--safety", type=Share(), default="0.95", help="Share of the ways the weather may go "
              "in which no tree may suffer; 0.95 where not told.")
@click.option("--without", multiple=True, metavar="WHO", help="Trees that another looks after.")
@click.option("--sheet", type=click.Path(path_type=Path), metavar="FILE.pdf",
              help="Draw the helper's sheet.")
@click.option("--letter", is_flag=True, help="On US Letter, not A4.")
@click.option("--one-page-a-visit", is_flag=True, help="A page for each visit, not one table.")
@click.option("--calendar", type=click.Path(path_type=Path), metavar="FILE.ics",
              help="Write the visits for a calendar.")
@click.option("--phone", metavar="TEXT", help="Your number, for the sheet; it is not kept.")
@click.option("--update", is_flag=True, help="With the newest weather, say what changed in the "
              "plan made last.")
@click.option("--us", is_flag=True, help="US gallons and inches.")
@json_option
@at_option
@pass_session
def away(session: Session, at: str | None, **told: Any) -> None:
    """Plan the fewest visits that keep every tree while you are away.

    For each visit: which pots, how much, how many cans; then how safe that is, rules a helper can
    follow by what can be seen, and what would save visits. For example:
    advisor away --from 2026-07-11 --until 2026-07-27 --visits-on mon,thu,sat --sheet helper.pdf
    """
    from advisor.cli import away_work
    from advisor.cli.aside import end_at_once

    wanted = Wanted(**{name: told.pop(name) for name in (
        "sheet", "calendar", "letter", "one_page_a_visit", "phone", "us", "as_json")})
    update = told.pop("update")
    without = told.pop("without")
    if update and (told["start"] or told["until"]):
        raise click.UsageError("--update goes on with the plan made last: leave the days out.",
                               click.get_current_context())
    if not update and not (told["start"] and told["until"]):
        raise click.UsageError("Give --from and --until.", click.get_current_context())
    _refuse_files(wanted)
    with away_work.opened(session.path) as garden:
        now = session.now(at, garden.site().zone)
        try:
            made = (away_work.updated(garden, now) if update else
                    away_work.planned(garden, now, _ask(told), without))
        except KeyboardInterrupt:
            click.echo("Stopped before anything was known: nothing planned, nothing written.",
                       err=True)
            raise
    _tell(made, wanted)
    code = int(made.cover.plan_missing)
    end_at_once(code)
    click.get_current_context().exit(code)


def _ask(told: dict[str, Any]) -> "Ask":
    """Put together what is asked."""
    from advisor.garden.records import WEEKDAYS
    from advisor.jobs.away.absence import Ask
    from advisor.jobs.away.plan_case import Limits

    return Ask(told["start"], told["until"], told["weekdays"] or WEEKDAYS, tuple(told["not_on"]),
               time.fromisoformat(told["visit_time"]), Limits(told["minutes"], told["litres"]),
               told["can"], told["safety"])


def _refuse_files(wanted: Wanted) -> None:
    """Refuse a file that cannot be written before anything is worked out."""
    for option, path, ending in (("--sheet", wanted.sheet, ".pdf"),
                                 ("--calendar", wanted.calendar, ".ics")):
        if path is None:
            continue
        if path.suffix.lower() != ending:
            raise Refused(option, path.name, f"a name that ends in {ending}", "Change the name.")
        if not path.parent.is_dir():
            raise Refused(option, str(path), "a folder that is there", "Make it first.")
        if path.is_dir():
            raise Refused(option, str(path), "a file", "There is a folder of that name.")


def _tell(made: Any, wanted: Wanted) -> None:
    """Print what came of it, and write the files."""
    from advisor.show.away_document import away_document, change_text
    from advisor.show.away_words import STOPPED, away_text

    cover: Cover = made.cover
    if not cover.plan_missing:
        _write(made, wanted)
    elif wanted.sheet or wanted.calendar:
        click.echo("No plan for every tree: neither sheet nor calendar is written.", err=True)
    if wanted.as_json:
        emit(away_document(cover))
    elif made.before is not None and not cover.plan_missing:
        click.echo(change_text(made.before, away_document(cover), made.now,
                               cover.left.span.told.sky.zone))
        if not cover.whole:
            click.echo(STOPPED, err=True)
    else:
        click.echo(away_text(cover, wanted.us))


def _write(made: Any, wanted: Wanted) -> None:
    """Write sheet and calendar."""
    from advisor.show.away_words import sheet_of

    sheet = sheet_of(made.cover, wanted.phone, wanted.us)
    if wanted.sheet is not None:
        from advisor.show import sheet as papers
        from advisor.show.sheet_pdf import all_in_one, by_visit

        draw = by_visit if wanted.one_page_a_visit else all_in_one
        paper = papers.LETTER if wanted.letter else papers.A4
        _save("--sheet", wanted.sheet, draw(sheet, made.now, paper))
    if wanted.calendar is not None:
        from advisor.show.calendar import calendar

        _save("--calendar", wanted.calendar, calendar(sheet, made.key, made.now, made.sequence,
                                                      made.gone))


def _save(option: str, path: Path, content: bytes) -> None:
    """Write a file whole or not at all."""
    part = path.with_name(path.name + ".part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except OSError as error:
        raise Refused(option, str(path), "a file that can be written",
                      f"{error.strerror or error}: choose another.") from None
    finally:
        part.unlink(missing_ok=True)
    click.echo(f"{path} written.", err=True)
