"""Growers' words to numbers."""

from datetime import timedelta

import numpy as np
import pytest
from scenes import BERLIN, DAY, FIRST, HOUR, known, model, pot, tree

from advisor.balance.members import SD_LN_K_C, Prior, draw
from advisor.errors import Refused
from advisor.garden.records import BEARS, FORMS, WALLS, WINDS, Event, Mix, Tree
from advisor.jobs.describe import ENTERS, WIND, describe
from advisor.jobs.named import seed_of
from advisor.jobs.shapes import BALL_SHARE, SLAB_MOUND_MM, ball_mix_name, shape_of

INSIDE = {"inside_mm": (300.0, 200.0), "soil_depth_mm": 80.0}


def made(group="pine", tree_told=None, **told):
    """A tree in a pot, in numbers."""
    records = tree("1", group, FIRST, **told)
    if tree_told:
        records[0] = Tree("1", group, **tree_told)
    return model(records)


# --- how dry it may become ----------------------------------------------------------------


@pytest.mark.parametrize(("group", "limit", "chance", "harm"), [
    ("black pine", 0.30, 0.30, 0.08), ("juniper", 0.30, 0.30, 0.08), ("spruce", 0.40, 0.20, 0.08),
    ("beech", 0.40, 0.20, 0.08), ("oak", 0.40, 0.20, 0.08), ("maple", 0.50, 0.12, 0.15),
    ("larch", 0.50, 0.12, 0.15), ("hornbeam", 0.50, 0.12, 0.15), ("elm", 0.50, 0.12, 0.15),
    ("azalea", 0.50, 0.12, 0.15), ("willow", 0.50, 0.12, 0.08),
    ("swamp cypress", 0.50, 0.12, 0.08),
])
def test_each_group_has_its_limit_and_its_chance(group, limit, chance, harm):
    bears = made(group, **INSIDE).bears
    assert (bears.limit, bears.chance, bears.harm) == (limit, chance, harm)


@pytest.mark.parametrize("small", [
    {"form": "small pot", "outside_mm": (200.0, 150.0, 90.0)},
    {"outside_mm": (120.0, 90.0, 45.0)}, {"litres": 0.69, "soil_depth_mm": 60.0},
])
def test_small_pots_are_never_dry_whatever_grows_in_them(small):
    assert made("pine", **small).bears.limit == 0.50
    assert made("pine", **small).bears.chance == 0.12
    assert made("swamp cypress", **small).bears.harm == 0.08  # it may stand in water still


def test_seven_tenths_of_a_litre_are_not_a_small_pot():
    assert made("pine", litres=0.71, soil_depth_mm=60.0).bears.limit == 0.30


def test_the_tree_s_own_word_and_numbers_go_before_its_group_s():
    assert made("maple", {"bears": "likes to dry"}, **INSIDE).bears.limit == 0.30
    assert made("pine", {"limit": 0.44}, **INSIDE).bears.limit == 0.44
    assert made("pine", {"limit": 0.0}, **INSIDE).bears.limit == 0.0
    assert made("pine", {"chance": 0.05}, **INSIDE).bears.chance == 0.05
    assert made("pine", {"bears": "ordinary"}, litres=0.2, soil_depth_mm=40.0).bears.limit == 0.40


@pytest.mark.parametrize(("told", "chance"), [({}, 0.15), ({"chance": 0.2}, 0.10)])
def test_a_tree_that_must_not_be_lost_is_called_at_half_the_chance(told, chance):
    assert made("pine", {"must_not_lose": True} | told, **INSIDE).bears.chance == chance


@pytest.mark.parametrize(("told", "chance"), [
    ({}, 0.50), ({"must_not_lose": True}, 0.25), ({"chance": 0.2}, 0.20),
])
def test_kept_dry_the_floor_is_met_where_it_is_more_likely_than_not(told, chance):
    pine = made("pine", told, root_work="half bare", **INSIDE)
    assert pine.chance_at(FIRST + DAY) == chance
    assert pine.chance_at(FIRST + 60 * DAY) == pine.bears.chance
    assert made("maple", root_work="half bare", **INSIDE).chance_at(FIRST + DAY) == 0.12


