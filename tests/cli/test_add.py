from datetime import UTC, datetime

import pytest

from advisor.garden.records import Mix, Move, Place, Tree

DAY = datetime(2026, 3, 15, 11, 0, tzinfo=UTC)  # its noon in Berlin
ADD_5 = ("add", "tree", "5", "--group", "pine", "--place", "wall")
POT = ("--outside", "350x250x60")


# --- places ----------------------------------------------------------------------------


def test_a_place_says_what_was_taken_as_default(garden):
    assert garden.tell("add", "place", "shade", "--sun-june", "6-9:30", "--wind", "half") == (
        "Place added: shade (sun from 6 to 9:30 in June, all day in September, half sheltered, "
        "on slats, turn 3).\n"
        "Taken as default: in September all day, on slats, close together no, rain 1.\n")
    assert garden.knows().places["shade"] == Place("shade", 3, "half", sun_june=(6.0, 9.5))


def test_every_field_of_a_place_can_be_told(garden):
    garden.tell("add", "place", "roof", "--horizon", "90:20,180:5", "--wind", "sheltered",
                "--ground", "damp sand", "--grouped", "--rain", "0", "--shade", "30%",
                "--position", "7")
    assert garden.knows().places["roof"] == Place(
        "roof", 7, "sheltered", "damp sand", True, 0.0, 0.3, None, None,
        ((90.0, 20.0), (180.0, 5.0)))


def test_a_place_that_is_there_changes_only_where_told(garden):
    garden.tell("add", "place", "wall", "--sun-june", "9-15", "--grouped")
    told = garden.tell("add", "place", "Wall", "--rain", "0.5", "--apart")
    assert told == ("Place changed: Wall (sun from 9 to 15 in June, all day in September, "
                    "sheltered, on slats, 50% of the rain, turn 2).\n")
    garden.tell("add", "place", "wall", "--sun-june", "all day")
    assert garden.knows().places["wall"] == Place("wall", 2, "sheltered", rain_factor=0.5)


def test_a_place_is_asked_for_plainly_on_a_terminal(garden, somebody_there):
    result = garden.run("add", "place", "shade", "--wind", "half",
                        answers="6-9\n\ngravle\ngravel\ny\n0.5\n")
    assert result.exit_code == 0, result.output
    assert "Sun from ... to ... in September, as 9-17 [all day]:" in result.stderr
    assert "Did you mean 'gravel'?" in result.stderr
    assert garden.knows().places["shade"] == Place(
        "shade", 3, "half", "gravel", True, 0.5, sun_june=(6.0, 9.0))


@pytest.mark.parametrize(("args", "said"), [
    (("shade", "--sun-june", "20-6"), "from must be before to"),
    (("shade", "--rain", "1.5"), "0 to 1"),
    (("shade", "--wind", "shelterd"), "Did you mean 'sheltered'?"),
    (("shade", "--ground", "grass"), "lawn, earth"),
    (("10",), "a name no tree has"),
    (("all",), "'all' stands for every tree"),
])
def test_a_place_that_cannot_be_is_refused(garden, args, said):
    assert said in garden.refused("add", "place", *args)


# --- mixes -----------------------------------------------------------------------------


@pytest.mark.parametrize("parts", [("40", "60"), ("0.4", "0.6"), ("40%", "60 %")])
def test_parts_are_told_in_percent_or_as_shares(garden, parts):
    told = garden.tell("add", "mix", "gritty", "--part", f"lava={parts[0]}",
                       "--part", f"pumice 2-5={parts[1]}")
    assert told.startswith("Mix added: gritty (40% lava and 60% pumice 2-5). In a pot 50 mm deep "
                           "it holds ")
    assert told.endswith(" kg a litre, dry.\n")
    assert garden.knows().mixes["gritty"] == Mix("gritty", (("lava", 0.4), ("pumice 2-5", 0.6)))


def test_a_measurement_is_added_to_a_mix_that_is_there(garden):
    told = garden.tell("add", "mix", "third", "--measured-capacity", "45%", "--measured-depth",
                       "50", "--density", "600 g/L")
    assert "it holds 45% of its volume after draining; 0.6 kg a litre, dry." in told
    assert garden.knows().mixes["third"] == Mix(
        "third", (("akadama", 0.4), ("pumice", 0.3), ("lava", 0.3)), 0.45, 50.0, 0.6)


@pytest.mark.parametrize(("args", "said"), [
    (("--part", "akdama=100"), "Did you mean akadama 2-5"),
    (("--part", "akadama=50", "--part", "lava=40"), "50 + 40 = 90. Wanted: 100 in all"),
    (("--part", "akadama=0.5", "--part", "lava=0.4"), "0.5 + 0.4 = 0.9"),
    (("--part", "akadama=150", "--part", "lava=-50"), "share"),
    (("--part", "akadama=100", "--density", "0.6 lb"), "Known: kg/L, g/L, g/cm3"),
    (("--part", "akadama=100", "--measured-capacity", "0.5"), "both or neither"),
])
def test_a_mix_that_cannot_be_is_refused(garden, args, said):
    assert said in garden.refused("add", "mix", "new", *args)


