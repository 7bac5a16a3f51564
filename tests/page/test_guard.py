"""Who is let in: Host, pairing, cookies, tokens, bodies, paths."""

import http.client
import os
import socket
import stat
from pathlib import Path
from threading import Thread

import pytest
from itsdangerous import URLSafeTimedSerializer
from page.conftest import CODE, Clock, Home, Phone

from advisor.errors import Refused
from advisor.garden.records import Event, Tree
from advisor.garden.store import Garden
from advisor.page import guard
from advisor.page.guard import Pairing

PAGES = ["/", "/tree?label=3", "/tree.png?label=3", "/recovering", "/weather", "/history",
         "/garden", "/form/tree", "/token", "/away", "/static/page.js"]
CHANGES = ["/away", "/watered", "/undo", "/tell/reading", "/form/place"]


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1:9", "127.0.0.1", "localhost.evil.com",
                                  "", "[::1]:8765", "127.0.0.1:8765@evil"])
@pytest.mark.parametrize("path", ["/", "/static/page.css", "/history"])
def test_another_host_is_refused(home: Home, host: str, path: str) -> None:
    answer = home.app.test_client().get(path, headers={"Host": host}, buffered=True)
    assert answer.status_code == 400
    assert "south bench" not in answer.text.lower()


@pytest.mark.parametrize("path", CHANGES)
@pytest.mark.parametrize("told", [{}, {"token": "0" * 64}, {"token": "é"}])
def test_a_change_without_its_token_is_refused(phone: Phone, home: Home, path: str,
                                               told: dict[str, str]) -> None:
    phone.get("/")
    before = home.entries()
    answer = phone.client.post(path, data={"tree": "3", "entry": "2", **told},
                               headers={"Host": phone.host})
    assert answer.status_code == 403
    assert home.entries() == before


def test_the_token_of_another_phone_is_refused(home: Home) -> None:
    mine, other = home.phone(), home.phone()
    mine.get("/")
    answer = mine.client.post("/watered", data={"tree": "3", "token": other.token()},
                              headers={"Host": mine.host})
    assert answer.status_code == 403


@pytest.mark.parametrize("path", PAGES)
def test_nothing_is_reached_unpaired(lan: Home, path: str) -> None:
    answer = lan.phone().get(path)
    assert answer.status_code in (303, 401)
    assert answer.headers.get("Location", "/pair") == "/pair"
    assert "greybeard" not in answer.text.lower()


@pytest.mark.parametrize("path", CHANGES)
def test_nothing_is_changed_unpaired(lan: Home, path: str) -> None:
    phone = lan.phone()
    before = lan.entries()
    token = phone.token("/pair")
    answer = phone.client.post(path, data={"tree": "3", "token": token, "entry": "2"},
                               headers={"Host": phone.host})
    assert answer.status_code == 401
    assert lan.entries() == before


def test_a_phone_is_paired_once(lan: Home) -> None:
    phone = lan.phone()
    assert phone.post("/pair", {"code": "abcd 2345"}).status_code == 303
    assert "Greybeard" in phone.get("/").text
    assert phone.get("/pair").headers["Location"] == "/"
    assert lan.phone().get("/").status_code == 303


def test_pairing_gives_a_session_of_its_own(lan: Home) -> None:
    phone = lan.phone()
    before = phone.token("/pair")
    phone.post("/pair", {"code": CODE})
    assert phone.token() != before


def test_wrong_codes_are_slowed_down(lan: Home) -> None:
    phone = lan.phone()
    for _ in range(guard.FREE_TRIES):
        assert phone.post("/pair", {"code": "WRONG234"}).status_code == 403
    slowed = phone.post("/pair", {"code": CODE})
    assert slowed.status_code == 429
    assert int(slowed.headers["Retry-After"]) >= 2
    assert phone.get("/").status_code == 303
    lan.clock.on(seconds=3)
    assert phone.post("/pair", {"code": CODE}).status_code == 303


def test_waits_double_up_to_the_longest_and_all_phones_together_end() -> None:
    clock = Clock()
    pairing = Pairing(CODE, clock)
    waits = []
    for _ in range(20):
        assert not pairing.take("a", "WRONG234")
        waits.append(pairing.wait_s("a"))
        clock.on(seconds=pairing.wait_s("a") + 1)
    assert waits[:6] == [0, 0, 2, 4, 8, 16]
    assert max(waits) == guard.LONGEST_WAIT.total_seconds()
    for number in range(guard.MOST_TRIES):
        pairing.take(f"phone {number}", "WRONG234")
    assert not pairing.take("another", CODE)


