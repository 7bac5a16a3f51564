"""Derived tables: kept, found again, thrown away."""

from datetime import date, timedelta

import numpy as np
import pytest
from garden.told import DAY, NOW, start

from advisor.errors import Refused
from advisor.garden.blobs import pack
from advisor.garden.derived import SITE
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.store import Belief, Projection

MIDNIGHT = NOW.replace(hour=0)
FIRST = to_seconds(MIDNIGHT)
HOUR = timedelta(hours=1)


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        yield garden


def days(*dates, et0=4.0):
    n = len(dates)
    return {"date": np.array(dates, dtype="datetime64[D]"), "tmax_c": np.full(n, 25.0),
            "tmin_c": np.full(n, 12.0), "tmean_c": np.full(n, np.nan), "rain_mm": np.zeros(n),
            "et0_mm": np.full(n, et0), "rules": np.array(["wind 2 m/s"] * n, dtype=object),
            "first_hour": FIRST + 86400 * np.arange(n), "n_hours": np.full(n, 24)}


def test_days_come_back_as_given(garden):
    given = days("2026-06-30", "2026-07-01")
    garden.save_days(given, "abc")
    found = garden.days(date(2026, 6, 1), date(2026, 7, 1))
    for name, column in given.items():
        np.testing.assert_array_equal(found[name], column)
        assert found[name].dtype == column.dtype
    assert garden.days_digest() == "abc"


def test_days_are_replaced_whole(garden):
    garden.save_days(days("2026-06-30", "2026-07-01"))
    garden.save_days(days("2026-07-01", et0=5.0))
    assert garden.days(date(2026, 1, 1), date(2026, 12, 31))["et0_mm"].tolist() == [5.0]
    assert len(garden.days(date(2025, 1, 1), date(2025, 12, 31))["date"]) == 0


def hours(first, *et0):
    return FIRST + 3600 * np.arange(first, first + len(et0)), {"et0_mm": np.array(et0)}


def test_hours_of_a_place_are_found_whatever_the_case_of_its_name(garden):
    garden.save_hours("Wall", "abc", *hours(0, 0.1, 0.2, 0.3))
    found = garden.hours("wall")
    assert found["hour"].tolist() == [FIRST, FIRST + 3600, FIRST + 7200]
    assert found["et0_mm"].tolist() == [0.1, 0.2, 0.3]
    assert garden.hours("bench")["hour"].tolist() == []
    assert (garden.hours_digest("WALL"), garden.hours_digest("bench")) == ("abc", None)


def test_what_all_places_share_lies_beside_them(garden):
    hour = FIRST + 3600 * np.arange(2)
    garden.save_hours(SITE, "s", hour, {"temp_c": np.array([1.0, 2.0]), "rain_mm": np.zeros(2)})
    found = garden.hours(SITE)
    assert (found["temp_c"].tolist(), found["rain_mm"].tolist()) == ([1.0, 2.0], [0.0, 0.0])


def test_hours_are_replaced_whole(garden):
    garden.save_hours("wall", "a", *hours(0, 0.1, 0.2, 0.3))
    garden.save_hours("wall", "b", *hours(1, 9.0, 9.0))
    found = garden.hours("wall")
    assert (found["hour"].tolist(), found["et0_mm"].tolist()) == (
        [FIRST + 3600, FIRST + 7200], [9.0, 9.0])
    assert garden.hours_digest("wall") == "b"


def test_hours_with_holes_are_a_slip_of_the_caller(garden):
    with pytest.raises(ValueError, match="holes"):
        garden.save_hours("wall", "a", np.array([0, 7200]), {"et0_mm": np.zeros(2)})


def belief(tree, midnight, value=0.0):
    return Belief(tree, midnight, f"d{value:g}", {"water": np.full((2, 3), value)})


def test_the_newest_belief_before_an_instant_is_found(garden):
    garden.save_beliefs([belief("A", MIDNIGHT - k * DAY, k) for k in range(5)])
    found = garden.belief("a", MIDNIGHT - DAY)
    assert (found.tree, found.midnight, found.digest) == ("a", MIDNIGHT - DAY, "d1")
    np.testing.assert_array_equal(found.numbers["water"], np.full((2, 3), 1.0))
    assert garden.belief("a", MIDNIGHT - 9 * DAY) is None
    assert garden.belief("b", MIDNIGHT) is None
    assert [d for _, d in garden.belief_digests("A")] == ["d4", "d3", "d2", "d1", "d0"]


