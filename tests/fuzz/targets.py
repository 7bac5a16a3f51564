"""Every reader of something from outside, with good inputs to start from.

A target reads bytes as a file, an answer, an option or a form would come; what cannot be used is
refused (`advisor.errors.Refused`, or click's own word on usage), anything else is a fault.
"""

import shlex
import shutil
import zlib
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from random import Random
from types import SimpleNamespace
from typing import Any
from unittest.mock import patch
from zoneinfo import ZoneInfo

import click
from fuzz import samples
from fuzz.mutate import Mutate, cells, some_bytes, times, values

from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.errors import Refused
from advisor.garden.store import Garden

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)  # 07:00 in Berlin
LONGEST_OPTION = 2000  # bytes, as many letters as the page takes
EACH = 5  # readers that one text is given to
Take = Callable[[bytes], object]


@dataclass(frozen=True)
class Target:
    """A reader to be tried.

    Parameters
    ----------
    seeds : sequence of bytes
        Good inputs.
    take : callable
        Reads an input; False where it was refused in another way than by `Refused`.
    mutate : callable
        Makes another input of one.
    longest : int
        Bytes.
    """

    seeds: Sequence[bytes]
    take: Take
    mutate: Mutate = cells
    longest: int = 1_000_000  # bytes

    def changed(self, data: bytes, chance: Random) -> bytes:
        """Make another input of one."""
        return times(self.mutate, data, chance)[:self.longest]

    def accepts(self, data: bytes) -> bool:
        """Whether an input was taken; a fault of the reader passes through."""
        try:
            return self.take(data) is not False
        except Refused as refused:
            return not in_words(refused)


def in_words(refused: Refused | click.ClickException) -> bool:
    """Make sure that a refusal says something; give True."""
    words = refused.format_message() if isinstance(refused, click.ClickException) else str(refused)
    assert words.strip()
    return True


# --- weather --------------------------------------------------------------------------------


def _file(folder: Path, name: str, read: Callable[[Path], Any]) -> Take:
    path = folder / name

    def take(data: bytes) -> None:
        path.write_bytes(data)
        sane(read(path).hours)

    return take


def sane(hours: Any) -> None:
    """Check that what was taken can be reckoned with: hours in order, nothing impossible."""
    from advisor.units import LIMITS
    from advisor.weather import grid, series

    assert len(hours)
    assert ((hours.index[1:] - hours.index[:-1]) == grid.HOUR).all()
    for column in series.COLUMNS:
        known = hours[column].dropna()
        assert known.between(LIMITS[column].low, LIMITS[column].high).all(), column


def hourly(folder: Path) -> Target:
    """The tool's own hours."""
    from advisor.weather import files

    return Target(samples.hourly(), _file(folder, "w.csv", files.read))


def daily(folder: Path) -> Target:
    """The tool's own days."""
    from advisor.weather import files

    def read(path: Path) -> Any:
        return files.read(path, site_zone="Europe/Berlin", position=files.Position(52.1, 13.2))

    return Target(samples.daily(), _file(folder, "d.csv", read))


def typical(folder: Path) -> Target:
    """TMY3 and EPW, of two days so that many can be read."""
    from advisor.weather import epw, files, tmy3

    def read(path: Path) -> Any:
        hours = samples.TYPICAL_HOURS
        with patch.object(tmy3, "HOURS", hours), patch.object(epw, "HOURS", (hours,)):
            return files.read(path, year=2003)

    return Target(samples.typical(), _file(folder, "y.csv", read))


def station(folder: Path) -> Target:
    """The file of a private station, in two layouts."""
    from advisor.weather import station

    def take(data: bytes) -> None:
        path = folder / "s.csv"
        path.write_bytes(data)
        station.heads(path)
        layout = samples.LAYOUTS[data.startswith(b"Zeit")]
        sane(station.read(path, layout).hours)

    return Target(samples.station(), take)


def answers(folder: Path) -> Target:
    """The answers of all services, each read as every service's."""
    from advisor.weather.services import Request, readers

    def take(data: bytes) -> bool:
        name, interface, body = samples.parted(data)
        request = Request(name, interface, "https://example.org", {})
        for answer in readers.read(request, body, issued_at=samples.ISSUED):
            sane(answer.series.hours)
        return True

    def mutate(data: bytes, chance: Random) -> bytes:
        name, _, body = data.partition(b"\n")
        return name + b"\n" + values(body, chance)

    return Target(samples.answers(), take, mutate)


def replies(folder: Path) -> Target:
    """What a server says around an answer: status, headers, reasons."""
    from advisor.weather import client, wire
    from advisor.weather.services import Request

    request = Request("open-meteo", "forecast", "https://example.org/a", {})

    def take(data: bytes) -> bool:
        told = samples.reply(data)
        if told is None:
            return False
        reply = wire.Reply(*told)
        try:
            wire._next_url(request.url, reply.headers.get("Location", ""))
            judged = wire._judged(reply)
        except wire.Failed as failed:
            client._failed(request, None, NOW, failed)
            return False
        client._kept(request, client.StoredAnswer(None, NOW, NOW), NOW, judged, 0.5)
        return True

    return Target(samples.replies(), take, values)


# --- trees and words ------------------------------------------------------------------------


def trees(folder: Path) -> Target:
    """The spreadsheet of trees."""
    from advisor.garden.spreadsheet import read_trees

    known = _known(folder)
    path = folder / "t.csv"

    def take(data: bytes) -> None:
        path.write_bytes(data)
        read_trees(path, known, NOW)

    return Target(samples.trees(known), take)


