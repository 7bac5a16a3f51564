"""Moves, foliage, tipped pots, trees that are gone."""

import pytest

from advisor.garden.records import Event


def kinds(garden, label):
    return [(event.kind, event.amount) for event in garden.knows().events[label]]


def test_trees_are_moved_with_exceptions(garden):
    assert garden.tell("moved", "all", "--but", "10", "--to", "WALL", "--at", "2026-06-30") == (
        "Moved 2 and 3 (2 trees) to wall, 30 June 2026, 12:00.\n")
    assert list(garden.knows().trees) == ["10", "2", "3"]  # the walk follows the places


def test_an_unknown_place_is_refused(garden):
    assert "Did you mean 'wall'?" in garden.refused("moved", "2", "--to", "wal")
    assert "--to" in garden.misused("moved", "2")


def test_what_is_seen_of_the_leaves_is_entered(garden):
    assert garden.tell("foliage", "2", "--bud-break", "--at", "2026-04-10") == (
        "Bud-break: 2, 10 April 2026, 12:00.\n")
    assert garden.tell("foliage", "2", "--full-leaf", "--at", "2026-05-20") == (
        "In full leaf: 2, 20 May 2026, 12:00.\n")
    assert garden.tell("foliage", "2,3", "--off", "Half") == (
        "Foliage taken off: 2 and 3 (2 trees), half of it, 1 July 2026, 07:00.\n")
    assert kinds(garden, "2") == [("bud-break", ""), ("full leaf", ""), ("foliage off", "half")]


@pytest.mark.parametrize(("first", "second"), [
    (("--bud-break", "2026-04-20"), ("--full-leaf", "2026-04-20")),
    (("--full-leaf", "2026-04-20"), ("--bud-break", "2026-05-01")),
])
def test_full_leaf_before_bud_break_is_refused(garden, first, second):
    garden.tell("foliage", "2", first[0], "--at", first[1])
    said = garden.refused("foliage", "2", second[0], "--at", second[1])
    assert said.startswith("full leaf of 2: 20 April 2026. Wanted: after its bud-break, ")


def test_last_year_s_full_leaf_does_not_contradict_this_year_s_bud_break(garden):
    garden.tell("foliage", "2", "--full-leaf", "--at", "2025-05-20")
    garden.tell("foliage", "2", "--bud-break", "--at", "2026-04-20")
    garden.tell("foliage", "2", "--leaf-fall", "--at", "2025-11-20")
    assert len(kinds(garden, "2")) == 3


@pytest.mark.parametrize("args", [(), ("--bud-break", "--leaf-fall"), ("--off", "half",
                                                                       "--full-leaf")])
def test_one_thing_is_told_of_the_foliage(garden, args):
    assert "Give one of --off, --bud-break" in garden.misused("foliage", "2", *args)


def test_a_share_of_foliage_that_is_no_word_is_refused(garden):
    assert "quarter, half, most, all" in garden.refused("foliage", "2", "--off", "70%")


def test_pots_are_tipped_and_set_level(garden):
    assert garden.tell("tipped", "wall", "--degrees", "15") == (
        "Tipped 3 by 15°, 1 July 2026, 07:00.\n")
    assert garden.tell("tipped", "wall", "--level", "--at", "07:00") == (
        "Set level 3, 1 July 2026, 07:00.\n")
    assert kinds(garden, "3") == [("tipped", "15"), ("tipped", "0")]


def test_a_pot_tipped_too_far_is_refused(garden):
    assert "0 to 45 °" in garden.refused("tipped", "3", "--degrees", "60")
    assert "Give one of --degrees, --level." in garden.misused("tipped", "3")


def test_a_tree_that_is_gone_is_left_out_from_then_on(garden):
    assert garden.tell("gone", "10", "--at", "2026-06-01") == "Gone: 10, 1 June 2026, 12:00.\n"
    assert garden.knows().events["10"][0].kind == "gone"
    assert garden.tell("watered", "south bench").startswith("Watered 2, ")
    assert garden.tell("watered", "south bench", "--at", "2026-05-01T07:00").startswith(
        "Watered 2 and 10 ")
    assert "a tree that is still here" in garden.refused("watered", "10")


def test_an_event_is_kept_at_its_instant(garden):
    garden.tell("foliage", "3", "--off", "most", "--at", "2026-07-01T06:00")
    (event,) = garden.knows().events["3"]
    assert event == Event("3", event.at, "foliage off", "most")
    assert event.at.isoformat() == "2026-07-01T04:00:00+00:00"


def test_trees_are_fed_and_frozen_nights_are_told(garden):
    assert garden.tell("fed", "south bench", "--at", "2026-06-30") == (
        "Fed 2 and 10 (2 trees), 30 June 2026, 12:00.\n")
    assert garden.tell("frozen", "all", "--but", "3", "--at", "2026-04-02T07:00") == (
        "Frozen overnight: 2 and 10 (2 trees), 2 April 2026, 07:00.\n")
    assert kinds(garden, "2") == [("frozen night", ""), ("fed", "")]
    assert kinds(garden, "3") == []


def test_a_tree_that_is_gone_says_since_when(garden):
    garden.tell("gone", "10", "--at", "2026-06-01")
    assert "'10' is gone since 1 June 2026" in garden.refused("watered", "10")


@pytest.mark.parametrize("kind", ["--leaf-fall", "--full-leaf"])
def test_an_evergreen_is_never_bare(garden, kind):
    said = garden.refused("foliage", "south bench", kind)
    assert said.endswith("of 10: evergreen. Wanted: a tree that is bare in winter. "
                         "Leave these out with --but 10.")
    garden.tell("foliage", "south bench", "--but", "10", kind)
    garden.tell("foliage", "10", "--bud-break")