def test_every_word_has_its_number():
    assert set(WIND) == set(WINDS)
    assert sorted(WIND.values(), reverse=True) == [WIND[word] for word in WINDS]
    for word in BEARS:
        assert 0.0 < made("pine", {"bears": word}, **INSIDE).bears.limit < 1.0
    for word, share in ENTERS.items():
        assert made(enters=word, **INSIDE).enters_at(FIRST + 30 * DAY) == share
    walls = [made(wall=word, **INSIDE).wall for word in ("closed", "timber", "unglazed", "mesh")]
    assert walls == sorted(walls)
    assert walls[0] == 1.0
    assert set(WALLS) == {"closed", "timber", "unglazed", "mesh"}


# --- the crown ------------------------------------------------------------------------------


def test_the_crown_as_told():
    told = {"crown_width_cm": 60.0, "crown_depth_cm": 40.0, "density": "dense"}
    assert made("pine", told, **INSIDE).crown_m2 == pytest.approx(0.6 * 0.4 * np.pi / 4)
    see_through = made("pine", told | {"density": "see-through"}, **INSIDE)
    assert see_through.crown_m2 == pytest.approx(0.6 * 0.4 * np.pi / 4 / 2)
    assert see_through.under == made("pine", told, **INSIDE).under == 1.0


def test_one_of_width_and_depth_stands_for_both():
    round_crown = made("pine", {"crown_width_cm": 50.0, "crown_depth_cm": 50.0}, **INSIDE)
    for name in ("crown_width_cm", "crown_depth_cm"):
        assert made("pine", {name: 50.0}, **INSIDE).crown_m2 == round_crown.crown_m2


def test_without_either_the_pot_s_size_tells():
    assert made("pine", **INSIDE).crown_m2 == pytest.approx(0.36 * 0.24 * np.pi / 4 * 0.75)
    little = made("pine", inside_mm=(100.0, 100.0), soil_depth_mm=40.0)
    assert little.crown_m2 == pytest.approx(0.15 * 0.15 * np.pi / 4 * 0.75)


# --- the pot --------------------------------------------------------------------------------


@pytest.mark.parametrize(("told", "litres", "depth_mm"), [
    ({"outside_mm": (350.0, 250.0, 60.0)}, 2.9, 41.0),  # the design's own example
    (INSIDE, 4.8, 80.0), (INSIDE | {"form": "box", "wall": "timber"}, 4.8, 80.0),
    (INSIDE | {"form": "basket", "wall": "mesh"}, 4.8, 80.0),
    (INSIDE | {"form": "forest", "outline": "oval"}, 4.8 * np.pi / 4, 80.0),
    (INSIDE | {"form": "root over rock", "rock_share": 0.25}, 3.6, 80.0),
    ({"form": "slab", "inside_mm": (300.0, 200.0), "soil_depth_mm": 20.0, "mound_mm": 70.0},
     1.2 + 2.1, 90.0),
    ({"form": "small pot", "litres": 0.3, "soil_depth_mm": 50.0}, 0.3, 50.0),
    ({"litres": 8.0, "soil_depth_mm": 150.0, "rock_share": 0.5}, 8.0, 150.0),
    (INSIDE | {"drainage_mm": 20.0}, 3.6, 60.0),
    ({"outside_mm": (350.0, 250.0, 60.0), "soil_depth_mm": 47.0}, 3.3, 47.0),
])
def test_soil_in_every_kind_of_pot(told, litres, depth_mm):
    filled = made(**told).filled
    assert filled.soil_l == pytest.approx(litres, rel=0.03)
    assert filled.pot.depth_mm == pytest.approx(depth_mm, rel=0.03)
    assert 0.0 < filled.pot.available_l < 0.6 * filled.soil_l


