import pytest

from advisor.garden.naming import closest, fold, natural_key, unknown


@pytest.mark.parametrize(("typed", "same"), [
    ("South Bench", "south bench"), ("  south   bench ", "south bench"),
    ("AHORN GRÖSSE", "ahorn größe"), ("e\u0301rable", "\u00e9rable"),
])
def test_names_meet_without_regard_to_case(typed, same):
    assert fold(typed) == fold(same)


def test_labels_stand_as_people_count():
    labels = ["10", "2", "3b", "3a", "3", "pine 11", "pine 2", "A"]
    assert sorted(labels, key=natural_key) == ["2", "3", "3a", "3b", "10", "A", "pine 2", "pine 11"]


@pytest.mark.parametrize(("typed", "meant"), [("sout bench", "South bench"), ("zzz", None)])
def test_the_name_meant_is_found(typed, meant):
    assert closest(typed, ["South bench", "wall"]) == meant


def test_unknown_name_says_what_is_known_and_what_to_do():
    refusal = str(unknown("place", "wal", ["wall", "bench"], "Add it first."))
    assert refusal == ("place: 'wal'. Known: bench, wall. "
                       "Did you mean 'wall'? Add it first.")


def test_a_long_list_of_names_is_cut():
    assert unknown("tree", "x", [str(i) for i in range(30)], "").limit.endswith("6, 7, …")


def test_nothing_known_is_said():
    assert unknown("mix", "x", [], "Add it.").limit == "no mix is known yet"
