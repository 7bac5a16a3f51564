"""Many phones at once, weather being got, the page killed in the middle: nothing lost or doubled.

SOAK_SECONDS=300 SOAK_REQUESTS=20000 SOAK_KILLS=20 pytest tests/page/test_soak.py -s

Without these a short one runs, with two kills. A minute passes in every second, so that hours
turn and weather grows old; the page renews it by itself and `advisor weather get` runs beside it,
both from a service made up here. Ticks are sent again until they are answered, as the page of a
phone does; the store is counted afterwards. An answer of 500 or above is a fault, always: at a
kill there is none.
"""

import http.client
import json
import os
import re
import secrets
import signal
import subprocess
import sys
import textwrap
import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event, Lock, Thread
from typing import Any
from urllib.parse import urlencode

import pytest
import services_made
from demo_made import NOW, demo_garden
from pytest_httpserver import HTTPServer
from werkzeug import Request, Response

from advisor.garden.store import Garden
from advisor.page import serve

SECONDS = float(os.environ.get("SOAK_SECONDS", "12"))
REQUESTS = int(os.environ.get("SOAK_REQUESTS", "160"))
KILLS = int(os.environ.get("SOAK_KILLS", "2"))
CLIENTS = 8
PACE = 0.9  # of the seconds there are
RATE = 60  # seconds of the garden's clock in one of ours
READS = ("/", "/tree?label=3", "/history", "/recovering", "/weather", "/", "/garden")

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills are those of POSIX")

#: The command line on a clock that runs fast, its weather service this test's own.
COMMAND = textwrap.dedent("""
    import sys, time
    from datetime import datetime, timedelta
    from advisor.cli.main import cli
    from advisor.cli.session import Session
    from advisor.page import serve
    from advisor.weather.services import openmeteo

    url, began, now, rate, garden, *words = sys.argv[1:]
    serve.WEATHER_EVERY_S = 10.0
    for asked in (openmeteo.request, openmeteo.ensemble_request):
        asked.__kwdefaults__["base_url"] = url + asked.__name__
    clock = lambda: datetime.fromisoformat(now) + timedelta(
        seconds=float(rate) * (time.time() - float(began)))
    cli(["--garden", garden, *words], obj=Session(clock=clock))
""")


@dataclass(frozen=True)
class House:
    """A garden, the clock of its house, and the service that knows its weather."""

    path: Path
    url: str
    began: float = field(default_factory=time.time)

    def now(self) -> datetime:
        return NOW + timedelta(seconds=RATE * (time.time() - self.began))

    def line(self, *words: str) -> list[str]:
        return [sys.executable, "-c", COMMAND, self.url, str(self.began), NOW.isoformat(),
                str(RATE), str(self.path), *words]


@dataclass(frozen=True)
class Told(services_made.Truth):
    """A forecast that begins some days back."""

    start: datetime = NOW

    @property
    def stamps(self) -> list[datetime]:
        return [self.start + i * timedelta(hours=1) for i in range(len(self.temp_c))]


def answering(house: House, asked: list[Request]) -> Any:
    """Answer as the service does, each time a little otherwise, and no longer fresh soon."""

    def answer(request: Request) -> Response:
        asked.append(request)
        now, count = house.now(), len(asked)
        hours = 24 * (14 + 10)
        start = now.replace(minute=0, second=0, microsecond=0) - timedelta(days=14)
        told = Told([15.0 + (i % 24) / 3.0 + 0.1 * (count % 9) for i in range(hours + 1)],
                    [2.5] * (hours + 1), [0.4] * (hours + 1),
                    [max(0.0, 60.0 * (6 - abs((i + start.hour) % 24 - 17))) for i in range(hours)],
                    [0.2 if i % 50 == count % 50 else 0.0 for i in range(hours)], start=start)
        expires = f"{now + timedelta(seconds=1):%a, %d %b %Y %H:%M:%S GMT}"
        return Response(services_made.body(services_made.open_meteo(told)),
                        headers={"Content-Type": "application/json", "Expires": expires})

    return answer


class Served:
    """The page as a process of its own, started again after every kill."""

    def __init__(self, house: House, told: Path) -> None:
        self.house, self.told = house, told
        self.peak_mb = 0.0
        with serve.bound(0, lan=False) as asking:
            self.port = asking.getsockname()[1]
        self.start()

    def start(self) -> None:
        with self.told.open("a") as said:
            self.process = subprocess.Popen(
                self.house.line("page", "--port", str(self.port), "--no-browser"),
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=said)

    def kill(self) -> None:
        with suppress(OSError):
            status = Path(f"/proc/{self.process.pid}/status").read_text()
            if peak := re.search(r"VmHWM:\s+(\d+)", status):
                self.peak_mb = max(self.peak_mb, int(peak[1]) / 1024)
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


