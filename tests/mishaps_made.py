"""Every command that writes, run in a process of its own, and all that a garden file was told."""

import hashlib
import json
import os
import resource
import signal
import sqlite3
import subprocess
import sys
import traceback
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import sunny

from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.garden.schema import DERIVED
from advisor.garden.store import Garden
from advisor.page.gardens import PageSession
from advisor.page.told import tell

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)  # 07:00 in Berlin
TICK = "page"  # stands before what a page tells

#: Lines that enter something into the garden of `cli.conftest.garden`.
ENTERING: tuple[tuple[str, ...], ...] = (
    ("watered", "all"), ("watered", "--nothing"), ("watered", "--as-listed"),
    ("watered", "--from-sheet", "2026-06-30"), ("reading", "2", "--dry-depth", "12"),
    ("fed", "all"), ("frozen", "wall", "--at", "2026-03-20T08:00"),
    ("tipped", "3", "--degrees", "10"), ("moved", "all", "--to", "wall"),
    ("repotted", "2", "--roots", "edges combed"), ("foliage", "2", "--off", "half"), ("gone", "3"),
    ("undo",), ("rounds", "winter", "10:00", "--on", "sat"), ("add", "place", "shade"),
    ("add", "mix", "half", "--part", "pumice=50", "--part", "lava=50"),
    ("add", "pot", "blue", "--outside", "420x310x75"),
    ("add", "tree", "4", "--group", "pine", "--place", "wall", "--mix", "third", "--outside",
     "350x250x60"),
    ("rainwater", "butt", "main", "--litres", "200"), ("rainwater", "level", "--litres", "80"),
    ("rainwater", "roof", "shed", "--area", "12", "--covering", "tiles"),
    ("rainwater", "hardness", "14"),
    ("mix", "measure", "third", "--litres", "1", "--depth", "80", "--empty", "95"),
    ("import", "{trees}"), ("weather", "add", "{weather}"), ("weather", "remove", "1"),
    ("weather", "station", "shed", "{station}", "--time", "Time", "--column",
     "Out temp=temperature °C"),
    ("weather", "gauge", "14", "--since", "2026-06-30 08:00"),
    ("weather", "thermometer", "--min", "4.2", "--max", "21.5", "--since", "2026-06-30 08:00"),
    ("weather", "contact", "grower@example.org"), ("weather", "get", "--from", "open-meteo"),
    ("weather", "past", "--years", "1"),
    ("away", "--from", "2026-07-02", "--until", "2026-07-06"),
    (TICK, "watered", "--", "2", "3"), (TICK, "undo", "--", "7"))
#: Lines under the commands they are of.
WRITING = {" ".join(line[:2] if line[0] in ("add", "rainwater", "mix", "weather", TICK)
                    or line[1:2] and line[1].startswith("--") and line[0] == "watered"
                    else line[:1]): line for line in ENTERING}
#: Lines that work something out anew, keep it, and enter nothing.
WORKING: tuple[tuple[str, ...], ...] = (
    ("morning", "--json"), ("explain", "2"), ("recovery",), ("habits",), ("year", "2026"),
    ("rainwater", "now"), ("chart", "2", "--out", "{out}"))
#: Lines that only read.
READING: tuple[tuple[str, ...], ...] = (
    ("trees",), ("places",), ("mixes",), ("pots",), ("materials",), ("species",), ("readings",),
    ("export", "-"), ("weather", "show"), ("weather", "check"),
    ("weather", "chart", "--out", "{out}"), ("rainwater", "size"),
    ("potting", "2", "--when"))
NAMED = {" ".join(line[:2]): line for line in (*WORKING, *READING)}
#: Commands with tests of their own: they make files, or serve the lines above.
APART = ("backup", "restore", "start", "demo", "page")


def prepare(path: Path, name: str, folder: Path) -> tuple[str, ...]:
    """Tell a garden what a line rests on; give the line with the files it names."""
    files = _files(folder)
    if name == "watered --from-sheet":
        _plan(path)
    if name == "rainwater level":
        run_here(path, WRITING["rainwater butt"])
    if name == "rainwater size":
        run_here(path, WRITING["rainwater roof"])
    if name in ("away", "potting 2", "rainwater size"):
        run_here(path, ("weather", "past", "--years", "2"))
    if name in ("watered --as-listed", "weather remove", "away", *NAMED):
        run_here(path, ("weather", "add", files["weather"]))
    if name == "import":
        run_here(path, ("export", files["trees"]))
        text = Path(files["trees"]).read_text()
        Path(files["trees"]).write_text(text.replace("\n10,", "\n20,"))
    return tuple(part.format(**files) for part in {**WRITING, **NAMED}[name])


