"""What is told is kept, corrected, undone and read back."""

import dataclasses
from datetime import UTC, datetime, timedelta

import pytest
from garden.told import (
    BENCH,
    DAY,
    MIX,
    NOW,
    POTTED,
    SITE,
    WALL,
    gardens,
    pot,
    start,
    two_trees,
    water,
)
from hypothesis import given, settings

from advisor.errors import Refused
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
from advisor.garden.store import READINGS_BEFORE, Garden


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db", *two_trees()) as garden:
        yield garden


def add(garden, *records, at=NOW, words="told"):
    with garden.entry(at, words) as entry:
        for record in records:
            entry.add(record)
        return entry.id


def stop_half_way(garden):
    with garden.entry(NOW, "stopped") as entry:
        entry.add(Watering("2", NOW))
        raise ZeroDivisionError


def test_everything_told_is_read_back(garden):
    known = garden.knowledge()
    assert known.site == SITE
    assert known.places == {"wall": WALL, "south bench": BENCH}
    assert known.mixes == {MIX.name: MIX}
    assert known.pottings["10"] == (pot("10"),)
    assert known.moves["2"] == (Move("2", POTTED, "south bench"),)


@settings(max_examples=40, deadline=None)
@given(gardens())
def test_any_records_come_back_as_told(tmp_path_factory, told):
    with start(tmp_path_factory.mktemp("g") / "garden.db") as garden:
        add(garden, *told)
        known = garden.knowledge()
        back = [*known.trees.values(), *(p for each in known.pottings.values() for p in each),
                *(m for each in known.moves.values() for m in each)]
    assert sorted(map(repr, back)) == sorted(map(repr, told))


def test_trees_stand_in_walking_order(garden):
    add(garden, Tree("1", "oak"), Move("1", POTTED, "wall"), Tree("0", "elm"))
    assert list(garden.knowledge().trees) == ["1", "2", "10", "0"]
    assert list(garden.knowledge().places) == ["wall", "south bench"]


def test_a_later_row_replaces_and_undo_brings_the_former_back(garden):
    before = garden.knowledge()
    add(garden, dataclasses.replace(BENCH, shade=0.3), Tree("2", "hornbeam"),
        pot("2", root_work="half bare"), words="corrected 2")
    after = garden.knowledge()
    assert after.places["south bench"].shade == 0.3
    assert after.trees["2"].group == "hornbeam"
    assert [p.root_work for p in after.pottings["2"]] == ["half bare"]
    assert garden._rows("SELECT count(*) FROM tree WHERE label = '2'") == [(2,)]
    undone = garden.undo(NOW)
    assert (undone.words, undone.undone_at) == ("corrected 2", NOW)
    again = garden.knowledge()
    assert (again.places, again.trees, again.pottings) == (
        before.places, before.trees, before.pottings)


def test_names_meet_without_regard_to_case_and_stand_as_typed_last(garden):
    add(garden, Place("South Bench", position=1), Watering("2", NOW, 1.0), Tree("Ä", "oak"))
    add(garden, Tree("ä", "oak"), Move("Ä", NOW, "SOUTH BENCH"), Rounds("summer", ("06:30",)))
    known = garden.knowledge()
    assert "South Bench" in known.places
    assert "south bench" not in known.places
    assert known.moves["2"][0].place == "South Bench"
    assert known.moves["ä"] == (Move("ä", NOW, "South Bench"),)
    assert known.place_of("2") == known.places["South Bench"]


def test_rounds_are_as_told_else_as_by_default(garden):
    add(garden, Rounds("summer", ("06:30", "20:00")))
    rounds = garden.knowledge().rounds
    assert rounds["summer"].times == ("06:30", "20:00")
    assert rounds["winter"].weekdays == ("sat",)
    assert list(rounds) == ["spring", "summer", "autumn", "winter"]


def test_what_happens_later_does_not_count(garden):
    later = NOW + DAY
    water(garden, "2", NOW)
    add(garden, Watering("2", later, 1.0), Move("2", later, "wall"), pot("2", later),
        Event("2", later, "fed"), at=later)
    then, now = garden.knowledge(NOW), garden.knowledge()
    assert [w.at for w in then.waterings["2"]] == [NOW]
    assert then.events["2"] == ()
    assert then.place_of("2") == BENCH
    assert now.place_of("2") == WALL
    assert now.place_of("2", NOW) == BENCH
    assert now.potting_of("2", NOW) == then.potting_of("2")
    assert now.potting_of("2", POTTED - DAY) is None
    assert then.entry_times == (POTTED, NOW)
    assert now.entry_times == (POTTED, NOW, later)


