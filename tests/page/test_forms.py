"""Forms: a command's own options, refused at their field, with nothing typed lost."""

import re

import pytest
from page.conftest import Home, Phone

from advisor.errors import Refused
from advisor.garden.store import Garden
from advisor.page import forms
from advisor.page.forms import DESIGNS
from advisor.page.told import Misused


def typed(text: str) -> dict[str, str]:
    return {f"told-{name}": value for name, _, value in (
        each.partition("=") for each in text.split(";"))}


def faults(text: str) -> dict[str, str]:
    """Give field and fault of a form that came back."""
    return dict(re.findall(r'<p class="fault" id="told-([\w-]+)-fault">([^<]*)</p>', text))


@pytest.mark.parametrize("name", DESIGNS)
def test_what_is_asked_first_are_options_of_the_command(name: str) -> None:
    made = forms.form(DESIGNS[name], known={})
    names = [each.name for each in made.fields]
    assert set(DESIGNS[name].first) <= set(names)
    assert [each.name for each in made.fields if not each.folded and not each.argument] == list(
        DESIGNS[name].first)
    assert not set(DESIGNS[name].left_out) & set(names)


@pytest.mark.parametrize(("name", "told", "field", "says"), [
    ("place", "name=roof;sun-june=40-50", "sun-june", "Wanted: from and to"),
    ("place", "name=roof;wind=stormy", "wind", "open, half, sheltered"),
    ("place", "name=roof;rain=7", "rain", "7"),
    ("place", "wind=open", "name", "Left empty"),
    ("mix", "name=m;part=akadama=50", "part", "= 50"),
    ("mix", "name=m;part=moondust=100", "part", "moondust"),
    ("mix", "name=m", "part", "Left empty"),
    ("tree", "label=99;group=triffid;place=wall;mix=thirds;outside=300x200x60", "group", "triffid"),
    ("tree", "label=99;place=wall;mix=thirds;outside=300x200x60", "group", "Left empty"),
    ("tree", "label=99;group=larch;place=wall;mix=thirds;outside=big", "outside", "3 numbers"),
    ("tree", "label=99;group=larch;place=nowhere;mix=thirds;outside=300x200x60", "place",
     "nowhere"),
])
def test_a_form_refused_comes_back_as_it_was_typed_and_mended_is_entered(
        phone: Phone, home: Home, name: str, told: str, field: str, says: str) -> None:
    before = home.entries()
    fields = typed(told)
    answer = phone.post(f"/form/{name}", fields)
    assert answer.status_code == 422
    found = faults(answer.text)
    assert list(found) == [field], answer.text
    assert says in found[field]
    assert home.entries() == before
    for value in fields.values():
        assert f'value="{value}"' in answer.text or f">{value}</textarea>" in answer.text
    good = {"place": "name=roof;sun-june=8-18;wind=open;rain=0.5",
            "mix": "part=akadama=50\npumice=50",
            "tree": "group=larch;outside=300x200x60;place=wall"}[name]
    mended = phone.post(f"/form/{name}", fields | typed(good))
    assert mended.status_code == 200, mended.text
    assert len(home.entries()) == len(before) + 1


def test_changing_a_place_changes_only_what_is_written(phone: Phone, home: Home) -> None:
    page = phone.get("/form/place?subject=south bench").text
    assert "At present: gravel" in page
    phone.post("/form/place", {"subject": "south bench", "told-wind": "half"})
    with Garden.open(home.path, readonly=True) as garden:
        place = garden.knowledge().places["south bench"]
    assert (place.wind, place.ground, place.position) == ("half", "gravel", 1)


def test_a_repotting_is_entered_with_its_day(phone: Phone, home: Home) -> None:
    answer = phone.post("/form/repotted", {"subject": "3", "told-at": "2026-09-08",
                                           "told-roots": "half bare", "told-mix": "airy"})
    assert "Let it dry to" in answer.text
    with Garden.open(home.path, readonly=True) as garden:
        potting = garden.knowledge().pottings["3"][-1]
    assert (potting.mix, potting.root_work, potting.at.day) == ("airy", "half bare", 8)


def test_a_reading_refused_says_so_at_its_field(phone: Phone) -> None:
    answer = phone.post("/tell/reading", {"label": "3", "told-dry-depth": "deep",
                                          "told-note": "typed"})
    assert answer.status_code == 422
    assert list(faults(answer.text)) == ["dry-depth"]
    assert 'value="typed"' in answer.text


def test_what_belongs_to_no_field_stands_on_top() -> None:
    made = forms.form(DESIGNS["watered"], "3", known={})
    made.refused(Refused("garden file", "in use", "free", "Wait."))
    assert made.fault.startswith("garden file")
    made.refused(Misused("Give one of --litres.", "--litres"))
    assert next(each for each in made.fields if each.name == "litres").fault


def test_a_value_that_looks_like_an_option_stays_a_value(phone: Phone, home: Home) -> None:
    before = home.entries()
    answer = phone.post("/form/place", typed("name=--help;wind=open"))
    assert answer.status_code == 200
    assert home.entries()[1:] == before
    with Garden.open(home.path, readonly=True) as garden:
        assert "--help" in garden.knowledge().places


def test_more_than_anybody_types_is_refused(phone: Phone, home: Home) -> None:
    before = home.entries()
    answer = phone.post("/form/place", typed(f"name={'x' * 3000}"))
    assert answer.status_code == 422
    assert home.entries() == before