def _files(folder: Path) -> dict[str, str]:
    files = {name: str(folder / f"{name}.csv") for name in ("weather", "trees", "station")}
    sunny.write(Path(files["weather"]), "2026-06-20", 12)
    Path(files["station"]).write_text("Time,Out temp\n" + "".join(
        f"2026-06-30 {hour:02d}:{minute:02d},{12 + hour / 2}\n" for hour in range(20)
        for minute in range(0, 60, 20)))
    return {**files, "out": str(folder / "out.png")}


def _plan(path: Path) -> None:
    """Keep a plan with one visit, made three days ago."""
    made = NOW - timedelta(days=3)
    with Garden.open(path) as garden, garden.entry(made, "planned") as entry:
        garden.add_plan(entry.id, made, {"document": {"visits": [{
            "at": "2026-06-30T19:00:00+02:00",
            "pots": [{"tree": "2", "litres": 0.4}, {"tree": "3", "litres": 0.3}]}]}})


def run_here(path: Path, line: tuple[str, ...], now: datetime = NOW) -> None:
    """Run a line in this process."""
    if line[0] == TICK:
        session = PageSession(path, lambda: now)
        tell(session, line[1:], "tick-of-a-phone", now)
        session.gardens.rest(0.0)
    else:
        cli(list(line), obj=Session(path, lambda: now), standalone_mode=False)


def answered(request: Any, *_: Any, **__: Any) -> Any:
    """Answer what a service is asked, without a network."""
    from advisor.weather.client import Fetched, StoredAnswer

    first, count = NOW - timedelta(days=3), 24 * 8
    if start := request.params.get("start_date"):
        first = datetime.fromisoformat(start).replace(tzinfo=UTC)
        count = 24 * ((datetime.fromisoformat(request.params["end_date"]).replace(tzinfo=UTC)
                       - first).days + 1)
    told = {"temperature_2m": (18.0, "°C"), "dew_point_2m": (10.0, "°C"),
            "wind_speed_10m": (2.5, "m/s"), "shortwave_radiation": (100.0, "W/m²"),
            "precipitation": (0.1, "mm")}
    body = json.dumps({
        "latitude": 52.1, "longitude": 13.2, "utc_offset_seconds": 0, "elevation": 40.0,
        "hourly_units": {"time": "iso8601", **{name: unit for name, (_, unit) in told.items()}},
        "hourly": {"time": [f"{first + timedelta(hours=k):%Y-%m-%dT%H:%M}" for k in range(count)],
                   **{name: [value + k % 24 / 10 for k in range(count)]
                      for name, (value, _) in told.items()}}}).encode()
    return Fetched("new", StoredAnswer(body, NOW, NOW + timedelta(hours=1)), 200)


def told_digest(path: Path) -> str:
    """Give the digest of every row that the grower told; "" where there is no file."""
    if not path.exists():
        return ""
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as file:
        names = [name for name, in file.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
            if name not in DERIVED]
        rows = [(name, file.execute(f'SELECT * FROM "{name}"').fetchall()) for name in names]
    return hashlib.sha256(repr(rows).encode()).hexdigest()


def run_forked(path: Path, line: tuple[str, ...], now: datetime = NOW) -> int:
    """Start a command in a fork of this process, so that nothing has to be loaded first."""
    child = os.fork()
    if child:
        return child
    try:
        quiet = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(quiet, stream)
        run_here(path, line, now)
        os._exit(0)
    except BaseException:
        traceback.print_exc()
        os._exit(1)


def ended(child: int) -> int:
    """Wait for a fork; give its exit code, negative where a signal ended it."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def run_limited(path: Path, line: tuple[str, ...], most_bytes: int
                ) -> subprocess.CompletedProcess[str]:
    """Run a command that can write no file beyond a size, as on a full disk."""
    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

    code = "from advisor.cli.main import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, "--garden", str(path), *line], check=False,
        capture_output=True, text=True, preexec_fn=limit, timeout=120)
