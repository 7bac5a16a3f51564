"""The pages served from the example garden, on a port of their own, with a phone to hold."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from demo_made import NOW, demo_garden
from flask.testing import FlaskClient
from waitress import create_server
from waitress.wasyncore import close_all

from advisor.garden.store import Garden
from advisor.page import serve
from advisor.page.app import make_app
from advisor.page.gardens import PageSession
from advisor.page.guard import Pairing, read_key
from advisor.page.house import House

CODE = "ABCD2345"


@dataclass
class Clock:
    now: datetime = NOW

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


@dataclass
class Home:
    """A garden and the pages over it."""

    path: Path
    port: int = 8765
    lan: bool = False
    clock: Clock = field(default_factory=Clock)

    def __post_init__(self) -> None:
        key = read_key(self.path.with_name("key"))
        pairing = Pairing(CODE, self.clock) if self.lan else None
        self.house = House(PageSession(self.path, self.clock), key,
                           serve.hosts(("127.0.0.1", "localhost"), self.port), pairing)
        self.app = make_app(self.house)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def phone(self) -> "Phone":
        return Phone(self.app.test_client(), f"127.0.0.1:{self.port}")

    def waterings(self, label: str) -> list[datetime]:
        with Garden.open(self.path, readonly=True) as garden:
            return [each.at for each in garden.knowledge().waterings[label]]

    def entries(self) -> list[str]:
        with Garden.open(self.path, readonly=True) as garden:
            return [each.words for each in garden.entries(1000, include_undone=False)]


@dataclass
class Phone:
    """A client that keeps its cookies and finds the token of a form."""

    client: FlaskClient
    host: str

    def get(self, path: str, **more: Any) -> Any:
        return self.client.get(path, headers={"Host": self.host}, buffered=True, **more)

    def token(self, path: str = "/") -> str:
        found = re.search(r'name="token" content="(\w+)"', self.get(path).text)
        assert found
        return found[1]

    def post(self, path: str, fields: dict[str, Any], script: bool = False) -> Any:
        headers = {"Host": self.host} | ({"X-Page": "script"} if script else {})
        from_page = "/pair" if path == "/pair" else "/"
        told = {"token": self.token(from_page)} | fields
        return self.client.post(path, data=told, headers=headers, buffered=True)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(demo_garden(tmp_path))


@pytest.fixture
def lan(tmp_path: Path) -> Home:
    return Home(demo_garden(tmp_path), lan=True)


@pytest.fixture
def phone(home: Home) -> Phone:
    return home.phone()


def serving(path: Path, lan: bool = False) -> Iterator[Home]:
    """Serve a garden on a free port until the test has ended."""
    with serve.bound(0, lan=False) as listening:
        home = Home(path, listening.getsockname()[1], lan)
        server = create_server(home.app, sockets=[listening], threads=4)
        running = Thread(target=server.run, daemon=True)
        running.start()
        yield home
        # closed by the loop's own thread, which ends when nothing is left open
        server.trigger.pull_trigger(lambda: close_all(server._map, ignore_all=True))
        running.join(10)
        server.task_dispatcher.shutdown(timeout=10)
        assert not running.is_alive()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Home]:
    yield from serving(demo_garden(tmp_path))


@pytest.fixture
def served_lan(tmp_path: Path) -> Iterator[Home]:
    yield from serving(demo_garden(tmp_path), lan=True)

