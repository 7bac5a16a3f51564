"""Rows that were read before: what is known with them is what is known without them."""

import dataclasses
import random
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from garden.told import DAY, NOW, POTTED, pot, start, two_trees, water

from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge, local_days
from advisor.garden.memory import RowMemory
from advisor.garden.records import Event, Mix, Move, Place, Reading, Rounds, Tree, Walk, Watering
from advisor.garden.store import Garden

HOUR = timedelta(hours=1)


def parts(known: Knowledge) -> dict[str, object]:
    """All of it, the order of its mappings too."""
    return {field.name: (list(value.items()) if isinstance(
        value := getattr(known, field.name), dict) else value)
        for field in dataclasses.fields(known)}


def anew(path, *args, **more) -> dict[str, object]:
    """What a process knows that reads the file for the first time."""
    with Garden.open(path) as garden:
        return parts(garden.knowledge(*args, **more))


def tell(garden, *records, at=NOW):
    with garden.entry(at, "told") as entry:
        for record in records:
            entry.add(record)
        return entry.id


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db", *two_trees()) as garden:
        yield garden


def told_by_lot(draw: random.Random, garden: Garden) -> None:
    """Tell something, or take something back; what is refused leaves no trace."""
    at = POTTED + timedelta(minutes=draw.randrange(1, 60_000))
    kinds = [
        lambda: tell(garden, Watering(draw.choice(["2", "10"]), at, 0.5)),
        lambda: tell(garden, Reading("2", at, "weight", 4.0)),
        lambda: tell(garden, Walk(at)),
        lambda: tell(garden, Event("10", at, "fed")),
        lambda: tell(garden, Move("2", at, draw.choice(["wall", "South Bench"]))),
        lambda: tell(garden, pot("10", at)),
        lambda: tell(garden, Tree(draw.choice(["2", "x", "X"]), "pine")),
        lambda: tell(garden, Place(draw.choice(["WALL", "shelf"]), draw.randrange(9))),
        lambda: tell(garden, Mix(draw.choice(["Thirds", "thirds"]), (("akadama", 1.0),))),
        lambda: tell(garden, Rounds("summer", ("07:00",))),
        lambda: tell(garden, Watering("2", at), Watering("nobody", at)),  # refused, half written
        lambda: garden.undo(NOW, draw.randrange(1, garden.revision() + 1)),
    ]
    with suppress(Refused):
        draw.choice(kinds)()


@pytest.mark.parametrize("seed", range(6))
def test_what_is_known_hangs_on_no_memory(garden, seed):
    """One connection tells, and reads in between; another keeps rows; a third begins anew."""
    draw, rows, most = random.Random(seed), RowMemory(), 0
    with Garden.open(garden.path) as other:
        for _ in range(60):
            told_by_lot(draw, garden)
            at = draw.choice([None, NOW, NOW + timedelta(minutes=draw.randrange(-9_000, 9_000))])
            known = other.knowledge(at, memory=rows)
            assert parts(known) == anew(garden.path, at)
            most = max(most, len(known.entry_times))
            since = NOW - draw.randrange(40) * DAY
            assert parts(garden.knowledge(at, since)) == anew(garden.path, at, since)
    assert most > 3


def half_way(garden):
    with garden.entry(NOW, "moved") as entry:
        entry.add(Move("2", NOW, "wall"))
        assert garden.knowledge().place_of("2", NOW).name == "wall"
        entry.add(Move("2", NOW, "nowhere"))


def test_an_entry_refused_half_way_is_not_remembered(garden):
    """Its rows had ids that the next entry is given again."""
    before = parts(garden.knowledge())
    with pytest.raises(Refused, match="nowhere"):
        half_way(garden)
    assert parts(garden.knowledge()) == before
    tell(garden, Move("10", NOW, "wall"))
    assert parts(garden.knowledge()) == anew(garden.path)


def test_only_trees_of_which_nothing_was_told_are_untouched(garden):
    rows = RowMemory()
    water(garden, "2", NOW - DAY)
    before = garden.knowledge(NOW, memory=rows)
    assert before.untouched_since(before) == {"2", "10"}
    water(garden, "2", NOW - DAY - HOUR)
    after = garden.knowledge(NOW, memory=rows)
    assert after.untouched_since(before) == {"10"}
    garden.undo(NOW)
    assert garden.knowledge(NOW, memory=rows).untouched_since(before) == {"2", "10"}


@pytest.mark.parametrize("shared", [
    Place("wall", 3), Mix("thirds", (("akadama", 1.0),)), Rounds("summer", ("07:00",)),
    Walk(NOW - 5 * DAY)], ids=lambda record: type(record).__name__)
def test_what_trees_share_touches_all(garden, shared):
    """A walk does on a day of which nothing was told: then nobody may have watered."""
    before = garden.knowledge(NOW)
    tell(garden, shared)
    assert garden.knowledge(NOW).untouched_since(before) == set()


def test_where_waterings_were_left_out_none_is_known_to_be_untouched(garden):
    part, whole = garden.knowledge(NOW, since=NOW), garden.knowledge(NOW)
    assert whole.untouched_since(part) == part.untouched_since(whole) == set()


ZONES = ("Europe/Berlin", "America/Havana", "Asia/Beirut", "America/Asuncion", "Africa/Cairo",
         "Asia/Kolkata", "Pacific/Apia", "America/Scoresbysund", "UTC")


@pytest.mark.parametrize("zone", ZONES)
def test_local_days_are_those_of_each_instant(zone):
    """Midnights that come twice, or never, among them (tz database)."""
    there, draw = ZoneInfo(zone), random.Random(zone)
    for year in (2011, 2022, 2026):
        start = datetime(year, 1, 1, tzinfo=UTC)
        for step in (timedelta(minutes=20), timedelta(days=3)):
            count = timedelta(days=366) // step
            times = [start + i * step + timedelta(minutes=draw.randrange(19))
                     for i in range(count)]
            each = {at.astimezone(there).date() for at in times}
            assert local_days(times, there) == tuple(sorted(each))
    assert local_days([], there) == ()
    assert local_days([POTTED], there) == (POTTED.astimezone(there).date(),)
    assert isinstance(local_days([POTTED], there)[0], date)
