"""Many phones at once, and the page killed in the middle: nothing is lost, nothing counts twice.

SOAK_SECONDS=300 SOAK_REQUESTS=20000 SOAK_KILLS=20 pytest tests/page/test_soak.py -s

Without these a short one runs, with two kills. Ticks are sent again until they are answered, as
the page of a phone does; the store is counted afterwards. Each tick is made at a second of its
own, so that a doubled one is told from another.
"""

import http.client
import json
import os
import re
import secrets
import signal
import subprocess
import sys
import time
from pathlib import Path
from threading import Lock, Thread
from urllib.parse import urlencode

import pytest
from demo_made import AT, demo_garden

from advisor.garden.store import Garden
from advisor.page import serve

SECONDS = float(os.environ.get("SOAK_SECONDS", "8"))
REQUESTS = int(os.environ.get("SOAK_REQUESTS", "160"))
KILLS = int(os.environ.get("SOAK_KILLS", "2"))
CLIENTS = 8
READS = ("/", "/tree?label=3", "/history", "/recovering", "/weather")

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills are those of POSIX")


class Served:
    """The page as a process of its own, started again after every kill."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with serve.bound(0, lan=False) as asking:
            self.port = asking.getsockname()[1]
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden",
             str(self.path), "page", "--port", str(self.port), "--at", AT, "--no-browser"],
            stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


class Client:
    """One phone: reads and ticks, each tick again and again until it is answered."""

    def __init__(self, port: int, number: int) -> None:
        self.port, self.number = port, number
        self.token, self.cookie = "", ""
        self.answered: dict[str, int] = {}
        self.seconds: list[float] = []

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
            self.seconds.append(time.perf_counter() - started)
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
            assert status == 200, (status, text)
            return text
        raise AssertionError("the page never came back")

    def tick(self, ago_s: int) -> None:
        label, identifier = str(1 + self.number % 20), secrets.token_hex(16)
        text = self.until_answered("POST", "/watered", {
            "tree": label, "identifier": identifier, "ago": str(ago_s)})
        self.answered[identifier] = json.loads(text)["entry"]

    def run(self, count: int, until: float) -> None:
        if not self.token:
            self.until_answered("GET", "/")
            self.token = json.loads(self.until_answered("GET", "/token"))["token"]
        pause = max(SECONDS / count, 0.0)
        for i in range(count):
            if i % 3 == 0:
                self.tick(1 + i * CLIENTS + self.number)
            else:
                self.until_answered("GET", READS[i % len(READS)])
            if time.perf_counter() < until:
                time.sleep(min(pause, max(until - time.perf_counter(), 0.0)) * 0.3)


def test_eight_phones_and_kills_lose_and_double_nothing(tmp_path: Path) -> None:
    path = demo_garden(tmp_path)
    with Garden.open(path, readonly=True) as garden:
        before = sum(len(told) for told in garden.knowledge().waterings.values())
    served, faults, lock = Served(path), [], Lock()
    clients = [Client(served.port, number) for number in range(CLIENTS)]
    until = time.perf_counter() + SECONDS

    def run(client: Client) -> None:
        try:
            client.run(REQUESTS // CLIENTS, until)
        except BaseException as fault:  # told by the main thread
            with lock:
                faults.append(fault)

    threads = [Thread(target=run, args=(client,)) for client in clients]
    for thread in threads:
        thread.start()
    for _ in range(KILLS):
        threads[0].join(SECONDS / (KILLS + 1))
        served.kill()
        served.start()
    for thread in threads:
        thread.join()
    memory = Path(f"/proc/{served.process.pid}/status")
    peak = re.search(r"VmHWM:\s+(\d+)", memory.read_text()) if memory.exists() else None
    served.kill()
    assert faults == []
    _counted(path, before, clients)
    seconds = sorted(each for client in clients for each in client.seconds)
    sys.stdout.write(
        f"\n{len(seconds)} requests, {sum(len(each.answered) for each in clients)} ticks, "
        f"{KILLS} kills: p50 {1000 * seconds[len(seconds) // 2]:.0f} ms, "
        f"p99 {1000 * seconds[int(len(seconds) * 0.99)]:.0f} ms, "
        f"peak {int(peak[1]) / 1024 if peak else 0:.0f} MB\n")


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
