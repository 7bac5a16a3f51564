"""What every command needs: the garden's file, the clock, the shared options, the output."""

import csv
import io
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar, cast
from zoneinfo import ZoneInfo

import click

from advisor.cli import clock
from advisor.cli.choose import choose_trees

if TYPE_CHECKING:
    from advisor.garden.knowledge import Knowledge
    from advisor.garden.store import Draft, Garden

__all__ = ["Desk", "Session", "at_option", "choose_trees", "csv_option", "emit", "emit_csv",
           "garden_path", "json_option", "one_of", "pass_session", "refuse_both",
           "who_options"]

F = TypeVar("F", bound=Callable[..., Any])
AHEAD: Final = timedelta(minutes=1)  # by which an entry may lie ahead of this computer's clock


@dataclass(frozen=True)
class Desk:
    """An open garden at an instant, with what is known then."""

    garden: "Garden"
    knowledge: "Knowledge"
    at: datetime

    @cached_property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return ZoneInfo(self.knowledge.site.time_zone)

    def choose(self, who: Sequence[str], but: Sequence[str] = ()) -> list[str]:
        """Give the trees that are meant, as they stand at this instant."""
        return choose_trees(self.knowledge, who, but, self.at)

    def entry(self, words: str) -> "AbstractContextManager[Draft]":
        """Make an entry at this instant, told in words."""
        return self.garden.entry(self.at, words)

    def instant(self, text: str | None, *, day: bool = False) -> datetime:
        """Read another instant; this one where none is written."""
        return clock.parse(text, self.zone, self.at, day=day) if text else self.at

    def iso(self, at: datetime) -> str:
        """Give an instant for scripts."""
        return clock.iso(at, self.zone)


@dataclass(frozen=True)
class Session:
    """One call of the command line: which garden, and what time it is."""

    garden_file: Path | None = None
    clock: Callable[[], datetime] = field(default=lambda: datetime.now(UTC))

    @property
    def path(self) -> Path:
        """The garden's file: the one named, else the one in the user's data folder."""
        return self.garden_file or garden_path()

    def open(self, *, readonly: bool = False) -> "Garden":
        """Open the garden."""
        from advisor.garden.store import Garden

        return Garden.open(self.path, readonly=readonly)

    def now(self, text: str | None, zone: ZoneInfo, *, day: bool = False) -> datetime:
        """Give the instant a grower wrote, else what the clock shows, in UTC."""
        shows = self.clock()
        return clock.parse(text, zone, shows, day=day) if text else shows

    @contextmanager
    def desk(self, at: str | None, *, day: bool = False, readonly: bool = False) -> Iterator[Desk]:
        """Open the garden with what is known, earlier waterings apart, and an instant.

        Parameters
        ----------
        at : str or None
            As the grower wrote it; the clock where None.
        day : bool
            A day alone will do.
        readonly : bool
            Nothing will be entered.

        Raises
        ------
        Refused
            The file is no garden, or the instant is none.
        """
        with self.open(readonly=readonly) as garden:
            known = garden.knowledge(since=self.clock())  # an old garden opens faster so
            instant = self.now(at, ZoneInfo(known.site.time_zone), day=day)
            desk = Desk(garden, known, instant)
            if not readonly and instant > self.clock() + AHEAD:
                click.echo(f"Note: {clock.instant_words(instant, desk.zone)} lies ahead of this "
                           "computer's clock.", err=True)
            yield desk


def garden_path() -> Path:
    """Give the garden's file where none is named."""
    import platformdirs

    return Path(platformdirs.user_data_dir("advisor", appauthor=False)) / "garden.db"


def on_terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin.isatty()


# --- shared options --------------------------------------------------------------------


def pass_session(command: F) -> F:
    """Hand the session of this call to a command."""
    return cast(F, click.make_pass_decorator(Session)(command))


def at_option(command: F) -> F:
    """Add `--at`."""
    return click.option("--at", metavar="INSTANT", help="When, as 2026-07-01T07:00 or 07:00; "
                        "else now.")(command)


def json_option(command: F) -> F:
    """Add `--json`."""
    return click.option("--json", "as_json", is_flag=True,
                        help="One JSON document, for scripts.")(command)


def csv_option(command: F) -> F:
    """Add `--csv`."""
    return click.option("--csv", "as_csv", is_flag=True, help="A table for a spreadsheet.")(command)


def who_options(needed: bool = True) -> Callable[[F], F]:
    """Add WHO… and `--but`."""

    def add(command: F) -> F:
        command = click.option("--but", multiple=True, metavar="WHO",
                               help="All but these, as 3,11.")(command)
        return click.argument("who", nargs=-1, required=needed)(command)

    return add


def one_of(**given: bool) -> None:
    """Refuse a call that gives none of some options, or more than one (exit code 2)."""
    if sum(given.values()) != 1:
        names = ", ".join("--" + name.replace("_", "-") for name in given)
        raise click.UsageError(f"Give one of {names}.", click.get_current_context())


# --- output ----------------------------------------------------------------------------


def emit(document: Any) -> None:
    """Print one JSON document."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False))


def emit_csv(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Print a table as CSV: commas, points, one line a row."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    click.echo(text.getvalue(), nl=False)


def refuse_both(as_json: bool, as_csv: bool) -> None:
    """Refuse `--json` beside `--csv` (exit code 2)."""
    if as_json and as_csv:
        raise click.UsageError("Give --json or --csv, not both.", click.get_current_context())
