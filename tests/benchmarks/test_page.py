"""The page of a garden of two hundred trees: its weight, its seconds; no time is asserted.

pytest tests/benchmarks/test_page.py -s

Beside them, in the same run, stand the import of pandas in a process of its own and an answer of
Flask that says nothing.
"""

import statistics
import time
from collections.abc import Callable
from pathlib import Path

from benchmarks.gardens import make
from benchmarks.told import peak_mb, seconds_to_import, tell
from flask import Flask
from flask.testing import FlaskClient
from page.conftest import Clock, Home

from advisor.garden import example

TREES, MINUTES, TICKS = 200, 40, 8
BARS = {"in a new minute": "60 ms", "in the same": "60 ms", "a tick": "100 ms"}


def test_the_round_and_a_tick(tmp_path: Path) -> None:
    path = tmp_path / "garden.db"
    make(path, TREES)
    home = Home(path, clock=Clock(example.AT))
    phone, empty = home.phone(), _empty()
    page = phone.get("/").data
    static = sum(len(phone.get(f"/static/{name}").data) for name in ("page.css", "page.js"))
    token = phone.token()
    took: dict[str, list[float]] = {}

    def time_of(name: str, work: Callable[[], object]) -> None:
        started = time.perf_counter()
        work()
        took.setdefault(name, []).append(1000.0 * (time.perf_counter() - started))

    for turn in range(MINUTES):
        home.clock.on(minutes=1)
        at_hour = home.clock().minute == 0
        time_of("in a new hour" if at_hour else "in a new minute", lambda: phone.get("/"))
        time_of("in the same", lambda: phone.get("/"))
        time_of("Flask saying nothing", lambda: empty.get("/"))
        if turn % 10 == 0:
            time_of("importing pandas", _import_pandas)
    for turn in range(TICKS):
        home.clock.on(minutes=1)
        sent = {"tree": f"t{turn + 1}", "token": token}
        headers = {"Host": phone.host, "X-Page": "script"}
        time_of("a tick", lambda s=sent, h=headers: phone.client.post(  # type: ignore[misc]
            "/watered", data=s, headers=h))
        time_of("the list after it", lambda: phone.get("/"))
    for _ in range(4):
        home.clock.on(hours=1)
        time_of("in a new hour", lambda: phone.get("/"))
    assert page.count(b"<li ") == TREES
    middle = {name: statistics.median(each) for name, each in took.items()}
    pandas = middle.pop("importing pandas")
    tell(f"page of {TREES} trees", len(page) / 1000.0, "kB", bar="100 kB",
         beside=f"with style and script {(len(page) + static) / 1000:.0f} kB")
    for name, each in middle.items():
        tell(f"page of {TREES} trees, p50 {name}", each, "ms", bar=BARS.get(name, ""),
             beside=f"{each / pandas:.3f} of import pandas, {pandas:.0f} ms", peak_mb=peak_mb())


def _empty() -> FlaskClient:
    app = Flask("empty")
    app.add_url_rule("/", view_func=lambda: "")
    return app.test_client()


def _import_pandas() -> None:
    seconds_to_import("pandas")