@pytest.mark.parametrize("forged", [
    "nonsense", "eyJwYWlyZWQiOnRydWV9.aaaa.bbbb",
    str(URLSafeTimedSerializer("guessed", salt="cookie-session").dumps(
        {"paired": True, "id": "x"}))], ids=["nonsense", "made up", "another key"])
def test_a_forged_cookie_is_worth_nothing(lan: Home, forged: str) -> None:
    phone = lan.phone()
    phone.client.set_cookie("advisor", forged, domain="127.0.0.1")
    assert phone.get("/").status_code == 303


def test_a_cookie_is_kept_from_scripts_and_other_sites(lan: Home) -> None:
    told = lan.phone().get("/pair").headers["Set-Cookie"]
    assert "HttpOnly" in told
    assert "SameSite=Strict" in told


def test_every_answer_says_what_the_page_may_load(phone: Phone) -> None:
    for path in ("/", "/nothere", "/static/page.css"):
        policy = phone.get(path).headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
    assert phone.get("/").headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", [
    "/static/../app.py", "/static/..%2f..%2fapp.py", "/static/%2e%2e/guard.py", "/../../etc/passwd",
    "/static//etc/passwd", "/form/../history/x", "/form/undo", "/tell/undo", "/tree?label=nobody",
    "/tree?label=../../x", "/tree", "/%00", "/form/watered"])
def test_path_tricks_find_nothing(phone: Phone, path: str) -> None:
    answer = phone.get(path)
    assert answer.status_code in (404, 405)
    assert "def " not in answer.text


def test_a_name_that_is_a_script_is_shown_as_text(phone: Phone, home: Home) -> None:
    name = "<script>alert(1)</script>"
    with Garden.open(home.path) as garden, garden.entry(home.clock(), name) as entry:
        entry.add(Tree("3", "juniper", name))
    for path in ("/", "/tree?label=3", "/history", "/garden"):
        text = phone.get(path).text
        assert "<script>alert" not in text
        assert "&lt;" in text


def test_a_body_that_is_too_long_is_refused(phone: Phone, home: Home) -> None:
    before = home.entries()
    answer = phone.post("/watered", {"tree": "3" * 10_000_000})
    assert answer.status_code == 413
    assert home.entries() == before
    assert phone.get("/").status_code == 200


@pytest.mark.parametrize("told", [
    {"tree": "--help"}, {"tree": "-x"}, {"tree": "nobody"}, {"bench": "0"}, {"listed": "99"}, {},
    {"tree": "3", "ago": "-5"}, {"tree": "3", "ago": "1e9"}, {"tree": "3", "ago": "9" * 30},
    {"tree": "3", "identifier": "short"}, {"tree": "3", "identifier": "x" * 1000}])
def test_what_no_page_sends_is_refused(phone: Phone, home: Home, told: dict[str, str]) -> None:
    before = home.entries()
    answer = phone.post("/watered", told)
    assert answer.status_code == 422
    assert "Wanted" in answer.text or "Known" in answer.text or "option" in answer.text
    assert home.entries() == before


@pytest.mark.skipif(os.name != "posix", reason="rights of files are those of POSIX")
def test_the_key_is_its_owners_alone(tmp_path: Path) -> None:
    where = tmp_path / "key"
    key = guard.read_key(where)
    assert stat.S_IMODE(where.stat().st_mode) == 0o600
    assert guard.read_key(where) == key
    where.write_bytes(b"short")
    with pytest.raises(Refused, match="32 bytes"):
        guard.read_key(where)


def test_a_thousand_requests_at_once_and_the_page_serves_on(served: Home) -> None:
    answers: list[int] = []

    def ask(count: int) -> None:
        for _ in range(count):
            asking = http.client.HTTPConnection("127.0.0.1", served.port, timeout=60)
            asking.request("GET", "/static/page.css")
            answers.append(asking.getresponse().status)
            asking.close()

    threads = [Thread(target=ask, args=(20,)) for _ in range(50)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [200] * 1000


def test_slow_clients_hold_nobody_up(served: Home) -> None:
    slow = [socket.create_connection(("127.0.0.1", served.port)) for _ in range(20)]
    try:
        for each in slow:
            each.sendall(b"POST /watered HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 60000\r\n")
        asking = http.client.HTTPConnection("127.0.0.1", served.port, timeout=30)
        asking.request("GET", "/static/page.css")
        assert asking.getresponse().status == 200
        asking.close()
    finally:
        for each in slow:
            each.close()


def test_a_garden_of_an_event_kind_is_not_told_by_a_form(phone: Phone, home: Home) -> None:
    """No form stands for `gone`: a page cannot lose a tree."""
    assert phone.get("/form/gone").status_code == 404
    with Garden.open(home.path, readonly=True) as garden:
        assert not any(isinstance(each, Event) and each.kind == "gone"
                       for told in garden.knowledge().events.values() for each in told)