def test_waterings_before_an_instant_can_be_left_out(garden):
    for days in (3, 2, 1):
        water(garden, "2", NOW - days * DAY)
    known = garden.knowledge(NOW, since=NOW - 2 * DAY)
    assert [w.at for w in known.waterings["2"]] == [NOW - 2 * DAY, NOW - DAY]
    assert known.pottings["2"]
    with pytest.raises(ValueError, match="without `since`"):
        known.digest("2", NOW)


READ = [Reading("2", NOW, "dry depth", 30.0, "skewer", sd=2.0), Reading("2", NOW, "weight", 6.42),
        Reading("2", NOW, "feel", word="moist", depth_mm=20.0),
        Reading("2", NOW, "lift", word="light"),
        Reading("2", NOW, "rain under", 3.0, since=NOW - DAY, note="thin crown")]


def test_readings_come_back_as_they_were_told(garden):
    add(garden, *READ)
    known = garden.knowledge()
    assert known.readings["2"] == tuple(READ)
    assert known.readings["10"] == ()
    assert len(known.row_ids["2"].readings) == len(READ)
    garden.undo(NOW)
    assert garden.knowledge().readings["2"] == ()


def test_readings_and_walks_count_up_to_their_instant(garden):
    add(garden, READ[1], Walk(NOW + DAY), at=NOW + DAY)
    assert garden.knowledge(NOW - DAY).readings["2"] == ()
    assert garden.knowledge(NOW).entry_times == (POTTED, NOW)
    assert garden.knowledge().entry_times == (POTTED, NOW, NOW + DAY)
    garden.undo(NOW + DAY)
    assert garden.knowledge().entry_times == (POTTED,)


def test_readings_reach_further_back_than_waterings_where_earlier_ones_are_left_out(garden):
    instants = [NOW - READINGS_BEFORE - timedelta(hours=1), NOW - READINGS_BEFORE, NOW - DAY]
    add(garden, *(Reading("2", at, "weight", 6.4) for at in instants))
    known = garden.knowledge(since=NOW)
    assert [each.at for each in known.readings["2"]] == instants[1:]
    assert len(garden.knowledge().readings["2"]) == 3


def test_a_reading_keeps_its_potting(garden):
    add(garden, Tree("7", "oak"))
    potted = add(garden, pot("7"))
    add(garden, Reading("7", NOW, "weight", 6.4))
    with pytest.raises(Refused, match=r"no later one rests \(7\)"):
        garden.undo(NOW, potted)


def test_a_tree_that_is_gone_is_read_again_once_that_is_taken_back(garden):
    add(garden, Event("2", NOW - DAY, "gone"))
    with pytest.raises(Refused, match="not after it was gone"):
        add(garden, READ[1])
    garden.undo(NOW)
    add(garden, READ[1])
    assert garden.knowledge().readings["2"] == (READ[1],)


def test_instants_are_kept_in_utc_to_the_second(garden):
    zone = datetime.fromisoformat("2026-07-01T06:59:59.75+02:00")
    water(garden, "2", zone)
    assert garden.knowledge().waterings["2"][0].at == datetime(2026, 7, 1, 4, 59, 59, tzinfo=UTC)
    assert garden.knowledge().waterings["2"][0].at.tzinfo is UTC


def test_an_entry_is_kept_whole_or_not_at_all(garden):
    revision, entries = garden.revision(), garden.entries()
    with pytest.raises(Refused, match="tree: '99'"):
        add(garden, Watering("2", NOW), Watering("99", NOW))
    with pytest.raises(ZeroDivisionError):
        stop_half_way(garden)
    assert garden.knowledge().waterings["2"] == ()
    assert (garden.revision(), garden.entries()) == (revision, entries)


def test_entries_are_listed_with_the_undone_ones(garden):
    first, second = water(garden, "2", NOW - DAY), water(garden, "10", NOW)
    garden.undo(NOW + DAY)
    assert [e.id for e in garden.entries(limit=2)] == [second, first]
    assert garden.entries(limit=1)[0].undone_at == NOW + DAY
    assert garden.entries(limit=1, include_undone=False)[0].id == first
    assert garden.entries(limit=1)[0].words == "watered 10"


def test_undo_takes_the_last_that_counts_then_the_one_before(garden):
    first, second = water(garden, "2", NOW - DAY), water(garden, "2", NOW)
    assert [garden.undo(NOW).id, garden.undo(NOW).id] == [second, first]
    assert garden.knowledge().waterings["2"] == ()


def test_one_entry_can_be_undone_by_its_number(garden):
    first, _ = water(garden, "2", NOW - DAY), water(garden, "2", NOW)
    garden.undo(NOW, first)
    assert [w.at for w in garden.knowledge().waterings["2"]] == [NOW]
    with pytest.raises(Refused, match="taken back already"):
        garden.undo(NOW, first)
    with pytest.raises(Refused, match="an entry that was made"):
        garden.undo(NOW, 999)