class Client:
    """One phone: reads and ticks, each tick again and again until it is answered."""

    def __init__(self, port: int, number: int) -> None:
        self.port, self.number = port, number
        self.token, self.cookie = "", ""
        self.answered: dict[str, int] = {}
        self.seconds: dict[str, list[float]] = {"GET": [], "POST": []}

    def ask(self, method: str, path: str, fields: dict[str, str] | None = None) -> tuple[int, str]:
        asking = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            headers = {"X-Page": "script", "Cookie": self.cookie, "X-Token": self.token}
            if fields is not None:
                headers["Content-Type"] = "application/x-www-form-urlencoded"
            started = time.perf_counter()
            asking.request(method, path, urlencode(fields or {}), headers)
            answer = asking.getresponse()
            text = answer.read().decode()
            self.seconds[method].append(time.perf_counter() - started)
            if told := answer.getheader("Set-Cookie"):
                self.cookie = told.split(";")[0]
            return answer.status, text
        finally:
            asking.close()

    def until_answered(self, method: str, path: str, fields: dict[str, str] | None = None) -> str:
        for _ in range(600):
            try:
                status, text = self.ask(method, path, fields)
            except (OSError, http.client.HTTPException):
                time.sleep(0.1)
                continue
            assert status == 200, (method, path, status, text)
            return text
        raise AssertionError("the page never came back")

    def tick(self, ago_s: int) -> None:
        label, identifier = str(1 + self.number % 20), secrets.token_hex(16)
        text = self.until_answered("POST", "/watered", {
            "tree": label, "identifier": identifier, "ago": str(ago_s)})
        self.answered[identifier] = json.loads(text)["entry"]

    def run(self, count: int) -> None:
        """Ask so many times, evenly within the seconds there are, or as fast as it is answered."""
        self.until_answered("GET", "/")
        self.token = json.loads(self.until_answered("GET", "/token"))["token"]
        started = time.perf_counter()
        for i in range(count):
            ahead = started + PACE * SECONDS * i / count - time.perf_counter()
            if ahead > 0:
                time.sleep(ahead)
            if i % 3 == 0:
                self.tick(1 + i)
            else:
                self.until_answered("GET", READS[i % len(READS)])


def test_phones_weather_and_kills_lose_and_double_nothing(tmp_path: Path,
                                                          httpserver: HTTPServer) -> None:
    house, asked = House(demo_garden(tmp_path), httpserver.url_for("/")), []
    httpserver.expect_request("/request").respond_with_handler(answering(house, asked))
    httpserver.expect_request("/ensemble_request").respond_with_data(status=404)
    with Garden.open(house.path, readonly=True) as garden:
        before = sum(len(told) for told in garden.knowledge().waterings.values())
    got = subprocess.run(house.line("weather", "get", "--from", "open-meteo"), text=True,
                         capture_output=True, check=True)
    assert "weather to" in got.stdout
    said, started = tmp_path / "said", time.perf_counter()
    served = Served(house, said)
    clients = [Client(served.port, number) for number in range(CLIENTS)]
    faults = _run(served, clients)
    served.kill()
    took_s, log = time.perf_counter() - started, said.read_text()
    assert faults == [], log
    assert "Traceback" not in log, log
    assert len(asked) > 1
    _counted(house.path, before, clients)
    for name in ("GET", "POST"):
        seconds = sorted(each for client in clients for each in client.seconds[name])
        sys.stdout.write(f"\n{len(seconds)} {name}: p50 {1000 * seconds[len(seconds) // 2]:.0f} "
                         f"ms, p99 {1000 * seconds[int(len(seconds) * 0.99)]:.0f} ms")
    sys.stdout.write(
        f"\n{sum(len(each.answered) for each in clients)} ticks, weather got {len(asked)} times, "
        f"{KILLS} kills, {took_s:.0f} s, peak {served.peak_mb:.0f} MB\n")


def _run(served: Served, clients: list[Client]) -> list[BaseException]:
    """Let all of them work, weather being got, and kill the page in between; give what failed."""
    faults: list[BaseException] = []
    lock, ended = Lock(), Event()

    def guarded(work: Any, *args: Any) -> None:
        try:
            work(*args)
        except BaseException as fault:  # told by the main thread
            with lock:
                faults.append(fault)

    def get_weather() -> None:
        while not ended.wait(15.0):
            told = subprocess.run(served.house.line("weather", "get", "--from", "open-meteo"),
                                  text=True, capture_output=True, check=False)
            assert told.returncode == 0, told.stderr

    threads = [Thread(target=guarded, args=(client.run, REQUESTS // CLIENTS))
               for client in clients]
    getting = Thread(target=guarded, args=(get_weather,))
    for thread in (*threads, getting):
        thread.start()
    for _ in range(KILLS):
        threads[0].join(SECONDS / (KILLS + 1))
        served.kill()
        served.start()
    for thread in threads:
        thread.join()
    ended.set()
    getting.join()
    return faults


def _counted(path: Path, before: int, clients: list[Client]) -> None:
    """Every answered tick is there, each is one watering, and no other is."""
    with Garden.open(path, readonly=True) as garden:
        assert garden.verify() == []
        kept = dict(garden._connection.execute("SELECT identifier, entry FROM tick"))
        told = [each for those in garden.knowledge().waterings.values() for each in those]
    answered = {name: entry for client in clients for name, entry in client.answered.items()}
    assert kept == answered
    assert len(set(answered.values())) == len(answered)
    assert len(told) == before + len(answered)
