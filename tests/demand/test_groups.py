"""Species groups: the table, the names growers use, and how trees bear dryness."""

import pytest

from advisor.demand import groups
from advisor.errors import Refused
from advisor.garden.records import BEARS

GROUPS = list(groups.table().values())


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.name)
def test_every_row_is_whole_sourced_and_within_its_range(group):
    assert group.habit in groups.HABITS
    assert group.bears in groups.BEARS
    assert group.kcb_range[0] <= group.kcb_peak <= group.kcb_range[1]
    assert 0 < group.throughfall[0] < group.throughfall[1] <= 0.95
    assert group.evergreen == (group.winter_share > 0)
    assert 50 < group.bud_break_dd < 400
    assert 70 < group.bud_break_day < 130  # mid-March to early May
    assert any(tag in group.source for tag in ("[S", "[J]", "[C]"))
    assert -20 <= group.roots_bear_c <= 0
    assert all(name == name.strip().lower() and name for name in group.also)


def test_conifers_stand_at_the_published_height():
    # FAO-56 Table 17, conifer trees: Kcb .95
    evergreen = [group for group in GROUPS if group.evergreen and group.conifer]
    assert len(evergreen) >= 6
    assert {group.kcb_peak for group in evergreen} == {0.95}


def test_roots_bear_less_frost_the_warmer_a_group_s_home():
    bear = {group.name: group.roots_bear_c for group in GROUPS}
    assert bear["spruce"] < bear["juniper"] < bear["box"] < bear["citrus"] < 0.0


def test_no_name_belongs_to_two_groups():
    names = [name for group in GROUPS for name in (group.name, *group.also)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("pine", "pine"),
        ("Japanese black pine", "pine"),
        ("Pinus sylvestris", "pine"),
        ("ACER palmatum", "maple"),
        ("Chinese elm", "elm"),
        ("Taxodium distichum", "swamp cypress"),
        ("dwarf swamp cypress", "swamp cypress"),
        ("bald cypress", "swamp cypress"),
        ("Hinoki cypress", "cypress"),
        ("Japanese cedar", "cypress"),
        ("horse chestnut", "other broad-leaved"),
        ("live oak", "other evergreen"),
        ("English oak", "oak"),
        ("crab apple", "apple"),
        ("  European   larch ", "larch"),
    ],
)
def test_growers_names(said, found):
    assert groups.find(said).name == found


@pytest.mark.parametrize(
    ("said", "meant"), [("mapel", "maple"), ("junniper", "juniper"), ("Pinuss", "pinus")]
)
def test_unknown_name_is_refused_with_what_was_meant(said, meant):
    with pytest.raises(Refused, match=f"Did you mean {meant}"):
        groups.find(said)


@pytest.mark.parametrize("said", ["", "zzz"])
def test_unknown_name_lists_what_is_known(said):
    with pytest.raises(Refused, match="Known: pine, juniper") as refusal:
        groups.find(said)
    assert repr(said) in str(refusal.value)


def test_bearing_uses_the_growers_words():
    assert tuple(groups.BEARS) == BEARS


@pytest.mark.parametrize(
    ("word", "limit", "chance", "harm"),
    [
        ("likes to dry", 0.30, 0.30, 0.08),
        ("ordinary", 0.40, 0.20, 0.08),
        ("never dry", 0.50, 0.12, 0.15),
        ("may stand in water", 0.50, 0.12, 0.08),
    ],
)
def test_bearing(word, limit, chance, harm):
    assert groups.bearing(word) == groups.Bears(limit, chance, harm)


def test_unknown_bearing_is_refused():
    with pytest.raises(Refused, match="Did you mean never dry"):
        groups.bearing("never dr")
