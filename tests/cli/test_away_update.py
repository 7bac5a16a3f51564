"""`advisor away --update`: newer weather, and a message of what it changes."""

import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from away_made import HEAD, small_garden
from click.testing import CliRunner, Result
from icalendar import Calendar

from advisor.cli.main import cli
from advisor.cli.session import Session

TREE, OTHERS = "3", "1,2,4,5,6,7,8"
SPAN = ("--from", "2019-07-12", "--until", "2019-07-20", "--visits-on", "mon,wed,thu",
        "--without", OTHERS)
MESSAGE = 300  # letters, that a message may have
Run = Callable[..., Result]


def weather(first: date, highs: list[float], rain_mm: float = 0.0) -> str:
    """Give days of a highest temperature each, the hot ones in sun."""
    lines = [f"{first + timedelta(days=i)},{high},{high - 11},62,3.0,{10 if high > 25 else 4},"
             f"{rain_mm}" for i, high in enumerate(highs)]
    return "\n".join([HEAD.format(zone="UTC"), *lines]) + "\n"


def runner(path: Path) -> Run:
    def command(*args: str, at: str) -> Result:
        session = Session(path, lambda: datetime.fromisoformat(at))
        return CliRunner().invoke(cli, [*args, "--at", at], obj=session)
    return command


@pytest.fixture(scope="module")
def planned() -> Iterator[Path]:
    """A garden whose visits are planned under mild days: on Monday 15 and Thursday 18 July."""
    with tempfile.TemporaryDirectory() as folder:
        path, run = small_garden(Path(folder), 8), None
        run = runner(path)
        (Path(folder) / "mild.csv").write_text(weather(date(2019, 7, 10), [22.0] * 13))
        run("weather", "add", f"{folder}/mild.csv", at="2019-07-10T06:00+02:00")
        told = json.loads(run("away", *SPAN, "--json", at="2019-07-10T07:00+02:00").stdout)
        assert [each["at"][:10] for each in told["visits"]] == ["2019-07-15", "2019-07-18"]
        yield path


@pytest.fixture
def path(planned: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(planned, tmp_path / "garden.db"))


@pytest.fixture
def run(path: Path) -> Run:
    return runner(path)


def said(run: Run, tmp_path: Path, *more: str, at: str, newer: str | None = None) -> str:
    """Update with newer weather, got an hour before; give the message."""
    if newer is not None:
        file = tmp_path / "newer.csv"
        file.write_text(newer)
        an_hour_before = datetime.fromisoformat(at) - timedelta(hours=1)
        added = run("weather", "add", str(file), at=an_hour_before.isoformat())
        assert added.exit_code == 0, added.output
    told = run("away", "--update", *more, at=at)
    assert told.exit_code == 0, told.output
    assert len(told.stdout) <= MESSAGE
    return told.stdout


HOT = weather(date(2019, 7, 14), [22.0, 22.0, 30.0, 30.0, 22.0, 22.0, 22.0])


@pytest.mark.parametrize("at", ["2019-07-11T07:00+02:00", "2019-07-13T07:00+02:00"],
                         ids=["before leaving", "while away"])
def test_hotter_days_move_a_visit_forward(run: Run, tmp_path: Path, at: str) -> None:
    told = said(run, tmp_path, at=at, newer=HOT)
    words = "Thursday" if at > "2019-07-12" else "Thu 18 Jul"
    assert told.startswith(f"{words}'s visit moves to Wed")
    assert told.endswith(": 1 pot, 0.65 L.\n")
    assert told.count("\n") == 1


@pytest.mark.parametrize("at", ["2019-07-11T07:00+02:00", "2019-07-13T07:00+02:00",
                                "2019-07-15T15:30+02:00"],
                         ids=["before leaving", "while away", "hours before a visit"])
def test_the_same_weather_changes_nothing(run: Run, tmp_path: Path, at: str) -> None:
    """Watered on leaving as the plan said, without a word of it, and visited as planned."""
    told = said(run, tmp_path, at=at)
    assert told.startswith("Nothing changed. Next visit Mon 15 Jul 19:00: 1 pot, ")


@pytest.mark.parametrize("at", ["2019-07-15T19:20+02:00", "2019-07-16T07:00+02:00"])
def test_a_visit_made_is_taken_for_granted(run: Run, tmp_path: Path, at: str) -> None:
    told = said(run, tmp_path, at=at)
    assert told.startswith("Nothing changed. Next visit Thu 18 Jul 19:00: 1 pot, ")


def test_days_of_rain_spare_a_visit(run: Run, tmp_path: Path) -> None:
    wet = weather(date(2019, 7, 14), [16.0] * 7, rain_mm=25.0)
    told = said(run, tmp_path, at="2019-07-13T07:00+02:00", newer=wet)
    assert told == "Monday's visit is not needed.\nThursday's visit is not needed.\n"


def test_the_calendar_moves_what_it_has(run: Run, tmp_path: Path) -> None:
    """The visits keep their names; the next file outranks the one before."""
    files = [tmp_path / "first.ics", tmp_path / "second.ics"]
    said(run, tmp_path, "--calendar", str(files[0]), at="2019-07-13T06:30+02:00")
    said(run, tmp_path, "--calendar", str(files[1]), at="2019-07-13T09:00+02:00", newer=HOT)
    first, second = (list(Calendar.from_ical(each.read_bytes()).walk("VEVENT"))
                     for each in files)
    assert [each["uid"] for each in first] == [each["uid"] for each in second]
    assert [each.start.day for each in first] == [15, 18]
    assert [each.start.day for each in second] == [15, 17]
    assert int(second[0]["sequence"]) > int(first[0]["sequence"])


def test_an_absence_that_is_over_is_not_planned_again(run: Run) -> None:
    told = run("away", "--update", at="2019-07-20T07:00+02:00")
    assert (told.exit_code, told.stdout) == (1, "")
    assert "--update: the absence ended on 20 July 2019" in told.output