def test_a_new_mix_needs_its_parts(garden):
    assert "Missing option '--part'." in garden.misused("add", "mix", "new")


# --- trees -----------------------------------------------------------------------------


def test_a_tree_is_told_at_once_and_says_what_its_pot_holds(garden):
    told = garden.tell(*ADD_5, "--name", "old one", *POT, "--potted", "2026-03-15")
    first, second = told.splitlines()
    assert first.startswith("5 old one: 2.9 L of soil, 41 mm deep, holds 1.")
    assert first.endswith(" L of it for the tree.")
    assert second == ("Taken as default: mix third, soil depth from the pot's height, crown "
                      "40 × 28 cm (from the pot), foliage medium, form pot, outline rectangle, "
                      "soil grains, dressing none, water sinks.")
    knows = garden.knows()
    assert knows.trees["5"] == Tree("5", "pine", "old one")
    assert knows.moves["5"] == (Move("5", DAY, "wall"),)
    assert [(each.at, each.mix) for each in knows.pottings["5"]] == [(DAY, "third")]


def test_what_the_pot_holds_agrees_with_its_parts(garden):
    from advisor.cli.pot import wet_kg
    from advisor.jobs.describe import describe
    from advisor.pot.capacity import container_capacity

    model = describe(garden.knows(), "10", garden.now)
    share = container_capacity(model.filled.curve, model.filled.shape)
    assert model.filled.held_l == pytest.approx(share * model.filled.soil_l, rel=0.02)
    assert wet_kg(model) == pytest.approx(
        model.filled.held_l + 2.903 * (0.4 * 0.6 + 0.3 * 0.5 + 0.3 * 0.9), rel=0.05)


def test_every_field_of_a_tree_and_its_pot_can_be_told(garden):
    garden.tell("add", "mix", "old", "--part", "loam=100")
    garden.tell(
        *ADD_5, "--crown", "45x40", "--density", "dense", "--bears", "ordinary", "--limit", "0.35",
        "--chance", "10%", "--must-not-lose", "--mix", "third", "--potted", "2026-03-15", "--form",
        "root over rock", "--outline", "oval", "--inside", "330x230", "--soil-depth", "60",
        "--base", "90%", "--mound", "20", "--wall", "unglazed", "--drainage", "10",
        "--drainage-grain", "6", "--rock", "0.2", "--old-soil", "Old", "--old-share", "0.5",
        "--condition", "gritty", "--dressing", "moss", "--water", "stands", "--roots", "half bare",
        "--collected", "--not-watered-in", "--target", "20", "--recovery-days", "300")
    knows = garden.knows()
    assert knows.trees["5"] == Tree("5", "pine", "", 45.0, 40.0, "dense", "ordinary", 0.35, 0.10,
                                    True)
    told = vars(knows.pottings["5"][0])
    assert told == {
        "tree": "5", "at": DAY, "mix": "third", "form": "root over rock", "outline": "oval",
        "outside_mm": None, "inside_mm": (330.0, 230.0), "soil_depth_mm": 60.0, "litres": None,
        "base_share": 0.9, "mound_mm": 20.0, "wall": "unglazed", "drainage_mm": 10.0,
        "drainage_grain_mm": 6.0, "rock_share": 0.2, "ball_mix": "old", "ball_share": 0.5,
        "condition": "gritty", "dressing": "moss", "enters": "stands", "root_work": "half bare",
        "collected": True, "watered_in": False, "target_mm": 20.0, "recovery_days": 300}


def test_every_field_of_a_tree_and_its_pot_has_an_option(garden):
    from dataclasses import fields

    from advisor.cli.add_tree import add_tree
    from advisor.garden.records import Potting

    names = {param.name for param in add_tree.params}
    told = {field.name for kind in (Tree, Potting) for field in fields(kind)}
    assert told - names == {"tree", "crown_width_cm", "crown_depth_cm"}  # LABEL and --crown


