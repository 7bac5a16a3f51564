"""Asking a service: freshness, unchanged answers, and all that goes wrong on the way."""

import gzip
import json
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest
import services_made as made
from pytest_httpserver import HTTPServer
from werkzeug import Request as Asked
from werkzeug import Response

from advisor.weather import client, wire
from advisor.weather.client import StoredAnswer, fetch
from advisor.weather.services import Request, metno

NOW = datetime(2026, 6, 1, 9, 30, tzinfo=UTC)
EXPIRES, MODIFIED = "Mon, 01 Jun 2026 10:02:03 GMT", "Mon, 01 Jun 2026 09:12:44 GMT"
BODY = made.body(made.met_norway())
PAGE = "<html><body><h1>502 Bad Gateway</h1></body></html>"


class Waits(list[float]):
    """Remembers every wait instead of waiting."""

    @property
    def means(self) -> wire.Means:
        return wire.Means(sleep=self.append, draw=lambda: 0.5)


@pytest.fixture
def waits() -> Waits:
    return Waits()


@pytest.fixture
def question(httpserver: HTTPServer, site) -> Request:
    return metno.request(site, made.CONTACT, base_url=httpserver.url_for("/complete"))


def stored(**other: object) -> StoredAnswer:
    told = {
        "body": b'{"old": 1}',
        "fetched_at": NOW - timedelta(hours=3),
        "fresh_until": NOW - timedelta(hours=1),
        "expires": "x",
        "last_modified": MODIFIED,
    }
    return StoredAnswer(**(told | other))


def answers(
    httpserver: HTTPServer, *replies: Response | Callable[[Asked], Response]
) -> list[Asked]:
    """Give these replies, one a call, the last for ever; remember what was asked."""
    asked: list[Asked] = []

    def reply(request: Asked) -> Response:
        given = replies[min(len(asked), len(replies) - 1)]
        asked.append(request)
        return given if isinstance(given, Response) else given(request)

    httpserver.expect_request("/complete").respond_with_handler(reply)
    return asked


def good(**headers: str) -> Response:
    return Response(BODY, headers={"Content-Type": "application/json", **headers})


Ask = Callable[..., client.Fetched]


@pytest.fixture
def ask(question: Request, waits: Waits) -> Ask:
    """Ask the question, waiting for nothing."""

    def ask(kept: StoredAnswer | None = None, *, now: datetime = NOW, s: float = 30) -> object:
        return fetch(question, kept, now, s, waits.means)

    return ask


# --- what is sent and kept --------------------------------------------------------------


def test_a_new_answer(httpserver: HTTPServer, ask: Ask) -> None:
    asked = answers(httpserver, good(**{"Expires": EXPIRES, "Last-Modified": MODIFIED}))
    got = ask()
    assert (got.outcome, got.status, got.error, got.notes) == ("new", 200, None, ())
    assert got.answer.body == BODY
    assert got.answer.fetched_at == NOW
    assert (got.answer.expires, got.answer.last_modified) == (EXPIRES, MODIFIED)
    assert got.answer.fresh_until == datetime(2026, 6, 1, 10, 2, 3, tzinfo=UTC) + timedelta(
        minutes=client.SPREAD_MIN / 2
    )
    (request,) = asked
    assert request.method == "GET"
    assert request.args.to_dict() == {"lat": "52.1000", "lon": "5.1800", "altitude": "2"}
    assert request.headers["User-Agent"].split("/")[0] == "advisor"
    assert request.headers["User-Agent"].endswith(f" {made.CONTACT}")
    assert request.headers["Accept-Encoding"] == "gzip"
    assert "If-Modified-Since" not in request.headers


def test_nothing_is_asked_while_the_stored_answer_is_fresh(
    httpserver: HTTPServer, ask: Ask
) -> None:
    asked = answers(httpserver, good())
    kept = stored(fresh_until=NOW + timedelta(minutes=1))
    got = ask(kept)
    assert (got.outcome, got.answer) == ("fresh", kept)
    assert asked == []


def test_a_freshness_of_years_is_a_clock_that_was_wrong(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, good())
    got = ask(stored(fresh_until=NOW + timedelta(days=900)))
    assert got.outcome == "new"


def test_not_modified(httpserver: HTTPServer, ask: Ask) -> None:
    asked = answers(httpserver, Response(status=304, headers={"Expires": EXPIRES}))
    odd = "Mon, 1 Jun 2026 09:12:44 +0000"  # as it stood, however it stood
    got = ask(stored(last_modified=odd))
    assert (got.outcome, got.status) == ("unchanged", 304)
    assert got.answer.body == b'{"old": 1}'
    assert got.answer.fetched_at == NOW - timedelta(hours=3)
    assert got.answer.last_modified == odd
    assert got.answer.expires == EXPIRES
    assert got.answer.fresh_until > NOW
    assert asked[0].headers["If-Modified-Since"] == odd


