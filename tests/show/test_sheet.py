"""The helper's sheet: its words, and its pages read back."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sheets_made import BERLIN, MADE, NAMES, PLACES, pot, sheet

from advisor.show import sheet as says
from advisor.show.moments import headline, litres
from advisor.show.sheet import (
    A4,
    LETTER,
    Sheet,
    SheetVisit,
    in_cans,
    to_fill,
    visit_amount,
    visit_words,
)
from advisor.show.sheet_pdf import all_in_one, by_visit, sorted_by_place

#: Width and height in points: A4 is 210 by 297 mm (ISO 216), US Letter 8.5 by 11 inches.
PAPER = {A4: (210 / 25.4 * 72, 297 / 25.4 * 72), LETTER: (8.5 * 72, 11 * 72)}


def pages(made: bytes) -> list[str]:
    """Give the text of each page, every space alike."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(made)).pages]


def section(told: list[str], sheet_: Sheet, visit: SheetVisit) -> str:
    """Give the text of the pages that begin with a visit's date."""
    return " ".join(text for text in told if text.startswith(headline(visit.at, sheet_.zone)))


@pytest.mark.parametrize(("amount_l", "said"), [
    (12.0, "one and a half cans"), (8.0, "one can"), (16.0, "two cans"),
    (2.0, "a quarter of a can"),
    (4.1, "half a can"), (6.0, "three quarters of a can"), (18.0, "two and a quarter cans"),
    (7.8, "one can"), (30.0, "three and three quarters cans"), (104.0, "13 cans"),
    (1.7, "a quarter of a can"), (1.6, None), (2.6, None), (1.0, None), (0.0, None)])
def test_litres_in_cans_of_eight(amount_l, said):
    """Told only where a quarter more or less is not too far off."""
    assert in_cans(amount_l, 8.0) == said


@pytest.mark.parametrize(("amount_l", "said"), [
    (8.0, "one can"), (8.1, "one and a quarter cans"), (6.8, "one can"), (0.3,
    "a quarter of a can"), (5.9, "three quarters of a can"), (32.0, "four cans")])
def test_cans_to_fill_are_enough(amount_l, said):
    assert to_fill(amount_l, 8.0) == said


def test_a_visit_in_a_line():
    told = sheet()
    assert visit_amount(told, told.visits[1]) == (
        "6 pots, 6.8 L, one can of 8 L, about 35 min")
    bare = replace(told, can_l=None)
    assert visit_amount(bare, replace(told.visits[1], minutes=None)) == "6 pots, 6.8 L"
    assert visit_amount(replace(bare, us=True), bare.visits[1]).startswith("6 pots, 1.80 gal")


def test_a_visit_as_plain_text():
    told = replace(sheet(many=3, visits=1), recovering=(pot(2),))
    assert visit_words(told, told.visits[0]) == """\
3 pots, 1.6 L, a quarter of a can of 8 L, about 35 min

South bench (1 pot, 0.15 L)
- 1 Schwarzkiefer: 0.15 L

North wall (1 pot, 0.5 L)
- 2 Fächerahorn: 0.5 L

Lärchenstand hinter dem Gewächshaus (1 pot, 0.9 L)
- 3 Wacholder mit Totholz: 0.9 L; only if the top is dry to the second knuckle

Along both long sides, working inward, until it runs out below. Wait. Once more. Then tick.
Never water these on a day they are not listed: 3.
Estimates, not orders: the tree and the finger decide."""


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize(("many", "visits"), [(1, 1), (12, 3), (60, 4)])
def test_every_visit_holds_its_date_trees_and_litres(paper, many, visits):
    given = sheet(many, visits)
    told = pages(by_visit(given, MADE, paper))
    for visit in given.visits:
        text = section(told, given, visit)
        assert visit_amount(given, visit) in text
        for each in visit.pots:
            row = rf"\b{each.label} {re.escape(each.name)} {re.escape(litres(each.litres))}"
            assert re.search(row, text), row
        count = sum(len(re.findall(re.escape(name), text)) for name in NAMES)
        assert count == len(visit.pots)


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("visits", [1, 5, 6, 11])
def test_the_table_holds_every_tree_visit_and_litre(paper, visits):
    given = sheet(30, visits)
    told = pages(all_in_one(given, MADE, paper))
    text = " ".join(told[1:])
    for visit in given.visits:
        here = visit.at.astimezone(BERLIN)
        assert f"{here.day} {here:%b}" in text
    for amount in {litres(each.litres) for visit in given.visits for each in visit.pots}:
        wanted = sum(litres(each.litres) == amount for visit in given.visits
                     for each in visit.pots)
        assert len(re.findall(rf"(?<![\d.]){re.escape(amount)}\b", text)) == wanted
    for each in {each for visit in given.visits for each in visit.pots}:
        assert f"{each.label} {each.name}" in text


