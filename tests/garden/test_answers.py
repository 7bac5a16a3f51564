"""The last answer of a service: kept across runs, replaced whole, failures told."""

from datetime import timedelta

import pytest
from garden.told import NOW, start

from advisor.errors import Refused
from advisor.garden.answers import key_of
from advisor.garden.store import Garden
from advisor.weather.client import Fetched, StoredAnswer
from advisor.weather.services import Request

HOUR = timedelta(hours=1)
ASKED = Request("metno", "forecast", "https://example.org/complete", {"lon": "5.18", "lat": "52.1"},
                {"User-Agent": "advisor/1 someone@example.org"})
BODY = '{"temp": "12 °C"}'.encode() * 100
ANSWER = StoredAnswer(BODY, NOW, NOW + HOUR, "Wed, 01 Jul 2026 06:00:00 GMT",
                      "Wed, 01 Jul 2026 04:58:00 GMT")
ERROR = Refused("weather from example.org", "cannot be reached", "an answer", "Check the network.")


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        yield garden


def test_what_was_never_asked_is_nothing(garden):
    assert garden.stored_answer(ASKED) is None
    assert garden.answers() == []


def test_an_answer_comes_back_whole_after_closing(garden):
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 203, ("soon to end",)), NOW)
    garden.close()
    with Garden.open(garden.path) as again:
        assert again.stored_answer(ASKED) == ANSWER
        (kept,) = again.answers()
    assert (kept.service, kept.status, kept.note, kept.error) == ("metno", 203, "soon to end", "")
    assert (kept.tried_at, kept.fetched_at, kept.fresh_until) == (NOW, NOW, NOW + HOUR)
    assert len(kept.digest) == 64


def test_the_question_is_told_by_what_is_asked_and_not_by_who_asks():
    other = Request("metno", "forecast", ASKED.url, {"lat": "52.1", "lon": "5.18"}, {})
    assert key_of(other) == key_of(ASKED) == "forecast https://example.org/complete?lat=52.1&lon=5.18"
    assert "someone" not in key_of(ASKED)


def test_a_new_answer_replaces_the_old_one(garden):
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 200), NOW)
    later = StoredAnswer(b"other", NOW + HOUR, NOW + 2 * HOUR)
    garden.save_fetched(ASKED, Fetched("new", later, 200), NOW + HOUR)
    assert garden.stored_answer(ASKED) == later
    assert len(garden.answers()) == 1


def test_an_unchanged_answer_keeps_its_body_and_is_fresh_again(garden):
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 200), NOW)
    same = StoredAnswer(BODY, NOW, NOW + 3 * HOUR, "later", ANSWER.last_modified)
    garden.save_fetched(ASKED, Fetched("unchanged", same, 304), NOW + HOUR)
    assert garden.stored_answer(ASKED) == same
    assert garden.answers()[0].tried_at == NOW + HOUR


def test_a_failure_keeps_the_body_and_says_what_happened(garden):
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 200), NOW)
    failed = Fetched("failed", ANSWER, None, error=ERROR)
    garden.save_fetched(ASKED, failed, NOW + 5 * HOUR)
    assert garden.stored_answer(ASKED) == ANSWER
    kept = garden.answers()[0]
    assert (kept.tried_at, kept.fetched_at, kept.error) == (NOW + 5 * HOUR, NOW, str(ERROR))


def test_a_first_failure_leaves_nothing_to_read(garden):
    nothing = StoredAnswer(None, NOW, NOW + HOUR)
    garden.save_fetched(ASKED, Fetched("failed", nothing, 429, error=ERROR), NOW)
    assert garden.stored_answer(ASKED) == nothing
    assert (garden.answers()[0].fetched_at, garden.answers()[0].status) == (None, 429)


def test_what_was_not_asked_changes_nothing(garden):
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 200), NOW)
    before = garden.answers()
    garden.save_fetched(ASKED, Fetched("fresh", ANSWER), NOW + HOUR)
    assert garden.answers() == before


def test_a_damaged_body_is_refused_as_a_damaged_file(garden):
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 200), NOW)
    garden._connection.execute("UPDATE answer SET body = x'00'")
    with pytest.raises(Refused, match="damaged"):
        garden.stored_answer(ASKED)


def test_reading_answers_does_not_change_the_revision(garden):
    before = garden.revision(), garden.weather_revision()
    garden.save_fetched(ASKED, Fetched("new", ANSWER, 200), NOW)
    assert (garden.revision(), garden.weather_revision()) == before


def test_a_body_that_is_not_kept_leaves_when_it_came(garden):
    at = NOW
    answer = StoredAnswer(b"hours", at, at + HOUR)
    garden.save_fetched(ASKED, Fetched("new", answer, 200), at, keep_body=False)
    assert garden.stored_answer(ASKED).body is None
    (kept,) = garden.answers()
    assert (kept.fetched_at, kept.digest != "") == (at, True)
