"""A few hundred of the bad inputs that `tests/fuzz/run.py` makes by the million; faults it found.

Each target takes good inputs with a few accidents in them, drawn by hypothesis so that a fault is
made small.
"""

import json
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from fuzz import samples
from fuzz.targets import NOW, TARGETS
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import Refused
from advisor.garden.spreadsheet import read_trees
from advisor.garden.store import Garden
from advisor.weather import client, station, tmy3, wire
from advisor.weather.services import Request, power

FAST = {"replies": 400, "options": 200, "trees": 100}  # examples; 25 of the others
CHANCES = st.randoms(use_true_random=False, note_method_calls=False)


@pytest.fixture(scope="module", params=TARGETS)
def target(request, tmp_path_factory):
    make, _ = TARGETS[request.param]
    return request.param, make(tmp_path_factory.mktemp(request.param))


def test_good_inputs_are_taken_or_refused_in_words(target):
    name, tried = target
    taken = [tried.accepts(seed) for seed in tried.seeds]
    if name not in ("replies", "options"):  # of the one half are failures, the other has its own
        assert sum(taken) >= 0.8 * len(taken)
    assert any(taken)


def test_bad_inputs_are_refused_in_words(target):
    name, tried = target

    @settings(max_examples=FAST.get(name, 25), deadline=None, database=None, derandomize=True)
    @given(CHANCES, st.integers(0, len(tried.seeds) - 1))
    def one(chance, which):
        tried.accepts(tried.changed(tried.seeds[which], chance))

    one()


# --- faults that were found ----------------------------------------------------------------


@pytest.mark.parametrize("text", [",\n", ';";\n', '""\n', "x" * 140_000, '"' + "x" * 140_000])
def test_a_list_of_trees_without_a_row_is_refused(tmp_path, text):
    (tmp_path / "trees.csv").write_text(text)
    with Garden.open(samples.garden(tmp_path)) as garden, pytest.raises(Refused):
        read_trees(tmp_path / "trees.csv", garden.knowledge(), NOW)


@pytest.mark.parametrize("text", ['"', ",,\n", "x" * 140_000, '"' + "x" * 140_000 + "\n1\n"])
def test_a_station_s_file_without_a_row_is_refused(tmp_path, text):
    path = tmp_path / "station.csv"
    path.write_text(text)
    with pytest.raises(Refused):
        station.read(path, samples.LAYOUTS[0])


@pytest.mark.parametrize("text", ["0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00"])
def test_an_instant_at_the_end_of_all_time_is_refused_in_its_cell(tmp_path, text):
    path = tmp_path / "trees.csv"
    path.write_text(f"label,group,potted\n7,pine,{text}\n")
    with Garden.open(samples.garden(tmp_path)) as garden, pytest.raises(Refused, match="potted"):
        read_trees(path, garden.knowledge(), NOW)


def test_rain_without_end_is_no_rain_in_tenths():
    assert not tmy3.in_tenths(np.array([np.inf] * 20))


@pytest.mark.parametrize("place", [[float("nan"), 52.1], [5.2, 1e308], [5.2, 91.0]])
def test_an_answer_from_beyond_the_earth_is_refused(place):
    body = samples.answers()[-1].split(b"\n", 1)[1]  # of days
    document = json.loads(body)
    document["geometry"]["coordinates"] = [*place, 3.0]
    with pytest.raises(Refused, match="power.larc.nasa.gov"):
        power.read(json.dumps(document).encode(), issued_at=samples.ISSUED)


ASKED = Request("open-meteo", "forecast", "https://example.org/a", {})


@pytest.mark.parametrize("expires", [
    "Fri, 31 Dec 9999 23:59:59 GMT", "Fri, 31 Dec 99999999999999999999 23:59:59 GMT",
    "Sat, 01 Jan 0001 00:00:00 +1400"])
def test_an_answer_that_never_expires_is_asked_again_in_time(expires):
    reply = wire.Reply(200, {"Expires": expires}, b"{}")
    kept = client._kept(ASKED, None, NOW, reply, 1.0).answer
    assert NOW < kept.fresh_until <= NOW + timedelta(hours=client.LONGEST_FRESH_H)


def test_a_wait_without_end_is_cut_short():
    failed = wire.Failed("overloaded", status=503)
    failed.wait_s = 1e300
    assert client._failed(ASKED, None, NOW, failed).answer.fresh_until == NOW + timedelta(
        hours=client.LONGEST_FRESH_H)
    assert 0.0 <= wire._retry_after_s("9" * 400) < 1e6
    with pytest.raises(wire.Failed):
        wire._next_url(ASKED.url, "http://[half")


@pytest.mark.parametrize("line", [
    ("add", "place", "sch\udcf6n"), ("watered", "\udcff"), ("rainwater", "roof", "s\udce4ge"),
    ("export", "gr\udcfc.csv")])
def test_letters_in_another_encoding_are_refused(tmp_path, line):
    from cli.conftest import Grower

    assert "UTF-8" in Grower(samples.garden(tmp_path)).refused(*line)


def test_an_entry_with_a_number_beyond_all_is_none(tmp_path):
    from cli.conftest import Grower

    assert "entry that was made" in Grower(samples.garden(tmp_path)).refused("undo", "9" * 20)


@pytest.mark.parametrize("year", ["1906", "2126"])
def test_a_file_of_another_century_is_refused_before_all_in_between_is_worked_out(tmp_path, year):
    from cli.conftest import Grower

    path = tmp_path / "weather.csv"
    path.write_bytes(samples.hourly(short=True)[0].replace(b"2026-", f"{year}-".encode()))
    grower = Grower(samples.garden(tmp_path))
    assert "years 1966 to 2028" in grower.refused("weather", "add", str(path))
    station_file = tmp_path / "station.csv"
    station_file.write_bytes(samples.station()[0].replace(b"2026-", f"{year}-".encode()))
    assert "years 1966 to 2028" in grower.refused(
        "weather", "station", "shed", str(station_file), "--column", "Out temp=temperature °C")


def test_a_contact_that_no_service_can_be_told_is_refused_at_once(tmp_path):
    from cli.conftest import Grower

    grower = Grower(samples.garden(tmp_path))
    assert "plain letters" in grower.refused("weather", "contact", "grüner@example.org")
    assert "mail address" in grower.refused("weather", "contact", "me")
    grower.tell("weather", "contact", "")


def test_a_name_that_is_too_long_for_the_disk_is_refused():
    from cli.conftest import Grower

    said = Grower(Path("x" * 300)).run("trees")
    assert (said.exit_code, said.stderr.count("\n")) == (1, 1)
    assert "Wanted: " in said.stderr
