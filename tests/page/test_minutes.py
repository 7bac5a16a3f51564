"""A round kept from the minute before says, to the last digit, what one worked out anew says."""

import json
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from demo_made import NOW, demo_garden
from page.conftest import Home

from advisor.cli.demo import WEATHER, sample
from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.cli.shelf import Shelf
from advisor.cli.weather_file import add_file
from advisor.cli.working import work_round
from advisor.errors import Refused
from advisor.garden import example
from advisor.garden.records import (
    Event,
    Mix,
    Move,
    Place,
    Reading,
    Rounds,
    Tree,
    Walk,
    Watering,
)
from advisor.garden.store import Garden, Source
from advisor.jobs import morning
from advisor.page import round_view
from advisor.show.wording import round_document

MINUTES = 90


def shown(home: Home) -> str:
    """The page as it is sent, what is drawn by lot left out."""
    page: str = home.phone().get("/").text
    return re.sub(r'(name="(?:token|identifier)" (?:value|content)=")[^"]+', r"\1", page)


def told(home: Home) -> dict[str, Any]:
    worked = home.house.rounds.now()
    assert worked.round is not None
    assert worked.leaning is not None
    return round_document(worked.round, worked.leaning)


def anew(path: Path, at: datetime) -> tuple[dict[str, Any], str]:
    """The same of a garden that no page was ever opened on."""
    with Garden.open(path) as garden:
        document = round_document(*work_round(garden, at))
    home = Home(path)
    home.clock.now = at
    return document, shown(home)


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """The instants at which a page worked its round out anew."""
    worked = []

    def work(garden: Garden, at: datetime, shelf: Shelf) -> Any:
        worked.append(at)
        return work_round(garden, at, shelf)

    monkeypatch.setattr(round_view, "work_round", work)
    return worked


def walked_through(home: Home, other: Path, instants: list[datetime],
                   counted: list[datetime]) -> int:
    """Compare at instants in order; give how often the round was kept."""
    kept = 0
    for at in instants:
        home.clock.now = at
        before = len(counted)
        document, page = told(home), shown(home)
        kept += len(counted) == before
        assert (document, page) == anew(other, at), at
    return kept


@pytest.mark.parametrize("day", [
    datetime(2026, 9, 10, 4, tzinfo=UTC), datetime(2026, 1, 27, 5, tzinfo=UTC)],
    ids=["late summer", "frost"])
def test_random_minutes_of_a_day(tmp_path: Path, counted: list[datetime], day: datetime) -> None:
    """Some of each hour; those around rounds, hours and midnight, whole hours among them."""
    draw = random.Random(7)
    seconds = [draw.randrange(86_400) for _ in range(MINUTES)]
    seconds += [hour * 3600 + off for hour in (7, 11, 24) for off in (-60, 0, 30)]
    seconds += [5 * 3600 + 1800 + off for off in (-30, 0, 30)]  # 05:30, 90 min before a round
    instants = [day + timedelta(seconds=each) for each in sorted(seconds)]
    other = tmp_path / "other.db"
    shutil.copy(demo_garden(tmp_path), other)
    kept = walked_through(Home(tmp_path / "garden.db"), other, instants, counted)
    assert kept > MINUTES / 2


def test_a_fresh_process_says_the_same(tmp_path: Path) -> None:
    home, draw = Home(demo_garden(tmp_path)), random.Random(3)
    for minute in sorted(draw.sample(range(1, 59), 3)):
        home.clock.now = NOW + timedelta(minutes=minute)
        at = home.clock.now.isoformat()
        fresh = subprocess.run(
            [sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden",
             str(shutil.copy(home.path, tmp_path / "copy.db")), "morning", "--json", "--at", at],
            capture_output=True, text=True, check=True)
        assert json.loads(fresh.stdout) == told(home)


def test_a_day_that_begins_between_two_hours(tmp_path: Path, counted: list[datetime]) -> None:
    """Midnight of a clock as India's is half past an hour of the weather."""
    path, other = tmp_path / "garden.db", tmp_path / "other.db"
    site = replace(example.SITE, time_zone="Asia/Kolkata")
    with Garden.create(path, site, NOW - timedelta(days=60)) as garden:
        with garden.entry(NOW, "trees") as entry:
            for record in example.records():
                if isinstance(record, Place):  # the sun shines there by another clock
                    record = replace(record, sun_june=None, sun_september=None)
                entry.add(record)
        add_file(garden, sample(WEATHER), NOW)
    shutil.copy(path, other)
    midnight = datetime(2026, 9, 10, 18, 30, tzinfo=UTC)
    instants = [midnight + timedelta(minutes=each) for each in (-9, -4, -1, 0, 1, 7, 20)]
    assert walked_through(Home(path), other, instants, counted) == 5


