"""A day can be replayed: same garden file, same instant, same round to the last digit."""

import json
import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from advisor.cli.demo import WEATHER, sample
from advisor.cli.hours import refresh
from advisor.cli.working import work_round
from advisor.garden import example
from advisor.garden.records import (
    Event,
    Mix,
    Move,
    Place,
    Potting,
    Record,
    Rounds,
    Site,
    Tree,
    Watering,
)
from advisor.garden.store import Garden, Source
from advisor.jobs import air
from advisor.show.wording import round_document
from advisor.weather import files

AT = example.AT
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
KEPT = ("1", "2", "4", "11", "15", "16", "17", "18")


@pytest.fixture(scope="module")
def weather():
    """Sample weather from July to past the example's instant."""
    series = files.read(sample(WEATHER), site_zone=example.SITE.time_zone, year=None,
                        position=files.Position(example.SITE.latitude_deg,
                                                example.SITE.longitude_deg))
    return series.hours.loc["2026-07-20":"2026-09-24"]


def made(path: Path, records: list[Record], weather, site: Site = example.SITE) -> Path:
    with Garden.create(path, site, AT - 60 * DAY) as garden:
        with garden.entry(AT, "described the garden") as entry:
            for record in records:
                entry.add(record)
        garden.save_weather(Source("sample"), air.arrays_of(weather), AT)
    return path


@pytest.fixture(scope="module")
def garden_path(tmp_path_factory, weather):
    told = [record for record in example.records()
            if not isinstance(record, Tree | Move | Potting | Event)
            or getattr(record, "label", getattr(record, "tree", "")) in KEPT]
    told += [Watering("1", AT - 3 * DAY), Watering("18", AT - 2 * DAY, 0.1, until_ran=False),
             Watering("2", AT - 9 * DAY), Event("1", AT - 2 * DAY, "tipped", "12")]
    return made(tmp_path_factory.mktemp("replay") / "garden.db", told, weather)


@pytest.fixture
def path(garden_path, tmp_path):
    return Path(shutil.copy(garden_path, tmp_path / "garden.db"))


def document(garden: Garden, at: datetime) -> str:
    return json.dumps(round_document(*work_round(garden, at)))


@pytest.fixture(scope="module")
def first(garden_path, tmp_path_factory):
    """The round as a new file gives it."""
    copy = Path(shutil.copy(garden_path, tmp_path_factory.mktemp("first") / "garden.db"))
    with Garden.open(copy) as garden:
        return document(garden, AT)


def test_it_says_something_of_every_tree(first):
    trees = json.loads(first)["trees"]
    assert {tree["tree"] for tree in trees} == set(KEPT)
    assert len({tree["verdict"] for tree in trees}) > 1
    assert all(tree["why"] for tree in trees)


def test_the_same_instant_twice(path, first):
    with Garden.open(path) as garden:
        assert [document(garden, AT) for _ in range(3)] == [first] * 3
    with Garden.open(path) as garden:
        assert document(garden, AT) == first


@pytest.mark.parametrize("others", [
    (-3 * DAY, -2 * DAY, -DAY), (5 * HOUR, DAY, 4 * DAY), (-4 * HOUR, 10 * HOUR, -40 * DAY),
    (12 * HOUR + timedelta(minutes=59), -12 * HOUR),
])
def test_after_other_instants(path, first, others):
    with Garden.open(path) as garden:
        for other in others:
            document(garden, AT + other)
        assert document(garden, AT) == first


def test_other_instants_do_not_depend_on_the_way_to_them(path, tmp_path):
    at = AT + 2 * DAY + 3 * HOUR
    with Garden.open(Path(shutil.copy(path, tmp_path / "direct.db"))) as garden:
        direct = document(garden, at)
    with Garden.open(path) as garden:
        for step in (0, 1, 2):
            document(garden, AT + step * DAY)
        assert document(garden, at) == direct


def test_with_everything_derived_thrown_away(path, first):
    with Garden.open(path) as garden:
        document(garden, AT - DAY)
        document(garden, AT)
        garden.drop_derived()
        refresh(garden, garden.site(), garden.knowledge().places.values(), AT)
        assert document(garden, AT) == first


def test_after_an_entry_that_was_taken_back(path, first):
    with Garden.open(path) as garden:
        with garden.entry(AT, "watered 1") as entry:
            entry.add(Watering("1", AT - 30 * HOUR))
        assert document(garden, AT) != first
        garden.undo(AT)
        assert document(garden, AT) == first


def test_an_entry_made_later_does_not_count_before_it(path, first):
    with Garden.open(path) as garden:
        with garden.entry(AT + DAY, "watered 1 and 18") as entry:
            entry.add(Watering("1", AT + HOUR))
            entry.add(Watering("18", AT + 2 * HOUR))
        document(garden, AT + DAY)
        assert document(garden, AT) == first


def test_read_only_it_is_the_same(path, first):
    with Garden.open(path) as garden:
        document(garden, AT - DAY)
        refresh(garden, garden.site(), garden.knowledge().places.values(), AT)
    with Garden.open(path, readonly=True) as garden:
        assert document(garden, AT) == first


def test_two_at_once(path, first):
    with Garden.open(path) as garden:
        refresh(garden, garden.site(), garden.knowledge().places.values(), AT)

    def one(_: int) -> str:
        with Garden.open(path) as garden:
            return document(garden, AT)

    with ThreadPoolExecutor(2) as pool:
        assert list(pool.map(one, range(4))) == [first] * 4


