"""Every rule refuses its case, and says what would do."""

from dataclasses import replace
from datetime import timedelta

import pytest
from garden.told import BENCH, DAY, MIX, NOW, POTTED, SITE, WALL, pot

from advisor.errors import Refused
from advisor.garden.records import Event, Mix, Move, Place, Reading, Rounds, Tree, Walk, Watering
from advisor.garden.rules import Names, faults, resolved

NAN = float("nan")
PINE = Tree("2", "pine")


def read(kind, value=None, word="", **told):
    return Reading(**{"tree": "2", "at": NOW, "kind": kind, "value": value, "word": word} | told)


UNDER = {"since": NOW - DAY}


@pytest.fixture
def names():
    names = Names()
    for record in (BENCH, WALL, MIX, PINE, pot("2")):
        names.learn(record)
    return names


GOOD = [
    SITE, BENCH, WALL, MIX, PINE, pot("2"), Move("2", NOW, "wall"), Watering("2", NOW),
    Watering("2", NOW, 2.0, until_ran=False), Event("2", NOW, "fed"),
    Event("2", NOW, "foliage off", "half"), Event("2", NOW, "tipped", "0"),
    Rounds("winter", ("10:00",), ("sat",)), Rounds("Summer", ("07:00",)),
    pot("2", outside_mm=None, litres=2.0, soil_depth_mm=50.0),
    pot("2", outside_mm=None, inside_mm=(300.0, 200.0), soil_depth_mm=50.0),
    pot("2", ball_mix=MIX.name, ball_share=0.3), Watering("2", NOW + timedelta(seconds=30)),
    replace(MIX, measured_capacity=0.45, measured_depth_mm=60.0),
    Event("2", NOW, "frozen night"), Walk(NOW),
    read("dry depth", 0.0, "skewer"), read("dry depth", 60.0, "finger", sd=2.0),
    read("weight", 6.42, note="windy"), read("run-off", 1.5, "did not run"),
    read("feel", word="moist", depth_mm=20.0), read("lift", word="light"),
    read("enters", word="stands"), read("leaves", word="hanging"),
    read("rain under", 0.0, **UNDER),
]
BAD = [
    (replace(SITE, latitude_deg=91.0), "latitude_deg", "-90 to 90"),
    (replace(SITE, longitude_deg=NAN), "longitude_deg", "-180 to 180"),
    (replace(SITE, time_zone="Europe/Berlim"), "time_zone", "Did you mean 'Europe/Berlin'"),
    (replace(SITE, time_zone="../etc"), "time_zone", "continent/city"),
    (Place(" "), "name", "at least one"),
    (Place("two\nlines"), "name", "one line"),
    (Place("bench "), "name", "no blanks"),
    (Place("x" * 81), "name", "at most 80"),
    (Place("\ud800"), "name", "one line"),
    (Place("2"), "name", "a name no tree has"),
    (replace(BENCH, position=-1), "position", "0 to 9999"),
    (replace(BENCH, position=1.5), "position", "whole number"),
    (replace(BENCH, wind="opn"), "wind", "Did you mean 'open'"),
    (replace(BENCH, ground="sea"), "ground", "lawn, earth"),
    (replace(BENCH, rain_factor=1.1), "rain_factor", "0 to 1"),
    (replace(BENCH, shade="dark"), "shade", "a number"),
    (replace(BENCH, sun_june=(15.0, 9.0)), "sun_june", "before"),
    (replace(BENCH, sun_june=(9.0, 25.0)), "sun_june", "0 to 24"),
    (replace(BENCH, horizon=((361.0, 5.0),)), "horizon", "0 to 360"),
    (replace(BENCH, horizon=((10.0, 95.0),)), "horizon", "0 to 90"),
    (Mix("", MIX.parts), "name", "at least one"),
    (Mix("m", ()), "parts", "1 within 0.005"),
    (Mix("m", (("akadama", 0.5), ("lava", 0.49))), "parts", "0.990 in all"),
    (Mix("m", (("akadama", 1.5), ("lava", -0.5))), "parts", "0 to 1"),
    (Mix("m", (("lava", 0.5), ("Lava", 0.5))), "parts", "named twice"),
    (replace(MIX, measured_capacity=0.4), "measured_capacity", "both or neither"),
    (replace(MIX, measured_density_kgl=600.0), "measured_density_kgl", "kg/L"),
    (Tree("", "pine"), "label", "at least one"),
    (Tree("3,4", "pine"), "label", "no comma in it"),
    (Tree("wall", "pine"), "label", "a name no place has"),
    (Tree("3", ""), "group", "at least one"),
    (replace(PINE, name=" "), "name", "at least one"),
    (replace(PINE, crown_width_cm=0.5), "crown_width_cm", "1 to 600 cm"),
    (replace(PINE, crown_depth_cm=NAN), "crown_depth_cm", "1 to 600 cm"),
    (replace(PINE, density="thick"), "density", "see-through, medium, dense"),
    (replace(PINE, bears="ordinry"), "bears", "Did you mean 'ordinary'"),
    (replace(PINE, limit=30.0), "limit", "0 to 1"),
    (replace(PINE, chance=-0.1), "chance", "0 to 1"),
    (pot("3"), "tree", "Did you mean '2'|Known: 2"),
    (pot("2", NOW + DAY), "at", "not after"),
    (pot("2", POTTED.replace(year=1826)), "at", "not before 1900"),
    (pot("2", POTTED.replace(tzinfo=None)), "at", "time zone"),
    (pot("2", mix="thrid each"), "mix", "Did you mean 'third each'"),
    (pot("2", ball_mix="clay", ball_share=0.5), "ball_mix", "add mix"),
    (pot("2", outside_mm=None), "outside_mm", "not told"),
    (pot("2", litres=2.0), "litres", "told twice"),
    (pot("2", outside_mm=None, litres=2.0), "soil_depth_mm", "Push a skewer"),
    (pot("2", outside_mm=None, litres=0.0, soil_depth_mm=50.0), "litres", "0.005 to 1000 L"),
    (pot("2", soil_depth_mm=90.0), "soil_depth_mm", "at most 60 mm"),
    (pot("2", outside_mm=(350.0, 2.0, 60.0)), "outside_mm", "pot width"),
    (pot("2", form="tub"), "form", "small pot"),
    (pot("2", outline="ovl"), "outline", "Did you mean 'oval'"),
    (pot("2", wall="glass"), "wall", "closed"),
    (pot("2", condition="old"), "condition", "grains"),
    (pot("2", dressing="bark"), "dressing", "moss"),
    (pot("2", enters="sink"), "enters", "Did you mean 'sinks'"),
    (pot("2", root_work="cut"), "root_work", "all bare"),
    (pot("2", base_share=0.0), "base_share", "0.2 to 1.5"),
    (pot("2", mound_mm=-1.0), "mound_mm", "0 to 400"),
    (pot("2", drainage_mm=400.0), "drainage_mm", "0 to 300"),
    (pot("2", drainage_grain_mm=0.1), "drainage_grain_mm", "0.5 to 60"),
    (pot("2", rock_share=2.0), "rock_share", "rock share"),
    (pot("2", ball_mix=MIX.name), "ball_share", "both or neither"),
    (pot("2", ball_share=0.3), "ball_share", "both or neither"),
    (pot("2", target_mm=1.0), "target_mm", "3 to 300"),
    (pot("2", recovery_days=0), "recovery_days", "1 to 1500"),
    (pot("2", recovery_days=2.5), "recovery_days", "whole number"),
    (Move("2", NOW, "wal"), "place", "Did you mean 'wall'"),
    (Watering("2", NOW + 2 * timedelta(minutes=1)), "at", "not after"),
    (Watering("2", POTTED - DAY), "at", "not before it stood in a pot"),
    (Watering("2", NOW, 0.0), "litres", "0.001 to 500 L"),
    (Watering("2", NOW, None, until_ran=False), "litres", "until it ran"),
    (Event("2", NOW, "fd"), "kind", "Did you mean 'fed'"),
    (Event("2", NOW, "foliage off", "some"), "amount", "quarter, half"),
    (Event("2", NOW, "tipped", "steep"), "amount", "0 to 45"),
    (Event("2", NOW, "tipped", "60"), "amount", "0 to 45"),
    (Event("2", NOW, "fed", "much"), "amount", "nothing to add"),
    (Walk(NOW + DAY), "at", "not after"),
    (read("wieght", 6.4), "kind", "Did you mean 'weight'"),
    (read("weight"), "value", "its number"),
    (read("weight", 0.0), "value", "0.02 to 300 kg"),
    (read("weight", NAN), "value", "0.02 to 300 kg"),
    (read("weight", 64.2), "value", "at most 27 kg"),
    (read("weight", 6.4, "heavy"), "word", "no word beside it"),
    (read("weight", 6.4, depth_mm=3.0), "depth_mm", "no depth beside it"),
    (read("weight", 6.4, sd=0.0), "sd", "more than 0"),
    (read("weight", 6.4, sd=NAN), "sd", "more than 0"),
    (read("weight", 6.4, note=" windy"), "note", "no blanks"),
    (read("weight", 6.4, at=NOW + DAY), "at", "not after"),
    (read("weight", 6.4, at=POTTED - DAY), "at", "not before it stood in a pot"),
    (read("weight", 6.4, tree="3"), "tree", "Did you mean '2'|Known: 2"),
    (read("dry depth", 30.0), "word", "its word"),
    (read("dry depth", 30.0, "nail"), "word", "skewer, finger"),
    (read("dry depth", -1.0, "skewer"), "value", "0 to 60 mm"),
    (read("dry depth", 61.0, "skewer"), "value", "0 to 60 mm"),
    (read("dry depth", NAN, "skewer"), "value", "0 to 60 mm"),
    (read("feel", word="moist"), "depth_mm", "its depth"),
    (read("feel", word="damp", depth_mm=20.0), "word", "wet, moist, dry"),
    (read("feel", word="moist", depth_mm=70.0), "depth_mm", "0 to 60 mm"),
    (read("lift", word="light", sd=1.0), "sd", "a reading in numbers"),
    (read("lift", word="lihgt"), "word", "Did you mean 'light'"),
    (read("run-off", 0.0, "ran"), "value", "0.001 to 500 L"),
    (read("run-off", 1.0, "runs"), "word", "did not run"),
    (read("enters", word="sink"), "word", "Did you mean 'sinks'"),
    (read("leaves", word="brown"), "word", "hanging, dropping"),
    (read("rain under", 3.0), "since", "its start"),
    (read("rain under", -3.0, **UNDER), "value", "0 to 1900 mm"),
    (read("rain under", 3.0, since=NOW), "since", "before 1 July 2026"),
    (read("rain under", 3.0, since=NOW - 46 * DAY), "since", "at most 45 days"),
    (read("rain under", 3.0, since=NOW.replace(tzinfo=None)), "since", "time zone"),
    (Rounds("sumer", ("07:00",)), "season", "Did you mean 'summer'"),
    (Rounds("summer", ()), "times", "none"),
    (Rounds("summer", ("7:00",)), "times", "Give it as 07:00"),
    (Rounds("summer", ("24:00",)), "times", "00:00 to 23:59"),
    (Rounds("summer", ("19:00", "07:00")), "times", "in order"),
    (Rounds("summer", ("07:00",), ()), "weekdays", "none"),
    (Rounds("summer", ("07:00",), ("sat", "sat")), "weekdays", "each once"),
    (Rounds("summer", ("07:00",), ("Saturday",)), "weekdays", "mon, tue"),
]


