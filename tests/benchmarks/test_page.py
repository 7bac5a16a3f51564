"""The page of a garden of two hundred trees: its weight, its seconds; no time is asserted.

pytest tests/benchmarks/test_page.py -s
"""

import statistics
import sys
import time
from pathlib import Path

from benchmarks.gardens import make
from page.conftest import Clock, Home

from advisor.garden import example

TREES, TURNS = 200, 30


def test_the_round_and_a_tick(tmp_path: Path) -> None:
    path = tmp_path / "garden.db"
    make(path, TREES)
    home = Home(path, clock=Clock(example.AT))
    phone = home.phone()
    page = phone.get("/").data
    static = sum(len(phone.get(f"/static/{name}").data) for name in ("page.css", "page.js"))
    same, minutes, ticks, following = [], [], [], []
    token = phone.token()
    for turn in range(TURNS):
        same.append(_timed(lambda: phone.get("/")))
        home.clock.on(minutes=1)
        minutes.append(_timed(lambda: phone.get("/")))
        if turn < 6:
            sent = {"tree": f"t{turn + 1}", "token": token}
            headers = {"Host": phone.host, "X-Page": "script"}
            ticks.append(_timed(lambda s=sent, h=headers: phone.client.post(
                "/watered", data=s, headers=h)))
            following.append(_timed(lambda: phone.get("/")))
    assert page.count(b"<li ") == TREES
    assert len(page) + static < 200_000
    names = ("the same minute", "a minute later", "a tick", "the list after it")
    said = [f"{name} p50 {1000 * statistics.median(each):.0f} ms"
            for name, each in zip(names, (same, minutes, ticks, following), strict=True)]
    sys.stdout.write(f"\n{len(page) / 1000:.0f} kB, with style and script "
                     f"{(len(page) + static) / 1000:.0f} kB; {', '.join(said)}\n")


def _timed(work: object) -> float:
    assert callable(work)
    started = time.perf_counter()
    work()
    return time.perf_counter() - started