def test_newer_weather_changes_the_round_and_older_rounds_stay(path, weather, first):
    rainy = weather.loc["2026-09-12":].copy()
    rainy["rain_mm"] = 6.0
    with Garden.open(path) as garden:
        document(garden, AT)
        garden.save_weather(Source("more rain"), air.arrays_of(rainy), AT)
        wet = document(garden, AT)
        assert wet != first
        garden.drop_derived()
        assert document(garden, AT) == wet


# --- gardens of few trees or none, trees that come and go -------------------------------------

THIRDS = Mix("thirds", (("akadama", 0.4), ("pumice", 0.3), ("lava", 0.3)))
BENCH = Place("bench")


def one_tree(*more: Record, **told) -> list[Record]:
    pot = {"tree": "1", "at": AT - 40 * DAY, "mix": "thirds", "outside_mm": (350.0, 250.0, 60.0)}
    return [BENCH, THIRDS, Tree("1", "pine"), Potting(**pot | told), *more]


def trees(path: Path, at: datetime = AT) -> list[dict]:
    with Garden.open(path) as garden:
        return json.loads(document(garden, at))["trees"]


@pytest.mark.parametrize("records", [[], [BENCH], [BENCH, THIRDS, Tree("1", "pine")]])
def test_a_garden_without_a_tree_in_a_pot(tmp_path, weather, records):
    assert trees(made(tmp_path / "garden.db", records, weather)) == []


def test_a_tree_alone(tmp_path, weather):
    path = made(tmp_path / "garden.db", one_tree(Move("1", AT - 40 * DAY, "bench")), weather)
    (tree,) = trees(path)
    assert (tree["tree"], tree["place"]) == ("1", "bench")


@pytest.mark.parametrize("places", [True, False])
def test_a_tree_whose_place_nobody_told_stands_in_the_open(tmp_path, weather, places):
    records = one_tree()[0 if places else 1:]
    path = made(tmp_path / "garden.db", records, weather)
    (tree,) = trees(path)
    assert tree["place"] is None
    bench = made(tmp_path / "bench.db", one_tree(Move("1", AT - 40 * DAY, "bench")), weather)
    (placed,) = trees(bench)  # a bench is open by default
    assert tree["available_left"] == placed["available_left"]


def test_a_tree_that_is_gone(tmp_path, weather):
    path = made(tmp_path / "garden.db",
                one_tree(Move("1", AT - 40 * DAY, "bench"), Event("1", AT - DAY, "gone")), weather)
    assert trees(path) == []
    assert [tree["tree"] for tree in trees(path, AT - 2 * DAY)] == ["1"]


def test_where_nothing_changed_old_waterings_are_not_read(tmp_path, weather, monkeypatch):
    """Not even where a tree is gone, and only until a tree must be carried on."""
    records = one_tree(Move("1", AT - 40 * DAY, "bench"), Watering("1", AT - HOUR),
                       Tree("2", "larch"), Potting("2", AT - 40 * DAY, "thirds", litres=3.0,
                                                   soil_depth_mm=60.0),
                       Event("2", AT - DAY, "gone"))
    read = []
    whole = Garden.knowledge

    def spied(garden, at=None, since=None, memory=None):
        read.append(since)
        return whole(garden, at, since, memory)

    monkeypatch.setattr(Garden, "knowledge", spied)
    with Garden.open(made(tmp_path / "garden.db", records, weather)) as garden:
        told = document(garden, AT)
        assert None in read
        read.clear()
        assert document(garden, AT) == told
        assert None not in read


def test_asked_again_later_in_the_day_it_is_as_if_asked_for_the_first_time(path, tmp_path):
    """A tree to be watered is looked at anew from then, with all its waterings."""
    evening = AT + 5 * HOUR
    with Garden.open(Path(shutil.copy(path, tmp_path / "direct.db"))) as garden:
        direct = document(garden, evening)
    assert "water_now" in direct
    with Garden.open(path) as garden:
        document(garden, AT)
        assert document(garden, evening) == direct


@pytest.mark.parametrize("ago", [timedelta(0), 2 * HOUR, 20 * HOUR])
def test_a_tree_potted_today_is_full(tmp_path, weather, ago):
    (tree,) = trees(made(tmp_path / "garden.db", one_tree(
        Move("1", AT - ago, "bench"), at=AT - ago), weather))
    assert tree["verdict"] == ("leave" if ago < DAY / 2 else tree["verdict"])
    assert tree["available_left"]["mid"] > 0.75
    assert tree["recovery"] is None


def test_a_tree_moved_is_judged_where_it_stands(tmp_path, weather):
    shade = Place("deep shade", wind="sheltered", shade=0.8)
    moves = [Move("1", AT - 40 * DAY, "bench"), Watering("1", AT - 4 * DAY),
             Move("1", AT - 4 * DAY, "deep shade")]
    moved = made(tmp_path / "moved.db", one_tree(shade, *moves), weather)
    stayed = made(tmp_path / "stayed.db", one_tree(shade, *moves[:2]), weather)
    (there,), (here,) = trees(moved), trees(stayed)
    assert there["place"] == "deep shade"
    assert there["available_left"]["mid"] > here["available_left"]["mid"] + 0.2


def test_a_southern_garden_has_its_winter_in_july(tmp_path, weather):
    site = Site(-36.1, 145.0, 273.0, "Australia/Melbourne")
    winter = weather.loc["2026-07-20":"2026-08-20"]
    moves = [Move("1", AT - 60 * DAY, "bench"), Rounds("winter", ("09:30",), ("sun",))]
    path = made(tmp_path / "south.db", one_tree(*moves, at=AT - 60 * DAY), winter, site)
    (tree,) = trees(path, AT - 40 * DAY)
    assert tree["next"] is None or "T09:30" in tree["next"]
