"""Every command that writes, run in a process of its own, and all that a garden file was told."""

import hashlib
import os
import resource
import signal
import sqlite3
import subprocess
import sys
import traceback
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.garden.schema import DERIVED

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)  # 07:00 in Berlin
#: Commands that enter something into the garden of `cli.conftest.garden`.
WRITING = {line[0] + (f" {line[1]}" if line[0] in ("add", "rainwater", "mix", "weather")
                      else ""): line for line in (
    ("watered", "all"), ("reading", "2", "--dry-depth", "12"), ("fed", "all"),
    ("frozen", "wall", "--at", "2026-03-20T08:00"), ("tipped", "3", "--degrees", "10"),
    ("moved", "all", "--to", "wall"), ("repotted", "2", "--roots", "edges combed"),
    ("foliage", "2", "--off", "half"), ("gone", "3"), ("undo",),
    ("rounds", "winter", "10:00", "--on", "sat"), ("add", "place", "shade"),
    ("add", "mix", "half", "--part", "pumice=50", "--part", "lava=50"),
    ("add", "pot", "blue", "--outside", "420x310x75"),
    ("add", "tree", "4", "--group", "pine", "--place", "wall", "--mix", "third", "--outside",
     "350x250x60"),
    ("rainwater", "butt", "main", "--litres", "200"),
    ("rainwater", "roof", "shed", "--area", "12", "--covering", "tiles"),
    ("mix", "measure", "third", "--litres", "1", "--depth", "80", "--empty", "95"),
    ("import", "{trees}"), ("weather", "add", "{weather}"))}


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
        cli(list(line), obj=Session(path, lambda: now), standalone_mode=False)
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