def test_not_modified_though_nothing_is_stored(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(status=304))
    got = ask()
    assert got.outcome == "failed"
    assert "nothing is stored" in str(got.error)


@pytest.mark.parametrize("expires", ["", "soon", "Mon, 01 Jun 2026 08:00:00 GMT"])
def test_freshness_where_the_service_does_not_say(
    httpserver: HTTPServer, ask: Ask, expires: str
) -> None:
    answers(httpserver, good(Expires=expires))
    got = ask()
    assert got.answer.fresh_until == NOW + timedelta(hours=client.FRESH_H["forecast"])


def test_an_interface_soon_to_end(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(BODY, status=203))
    got = ask()
    assert (got.outcome, got.answer.body) == ("new", BODY)
    assert "203" in got.notes[0]


def test_a_compressed_answer(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(gzip.compress(BODY), headers={"Content-Encoding": "gzip"}))
    assert ask().answer.body == BODY


def test_a_redirect(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(status=301, headers={"Location": "/elsewhere?lat=1"}))
    httpserver.expect_request("/elsewhere", query_string="lat=1").respond_with_data(BODY)
    got = ask()
    assert got.answer.body == BODY
    assert "sent on to" in got.notes[0]


def refused(got: client.Fetched, *words: str) -> None:
    """The message names the host, what happened and what to do."""
    assert got.outcome == "failed"
    for word in ("localhost", *words):
        assert word in str(got.error)
    assert got.error is not None
    assert got.error.do


@pytest.mark.parametrize(
    ("status", "body", "words", "calls"),
    [
        (400, PAGE, ("400", "not understood"), 1),
        (403, PAGE, ("403", "turned away", "contact"), 1),
        (404, '{"detail": "No sources match your criteria"}', ("404", "No sources match"), 1),
        (422, '{"detail": [{"msg": "Supply both lat and lon"}]}', ("422", "Supply both"), 1),
        (422, '{"messages": ["T2X is not a parameter"]}', ("T2X is not a parameter",), 1),
        (400, '{"error": true, "reason": "Invalid\\ntimezone"}', ("Invalid timezone",), 1),
        (499, "", ("499",), 1),
        (418, "", ("418", "not expected"), 1),
        (429, '{"error": true, "reason": "Daily limit"}', ("429", "too often", "Daily limit"), 4),
        (500, "", ("500",), 4),
        (502, PAGE, ("502",), 4),
        (503, '{"error":true,"reason":"The service is overloaded"}', ("503", "overloaded"), 4),
        (504, "", ("504",), 4),
    ],
)
def test_a_refusal(
    httpserver: HTTPServer,
    ask: Ask,
    waits: Waits,
    status: int,
    body: str,
    words: tuple[str, ...],
    calls: int,
) -> None:
    asked = answers(httpserver, Response(body, status=status))
    old = stored()
    got = ask(old)
    refused(got, *words)
    assert (got.status, got.answer.body) == (status, old.body)
    assert got.answer.last_modified == MODIFIED
    assert (len(asked), len(waits)) == (calls, calls - 1)
    assert "\n" not in str(got.error)


def test_waits_grow_and_the_answer_comes(httpserver: HTTPServer, ask: Ask, waits: Waits) -> None:
    busy = Response(status=503)
    answers(httpserver, busy, busy, busy, good())
    assert ask().outcome == "new"
    assert len(waits) == 3
    assert 0 < waits[0] < waits[1] < waits[2] < 10


def test_retry_after_is_kept_to(httpserver: HTTPServer, ask: Ask, waits: Waits) -> None:
    answers(httpserver, Response(status=429, headers={"Retry-After": "7"}), good())
    assert ask().outcome == "new"
    assert waits == [7.0]


@pytest.mark.parametrize("told", ["3600", "Thu, 31 Dec 2099 00:00:00 GMT"])
def test_a_wait_beyond_the_time_allowed_is_left_for_later(
    httpserver: HTTPServer, ask: Ask, waits: Waits, told: str
) -> None:
    asked = answers(httpserver, Response(status=429, headers={"Retry-After": told}))
    got = ask()
    refused(got, "429")
    assert (len(asked), waits) == (1, [])
    assert got.answer.fresh_until >= NOW + timedelta(hours=1)
    again = ask(got.answer, now=NOW + timedelta(minutes=59))
    refused(again, "not over yet")
    assert len(asked) == 1


def test_too_many_calls_are_followed_by_silence(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(status=429, headers={"Retry-After": "in a while"}))
    got = ask(stored())
    assert got.answer.fresh_until == NOW + timedelta(minutes=client.HOLD_OFF_MIN)


def test_a_web_page_in_place_of_data(httpserver: HTTPServer, ask: Ask) -> None:
    asked = answers(httpserver, Response(PAGE, content_type="text/html"))
    refused(ask(), "web page")
    assert len(asked) == 1