def test_what_others_rest_on_is_not_undone(garden):
    revision = garden.revision()
    described = garden.entries(include_undone=False)[0].id
    add(garden, Place("shade"), words="added shade")
    shade = garden.entries()[0].id
    add(garden, Move("2", NOW, "shade"))
    with pytest.raises(Refused, match=r"no later one rests \(shade\)"):
        garden.undo(NOW, shade)
    assert "shade" in garden.knowledge().places
    garden.undo(NOW)
    garden.undo(NOW, shade)
    repotted = add(garden, Tree("7", "oak"), pot("7"))
    water(garden, "7", NOW)
    with pytest.raises(Refused, match=r"no later one rests \(7\)"):
        garden.undo(NOW, repotted)
    assert garden.revision() > revision
    assert described < repotted


def test_a_watering_keeps_its_potting(garden):
    add(garden, Tree("7", "oak"))
    potted = add(garden, pot("7"))
    water(garden, "7", NOW)
    with pytest.raises(Refused, match=r"no later one rests \(7\)"):
        garden.undo(NOW, potted)


def test_the_garden_itself_is_not_undone(tmp_path):
    with Garden.create(tmp_path / "g.db", SITE, NOW) as garden, pytest.raises(
            Refused, match="an entry made since"):
        garden.undo(NOW)


def test_undoing_may_free_a_name(garden):
    add(garden, Place("oak corner"))
    garden.undo(NOW)
    add(garden, Tree("oak corner", "oak"))
    assert "oak corner" in garden.knowledge().trees


def test_revision_grows_with_every_entry_and_undo(garden):
    seen = [garden.revision()]
    water(garden, "2", NOW)
    seen.append(garden.revision())
    garden.undo(NOW)
    seen.append(garden.revision())
    water(garden, "2", NOW)
    seen.append(garden.revision())
    assert seen == sorted(set(seen))


def test_digest_changes_only_with_what_was_told_before_it(garden):
    water(garden, "2", NOW - 2 * DAY)
    midnight = NOW - DAY
    first = garden.knowledge().digest("2", midnight)
    water(garden, "10", NOW - 3 * DAY)
    water(garden, "2", NOW)
    water(garden, "2", midnight)  # the midnight itself belongs to the day that follows
    add(garden, Place("shade"), Mix("other", MIX.parts))
    assert garden.knowledge().digest("2", midnight) == first
    assert garden.knowledge(midnight).digest("2", midnight) == first
    add(garden, dataclasses.replace(BENCH, shade=0.2), words="shaded")
    shaded = garden.knowledge().digest("2", midnight)
    garden.undo(NOW)
    assert garden.knowledge().digest("2", midnight) == first != shaded


@pytest.mark.parametrize("change", [
    Watering("2", NOW - 2 * DAY), Event("2", NOW - 2 * DAY, "fed"), Tree("2", "oak"),
    Reading("2", NOW - 2 * DAY, "weight", 6.4),
    Move("2", NOW - 2 * DAY, "wall"), pot("2", NOW - 2 * DAY),
    dataclasses.replace(MIX, measured_density_kgl=0.7), dataclasses.replace(SITE, elevation_m=41.0),
], ids=lambda record: type(record).__name__)
def test_digest_changes_with_each_kind_of_record(garden, change):
    before = garden.knowledge()
    add(garden, change)
    after = garden.knowledge()
    assert after.digest("2", NOW) != before.digest("2", NOW)
    touches_all = isinstance(change, (Mix, type(SITE)))
    assert (after.digest("10", NOW) != before.digest("10", NOW)) == touches_all


def test_a_snapshot_does_not_see_what_is_written_meanwhile(garden):
    with Garden.open(garden.path) as other, garden.snapshot():
        assert garden.knowledge().waterings["2"] == ()
        water(other, "2", NOW)
        assert garden.knowledge().waterings["2"] == ()
        with pytest.raises(RuntimeError, match="only reads"), garden.writing():
            pass
    assert len(garden.knowledge().waterings["2"]) == 1


def test_a_snapshot_ends_when_its_block_fails(garden):
    with pytest.raises(ZeroDivisionError), garden.snapshot():
        raise ZeroDivisionError
    water(garden, "2", NOW)
    assert len(garden.knowledge().waterings["2"]) == 1


def test_a_garden_of_many_waterings_is_read_in_order(garden):
    add(garden, *(Watering("2", NOW - timedelta(hours=(7 * k) % 97), 0.1) for k in range(97)))
    instants = [w.at for w in garden.knowledge().waterings["2"]]
    assert instants == sorted(instants)
    assert len(instants) == 97
