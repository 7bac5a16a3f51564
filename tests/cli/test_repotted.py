import pytest

from advisor.garden.records import Potting


def last(garden, label):
    return garden.knows().pottings[label][-1]


def test_pot_and_mix_are_those_of_before_and_that_is_said(garden):
    told = garden.tell("repotted", "10", "--at", "2026-06-25").splitlines()
    assert told[0].startswith("10 black pine: 2.9 L of soil, 41 mm deep, holds 1.")
    assert told[1:] == [
        "As before: mix third and pot, 350 × 250 × 60 mm outside.",
        "Taken as default: roots edges combed, soil in grains, watered in.",
        "Let it dry to 16 mm before watering, until 6 August 2026."]
    assert last(garden, "10") == Potting(
        "10", last(garden, "10").at, "third", outside_mm=(350.0, 250.0, 60.0),
        root_work="edges combed")


def test_a_new_pot_takes_nothing_of_the_old_one_s_size(garden):
    garden.tell("add", "tree", "5", "--group", "pine", "--place", "wall", "--inside", "330x230",
                "--soil-depth", "60", "--base", "0.8", "--dressing", "moss", "--wall", "unglazed",
                "--condition", "gritty", "--potted", "2026-03-01")
    told = garden.tell("repotted", "5", "--outside", "40x30x9cm", "--roots", "half bare",
                       "--at", "2026-06-25")
    assert "As before: mix third and under moss." in told
    assert "Let it dry to 26 mm before watering" in told  # .40 of 64 mm
    assert last(garden, "5") == Potting(
        "5", last(garden, "5").at, "third", outside_mm=(400.0, 300.0, 90.0), dressing="moss",
        wall="unglazed", root_work="half bare")


def test_what_is_told_is_not_said_to_be_a_default(garden):
    garden.tell("add", "mix", "grit", "--part", "lava=100")
    told = garden.tell("repotted", "10", "--mix", "grit", "--outside", "400x300x90", "--roots",
                       "all bare", "--condition", "grains", "--not-watered-in", "--target", "30",
                       "--recovery-days", "60", "--collected")
    assert len(told.splitlines()) == 2
    assert "Let it dry to 30 mm before watering, until 30 August 2026." in told
    assert last(garden, "10").watered_in is False


def test_a_broad_leaved_tree_is_kept_evenly_damp(garden):
    assert "Keep it evenly damp until 12 August 2026: broad-leaved trees" in garden.tell(
        "repotted", "2")


def test_shallow_soil_has_no_depth_to_wait_for(garden):
    told = garden.tell("repotted", "10", "--outside", "350x250x45")
    assert "Too shallow for a dry depth to wait for (" in told


def test_a_heavy_pot_is_for_two(garden):
    told = garden.tell("repotted", "10", "--outside", "600x450x160")
    assert " kg of wet soil, the pot not counted: two people or a trolley." in told
    assert "trolley" not in garden.tell("repotted", "10", "--outside", "350x250x60")


def test_a_slip_is_mended_by_telling_the_same_day_again(garden):
    garden.tell("repotted", "10", "--outside", "600x450x160", "--at", "2026-06-25")
    garden.tell("repotted", "10", "--outside", "300x220x60", "--at", "2026-06-25")
    assert [each.outside_mm for each in garden.knows().pottings["10"]] == [
        (350.0, 250.0, 60.0), (300.0, 220.0, 60.0)]


def test_six_weeks_may_be_cut_short_only_in_so_many_words(garden):
    assert "at least 42" in garden.refused("repotted", "10", "--recovery-days", "41")
    garden.tell("repotted", "10", "--recovery-days", "41", "--shorter")
    assert last(garden, "10").recovery_days == 41


@pytest.mark.parametrize(("args", "said"), [
    (("11",), "tree or place: '11'"),
    (("south bench",), "Name the trees one by one."),
    (("10", "--mix", "thrid"), "Did you mean 'third'?"),
    (("10", "--roots", "combed"), "Did you mean 'edges combed'?"),
    (("10", "--outside", "350x250x60", "--inside", "330x230"), "told twice"),
    (("10", "--rock", "0.99"), "0 to 0.95"),
    (("10", "--soil-depth", "70"), "at most 60 mm in this pot"),
    (("10", "--at", "2026-02-30"), "Write it as"),
])
def test_a_potting_that_cannot_be_is_refused(garden, args, said):
    assert said in garden.refused("repotted", *args)


@pytest.mark.parametrize(("roots", "left"), [
    ("slipped over", 0.4), ("edges combed", 0.32), ("half bare", 0.2), ("all bare", 0.0)])
def test_of_old_soil_told_before_a_part_is_left(garden, roots, left):
    garden.tell("repotted", "3", "--old-soil", "third", "--old-share", "0.4", "--at", "2026-05-01")
    said = garden.tell("repotted", "3", "--roots", roots, "--at", "2026-06-01")
    potting = garden.knows().pottings["3"][-1]
    assert potting.ball_share == pytest.approx(left)
    assert potting.ball_mix == ("third" if left else None)
    assert (f"third, {left:.0%} of the pot's area is taken to be left" in said) == bool(left)


def test_a_potting_told_late_says_what_stands_after_it(garden):
    garden.tell("repotted", "3", "--at", "2026-06-01")
    said = garden.tell("repotted", "3", "--at", "2026-05-01")
    assert said.endswith("The potting of 1 June 2026 stands after it.\n")


def test_what_no_pot_can_be_is_refused_and_not_written(garden):
    before = garden.knows().pottings
    assert "at most the" in garden.refused("repotted", "2", "--target", "250")
    assert "none told, and no pot of 2 before" in garden.refused("repotted", "2", "--at",
                                                                 "2001-03-01")
    assert garden.knows().pottings == before
