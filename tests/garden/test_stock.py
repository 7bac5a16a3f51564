"""Empty pots, weighed mixes, roofs and butts: kept, told again, taken back."""

import sqlite3
from datetime import timedelta

import pytest
from garden.told import NOW, SITE

from advisor.errors import Refused
from advisor.garden.records import Mix
from advisor.garden.stock import (
    ButtLevel,
    Container,
    EmptyPot,
    MixWeight,
    RainButt,
    RainRoof,
)
from advisor.garden.store import Garden

HOUR = timedelta(hours=1)
POT = EmptyPot("blue oval", (420.0, 310.0, 75.0), outline="oval")


@pytest.fixture
def garden(tmp_path):
    with Garden.create(tmp_path / "garden.db", SITE, NOW) as garden:
        yield garden


def tell(garden, *told, at=NOW):
    with garden.entry(at, "told") as entry:
        for each in told:
            garden.add_stock(entry.id, each, at)
    return entry.id


def test_what_is_told_is_kept(garden):
    tell(garden, POT, RainRoof("shed", 12.0, "tiles", 0.5), RainButt("big", 300.0, 900.0))
    assert garden.empty_pots() == {"blue oval": POT}
    assert garden.roofs() == {"shed": RainRoof("shed", 12.0, "tiles", 0.5)}
    assert garden.butts() == {"big": RainButt("big", 300.0, 900.0)}


def test_told_again_it_replaces_and_gone_it_no_longer_counts(garden):
    tell(garden, POT)
    tell(garden, EmptyPot("Blue Oval", (400.0, 300.0, 70.0)))
    assert [pot.outside_mm for pot in garden.empty_pots().values()] == [(400.0, 300.0, 70.0)]
    last = tell(garden, EmptyPot("blue oval", (400.0, 300.0, 70.0), gone=True))
    assert garden.empty_pots() == {}
    garden.undo(NOW, last)
    assert list(garden.empty_pots()) == ["Blue Oval"]


def test_rows_are_only_ever_added(garden):
    tell(garden, POT)
    for statement in ("DELETE FROM emptypot", "UPDATE emptypot SET name = 'x'"):
        with pytest.raises(sqlite3.IntegrityError, match="only ever added"):
            garden._connection.execute(statement)


def test_the_newest_level_up_to_an_instant(garden):
    assert garden.butt_level(NOW) is None
    first, second = ButtLevel(NOW - 2 * HOUR, 100.0, 5.0), ButtLevel(NOW, 80.0, 5.0)
    tell(garden, second)
    tell(garden, first)
    assert garden.butt_level(NOW) == second
    assert garden.butt_level(NOW - HOUR) == first


def test_weights_belong_to_the_series_begun_last(garden):
    assert garden.weighed("thirds", NOW) is None
    old, new = (Container("thirds", NOW - hours * HOUR, 1.0, 80.0, 100.0) for hours in (50, 10))
    weights = [MixWeight("Thirds", NOW - hours * HOUR, kind, 700.0)
               for hours, kind in ((40, "dry"), (2, "drained"), (9, "dry"))]
    tell(garden, old, new, *weights)
    tell(garden, MixWeight("other", NOW, "dry", 1.0))
    container, found = garden.weighed("thirds", NOW)
    assert container == new
    assert [each.kind for each in found] == ["dry", "drained"]
    assert garden.weighed("thirds", NOW - 8 * HOUR)[1] == [weights[2]]
    assert garden.weighed("thirds", NOW - 20 * HOUR) == (old, [weights[0]])


def test_a_mix_keeps_what_was_measured(garden):
    mix = Mix("own", (("pumice", 1.0),), 0.5, 80.0, 0.6, 2e-5, 0.06)
    with garden.entry(NOW, "mix") as entry:
        entry.add(mix)
    assert garden.knowledge().mixes["own"] == mix


@pytest.mark.parametrize(("record", "said"), [
    (EmptyPot(" ", (300.0, 200.0, 50.0)), "name of a pot"),
    (EmptyPot("x", (300.0, 200.0, 5000.0)), "pot height: 5000 mm"),
    (EmptyPot("x", (300.0, 200.0, 50.0), outline="ovl"), "Did you mean 'oval'"),
    (Container("m", NOW, 0.0, 80.0, 1.0), "soil volume, container: 0 L"),
    (Container("m", NOW, 1.0, 80.0, -1.0), "empty container: -1 g"),
    (MixWeight("m", NOW, "wet", 1.0), "kind: 'wet'"),
    (MixWeight("m", NOW, "dry", 1e6), "weight, dry: 1e+06 g"),
    (MixWeight("m", NOW + HOUR, "dry", 1.0), "Enter it once it has happened"),
    (RainButt("", 100.0), "at least one letter"),
])
def test_what_cannot_be_is_refused_and_nothing_kept(garden, record, said):
    before = garden.revision()
    with pytest.raises(Refused) as refused:
        tell(garden, record)
    assert said in str(refused.value)
    assert garden.revision() == before