def test_a_tree_is_asked_for_plainly_on_a_terminal(garden, somebody_there):
    answers = ["blob", "black pine", "wal", "wall", "", "spring", "2031-01-01", "2026-03-15",
               "350x250x60", "", "45x40", "dense", "", "oval", "", "moss", ""]
    result = garden.run("add", "tree", "5", answers="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    assert "Did you mean 'wall'?" in result.stderr
    assert "Depth where a skewer finds the base, in mm [from the pot's height]:" in result.stderr
    assert "Taken as default" not in result.stdout
    knows = garden.knows()
    assert knows.trees["5"] == Tree("5", "black pine", "", 45.0, 40.0, "dense")
    potting = knows.pottings["5"][0]
    assert (potting.at, potting.outline, potting.dressing) == (DAY, "oval", "moss")


def test_a_tree_that_is_there_changes_only_where_told(garden):
    garden.tell("add", "tree", "10", "--name", "old one", "--crown", "45x40")
    assert garden.tell("add", "tree", "10", "--must-not-lose", "--place", "wall") == (
        "Tree changed: 10 old one.\n")
    knows = garden.knows()
    assert knows.trees["10"] == Tree("10", "black pine", "old one", 45.0, 40.0, must_not_lose=True)
    assert [move.place for move in knows.moves["10"]] == ["south bench", "wall"]
    assert len(knows.pottings["10"]) == 1


def test_one_entry_holds_tree_place_and_pot(garden):
    garden.tell(*ADD_5, *POT)
    assert garden.tell("undo").endswith("added 5 pine (1 July 2026, 07:00).\n")
    assert "5" not in garden.knows().trees


@pytest.mark.parametrize(("args", "said"), [
    ((*ADD_5, "--outside", "350x250x60kg"), "Known: mm, cm, in"),
    ((*ADD_5, "--outside", "350x250x6000"), "10 to 1200 mm"),
    ((*ADD_5, "--outside", "30x30x12", "--drainage", "40"), "drainage layer of 5"),
    ((*ADD_5, "--litres", "0", "--soil-depth", "40"), "0.005 to 1000 L"),
    (ADD_5, "size of the pot of 5: not told"),
    ((*ADD_5, "--litres", "2"), "soil depth of the pot of 5"),
    ((*ADD_5, *POT, "--litres", "2"), "told twice"),
    ((*ADD_5, *POT, "--mix", "thrd"), "Did you mean 'third'?"),
    ((*ADD_5, *POT, "--form", "bowl"), "pot, small pot, box"),
    ((*ADD_5, *POT, "--old-share", "0.5"), "both or neither"),
    ((*ADD_5, *POT, "--potted", "2027-01-01"), "Enter it once it has happened."),
    ((*ADD_5, *POT, "--recovery-days", "20"), "--shorter"),
    ((*ADD_5, *POT, "--crown", "45"), "2 numbers in cm"),
    (("add", "tree", "5", "--group", "blob", "--place", "wall", *POT), "Known: pine, juniper"),
    (("add", "tree", "5", "--group", "pine", "--place", "wal", *POT), "Did you mean 'wall'?"),
    (("add", "tree", "Wall", "--group", "pine", "--place", "wall", *POT), "a name no place has"),
    (("add", "tree", "all", "--group", "pine"), "'all' stands for every tree"),
    (("add", "tree", "10", "--potted", "2026-04-02"), "A new pot is told with `advisor repotted`"),
    (("add", "tree", "10"), "Wanted: what is to be changed."),
    (("add", "tree", "5,6", "--group", "pine", "--place", "wall", *POT), "no comma in it"),
    ((*ADD_5, *POT, "--target", "200"), "target depth of 5: 200 mm. Wanted: at most the 41 mm"),
    ((*ADD_5, *POT, "--crown", "500x40"), "crown of 5: 500 cm. Wanted: at most 398 cm"),
    ((*ADD_5, *POT, "--drainage", "x"), "--drainage: 'x'. Wanted: a number in mm"),
    ((*ADD_5, *POT, "--potted", "soon"), "Wanted: a day, or a day and a time. Write it as 2026-0"),
    ((*ADD_5, *POT, "--potted", "2027-01-01"), "1 January 2027, 12:00. Wanted: not after 1 July"),
])
def test_a_tree_that_cannot_be_is_refused(garden, args, said):
    assert said in garden.refused(*args)


@pytest.mark.parametrize(("args", "said"), [
    (("add", "tree", "5", "--place", "wall"), "Missing option '--group'."),
    (("add", "tree", "5", "--group", "pine"), "Missing option '--place'."),
])
def test_what_has_no_default_is_a_usage_error(garden, args, said):
    assert said in garden.misused(*args, *POT)


def test_a_pot_told_wrongly_is_corrected_where_it_stands(garden):
    said = garden.tell("add", "tree", "10", "--outside", "350x250x80", "--soil-depth", "48")
    assert said.startswith("Pot corrected. 10 black pine: ")
    (potting,) = garden.knows().pottings["10"]
    assert (potting.outside_mm, potting.soil_depth_mm) == ((350.0, 250.0, 80.0), 48.0)
    assert potting.mix == "third"
    garden.tell("add", "tree", "10", "--litres", "2")
    (potting,) = garden.knows().pottings["10"]
    assert (potting.outside_mm, potting.litres, potting.soil_depth_mm) == (None, 2.0, 48.0)


def test_a_place_told_again_as_it_is_makes_no_entry(garden):
    before = garden.path.read_bytes()
    assert garden.tell("add", "place", "wall").startswith("Nothing to change: wall (sun ")
    assert garden.path.read_bytes() == before


def test_the_label_of_a_tree_that_is_gone_is_not_given_again(garden):
    garden.tell("gone", "10", "--at", "2026-06-01")
    said = garden.refused("add", "tree", "10", "--group", "elm", "--place", "wall")
    assert said.startswith("label of a tree: '10' is that of a tree gone since 1 June 2026. ")
