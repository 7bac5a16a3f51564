import pytest

from advisor.cli.choose import choose_trees
from advisor.errors import Refused


@pytest.mark.parametrize(("who", "but", "chosen"), [
    (["3"], [], ["3"]),
    (["south bench"], [], ["2", "10"]),
    (["SOUTH  Bench"], ["10"], ["2"]),
    (["wall", "3", "10"], [], ["10", "3"]),
    (["10,2"], [], ["2", "10"]),
    (["all"], [], ["2", "10", "3"]),
    (["all"], ["2,3"], ["10"]),
    (["all"], ["wall", "2"], ["10"]),
])
def test_trees_are_named_by_label_or_place_once_and_in_walking_order(garden, who, but, chosen):
    assert choose_trees(garden.knows(), who, but) == chosen


@pytest.mark.parametrize(("who", "but", "said"), [
    (["wal"], [], "Did you mean 'wall'?"),
    (["99"], [], "Known: 2, 3, 10, south bench, wall"),
    (["wall"], ["2"], "exception: '2'. Wanted: one of the trees meant"),
    (["all"], ["11"], "tree or place: '11'"),
    (["wall"], ["3"], "trees: wall. Wanted: at least one tree"),
])
def test_names_that_mean_nothing_are_refused(garden, who, but, said):
    with pytest.raises(Refused) as refused:
        choose_trees(garden.knows(), who, but)
    assert said in str(refused.value)


def test_a_place_where_nothing_stands_is_refused(garden):
    garden.tell("moved", "3", "--to", "south bench")
    with pytest.raises(Refused, match="a place where a tree stands"):
        choose_trees(garden.knows(), ["wall"])


def test_a_place_means_the_trees_that_stood_there_then(garden):
    garden.tell("moved", "3", "--to", "south bench", "--at", "2026-06-01T08:00")
    told = garden.tell("watered", "wall", "--at", "2026-05-01T08:00")
    assert told == "Watered 3, until it ran below, 1 May 2026, 08:00.\n"


def test_a_place_with_a_comma_is_one_place(garden):
    garden.tell("add", "place", "shade, north")
    garden.tell("moved", "3", "--to", "shade, north")
    assert choose_trees(garden.knows(), ["shade, north"]) == ["3"]


def test_a_name_that_one_tree_has_stands_for_its_label_and_labels_win(garden):
    for label, name in (("10", "Ernst"), ("2", "3"), ("3", "Old Larch")):
        garden.tell("add", "tree", label, "--name", name)
    assert choose_trees(garden.knows(), ["ernst"]) == ["10"]
    assert choose_trees(garden.knows(), ["3"]) == ["3"]
    garden.tell("add", "tree", "2", "--name", "old larch")
    with pytest.raises(Refused, match="tree or place: 'Old Larch'"):
        choose_trees(garden.knows(), ["Old Larch"])