def test_beliefs_are_dropped_after_an_instant(garden):
    garden.save_beliefs([belief(t, MIDNIGHT - k * DAY, k) for t in "ab" for k in range(3)])
    garden.drop_beliefs("A", after=MIDNIGHT - 2 * DAY)
    assert [len(garden.belief_digests(t)) for t in "ab"] == [1, 3]
    garden.drop_beliefs(after=MIDNIGHT - DAY)
    assert [len(garden.belief_digests(t)) for t in "ab"] == [1, 2]
    garden.drop_beliefs()
    assert [len(garden.belief_digests(t)) for t in "ab"] == [0, 0]


def test_old_beliefs_are_thinned_to_one_a_week(garden):
    garden.save_beliefs([belief("a", MIDNIGHT - k * DAY, k) for k in range(70)])
    garden.thin_beliefs(MIDNIGHT)
    kept = [midnight for midnight, _ in garden.belief_digests("a")]
    recent = [midnight for midnight in kept if midnight >= MIDNIGHT - 14 * DAY]
    assert len(recent) == 15
    assert 8 <= len(kept) - len(recent) <= 9
    garden.thin_beliefs(MIDNIGHT)
    assert [midnight for midnight, _ in garden.belief_digests("a")] == kept


def test_projections_are_replaced_by_tree(garden):
    for revision in (3, 4):
        garden.save_projections([Projection("A", NOW, 240, "d", revision, {"left": np.ones(2)})])
    found = garden.projections(["a", "b"])
    assert set(found) == {"a"}
    assert (found["a"].start_hour, found["a"].hours, found["a"].revision) == (NOW, 240, 4)
    assert found["a"].numbers["left"].tolist() == [1.0, 1.0]


def test_everything_derived_can_be_thrown_away_and_nothing_else(garden):
    before, revision = garden.knowledge(), garden.revision()
    garden.save_days(days("2026-07-01"), "x")
    garden.save_hours("wall", "x", *hours(0, 0.1))
    garden.save_beliefs([belief("a", MIDNIGHT)])
    garden.save_projections([Projection("a", NOW, 1, "d", 1, {})])
    garden.drop_derived()
    assert garden.days_digest() is garden.hours_digest("wall") is garden.belief("a", NOW) is None
    assert garden.projections(["a"]) == {}
    assert (garden.knowledge().places, garden.revision()) == (before.places, revision)


def test_several_parts_can_be_kept_in_one_go(garden):
    def stop_half_way():
        with garden.writing():
            garden.save_beliefs([belief("a", MIDNIGHT)])
            garden.save_days(days("2026-07-01"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        stop_half_way()
    assert garden.belief("a", NOW) is None
    assert len(garden.days(date(2026, 7, 1), date(2026, 7, 1))["date"]) == 0


def test_a_damaged_block_is_refused(garden):
    garden.save_beliefs([belief("a", MIDNIGHT)])
    garden._connection.execute("UPDATE belief SET numbers = ?", (pack({"x": np.ones(9)})[:-3],))
    with pytest.raises(Refused, match="damaged"):
        garden.belief("a", NOW)
    garden.drop_derived()
    assert garden.belief("a", NOW) is None


def test_instants_of_beliefs_are_exact(garden):
    garden.save_beliefs([belief("a", from_seconds(FIRST - 7200))])
    assert garden.belief("a", NOW).midnight == MIDNIGHT - 2 * HOUR


def synchronous(garden):
    return garden._connection.execute("PRAGMA synchronous").fetchone()[0]


def test_what_can_be_worked_out_again_is_written_without_waiting_for_the_disk(garden):
    """All of it or nothing; what is told afterwards waits again (SQLite: 1 normal, 2 full)."""
    assert synchronous(garden) == 2
    with garden.deriving():
        assert synchronous(garden) == 1
        garden.save_days(days("2026-06-30"), "abc")
    assert synchronous(garden) == 2
    with pytest.raises(ZeroDivisionError):
        stopped(garden)
    assert synchronous(garden) == 2
    assert garden.days_digest() == "abc"


def stopped(garden):
    with garden.deriving():
        garden.save_days(days("2026-07-01"), "def")
        raise ZeroDivisionError


def test_derived_within_an_entry_is_as_safe_as_the_entry(garden):
    with garden.writing(), garden.deriving():
        assert synchronous(garden) == 2
        garden.save_days(days("2026-06-30"), "abc")
    assert garden.days_digest() == "abc"