def test_what_is_told_of_a_time_to_come_counts_from_then_on(tmp_path: Path) -> None:
    home = Home(demo_garden(tmp_path))
    soon = NOW + timedelta(minutes=12, seconds=30)
    with Garden.open(home.path) as garden, garden.entry(soon, "by a clock ahead") as entry:
        entry.add(Watering("3", soon))
    for minutes, counts in ((5, False), (12, False), (13, True), (14, True)):
        home.clock.now = NOW + timedelta(minutes=minutes)
        assert (f"{soon.astimezone(example.SITE.zone):%H:%M}" in shown(home).split("<ul>", 1)[1]
                ) is counts


def test_weather_issued_at_a_time_to_come_counts_from_then_on(tmp_path: Path) -> None:
    home = Home(demo_garden(tmp_path))
    soon = NOW + timedelta(minutes=20)
    with Garden.open(home.path) as garden:
        first = int(NOW.timestamp())
        hours = range(first, first + 72 * 3600, 3600)
        garden.save_weather(Source("wet", kind="forecast", issued_at=soon), {
            "hour": list(hours), "rain_mm": [2.0] * 72}, NOW)
        assert garden.next_to_count(NOW) == soon
        assert garden.next_to_count(soon) is None
    home.clock.now = NOW + timedelta(minutes=10)
    before = told(home)
    home.clock.now = soon + timedelta(minutes=10)
    other = shutil.copy(home.path, tmp_path / "other.db")
    after = told(home)
    assert after == anew(other, home.clock.now)[0]
    assert [tree["also"] for tree in after["trees"]] != [tree["also"] for tree in before["trees"]]


def test_a_garden_put_back_is_read_anew(tmp_path: Path) -> None:
    """Even where it has as many entries as the one it replaces."""
    home = Home(demo_garden(tmp_path))
    home.clock.now = NOW + timedelta(minutes=1)
    for label in ("1", "2"):
        copy = shutil.copy(home.path, tmp_path / f"{label}.db")
        done = CliRunner().invoke(cli, ["watered", label], obj=Session(copy, home.clock))
        assert done.exit_code == 0, done.output
    for label, other in (("1", "2"), ("2", "1")):
        (tmp_path / f"{label}.db").replace(home.path)
        home.clock.on(minutes=1)
        page = shown(home)
        assert f'done"><div><a href="/tree?label={label}"' in page
        assert f'done"><div><a href="/tree?label={other}"' not in page


def told_by_lot(draw: random.Random, at: datetime) -> Callable[[Garden], object]:
    """Something that is told, the same in every garden of the same entries."""
    label, other = draw.sample([str(number) for number in range(1, 21)], 2)
    ago = at - timedelta(minutes=draw.choice([0, 5, 300, 3000]))

    def entry(*records: Any) -> Callable[[Garden], object]:
        def tell(garden: Garden) -> None:
            with garden.entry(at, "told") as told_of:
                for record in records:
                    told_of.add(record)
        return tell

    return draw.choice([
        entry(Watering(label, ago)), entry(Watering(label, at), Watering(other, at, 0.3)),
        entry(Reading(label, at, "feel", word="moist", depth_mm=15.0)),
        entry(Event(label, ago, "fed")), entry(Walk(ago)),
        entry(Watering(label, at + timedelta(minutes=draw.randrange(1, 9)))),
        entry(Tree(label, "pine", name="renamed")), entry(Event(label, ago, "gone")),
        entry(Rounds("autumn", (f"{draw.randrange(5, 22):02}:00",))),
        entry(Place("shelf", draw.randrange(9))),
        entry(Place("shelf", 1), Move(label, ago, "Shelf")),
        entry(Mix("fines", (("akadama", float(draw.randrange(1, 5))), ("pumice", 1.0)))),
        lambda garden: garden.undo(at)])


@pytest.mark.parametrize("seed", [1, 2])
def test_what_is_told_in_between(tmp_path: Path, counted: list[datetime], seed: int) -> None:
    """Trees of which nothing was told stand as in the round before; all say what is true."""
    draw, home = random.Random(seed), Home(demo_garden(tmp_path))
    other = tmp_path / "other.db"
    shutil.copy(home.path, other)
    kept = 0
    for _ in range(25):
        home.clock.on(seconds=draw.randrange(1, 400))
        at = home.clock.now
        tell = told_by_lot(draw, at)
        for session in (home.house.session, Session(other)):
            with session.open() as garden, suppress(Refused):
                tell(garden)
        if draw.random() < 0.3:
            home.house.rounds.prepare()
        if draw.random() < 0.3:
            with Garden.open(other) as garden:
                garden.drop_derived()
        before = home.house.rounds._shelf.round
        assert (told(home), shown(home)) == anew(other, at), at
        after = home.house.rounds._shelf.round
        assert after is not None
        stood = {id(tree.outlook) for tree in (before.trees if before else ())}
        kept += bool(stood & {id(tree.outlook) for tree in after.trees})
    assert kept > 5