@pytest.mark.parametrize("draw", [by_visit, all_in_one])
@pytest.mark.parametrize("paper", [A4, LETTER])
def test_the_first_page_says_how_and_all_pages_are_of_the_paper(draw, paper):
    given = sheet()
    made = draw(given, MADE, paper)
    first = pages(made)[0]
    for line in (*says.HOW, *says.DONT, *says.CAUTIONS, given.hot_rule, given.rain_rule,
                 given.garden, given.phone, "The can holds 8 L", says.span(given),
                 *says.left_alone(given)):
        assert line in first
    for page, text in zip(PdfReader(io.BytesIO(made)).pages, pages(made), strict=True):
        assert says.ESTIMATES in text
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            PAPER[paper], abs=0.1)


def test_nothing_is_drawn_beyond_the_paper_s_edges():
    found = []
    for page in PdfReader(io.BytesIO(by_visit(sheet(60, 2), MADE, A4))).pages:
        page.extract_text(visitor_text=lambda text, _, matrix, *more: found.append(
            (text, matrix[4], matrix[5])) if text.strip() else None)
    wide, high = PAPER[A4]
    outside = [(text, x, y) for text, x, y in found
               if not (30 < x < wide - 30 and 15 < y < high - 30)]
    assert len(found) > 100
    assert outside == []


def test_trees_in_recovery_are_named_before_each_list():
    given = sheet()
    told = pages(by_visit(given, MADE))
    for visit in given.visits:
        text = section(told, given, visit)
        assert text.index("not listed: 3, 6.") < text.index("South bench")
    bare = pages(by_visit(replace(given, recovering=()), MADE))
    assert not any("not listed" in text for text in bare)


def test_only_what_is_known_is_said():
    given = replace(sheet(), phone=None, hot_rule=None, rain_rule=None, can_l=None, garden="")
    told = " ".join(pages(by_visit(given, MADE)))
    assert "tell the owner" in told
    assert "Phone" not in told
    assert "Heat and rain" not in told
    assert re.search(r"\bcan\b", told.replace("a visit cannot", "")) is None


def test_no_visit_is_a_page_too():
    (told,) = pages(by_visit(replace(sheet(), visits=()), MADE))
    assert "No visit is needed." in told


def test_long_labels_stay_on_the_sheet():
    long = replace(pot(0), label="Kiefernreihe-hinten-links-Nr-117b", mark="BR")
    given = replace(sheet(), visits=(replace(sheet().visits[0], pots=(long,)),))
    assert long.label in " ".join(pages(by_visit(given, MADE))).replace(" ", "")


def test_marks_stand_beside_their_pots():
    told = pages(by_visit(sheet(), MADE))
    assert "1.3 L B R" in told[1]


def test_places_come_together_in_the_order_of_the_walk():
    pots = [replace(pot(i), place=place) for i, place in enumerate("bacab")]
    assert [each.place for each in sorted_by_place(pots)] == ["b", "b", "a", "a", "c"]
    assert [place for place, _ in says.benches(sheet().visits[0].pots)] == list(PLACES)


@pytest.mark.parametrize("draw", [by_visit, all_in_one])
def test_the_same_sheet_twice_is_the_same_file(draw):
    assert draw(sheet(), MADE) == draw(sheet(), MADE)


def test_a_page_of_the_table_lists_only_what_its_visits_water():
    """Seven visits are five on one page and two on the next; one tree is watered but once."""
    given = sheet(3, 7)
    seldom = replace(pot(5), label="once", place=given.visits[0].pots[0].place)
    first = replace(given.visits[0], pots=(*given.visits[0].pots, seldom))
    told = pages(all_in_one(replace(given, visits=(first, *given.visits[1:])), MADE))
    tables = [text for text in told if text.startswith(says.HOW_SHORT)]
    assert ["once" in text.split() for text in tables] == [True, False]
