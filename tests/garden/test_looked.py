"""A process that stays looks a file through now and then, not at every entry."""

import shutil

import pytest
from garden.test_seal import other
from garden.told import NOW, start, two_trees, water

from advisor.errors import Refused
from advisor.garden import looked
from advisor.garden.looked import Looked
from advisor.garden.store import Garden


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "garden.db"
    with start(path, *two_trees()) as garden:
        water(garden, "2", NOW)
    return path


class Seconds:
    now = 1000.0

    def __call__(self):
        return self.now


def told(path, kept):
    with Garden.open(path, looked=kept) as garden:
        return water(garden, "2", NOW)


def test_damage_is_found_once_the_time_is_up(path):
    clock = Seconds()
    kept = Looked(clock)
    told(path, kept)
    other(path, "watering", "litres", 0.25)
    clock.now += looked.LOOK_EVERY_S - 1.0
    told(path, kept)
    clock.now += 2.0
    with pytest.raises(Refused, match="damaged"):
        told(path, kept)


def test_an_entry_in_between_does_not_hide_it(path):
    """The sum goes on from what was told, not from what lies there now."""
    kept = Looked()
    told(path, kept)
    other(path, "watering", "litres", 0.25)
    told(path, kept)
    with Garden.open(path) as garden:
        assert garden.verify() == ["rows of watering are not those that were told"]


def test_another_file_in_its_place_is_looked_through(path, tmp_path):
    kept = Looked()
    told(path, kept)
    copy = shutil.copy(path, tmp_path / "copy.db")
    other(copy, "watering", "litres", 0.25)
    (tmp_path / "copy.db").replace(path)
    with pytest.raises(Refused, match="damaged"):
        told(path, kept)


def test_a_damaged_file_was_not_looked_through(path):
    kept = Looked()
    other(path, "watering", "litres", 0.25)
    for _ in range(2):
        with pytest.raises(Refused, match="damaged"):
            told(path, kept)