@pytest.mark.parametrize("record", GOOD, ids=lambda record: type(record).__name__)
def test_good_records_pass(names, record):
    assert list(faults(record, names, NOW)) == []


@pytest.mark.parametrize(("record", "field", "says"), BAD)
def test_bad_records_are_refused_by_field(names, record, field, says):
    found = [str(fault.refusal) for fault in faults(record, names, NOW) if fault.field == field]
    assert any(each in refusal for refusal in found for each in says.split("|"))
    with pytest.raises(Refused):
        resolved(record, names, NOW)


def test_every_fault_of_a_record_is_given(names):
    bad = pot("2", mix="x", form="y", wall="z", litres=1.0)
    assert [f.field for f in faults(bad, names, NOW)] == ["mix", "form", "wall", "litres"]


def test_a_tree_without_a_pot_is_not_watered(names):
    names.learn(Tree("5", "oak"))
    assert [str(f.refusal) for f in faults(Watering("5", NOW), names, NOW)] == [
        "watering of 5: 1 July 2026, 05:00. Wanted: a tree in a pot, and no potting is known. "
        "Say first what it stands in: `advisor repotted`."]


def test_a_reading_is_held_to_the_pot_of_its_day(names):
    names.learn(pot("2", NOW - 10 * DAY, soil_depth_mm=30.0))
    deep = read("dry depth", 50.0, "skewer", at=NOW - 20 * DAY)
    assert list(faults(deep, names, NOW)) == []
    (fault,) = faults(replace(deep, at=NOW), names, NOW)
    assert "0 to 30 mm" in str(fault.refusal)
    names.learn(pot("2", NOW - 10 * DAY, soil_depth_mm=55.0))  # corrected
    assert list(faults(replace(deep, at=NOW), names, NOW)) == []


def test_a_tree_that_was_given_away_is_not_read(names):
    names.learn(Event("2", NOW - DAY, "gone"))
    (fault,) = faults(read("weight", 6.4), names, NOW)
    assert (fault.field, "not after it was gone, 30 June 2026" in str(fault.refusal)) == (
        "tree", True)
    assert list(faults(read("weight", 6.4, at=NOW - 2 * DAY), names, NOW)) == []


def test_references_take_the_spelling_in_use(names):
    assert resolved(Move("2", NOW, "South  BENCH"), names, NOW).place == "south bench"
    assert resolved(pot("2", mix="THIRD EACH"), names, NOW).mix == MIX.name
    assert resolved(Rounds("Summer", ("07:00",)), names, NOW).season == "summer"


def test_new_names_stand_as_typed(names):
    assert resolved(Place("SOUTH bench"), names, NOW).name == "SOUTH bench"


def test_an_earlier_potting_allows_earlier_waterings(names):
    names.learn(pot("2", POTTED - 10 * DAY))
    assert list(faults(Watering("2", POTTED - DAY), names, NOW)) == []
