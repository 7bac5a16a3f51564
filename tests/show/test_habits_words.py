"""What readings told, in words."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from advisor.garden.records import Place, Reading, Tree
from advisor.jobs.habits import Foreseen, Habits
from advisor.jobs.judge import Spread
from advisor.show.habits_words import (
    HEADER,
    document,
    foreseen,
    list_text,
    rows,
    sentences,
    tree_text,
)

ZONE = ZoneInfo("Europe/Berlin")
AT = datetime(2026, 9, 10, 5, 0, tzinfo=UTC)
ASSUMED = Spread(0.57, 1.0, 1.74)


def one(kind, taken, spread, off=0.3, used=True, **told):
    told.setdefault("value", taken)
    return Foreseen(Reading("3", AT - timedelta(days=1), kind, **told), taken, Spread(*spread),
                    off, used)


def habits(label="3", readings=0, before=0, doubted=0, last=()):
    return Habits(Tree(label, "pine", "Greybeard"), Place("bench"), Spread(1.05, 1.24, 1.46),
                  ASSUMED, Spread(0.85, 0.97, 1.1), Spread(0.8, 1.0, 1.3),
                  Spread(1.1, 1.26, 1.43), readings, before, doubted, tuple(last))


def test_how_much_it_drinks_and_holds_with_what_that_rests_on():
    depths = [one("dry depth", 30.0, (20.0, 26.0, 33.0)),
              one("dry depth", 10.0, (14.0, 18.0, 22.0), off=-2.0)]
    assert sentences(habits(readings=2, last=depths)) == [
        "drinks 124 % (105 to 146 %) of what is assumed; before anything was read, 57 to 174 %",
        "holds 97 % (85 to 110 %) of what is assumed: 1.26 L for the tree (1.10 to 1.43 L)",
        "rests on 2 readings in this pot",
        "of the last 2, 1 lay where nine in ten should; off in the middle: skewers by 6 mm"]


def test_of_a_tree_that_nothing_was_read_of_no_more_is_said():
    assert sentences(habits())[0] == "drinks 124 % (105 to 146 %) of what is assumed"
    assert sentences(habits())[2:] == ["rests on no reading in this pot"]


def test_readings_of_earlier_pots_and_doubted_ones_are_named():
    assert sentences(habits(readings=1, before=5, doubted=2))[2] == (
        "rests on 1 reading in this pot, and 5 readings of earlier pots for what it drinks; 2 lie "
        "too far off and wait for another that agrees")


def test_weights_are_off_by_grams():
    last = [one("weight", 0.48, (0.22, 0.32, 0.48), value=8.62)]
    assert sentences(habits(readings=1, last=last))[-1].endswith("weights by 160 g")


@pytest.mark.parametrize(("each", "words"), [
    (one("dry depth", 30.0, (20.2, 26.4, 33.0)), "dry to 30 mm; foreseen 26 mm (20 to 33 mm)"),
    (one("weight", 0.48, (0.22, 0.32, 0.48), value=8.62),
     "8.62 kg, 0.48 L below full; foreseen 0.32 L lacking (0.22 to 0.48 L)"),
    (one("run-off", 0.9, (0.3, 0.5, 0.8), word="ran"),
     "ran after 0.9 L; foreseen 0.50 L lacking (0.30 to 0.80 L)"),
    (one("lift", 0.4, (0.12, 0.28, 0.4), value=None, word="light"),
     "light to lift; foreseen 28 % of its water left (12 % to 40 %)"),
    (one("feel", 0.2, (0.05, 0.2, 0.4), value=None, word="moist", depth_mm=20.0),
     "moist at 20 mm; foreseen moist (dry to wet)"),
    (one("feel", 0.2, (0.12, 0.2, 0.25), value=None, word="moist", depth_mm=20.0),
     "moist at 20 mm; foreseen moist"),
    (one("dry depth", 30.0, (1.0, 2.0, 3.0), off=3.0),
     "dry to 30 mm; foreseen 2 mm (1 to 3 mm): a surprise"),
    (one("dry depth", 30.0, (1.0, 2.0, 3.0), off=6.0, used=False),
     "dry to 30 mm; foreseen 2 mm (1 to 3 mm): too far off, not counted until another agrees"),
])
def test_each_kind_of_reading_beside_what_was_foreseen(each, words):
    assert foreseen(each) == words


def test_the_list_leaves_trees_without_readings_to_a_line():
    text = list_text([habits("3", readings=2), habits("4"), habits("5")])
    assert text.splitlines()[0] == "3  Greybeard, bench"
    assert ("Nothing read of 4, 5: each drinks and holds as assumed of its kind and pot "
            "(advisor reading).") in text
    assert list_text([]) == "No tree stands in a pot yet (advisor add tree)."


def test_the_page_of_a_tree_shows_its_last_readings_with_their_time():
    text = tree_text(habits(readings=1, last=[one("dry depth", 30.0, (20.0, 26.0, 33.0))]), AT,
                     ZONE)
    assert "Wed 9 Sep 07:00  dry to 30 mm; foreseen 26 mm (20 to 33 mm)" in text
    assert "Its last readings" not in tree_text(habits(), AT, ZONE)


def test_scripts_get_the_same_sentences_and_every_column_a_value():
    each = habits(readings=2, last=[one("dry depth", 30.0, (20.0, 26.0, 33.0))])
    (told,) = document([each], ZONE)["trees"]
    assert told["why"] == sentences(each)
    assert told["drinks"] == {"low": 1.05, "mid": 1.24, "high": 1.46}
    assert told["last"][0]["why"] == foreseen(each.last[0])
    assert told["last"][0]["at"] == "2026-09-09T07:00:00+02:00"
    (row,) = rows([each])
    named = dict(zip(HEADER, row, strict=True))
    assert (named["holds_l"], named["last"], named["last_within"]) == (1.26, 1, 1)