@pytest.mark.parametrize("body", [b"", b'{"a": ', b"\xff\xfe", b"[" * 100_000])
def test_data_that_cannot_be_read(httpserver: HTTPServer, ask: Ask, body: bytes) -> None:
    answers(httpserver, Response(body))
    refused(ask(), "cannot be read")


def test_a_body_cut_off(httpserver: HTTPServer, ask: Ask) -> None:
    cut = Response([BODY[:50]], headers={"Content-Length": str(len(BODY))})
    asked = answers(httpserver, cut)
    refused(ask(), "cut off")
    assert len(asked) == 4


def test_a_body_cut_off_once(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response([BODY[:9]], headers={"Content-Length": "999"}), good())
    assert ask().answer.body == BODY


def test_compression_that_is_none(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(BODY, headers={"Content-Encoding": "gzip"}))
    refused(ask(), "cut off")


@pytest.mark.parametrize("packed", [False, True])
def test_a_body_without_end(
    httpserver: HTTPServer, ask: Ask, packed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(wire, "MOST_BYTES", 2_000_000)
    zeros = b"0" * 3_000_000
    reply = Response(gzip.compress(zeros), headers={"Content-Encoding": "gzip"})
    answers(httpserver, reply if packed else Response(zeros))
    refused(ask(), "more than 2 MB")


def test_a_body_that_trickles(httpserver: HTTPServer, question: Request, waits: Waits) -> None:
    """By a clock that goes five seconds a look; each piece comes in time by itself."""

    def trickle(_: Asked) -> Response:
        return Response((b"[1," for _ in range(100_000)), direct_passthrough=True)

    answers(httpserver, trickle)
    ticks = count(0.0, 5.0)
    means = wire.Means(clock=lambda: next(ticks), sleep=waits.append, draw=lambda: 0.5)
    refused(fetch(question, None, NOW, 30, means), "too slowly")


@pytest.fixture
def gate() -> Iterator[threading.Event]:
    """Hold something up until the test is over."""
    event = threading.Event()
    yield event
    event.set()


def test_a_service_that_says_nothing(
    httpserver: HTTPServer, ask: Ask, gate: threading.Event
) -> None:
    def silent(_: Asked) -> Response:
        gate.wait(20)
        return good()

    answers(httpserver, silent)
    got = ask(stored(), s=0.3)
    refused(got, "no answer")
    assert got.answer.body == stored().body
    gate.set()


def test_a_name_that_is_looked_up_for_ever(
    ask: Ask, gate: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What knows no time-out of its own is left behind."""

    def stuck(*_: object, **__: object) -> None:
        gate.wait(20)
        raise OSError("no such name")

    monkeypatch.setattr("socket.getaddrinfo", stuck)
    monkeypatch.setattr(client, "GRACE_S", 0.05)
    refused(ask(s=0.1), "no answer within 0.1 s")


def test_no_network(ask: Ask, monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object, **__: object) -> None:
        raise OSError("name or service not known")

    monkeypatch.setattr("socket.getaddrinfo", unknown)
    got = ask(stored())
    refused(got, "no connection", "network")
    assert got.answer.fresh_until == NOW


def test_redirects_without_end(httpserver: HTTPServer, ask: Ask) -> None:
    asked = answers(httpserver, Response(status=302, headers={"Location": "/complete"}))
    refused(ask(), "redirects without end")
    assert len(asked) == wire.MOST_REDIRECTS + 1


def test_a_redirect_to_something_else(httpserver: HTTPServer, ask: Ask) -> None:
    answers(httpserver, Response(status=302, headers={"Location": "file:///etc/hosts"}))
    refused(ask(), "not encrypted")


def test_an_encrypted_connection_is_not_left() -> None:
    with pytest.raises(wire.Failed, match="not encrypted"):
        wire._next_url("https://api.met.no/a", "http://api.met.no/a")
    assert wire._next_url("https://api.met.no/a", "/b") == "https://api.met.no/b"


def test_stored_passwords_stay_at_home(
    httpserver: HTTPServer, ask: Ask, tmp_path, monkeypatch
) -> None:
    netrc = tmp_path / "netrc"
    netrc.write_text("machine localhost login me password none\n")
    netrc.chmod(0o600)
    monkeypatch.setenv("NETRC", str(netrc))
    asked = answers(httpserver, good())
    ask()
    assert "Authorization" not in asked[0].headers


def test_another_fault_is_told_too(ask: Ask, monkeypatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("of another kind")

    monkeypatch.setattr(client, "patiently", broken)
    refused(ask(), "RuntimeError")


def test_an_answer_of_bytes_is_what_the_readers_take(
    httpserver: HTTPServer, question: Request, ask: Ask
) -> None:
    from advisor.weather.services import readers

    answers(httpserver, good())
    got = ask()
    assert json.loads(got.answer.body or b"") == made.met_norway()
    (answer,) = readers.read(question, got.answer.body or b"", issued_at=NOW)
    assert answer.kind == "forecast"
