"""Garden files made by earlier versions are opened, with all that is in them."""

import sqlite3
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from garden.told import MIX, NOW, POTTED, SITE, pot

from advisor.errors import Refused
from advisor.garden import schema
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.records import Mix, Reading, Walk
from advisor.garden.stock import RainButt
from advisor.garden.store import Garden, Source

HOUR = timedelta(hours=1)
FIRST = to_seconds(NOW)
DIGEST = "c0ffee"


def first_version(path: Path) -> None:
    """Write a garden as the first version left it: a site, a tree's entry, files of weather."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    for statement in schema.MIGRATIONS[0]:
        connection.execute(statement)
    connection.execute("PRAGMA user_version = 1")
    connection.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    made = to_seconds(POTTED)
    connection.execute("INSERT INTO entry (made_at, words) VALUES (?, 'started')", (made,))
    connection.execute("INSERT INTO site (entry, latitude_deg, longitude_deg, elevation_m, "
                       "time_zone) VALUES (1, 52.1, 13.2, 40.0, 'Europe/Berlin')")
    connection.execute("INSERT INTO entry (made_at, words) VALUES (?, 'a tree')", (made,))
    connection.execute("INSERT INTO tree (entry, label, \"group\", name, density, must_not_lose) "
                       "VALUES (2, '7', 'pine', '', 'medium', 0)")
    connection.execute("INSERT INTO weather_origin (words) VALUES (?)",
                       ('["file", "", "file", "", "", "file", ""]',))
    sources = [("old.csv", None), ("new.csv", None), ("foretold", to_seconds(NOW + HOUR))]
    for k, (name, issued) in enumerate(sources, start=1):
        connection.execute("INSERT INTO weather_source (made_at, name, words, licence, digest, "
                           "issued_at) VALUES (?, ?, '', 'CC0', ?, ?)",
                           (to_seconds(NOW), name, f"{DIGEST}{k}", issued))
        for hour in range(k, 5):
            connection.execute("INSERT INTO weather (hour, source, temp_c, rain_mm, origin) "
                               "VALUES (?, ?, ?, 0.0, 1)", (FIRST + 3600 * hour, k, 10.0 * k))
    connection.close()


def second_version(path: Path) -> None:
    """Write the same garden as the second version left it, with a setting of its own."""
    first_version(path)
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in schema.MIGRATIONS[1]:
        connection.execute(statement)
    connection.execute("PRAGMA user_version = 2")
    connection.execute("INSERT INTO entry (made_at, words) VALUES (?, 'set')", (to_seconds(NOW),))
    connection.execute("INSERT INTO setting (entry, \"key\", value) VALUES (3, 'contact', 'b@c.d')")
    connection.close()


def third_version(path: Path) -> None:
    """Write the same garden as the third version left it, with a mix and a reading of its own."""
    second_version(path)
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in schema.MIGRATIONS[2]:
        connection.execute(statement)
    connection.execute("PRAGMA user_version = 3")
    connection.execute("INSERT INTO entry (made_at, words) VALUES (?, 'read')", (to_seconds(NOW),))
    connection.execute("INSERT INTO mix (entry, name, parts, measured_capacity, "
                       "measured_depth_mm) VALUES (4, 'sand', '[[\"sand\", 1.0]]', 0.34, 100.0)")
    connection.execute("INSERT INTO reading (entry, tree, at, kind, value, word, note) VALUES "
                       "(4, '7', ?, 'weight', 5.1, '', '')", (to_seconds(NOW - HOUR),))
    connection.close()


@pytest.fixture(params=[first_version, second_version, third_version],
                ids=["first", "second", "third"])
def path(tmp_path, request):
    path = tmp_path / "garden.db"
    request.param(path)
    return path


def test_it_is_brought_up_to_date_with_all_that_is_in_it(path):
    with Garden.open(path) as garden:
        assert schema.version(garden._connection) == len(schema.MIGRATIONS)
        assert garden.verify() == []
        assert garden.site() == SITE
        assert list(garden.knowledge().trees) == ["7"]
        kinds = {source.name: source.kind for source in garden.weather_sources()}
        found = garden.weather(NOW, NOW + 9 * HOUR)
    assert kinds == {"old.csv": "file", "new.csv": "file", "foretold": "forecast"}
    # the file added last goes first; what was foretold replaces no file
    np.testing.assert_array_equal(found["temp_c"], [10.0, 20.0, 20.0, 20.0])
    assert found["temp_c_from"].tolist() == ["file"] * 4
    assert found["temp_c_source"].tolist() == ["old.csv", *["new.csv"] * 3]


def test_it_takes_what_is_new(path):
    with Garden.open(path) as garden:
        station = Source("station", kind="station", issued_at=NOW + HOUR)
        garden.save_weather(station, {"hour": np.array([FIRST + 3600]), "temp_c": np.ones(1)},
                            NOW + HOUR)
        with garden.entry(NOW, "set a contact") as entry:
            garden.add_setting(entry.id, "contact", "a@example.org")
    with Garden.open(path) as garden:
        found = garden.weather(from_seconds(FIRST), NOW + 9 * HOUR)
        assert found["temp_c"].tolist() == [1.0, 20.0, 20.0, 20.0]
        assert garden.setting("contact") == "a@example.org"


def test_it_takes_readings_and_walks(path):
    read = Reading("7", NOW, "weight", 6.4)
    with Garden.open(path) as garden:
        before = garden.knowledge().readings["7"]
        with garden.entry(NOW, "read of 7") as entry:
            for record in (MIX, pot("7"), read, Walk(NOW + HOUR / 120)):
                entry.add(record)
    with Garden.open(path, readonly=True) as garden:
        known = garden.knowledge()
    assert known.readings["7"] == (*before, read)
    assert known.entry_times[-2:] == (NOW, NOW + HOUR / 120)


def test_a_setting_of_the_second_version_stays(tmp_path):
    second_version(tmp_path / "garden.db")
    with Garden.open(tmp_path / "garden.db") as garden:
        assert garden.setting("contact") == "b@c.d"


def test_a_mix_and_a_reading_of_the_third_version_stay(tmp_path):
    third_version(tmp_path / "garden.db")
    with Garden.open(tmp_path / "garden.db") as garden:
        known = garden.knowledge()
    sand = known.mixes["sand"]
    assert (sand.measured_capacity, sand.measured_depth_mm) == (0.34, 100.0)
    assert (sand.measured_k_c_cmh, sand.measured_sd, sand.measured_sd_ln_k_c,
            sand.measured_vapour_depth_mm) == (None,) * 4
    assert [(each.kind, each.value) for each in known.readings["7"]] == [("weight", 5.1)]


def test_it_takes_stock_and_measured_mixes(path):
    own = Mix("own", MIX.parts, measured_capacity=0.5, measured_depth_mm=80.0,
              measured_k_c_cmh=3e-5, measured_sd=0.06, measured_sd_ln_k_c=0.5,
              measured_vapour_depth_mm=4.0)
    with Garden.open(path) as garden:
        with garden.entry(NOW, "measured") as entry:
            entry.add(own)
        with garden.entry(NOW, "a butt") as entry:
            garden.add_stock(entry.id, RainButt("big", 300.0), NOW)
    with Garden.open(path, readonly=True) as garden:
        assert garden.knowledge().mixes["own"] == own
        assert garden.butts() == {"big": RainButt("big", 300.0)}
        assert garden.empty_pots() == {}


def test_rows_are_still_only_ever_added(path):
    with Garden.open(path) as garden:
        for table in ("weather_source", "weather_block", "gauge", "thermometer", "setting",
                      "reading", "walk", "mix", "emptypot", "container", "mixweight",
                      "rainroof", "rainbutt", "buttlevel"):
            triggers = garden._rows("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' "
                                    "AND tbl_name = ?", (table,))
            assert triggers == [(2,)]
        with pytest.raises(sqlite3.IntegrityError, match="only ever added"):
            garden._connection.execute("UPDATE weather_source SET kind = 'file'")


def test_it_cannot_be_read_as_it_is(path):
    with pytest.raises(Refused, match="brings it up to date"):
        Garden.open(path, readonly=True)


def test_a_garden_made_now_has_the_same_tables(path, tmp_path):
    wanted = "SELECT type, name, sql FROM sqlite_master ORDER BY name"
    with Garden.open(path) as old, Garden.create(tmp_path / "new.db", SITE, POTTED) as new:
        assert old._rows(wanted) == new._rows(wanted)