def test_every_form_can_be_filled():
    for form in FORMS:
        assert made(form=form, **INSIDE).filled.soil_l > 1.0


def test_a_slab_without_a_told_mound_has_one():
    assert shape_of(pot("1", FIRST, form="slab", **INSIDE)).mound_mm == SLAB_MOUND_MM
    assert shape_of(pot("1", FIRST, form="slab", mound_mm=30.0, **INSIDE)).mound_mm == 30.0
    assert shape_of(pot("1", FIRST, **INSIDE)).mound_mm == 0.0


def test_a_drainage_layer_takes_water_away():
    layered = made(drainage_mm=20.0, **INSIDE).filled.pot
    shallow = made(inside_mm=(300.0, 200.0), soil_depth_mm=60.0).filled.pot
    deep = made(**INSIDE).filled.pot
    assert layered.available_l < shallow.available_l < deep.available_l


def test_a_tipped_pot_holds_less():
    level = made(**INSIDE)
    tipped = level.tipped(known(tree("1", "pine", FIRST, **INSIDE)), 20.0)
    assert tipped.pot.available_l < 0.98 * level.filled.pot.available_l
    assert tipped.soil_l == level.filled.soil_l


def test_broken_down_grains_are_known_less_well():
    fresh, old = made(**INSIDE).filled.prior, made(condition="broken down", **INSIDE).filled.prior
    assert (fresh.sd_ln_capacity, old.sd_ln_capacity) == (0.15, 0.27)


def test_what_the_grower_measured_of_a_mix_goes_before_the_table():
    wet = Mix("wet", (("akadama", 0.5), ("pumice", 0.5)), measured_capacity=0.55,
              measured_depth_mm=80.0)
    as_told = Mix("dry", wet.parts)
    records = [wet, as_told, *tree("1", "pine", FIRST, mix="wet", **INSIDE),
               *tree("2", "pine", FIRST, mix="dry", **INSIDE)]
    assert (model(records, "1").filled.pot.available_l
            > 1.1 * model(records, "2").filled.pot.available_l)


def test_how_a_measured_mix_dries_counts_in_every_pot_that_has_it():
    own = Mix("own", (("akadama", 0.5), ("pumice", 0.5)), measured_capacity=0.5,
              measured_depth_mm=80.0, measured_k_c_cmh=3e-5, measured_sd=0.06,
              measured_sd_ln_k_c=0.5, measured_vapour_depth_mm=6.0)
    records = [own, *tree("1", "pine", FIRST, mix="own", **INSIDE),
               *tree("2", "pine", FIRST, mix="own", condition="broken down", **INSIDE),
               *tree("3", "pine", FIRST, mix="own", ball_mix="loamy", ball_share=0.5, **INSIDE)]
    fresh, old, ball = (model(records, label).filled for label in "123")
    assert (fresh.pot.vapour_depth_mm, fresh.prior) == (6.0, Prior(3e-5, 0.06, 0.5))
    assert (old.prior.sd_ln_capacity, old.prior.sd_ln_k_c) == (0.27, SD_LN_K_C)
    assert ball.pot.vapour_depth_mm == pytest.approx((3.0 * 6.0) ** 0.5)
    assert made(**INSIDE).filled.pot.vapour_depth_mm == 3.0
    narrow, wide = (np.log(draw(1, 2, each.prior)[2]).std() for each in (fresh, old))
    assert narrow == pytest.approx(wide * 0.5 / SD_LN_K_C)


# --- the old root ball -----------------------------------------------------------------------


@pytest.mark.parametrize(("work", "share"), BALL_SHARE.items())
def test_the_ball_that_is_left_by_what_was_done_to_the_roots(work, share):
    filled = made(root_work=work, **INSIDE).filled
    assert filled.ball_share == share
    assert len(filled.pot.soil) == (2 if share else 1)


