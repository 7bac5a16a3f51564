"""The recovering trees in words: every sentence of the list and the page."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from advisor.garden.records import Place, Tree
from advisor.jobs.judge import Reached, Spread
from advisor.jobs.recovering import Cycle, Page, State
from advisor.jobs.recovery import Recovery
from advisor.jobs.threats import Frosts, Threat, Tip
from advisor.show.recovery_words import (
    HEADER,
    ends,
    frost,
    list_document,
    list_rows,
    list_text,
    page_document,
    page_text,
    threat,
)

ZONE = ZoneInfo("Europe/Berlin")
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
AT = datetime(2026, 9, 10, 5, 0, tzinfo=UTC)  # Thursday, 07:00 on the wall
SINCE = AT - 7 * DAY
DRYING = Recovery(SINCE, SINCE + 42 * DAY, 34.0, dry=True)
SOON = Reached(AT + DAY, AT + 3 * DAY, AT + 6 * DAY)
STATE = State(Tree("15", "pine", "Ridgeline"), Place("overhang", 4), DRYING, 84.0,
              Spread(0.5, 0.58, 0.7), Spread(1.2, 11.4, 19.0), SOON)
PAGE = Page(STATE, AT, AT + 9 * DAY, (), 0.78, 114.4, 0.2, 0.3, (), None)


def lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines()]


def test_the_list_gives_each_tree_where_it_stands_and_when_it_is_dry():
    assert lines(list_text([STATE], AT, ZONE)) == [
        "15  Ridgeline, overhang: day 8 after repotting, 35 days left, kept on the dry side",
        "dry to 11 of 34 mm (1 to 19 mm; the soil is 84 mm deep), 58 % of its water left",
        "reaches its depth Sunday morning (tomorrow morning at the earliest, Wednesday morning "
        "at the latest)",
        "", "Estimates, not orders: the tree and the finger decide."]


@pytest.mark.parametrize(("before", "when"), [(AT, "now"), (AT + DAY, "tomorrow morning")])
def test_water_that_it_wants_before_its_depth_is_told(before, when):
    assert lines(list_text([replace(STATE, before=before)], AT, ZONE))[2] == (
        f"the soil its roots are in wants water {when}; by these figures, undisturbed, it reaches "
        "its depth Sunday morning (tomorrow morning at the earliest, Wednesday morning at the "
        "latest)")


def test_no_tree_recovers():
    assert list_text([], AT, ZONE) == "No tree recovers from repotting now."
    assert list_document([], AT, ZONE) == {"trees": []}


@pytest.mark.parametrize(("reached", "words"), [
    (Reached(AT + DAY, AT + 3 * DAY, None), "reaches its depth Sunday morning (tomorrow morning "
     "at the earliest, perhaps not in the days foreseen)"),
    (Reached(AT, AT + 3 * DAY, None), "reaches its depth Sunday morning (now at the earliest, "
     "perhaps not in the days foreseen)"),
    (Reached(AT, AT, AT + DAY), "has likely dried to its depth"),
    (Reached(None, None, None), "does not dry to its depth in the days foreseen"),
    (Reached(AT + 6 * DAY, None, None), "does not dry to its depth in the days foreseen; "
     "Wednesday morning at the earliest"),
])
def test_when_it_reaches_its_depth(reached, words):
    assert lines(list_text([replace(STATE, reaches=reached)], AT, ZONE))[2] == words


@pytest.mark.parametrize(("recovery", "kept", "why"), [
    (replace(DRYING, target_mm=None, dry=False), "kept evenly damp",
     "only evergreen conifers wait to dry: broad-leaved trees and larches are kept evenly damp"),
    (replace(DRYING, target_mm=None), "watered a little later than usual",
     "under 35 mm of soil nothing dries on top alone: it is judged by the water left"),
])
def test_a_tree_without_a_depth_to_wait_for_says_why(recovery, kept, why):
    said = lines(list_text([replace(STATE, recovery=recovery, reaches=None)], AT, ZONE))
    assert said[0].endswith(kept)
    assert said[1].startswith("dry to 11 mm (")
    assert said[2] == why


def test_the_page_says_it_all():
    page = replace(PAGE, cycles=(Cycle(AT - 3 * DAY, AT - 2 * DAY),),
                   threats=(Threat("heat", AT + DAY, AT + DAY + 5 * HOUR, 34.4),))
    assert lines(page_text(page, ZONE))[3:] == [
        "dried to its depth and was watered once since repotting: last dry Mon 7 Sep 07:00, "
        "watered Tue 8 Sep 07:00",
        "drinks 78 % of what it drank before its roots were worked; 114 degree-days of root "
        "growth since",
        "ends Thu 15 Oct, then comes back within a week: watered at 20 % of its water left at "
        "first, at 30 % from Thu 22 Oct",
        "", "What threatens it in the 9 days foreseen:",
        "shade it from Fri 11 Sep 07:00 to Fri 11 Sep 12:00: 34 °C, and few roots",
        "frost before it ends: not known, no past year of these days is in store "
        "(advisor weather past)",
        "", "Estimates, not orders: the tree and the finger decide."]


def test_nothing_threatens():
    assert "nothing" in lines(page_text(PAGE, ZONE))
    assert "not yet dried to its depth and watered since repotting" in lines(page_text(PAGE, ZONE))


@pytest.mark.parametrize(("count", "times"), [(1, "once"), (2, "twice"), (3, "3 times")])
def test_cycles_are_counted(count, times):
    done = tuple(Cycle(AT - 3 * DAY, AT - 2 * DAY) for _ in range(count))
    assert f"was watered {times} since" in page_text(replace(PAGE, cycles=done), ZONE)


def test_a_tree_kept_damp_ends_without_a_change():
    damp = replace(STATE, recovery=replace(DRYING, target_mm=None, dry=False), reaches=None)
    page = replace(PAGE, state=damp, limit_after=0.5, limit_usual=0.5)
    assert ends(page, ZONE) == ("ends Thu 15 Oct; it is watered at 50 % of its water left, before "
                                "and after")
    assert "dried to its depth" not in page_text(page, ZONE)


def test_in_the_week_after_the_end_it_comes_back():
    page = replace(PAGE, at=SINCE + 44 * DAY, state=replace(STATE, reaches=None))
    said = lines(page_text(page, ZONE))
    assert said[0] == ("15  Ridgeline, overhang: recovery ended Thu 15 Oct, coming back to normal "
                       "keeping")
    assert ("comes back to normal keeping until Thu 22 Oct: then it is watered at 30 % of its "
            "water left") in said


@pytest.mark.parametrize(("left", "words"), [
    (5 * HOUR, "less than a day"), (30 * HOUR, "1 day"), (3 * DAY, "3 days")])
def test_the_days_left(left, words):
    recovery = replace(DRYING, ends=AT + left)
    assert f", {words} left," in list_text([replace(STATE, recovery=recovery)], AT, ZONE)


@pytest.mark.parametrize(("each", "words"), [
    (Threat("rain", AT + DAY, AT + DAY + 6 * HOUR, 14.2, 0.8, 3.2, Tip(20.0, 0.18, 3.1)),
     "keep the rain off from Fri 11 Sep 07:00 to Fri 11 Sep 13:00: 14 mm could reach its soil and "
     "put its drying back by about 3 days (80 % sure); or tip the pot 20° on a long edge: it then "
     "holds 0.2 L less of its 3.1 L"),
    (Threat("rain", AT, AT + 6 * HOUR, 14.2, 0.98, 1.2),
     "keep the rain off from now to Thu 10 Sep 13:00: 14 mm could reach its soil and put its "
     "drying back by about 1 day (all but certain)"),
    (Threat("rain", AT, AT + 6 * HOUR, 40.0, 0.98, 30.0),
     "keep the rain off from now to Thu 10 Sep 13:00: 40 mm could reach its soil and put its "
     "drying back for weeks (all but certain)"),
    (Threat("frost", AT + DAY, AT + DAY + 3 * HOUR, -3.6),
     "bring it in from Fri 11 Sep 07:00 to Fri 11 Sep 10:00: down to -4 °C, and few roots"),
    (Threat("wind", AT + DAY, AT + DAY + 3 * HOUR, 7.8),
     "shelter it from the wind from Fri 11 Sep 07:00 to Fri 11 Sep 10:00: up to 8 m/s where it "
     "stands, which dries the crown and rocks the roots"),
])
def test_each_threat_says_what_to_do(each, words):
    assert threat(each, AT, ZONE) == words


@pytest.mark.parametrize(("found", "words"), [
    (Frosts(10, 3, date(2026, 9, 28), date(2026, 10, 5)),
     "frost before it ends: in 3 of 10 past years, Mon 28 Sep at the earliest, half of them by "
     "Mon 5 Oct"),
    (Frosts(10, 1, date(2026, 9, 28), date(2026, 9, 28)),
     "frost before it ends: in 1 of 10 past years, Mon 28 Sep at the earliest"),
    (Frosts(10, 0, None, None), "frost before it ends: in none of 10 past years"),
    (Frosts(1, 0, None, None), "frost before it ends: in none of the one past year in store"),
])
def test_frost_of_past_years(found, words):
    assert frost(found, AT, ZONE) == words


def test_scripts_get_the_same_sentences_and_numbers():
    rain = Threat("rain", AT + DAY, AT + DAY + 6 * HOUR, 14.2, 0.8, 3.2, Tip(20.0, 0.18, 3.1))
    page = replace(PAGE, threats=(rain,), cycles=(Cycle(AT - 3 * DAY, AT - 2 * DAY),),
                   frosts=Frosts(10, 3, date(2026, 9, 28), date(2026, 10, 5)))
    (told,) = page_document(page, ZONE)["trees"]
    said = lines(page_text(page, ZONE))
    for sentence in (*told["why"], *(each["why"] for each in told["threats"]),
                     told["frost"]["why"]):
        assert sentence in said
    assert told["threats"][0] | {"why": ""} == {
        "kind": "rain", "from": "2026-09-11T07:00:00+02:00", "until": "2026-09-11T13:00:00+02:00",
        "amount": 14.2, "chance": 0.8, "back_days": 3.2, "tip_deg": 20.0, "tip_drains_l": 0.18,
        "why": ""}
    assert told["cycles"] == [{"dried": "2026-09-07T07:00:00+02:00",
                               "watered": "2026-09-08T07:00:00+02:00"}]
    assert told["frost"]["earliest"] == "2026-09-28"
    assert (told["day"], told["days_left"], told["kept"]) == (8, 35, "dry")


def test_a_row_of_the_spreadsheet_has_a_value_for_every_head():
    (row,) = list_rows([STATE], AT, ZONE)
    told = dict(zip(HEADER, row, strict=True))
    assert told["tree"] == "15"
    assert (told["dry_low_mm"], told["dry_mid_mm"], told["dry_high_mm"]) == (1.2, 11.4, 19.0)
    assert told["reaches_mid"] == "2026-09-13T07:00:00+02:00"
    (bare,) = list_rows([replace(STATE, reaches=None)], AT, ZONE)
    assert bare[-3:] == [None, None, None]