def test_what_was_worked_out_for_the_page_is_stored_for_all(tmp_path: Path) -> None:
    home = Home(demo_garden(tmp_path))
    for label in ("4", "3"):
        home.clock.on(minutes=1)
        told(home)
        with home.house.session.open() as garden, garden.entry(NOW, f"watered {label}") as entry:
            entry.add(Watering(label, NOW))
    told(home)
    with Garden.open(home.path) as garden:
        before = garden.projections(["3"])["3"]
    home.house.rounds.prepare()
    with Garden.open(home.path) as garden:
        after = garden.projections(["3"])["3"]
        assert after.revision == garden.revision() > before.revision
    assert after.digest != before.digest


@pytest.fixture
def settled_in(tmp_path: Path) -> Home:
    """A page in the middle of an hour, that has read all there is."""
    home = Home(demo_garden(tmp_path))
    for label in ("4", "3"):
        home.clock.on(minutes=1)
        told(home)
        tell(home.path, Watering(label, NOW))
    told(home)
    return home


def tell(path: Path, *records: Any, at: datetime = NOW) -> None:
    """Tell something past the page."""
    with Garden.open(path) as garden, garden.entry(at, "told elsewhere") as entry:
        for record in records:
            entry.add(record)


def agrees(home: Home, folder: Path) -> bool:
    """Whether the page says what one says that begins with a copy of its garden."""
    home.house.session.gardens.rest(0.0)
    copy = shutil.copy(home.path, folder / "agrees.db")
    with Garden.open(copy) as garden:
        garden.drop_derived()
    return (told(home), shown(home)) == anew(Path(copy), home.clock.now)


def test_a_garden_copied_over_the_other_is_read_anew(settled_in: Home, tmp_path: Path) -> None:
    """It is the same file to the system, and its rows have numbers that were read before."""
    home = settled_in
    home.house.session.gardens.rest(0.0)
    earlier = shutil.copy(home.path, tmp_path / "earlier.db")
    for label in ("5", "6"):
        tell(home.path, Watering(label, NOW))
        assert agrees(home, tmp_path)
    shutil.copyfile(earlier, home.path)
    home.clock.on(seconds=20)
    assert agrees(home, tmp_path)
    tell(home.path, Watering("7", NOW))
    assert agrees(home, tmp_path)
    tell(home.path, Watering("8", NOW))
    assert agrees(home, tmp_path)


def test_other_rounds_are_judged_for_at_once(settled_in: Home, tmp_path: Path) -> None:
    tell(settled_in.path, Rounds("autumn", ("18:00",)))
    assert agrees(settled_in, tmp_path)
    tell(settled_in.path, Rounds("autumn", ("05:00", "21:00")), Watering("2", NOW))
    assert agrees(settled_in, tmp_path)


def test_the_first_entry_of_a_day_touches_no_other_tree(settled_in: Home) -> None:
    home = settled_in
    home.clock.now = NOW + timedelta(days=1, minutes=1)
    told(home)
    tell(home.path, Watering("3", NOW))
    told(home)
    before = home.house.rounds._shelf.round
    tell(home.path, Watering("3", home.clock.now), at=home.clock.now)
    told(home)
    after = home.house.rounds._shelf.round
    assert before is not None
    assert after is not None
    assert after.knowledge.days_told != before.knowledge.days_told
    stood = {id(tree.outlook) for tree in before.trees} & {id(t.outlook) for t in after.trees}
    assert len(stood) == len(after.trees) - 1


def test_what_is_told_while_a_round_begins_is_not_passed_over(
    settled_in: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Between the number of the last entry and the rows: both are read in one state."""
    home, knowledge, once = settled_in, Garden.knowledge, []

    def knowledge_after(garden: Garden, *args: Any, **more: Any) -> Any:
        if not once:
            once.append(at)
            with Garden.open(home.path) as other:
                other.undo(NOW)
        return knowledge(garden, *args, **more)

    home.clock.on(hours=1)
    at = home.clock.now
    with Garden.open(home.path) as garden:  # all is stored as of now
        garden.drop_derived()
        work_round(garden, at)
    home.clock.on(minutes=1)
    monkeypatch.setattr(Garden, "knowledge", knowledge_after)
    told(home)
    assert once
    for _ in range(3):
        home.clock.on(minutes=1)
        assert agrees(home, tmp_path)


def test_a_tree_that_moves_up_to_be_looked_at_has_its_litres(
    settled_in: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Those that fell out of the three stood with none."""
    home = settled_in
    for most in (0, 2, 1, 8, 1):
        monkeypatch.setattr(morning, "MOST_LOOKS", most)
        tell(home.path, Watering("3", NOW))
        home.clock.on(seconds=5)
        assert agrees(home, tmp_path)
