"""`advisor morning`: the round."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.cli.session import Session, at_option, emit, json_option, pass_session
from advisor.errors import Refused

if TYPE_CHECKING:
    from advisor.garden.store import Garden
    from advisor.jobs.morning import Round
    from advisor.show.wording import Leaning

DUE: Final = 3  # the exit code of `--short` where something is due


@click.command()
@at_option
@json_option
@click.option("--every", is_flag=True, help="A line of its own for every tree.")
@click.option("--short", is_flag=True, help=f"One short paragraph; exit code {DUE} where something "
              "is due, 0 where nothing is.")
@click.option("--sheet", type=click.Path(path_type=Path), metavar="FILE",
              help="The round on paper: a PDF of one page, with boxes to tick.")
@click.option("--letter", is_flag=True, help="US Letter instead of A4; goes with --sheet.")
@click.option("--us", is_flag=True, help="Inches and US gallons.")
@click.option("--offline", is_flag=True, help="Ask no weather service.")
@pass_session
def morning(session: Session, at: str | None, us: bool, **asked: Any) -> None:
    """Say which pots want water now, which later today, which to look at, which to leave.

    Place by place in walking order. Estimates, not orders: the tree and the finger decide.
    Services asked before are asked again first where their answer is no longer fresh, for ten
    seconds at most; never with --at.
    """
    from advisor.show.wording import round_document, round_text

    _refuse_misuse(asked)
    if at is None and not asked["offline"]:
        renew_weather(session)
    told, leaning = round_at(session, at)
    if asked["as_json"]:
        emit(round_document(told, leaning))
    elif asked["short"]:
        _short(told, leaning, us)
    elif asked["sheet"]:
        _sheet(told, leaning, asked, us)
    else:
        click.echo(round_text(told, leaning, us=us, every=asked["every"]))


def _refuse_misuse(asked: dict[str, Any]) -> None:
    """Refuse options that do not go together (exit code 2)."""
    kinds = {"--json": asked["as_json"], "--every": asked["every"], "--short": asked["short"],
             "--sheet": asked["sheet"]}
    given = [name for name, told in kinds.items() if told]
    if len(given) > 1:
        raise click.UsageError(f"Give {' or '.join(given)}, not both.",
                               click.get_current_context())
    if asked["letter"] and not asked["sheet"]:
        raise click.UsageError("--letter goes with --sheet.", click.get_current_context())


def _short(told: "Round", leaning: "Leaning", us: bool) -> None:
    """Print the paragraph, and end with the code that says whether anything is due."""
    from advisor.show.short import is_due, short_text

    click.echo(short_text(told, leaning, us))
    if is_due(told):
        click.get_current_context().exit(DUE)


def _sheet(told: "Round", leaning: "Leaning", asked: dict[str, Any], us: bool) -> None:
    """Draw the round on paper."""
    from advisor.show.round_sheet import round_sheet
    from advisor.show.sheet import A4, LETTER

    path: Path = asked["sheet"]
    if path.suffix.lower() != ".pdf":
        raise Refused("--sheet", path.name, "a name that ends in .pdf", "Write it as round.pdf.")
    drawn = round_sheet(told, leaning, LETTER if asked["letter"] else A4, us)
    try:
        path.write_bytes(drawn)
    except OSError as error:
        raise Refused("--sheet", f"{path}, {error.strerror}", "a folder that may be written",
                      "Name another.") from error
    click.echo(f"Drawn: {path}")


def renew_weather(session: Session) -> None:
    """Ask services again whose answer is no longer fresh; the round comes whatever they say."""
    from advisor.cli.working import opened

    with opened(session.path) as garden:
        now = session.clock()
        if garden.readonly or all(each.fresh_until > now for each in garden.answers()):
            return
        from advisor.cli.services import renew

        for each in renew(garden, now):
            if each.failed:
                click.echo(f"{each.service}: {each.words}", err=True)


def round_at(session: Session, at: str | None) -> "tuple[Round, Leaning]":
    """Work out the round at the instant a grower wrote, else now."""
    from advisor.cli.working import opened

    with opened(session.path) as garden:
        return worked(garden, session.now(at, garden.site().zone))


def worked(garden: "Garden", at: datetime) -> "tuple[Round, Leaning]":
    """Work a round out, saying so first where the kernels must be compiled."""
    from advisor.cli.working import work_round

    say_when_preparing()
    return work_round(garden, at)


def say_when_preparing() -> None:
    """Say on stderr that the first run takes its time, when no compiled copy is at hand."""
    from advisor.balance.cache import prepared

    if not prepared():
        click.echo("Preparing the water balance for this computer; this happens once and takes "
                   "about half a minute.", err=True)


def listed_now(garden: "Garden", at: datetime) -> list[tuple[str, float]]:
    """Give the trees that the last round of the day listed to be watered, with their litres.

    Who walks at seven and tells it at eight means the list of seven; what was watered since
    is left out.
    """
    from advisor.jobs.judge import WATER_NOW
    from advisor.show.moments import round_litres

    walked = last_round(garden, at)
    told, _ = worked(garden, walked)
    since = {watering.tree for waterings in garden.knowledge(at, since=walked).waterings.values()
             for watering in waterings}
    return [(tree.label, round_litres(tree.call.litres)) for tree in told.trees
            if tree.verdict == WATER_NOW and tree.label not in since]


def last_round(garden: "Garden", at: datetime) -> datetime:
    """Give the last round of the local day up to an instant; the instant where there was none."""
    from advisor.jobs.rounds import rounds_between

    knowledge = garden.knowledge(at, since=at)
    site = knowledge.site
    midnight = at.astimezone(site.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    walked = rounds_between(knowledge.rounds, site, midnight, at)
    return walked[-1] if walked else at
