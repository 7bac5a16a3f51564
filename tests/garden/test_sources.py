"""Tables of weather: listed with their hours, taken back and brought back."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from garden.told import NOW, start

from advisor.errors import Refused
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.sources import covers
from advisor.garden.store import Garden, Source

FIRST = to_seconds(NOW.replace(minute=0))
HOUR = timedelta(hours=1)


def hours(count, value, first=FIRST):
    return {"hour": first + 3600 * np.arange(count), "temp_c": np.full(count, value)}


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        garden.save_weather(Source("a.csv", digest="1"), hours(3, 1.0), NOW)
        garden.save_weather(Source("b.csv", digest="2"), hours(2, 2.0), NOW)
        yield garden


def take_back(garden, number):
    with garden.entry(NOW, f"{number} taken back") as entry:
        garden.remove_source(entry.id, number)


def temperatures(garden, at=None):
    first = from_seconds(FIRST)
    return garden.weather(first, first + 9 * HOUR, at)["temp_c"].tolist()


def test_what_is_taken_back_no_longer_counts_and_stays_in_the_file(garden):
    assert temperatures(garden) == [2.0, 2.0, 1.0]
    take_back(garden, 2)
    assert temperatures(garden) == [1.0, 1.0, 1.0]
    assert temperatures(garden, NOW - HOUR) == [1.0, 1.0, 1.0]
    assert [each.name for each in garden.weather_sources()] == ["a.csv"]
    assert garden._rows("SELECT count(*) FROM weather") == [(5,)]
    garden.undo(NOW)
    assert temperatures(garden) == [2.0, 2.0, 1.0]


def test_an_answer_can_be_taken_back_too(garden):
    number = garden.save_weather(Source("s", kind="station", issued_at=NOW), hours(2, 9.0), NOW)
    assert temperatures(garden) == [9.0, 9.0, 1.0]
    take_back(garden, number)
    assert temperatures(garden) == [2.0, 2.0, 1.0]
    again = garden.save_weather(Source("s", kind="station", issued_at=NOW), hours(2, 9.0), NOW)
    assert again > number
    assert temperatures(garden) == [9.0, 9.0, 1.0]


def test_every_change_has_a_revision_of_its_own(garden):
    found = [garden.weather_revision()]
    for number in (1, 2):
        take_back(garden, number)
        found.append(garden.weather_revision())
        garden.undo(NOW)
        assert garden.weather_revision() == found[0]
    take_back(garden, 1)
    take_back(garden, 2)
    assert garden.weather_revision() == ""
    assert len(set(found)) == 3


def test_the_list_tells_hours_and_what_was_taken_back(garden):
    garden.save_weather(Source("s", kind="analysis", issued_at=NOW), hours(4, 5.0), NOW)
    take_back(garden, 1)
    assert [(each.number, each.source.name, each.hours, each.removed)
            for each in garden.kept_sources()] == [
        (3, "s", 4, False), (2, "b.csv", 2, False), (1, "a.csv", 3, True)]
    assert [(each.start, each.end) for each in garden.kept_sources()][0] == (
        from_seconds(FIRST), from_seconds(FIRST) + 4 * HOUR)


@pytest.mark.parametrize("number", [0, 3, 99])
def test_what_is_not_there_is_refused(garden, number):
    with pytest.raises(Refused, match=f"source of weather: {number}"):
        take_back(garden, number)


def test_it_is_taken_back_once(garden):
    take_back(garden, 1)
    with pytest.raises(Refused, match=r"1 \(a.csv\) is taken back already"):
        take_back(garden, 1)
    assert len(garden.entries()) == 3


def test_a_span_is_covered_but_for_its_ends(garden):
    kept = garden.kept_sources()
    begin = from_seconds(FIRST)
    assert covers(kept, "file", begin, begin + 3 * HOUR, timedelta(0))
    assert not covers(kept, "file", begin, begin + 4 * HOUR, timedelta(0))
    assert covers(kept, "file", begin - HOUR, begin + 4 * HOUR, HOUR)
    assert not covers(kept, "analysis", begin, begin + HOUR, HOUR)
    take_back(garden, 1)
    assert not covers(garden.kept_sources(), "file", begin, begin + 3 * HOUR, timedelta(0))


# --- a table that grows ----------------------------------------------------------------------


def test_only_new_hours_of_a_table_that_grows_are_kept(garden):
    own = Source("shed", kind="instrument")

    def kept(count, value, hour):
        at = NOW + hour * HOUR
        return garden.save_changed(replace(own, issued_at=at), hours(count, value), at)

    assert [kept(2, 7.0, 0), kept(5, 7.0, 1), kept(5, 7.0, 2)] == [2, 3, 0]
    assert temperatures(garden) == [7.0] * 5
    assert garden.save_changed(own, {"hour": np.empty(0, int), "temp_c": np.empty(0)}, NOW) == 0
    changed = hours(5, 7.0)
    changed["temp_c"][3] = 8.0
    changed["temp_c"][4] = np.nan  # no longer known: what was stays
    at = NOW + 3 * HOUR
    assert garden.save_changed(replace(own, issued_at=at), changed, at) == 1
    assert temperatures(garden) == [7.0, 7.0, 7.0, 8.0, 7.0]
    assert [each.hours for each in garden.kept_sources()][:3] == [1, 3, 2]


def test_a_file_that_may_only_be_read_takes_nothing_back(garden, tmp_path):
    with Garden.open(tmp_path / "garden.db", readonly=True) as kept, pytest.raises(Refused):
        kept.remove_source(1, 1)
