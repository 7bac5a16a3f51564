import sys
from datetime import timedelta
from types import ModuleType

import pytest

from advisor.garden.records import Watering


@pytest.fixture
def round_lists(monkeypatch):
    """Stand in for the round: it lists what the test says, and notes what it was asked."""
    asked = []

    def lists(*listed):
        module = ModuleType("advisor.cli.morning")
        module.listed_now = lambda garden, at: asked.append(at) or list(listed)
        monkeypatch.setitem(sys.modules, "advisor.cli.morning", module)
        return asked

    return lists


def waterings(garden):
    return [each for told in garden.knows().waterings.values() for each in told]


def test_a_bench_but_some_is_watered_until_it_ran(garden):
    garden.tell("moved", "3", "--to", "south bench", "--at", "2026-06-01")
    assert garden.tell("watered", "south bench", "--but", "10") == (
        "Watered 2 and 3 (2 trees), until it ran below, 1 July 2026, 07:00.\n")
    assert waterings(garden) == [Watering("2", garden.now), Watering("3", garden.now)]


def test_litres_are_given_to_each(garden):
    assert garden.tell("watered", "all", "--litres", "750mL", "--at", "06:30") == (
        "Watered 2, 10 and 3 (3 trees), 0.75 L each, 1 July 2026, 06:30.\n")
    assert {(each.litres, each.until_ran) for each in waterings(garden)} == {(0.75, False)}


def test_litres_may_have_run_through_as_well(garden):
    told = garden.tell("watered", "2", "--litres", "2", "--until-ran")
    assert told == "Watered 2, 2.0 L, until it ran below, 1 July 2026, 07:00.\n"
    assert waterings(garden) == [Watering("2", garden.now, 2.0, True)]


def test_as_listed_enters_what_the_round_lists_then(garden, round_lists):
    asked = round_lists(("10", 1.25), ("3", 0.5))
    assert garden.tell("watered", "--as-listed") == (
        "Watered 10 and 3 (2 trees), 1.8 L in all, 1 July 2026, 07:00.\n")
    assert asked == [garden.now]
    assert waterings(garden) == [Watering("10", garden.now, 1.25, True),
                                 Watering("3", garden.now, 0.5, True)]


def test_as_listed_keeps_to_the_trees_meant(garden, round_lists):
    round_lists(("2", 1.0), ("10", 1.25), ("3", 0.5))
    garden.tell("watered", "south bench", "--but", "2", "--as-listed")
    assert [each.tree for each in waterings(garden)] == ["10"]


def test_nothing_listed_of_some_trees_is_nothing_entered(garden, round_lists):
    round_lists()
    before = garden.path.read_bytes()
    assert garden.tell("watered", "wall", "--as-listed") == (
        "Nothing is listed to be watered now; nothing entered.\n")
    assert garden.path.read_bytes() == before


def test_nothing_listed_of_the_whole_round_is_a_round_walked(garden, round_lists):
    round_lists()
    assert garden.tell("watered", "--as-listed") == (
        "Nothing is listed to be watered now.\n"
        "The round walked and nothing watered, 1 July 2026, 07:00.\n")
    assert garden.knows().entry_times[-1] == garden.now


def test_a_round_on_which_nothing_was_watered_is_told_and_undone(garden):
    before = garden.knows().entry_times
    assert garden.tell("watered", "--nothing", "--at", "06:30") == (
        "The round walked and nothing watered, 1 July 2026, 06:30.\n")
    assert garden.knows().entry_times == (*before, garden.now - timedelta(minutes=30))
    assert waterings(garden) == []
    garden.tell("undo")
    assert garden.knows().entry_times == before


def test_an_entry_ahead_of_the_clock_is_made_and_noted(garden):
    result = garden.run("watered", "2", "--at", "2026-08-01T07:00")
    assert result.exit_code == 0
    assert result.stderr == "Note: 1 August 2026, 07:00 lies ahead of this computer's clock.\n"
    assert garden.run("watered", "2").stderr == ""


@pytest.mark.parametrize(("args", "said"), [
    (("99",), "tree or place: '99'. Known: 2, 3, 10, south bench, wall"),
    (("soth bench",), "Did you mean 'south bench'?"),
    (("2", "--litres", "9000"), "at most 29.0 L, ten times its soil"),
    (("2", "--litres", "2kg"), "Known: L, l, mL, gal"),
    (("2", "--at", "2026-03-01T09:00"), "not before it stood in a pot, 15 March 2026, 12:00"),
    (("2", "--at", "2026-06-30"), "Add the time"),
])
def test_a_watering_that_cannot_be_is_refused(garden, args, said):
    assert said in garden.refused("watered", *args)


@pytest.mark.parametrize("args", [
    (), ("2", "--as-listed", "--litres", "1"), ("2", "--nothing"), ("--nothing", "--but", "2"),
    ("--nothing", "--as-listed"), ("--nothing", "--litres", "1"), ("--nothing", "--until-ran")])
def test_a_call_that_says_too_little_or_too_much_is_a_usage_error(garden, args):
    garden.misused("watered", *args)


def test_litres_that_no_pot_takes_are_refused(garden):
    assert garden.refused("watered", "2", "--litres", "100").startswith(
        "watering of 2: 100 L. Wanted: at most 29.0 L, ten times its soil. ")