def options(folder: Path) -> Target:
    """Every text that may stand behind an option, given to a few of the readers of one."""
    from advisor.cli import clock, since
    from advisor.cli.choose import choose_trees
    from advisor.garden.naming import closest, fold, natural_key

    known = _known(folder)
    zone = ZoneInfo("Europe/Berlin")
    desk: Any = SimpleNamespace(zone=zone, at=NOW)
    readers: list[Callable[[str], object]] = [
        *(each.read for each in samples.value_types()),
        lambda text: clock.parse(text, zone, NOW),
        lambda text: clock.parse(text, zone, NOW, day=True),
        lambda text: since.since(text, desk),
        lambda text: choose_trees(known, [text]),
        lambda text: choose_trees(known, ["all"], [text])]

    def take(data: bytes) -> bool:
        text = data.decode("utf-8", errors="surrogateescape")
        taken, first = 0, zlib.crc32(data)
        for read in [readers[(first + k) % len(readers)] for k in range(EACH)]:
            try:
                read(text)
                taken += 1
            except Refused as refused:
                in_words(refused)
        natural_key(fold(text))
        closest(text, known.trees)
        return taken > 0

    return Target(samples.options(), take, longest=LONGEST_OPTION)


def _known(folder: Path) -> Any:
    with Garden.open(samples.garden(folder), readonly=True) as garden:
        return garden.knowledge()


# --- the garden file, commands, the page ----------------------------------------------------


def damaged(folder: Path) -> Target:
    """A garden file that is none, or damaged."""
    content = samples.garden(folder).read_bytes()
    path = folder / "damaged.db"

    def take(data: bytes) -> None:
        for end in ("", "-wal", "-shm"):
            path.with_name(path.name + end).unlink(missing_ok=True)
        path.write_bytes(data)
        with Garden.open(path, readonly=True) as garden:
            garden.knowledge()
            garden.entries()

    return Target([content], take, some_bytes)


def entries(folder: Path) -> Target:
    """Whole commands that enter something; refused, they leave the file as it was."""
    good = samples.garden(folder)
    run = _runner(good, folder / "entries.db")

    def take(data: bytes) -> bool:
        line = data.decode("utf-8", errors="surrogateescape").split("\n")
        words = line[0].split(" ")
        return run([*words, *line[1:]]) if tuple(words) in samples.ENTERING else False

    def mutate(data: bytes, chance: Random) -> bytes:
        command, _, rest = data.partition(b"\n")
        return command + b"\n" + cells(rest, chance)

    return Target(samples.lines(), take, mutate)


def imported(folder: Path) -> Target:
    """`import` and `weather add` with a file that is changed."""
    good, path = samples.garden(folder), folder / "given.csv"
    run = _runner(good, folder / "imported.db")

    def take(data: bytes) -> bool:
        path.write_bytes(data)
        return run(["import", str(path)] if b"label" in data[:400].replace(b"\0", b"") else
                   ["weather", "add", str(path)])

    return Target([*samples.trees(_known(folder)), *samples.hourly(short=True)], take)


def _runner(good: Path, path: Path) -> Callable[[list[str]], bool]:
    """Give what runs a command on a copy of a garden that is fresh each time."""
    content = good.read_bytes()
    path.write_bytes(content)
    session = Session(path, lambda: NOW)

    def run(line: list[str]) -> bool:
        with redirect_stdout(StringIO()), redirect_stderr(StringIO()):
            try:
                cli(line, obj=session, standalone_mode=False)
                taken = True
            except click.ClickException as refused:
                taken = not in_words(refused)
            except (click.exceptions.Exit, SystemExit):
                taken = False
        if taken:
            path.write_bytes(content)
        else:
            assert path.read_bytes() == content, f"half written: {shlex.join(line)}"
        return taken

    return run


def page(folder: Path) -> Target:
    """What a phone sends."""
    from advisor.page.app import House, make_app
    from advisor.page.gardens import PageSession

    kept = samples.garden(folder)
    path = Path(shutil.copy(kept, folder / "page.db"))
    house = House(PageSession(path, lambda: NOW), b"k" * 32, frozenset({"localhost"}))
    app = make_app(house)
    app.testing = True
    client = app.test_client()
    token = samples.token_of(client)
    told = [0]

    def take(data: bytes) -> bool:
        found = samples.form(data)
        if found is None:
            return False
        where, fields, headers = found
        answer = client.post(where, data={"token": token} | fields, headers=headers)
        assert answer.status_code < 500, answer.text
        told[0] += answer.status_code in (200, 303)
        if told[0] >= 200:
            told[0] = 0
            for end in ("-wal", "-shm"):
                path.with_name(path.name + end).unlink(missing_ok=True)
            shutil.copy(kept, path)
        return answer.status_code in (200, 303)

    return Target(samples.forms(), take, values)


#: name -> (what makes it, its share of a million inputs)
TARGETS: dict[str, tuple[Callable[[Path], Target], int]] = {
    "hourly": (hourly, 15_000), "daily": (daily, 10_000), "typical": (typical, 1_000),
    "station": (station, 8_000), "answers": (answers, 20_000), "replies": (replies, 350_000),
    "trees": (trees, 40_000), "options": (options, 535_000), "damaged": (damaged, 8_000),
    "entries": (entries, 10_000), "imported": (imported, 1_000), "page": (page, 4_000)}
