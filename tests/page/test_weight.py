"""What a phone must fetch: every page of two hundred trees in 100 kB, its first paint in two."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from benchmarks.gardens import make
from page.conftest import Clock, Home, Phone

from advisor.garden import example

TREES, MOST = 200, 100_000
PATHS = ["/", "/tree?label=t3", "/tree?label=t15", "/recovering", "/weather", "/history",
         "/garden", "/away", "/form/tree", "/form/tree?subject=t3", "/form/place", "/form/mix",
         "/form/repotted?subject=t3", "/form/moved?subject=t3", "/nothere"]


class Needs(HTMLParser):
    """What a page asks for besides itself: what its first paint waits for, and the rest."""

    def __init__(self) -> None:
        super().__init__()
        self.first: list[str] = []
        self.later: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "link" and told.get("rel") == "stylesheet":
            self.first.append(told["href"] or "")
        elif tag == "script":
            (self.later if "defer" in told else self.first).append(told["src"] or "")
        elif tag in ("img", "link"):
            self.later.append(told.get("src") or told.get("href") or "")
        assert tag not in ("style", "iframe", "object", "video", "audio")


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Phone:
    """Nobody has watered for ten days: every tree has much to say."""
    path: Path = tmp_path_factory.mktemp("many") / "garden.db"
    make(path, TREES, watered_days=0)
    return Home(path, clock=Clock(example.AT)).phone()


def sent(phone: Phone, path: str) -> bytes:
    """What goes over the network, as every browser of today asks for it."""
    answer = phone.client.get(path, headers={"Host": phone.host, "Accept-Encoding": "gzip"},
                              buffered=True)
    assert answer.status_code in (200, 404)
    data: bytes = answer.data
    return data


@pytest.mark.parametrize("path", PATHS)
def test_a_page_weighs_little_and_its_first_paint_waits_for_one_style_sheet(
        many: Phone, path: str) -> None:
    needs = Needs()
    needs.feed(many.get(path).text)
    assert needs.first == ["/static/page.css"]
    parts = {each: len(sent(many, each)) for each in (path, *needs.first, *needs.later)}
    assert sum(parts.values()) <= MOST, parts
    assert not re.search(r"url\(|@import", many.get("/static/page.css").text)


def test_a_page_is_packed_only_for_those_who_can_unpack_it(many: Phone) -> None:
    plain = many.get("/")
    assert "Content-Encoding" not in plain.headers
    assert plain.text.count("<li ") == TREES
    packed = many.client.get("/", headers={"Host": many.host, "Accept-Encoding": "gzip"},
                              buffered=True)
    assert packed.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in packed.headers["Vary"]
    assert len(packed.data) == int(packed.headers["Content-Length"]) < len(plain.data) / 5
