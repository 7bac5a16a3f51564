"""Other processes: killed in the middle, or writing at the same time."""

import signal
import subprocess
import sys
import textwrap
from pathlib import Path

from garden.told import NOW, start, two_trees

from advisor.garden.store import Garden

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
