"""Other processes: killed in the middle, or writing at the same time.

A fetch that is being kept is killed at 20 random points; `KILLS=100 pytest
tests/garden/test_processes.py` takes a hundred.
"""

import os
import random
import signal
import subprocess
import sys
import textwrap
from contextlib import suppress
from datetime import timedelta
from pathlib import Path

from garden.told import NOW, start, two_trees

from advisor.garden.records import Watering
from advisor.garden.store import Garden
from advisor.weather.services import Request

WRITER = textwrap.dedent("""
    import sys
    from datetime import datetime
    from advisor.garden.records import Watering
    from advisor.garden.store import Garden

    path, tree, now = sys.argv[1], sys.argv[2], datetime.fromisoformat(sys.argv[3])
    count, at_once = int(sys.argv[4]), int(sys.argv[5])
    with Garden.open(path) as garden:
        for k in range(count):
            if k % at_once == 0:
                sys.stdin.readline()
            with garden.entry(now, f"{tree} {k}") as entry:
                for _ in range(5):
                    entry.add(Watering(tree, now, 0.5))
            print(k, flush=True)
""")


def writer(path: Path, tree: str, count: int, at_once: int) -> subprocess.Popen[str]:
    told = [path, tree, NOW.isoformat(), str(count), str(at_once)]
    return subprocess.Popen([sys.executable, "-c", WRITER, *told], text=True,
                            stdin=subprocess.PIPE, stdout=subprocess.PIPE)


def go_on(process: subprocess.Popen[str]) -> None:
    process.stdin.write("\n")
    process.stdin.flush()


def test_a_killed_writer_leaves_whole_entries(tmp_path):
    path = tmp_path / "garden.db"
    start(path, *two_trees()).close()
    told = 0
    for kill in range(20):
        with writer(path, "2", 100_000, 100_000) as process:
            go_on(process)
            for _ in range(kill % 4):
                process.stdout.readline()
            process.send_signal(signal.SIGKILL)
            # what was said to be kept is kept; one more may have been when the kill came
            said = kill % 4 + len(process.stdout.read().splitlines())
        with Garden.open(path) as garden:
            waterings = len(garden.knowledge().waterings["2"])
            entries = garden.entries(limit=100_000)
            assert garden.verify() == []
        kept = len(entries) - 2
        assert waterings == 5 * kept
        assert told + said - 1 <= kept <= told + said + 1
        told = kept
    assert told > 0


def test_two_processes_write_side_by_side(tmp_path):
    path = tmp_path / "garden.db"
    start(path, *two_trees()).close()
    both = [writer(path, tree, 200, at_once=20) for tree in ("2", "10")]
    for start_ in range(0, 200, 20):  # ten times twenty entries, at the same time
        for process in both:
            go_on(process)
        for process in both:
            said = [process.stdout.readline().strip() for _ in range(20)]
            assert said == [str(k) for k in range(start_, start_ + 20)]
    assert [process.wait(timeout=60) for process in both] == [0, 0]
    for process in both:
        process.communicate()
    with Garden.open(path) as garden:
        known = garden.knowledge()
        words = [entry.words for entry in garden.entries(limit=1000)]
        assert garden.verify() == []
    assert [len(known.waterings[tree]) for tree in ("2", "10")] == [1000, 1000]
    for tree in ("2", "10"):
        assert [w for w in words if w.startswith(f"{tree} ")] == [
            f"{tree} {k}" for k in reversed(range(200))]
    turns = [w.split()[0] for w in words[:400]]
    assert sum(a != b for a, b in zip(turns, turns[1:], strict=False)) >= 10  # they took turns


KILLS = int(os.environ.get("KILLS", "20"))
FETCH = textwrap.dedent("""
    import sys
    from datetime import datetime, timedelta
    import numpy as np
    from advisor.garden.store import Garden, Source
    from advisor.weather.client import Fetched, StoredAnswer
    from advisor.weather.services import Request

    path, now, first = sys.argv[1], datetime.fromisoformat(sys.argv[2]), int(sys.argv[3])
    asked = Request("service", "forecast", "https://example.org", {})
    hours = 3600 * np.arange(2000) + int(now.timestamp())
    with Garden.open(path) as garden:
        for k in range(first, 10**6):
            at = now + timedelta(minutes=k)
            answer = StoredAnswer(b"%d " % k * 9999, at, at)
            print(k, flush=True)
            with garden.writing():
                garden.save_fetched(asked, Fetched("new", answer, 200), at)
                for kind in ("analysis", "forecast"):
                    garden.save_weather(Source(kind, kind=kind, issued_at=at), {
                        "hour": hours, "temp_c": np.full(2000, k % 50.0),
                        "rain_mm": np.full(2000, k % 7.0)}, at)
""")


def test_a_fetch_killed_while_it_is_kept_leaves_the_old_or_the_new_whole(tmp_path):
    path, chance, first, kept = tmp_path / "garden.db", random.Random(3), 0, 0
    start(path).close()
    asked = Request("service", "forecast", "https://example.org", {})
    for _ in range(KILLS):
        told = [path, NOW.isoformat(), str(first)]
        with subprocess.Popen([sys.executable, "-c", FETCH, *map(str, told)], text=True,
                              stdout=subprocess.PIPE) as process:
            process.stdout.readline()
            with suppress(subprocess.TimeoutExpired):  # somewhere in a save, which takes as long
                process.wait(chance.uniform(0.0, 0.03))
            process.send_signal(signal.SIGKILL)
            last = first + len(process.stdout.read().splitlines())
        with Garden.open(path) as garden:
            assert garden.verify() == []
            sources = garden.weather_sources()
            answer = garden.stored_answer(asked)
            series = garden.weather(NOW, NOW + timedelta(hours=3000))
        if not sources:
            assert answer is None
            continue
        newest = int(answer.body.split()[0])
        assert answer.body == b"%d " % newest * 9999
        assert newest in (last, last - 1)  # the one being kept, or the one before it
        assert [(each.name, each.issued_at) for each in sources[:2]] == [
            (kind, NOW + timedelta(minutes=newest)) for kind in ("forecast", "analysis")]
        assert len(sources) % 2 == 0
        assert series["temp_c"].tolist() == [newest % 50.0] * 2000
        assert series["rain_mm"].tolist() == [newest % 7.0] * 2000
        first, kept = newest + 1, kept + 1
    assert kept > KILLS // 3


def test_a_second_look_at_a_file_in_use_leaves_it_in_use(tmp_path):
    """Closing any other handle on a file drops the locks of its process (POSIX, `fcntl`)."""
    path = tmp_path / "garden.db"
    start(path, *two_trees()).close()
    with Garden.open(path) as garden:
        garden.knowledge()
        with Garden.open(path) as second:
            second.knowledge()
        for turn in range(3):  # by turns; the other is the last to close, but for this one
            with writer(path, "2", 1, 1) as other:
                go_on(other)
                assert other.wait(timeout=60) == 0
            with garden.entry(NOW, f"10 {turn}") as entry:
                entry.add(Watering("10", NOW))
    with Garden.open(path) as garden:
        assert [each.words for each in garden.entries(6)] == [
            "10 2", "2 0", "10 1", "2 0", "10 0", "2 0"]
        assert garden.verify() == []