def test_its_share_and_its_soil_as_told():
    filled = made(root_work="half bare", ball_mix="loamy", ball_share=0.3, **INSIDE).filled
    assert filled.ball_share == 0.3
    assert filled.pot.soil[:, 9].tolist() == pytest.approx([0.7, 0.3])
    assert filled.pot.tables[0].tolist() != filled.pot.tables[1].tolist()


def test_else_its_soil_is_that_of_the_potting_before():
    old = pot("1", FIRST - 400 * DAY, mix="loamy")
    new = pot("1", FIRST, root_work="edges combed")
    assert ball_mix_name(new, old) == "loamy"
    assert ball_mix_name(new, None) == "thirds"
    assert ball_mix_name(pot("1", FIRST, root_work="all bare"), old) is None
    assert ball_mix_name(pot("1", FIRST), old) is None


# --- refusals --------------------------------------------------------------------------------

SIZELESS = {"outside_mm": None}


@pytest.mark.parametrize(("told", "said"), [
    (SIZELESS, "pot of 1: no size. Wanted: outside size, inside size or litres. Give one "
               "of them."),
    ({"inside_mm": (300.0, 200.0)}, "pot of 1: no soil depth. Wanted: the depth a skewer "
                                    "finds. Give the soil depth."),
    ({"litres": 3.0}, "pot of 1: no soil depth. Wanted: the depth a skewer finds. Give "
                      "the soil depth."),
    (INSIDE | {"drainage_mm": 78.0}, "drainage layer of 1: 78 mm. Wanted: less than the "
                                     "soil's 80 mm. Check both depths."),
])
def test_a_pot_that_cannot_be_is_refused(told, said):
    with pytest.raises(Refused) as refused:
        made(**told)
    assert str(refused.value) == said


def test_a_group_that_is_not_known_is_refused():
    with pytest.raises(Refused, match="species group: 'triffid'"):
        made("triffid", **INSIDE)


# --- what stands when ------------------------------------------------------------------------


def test_the_potting_in_force_counts():
    records = [*tree("1", "pine", FIRST, **INSIDE), pot("1", FIRST + 5 * DAY, litres=2.0,
                                                        soil_depth_mm=60.0)]
    assert model(records, at=FIRST + 5 * DAY - HOUR).filled.soil_l == pytest.approx(4.8)
    assert model(records, at=FIRST + 5 * DAY).filled.soil_l == pytest.approx(2.0)


def test_no_pot_yet_or_gone_is_no_model():
    records = [*tree("1", "pine", FIRST, **INSIDE), Event("1", FIRST + 5 * DAY, "gone")]
    knowledge = known(records)
    assert describe(knowledge, "1", FIRST - HOUR) is None
    assert describe(knowledge, "1", FIRST + DAY) is not None
    assert describe(knowledge, "1", FIRST + 5 * DAY) is None


def test_what_was_seen_counts_by_the_site_s_day():
    late = FIRST + 10 * DAY + timedelta(hours=22, minutes=30)  # past midnight in Berlin
    records = [*tree("1", "larch", FIRST, **INSIDE), Event("1", late, "bud-break")]
    seen = model(records).seen("bud-break", BERLIN.zone)
    assert seen.astype(str).tolist() == ["2026-06-12"]
    assert model(records).seen("leaf-fall", BERLIN.zone).size == 0


def test_seeds_belong_to_the_tree_and_the_potting():
    one, again = made(**INSIDE), made("maple", **INSIDE)
    assert (one.seed, one.potting_seed) == (again.seed, again.potting_seed)
    repotted = model([*tree("1", "pine", FIRST, **INSIDE), pot("1", FIRST + DAY, **INSIDE)])
    assert repotted.seed == one.seed
    assert repotted.potting_seed != one.potting_seed
    assert seed_of("a", "b") != seed_of("ab")
    assert 0 <= seed_of("a") < 2**63
