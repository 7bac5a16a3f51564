"""Bytes of the garden file overwritten anywhere: found and refused, or harmless; put back.

`DAMAGES=2000 pytest tests/mishaps/test_damage.py` takes two thousand places.
"""

import os
import random
import sqlite3
from contextlib import closing

import pytest
import sunny

from advisor.garden import schema

DAMAGES = int(os.environ.get("DAMAGES", "40"))


def whole(path):
    with closing(sqlite3.connect(path)) as file:
        return file.execute("PRAGMA quick_check").fetchall() == [("ok",)]


def told(path):
    """Give every row that bears a sum; None where they cannot be read."""
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as file:
            return repr([file.execute(f'SELECT * FROM "{name}" ORDER BY id').fetchall()
                         for name in schema.SEALED])
    except (sqlite3.Error, UnicodeDecodeError):
        return None


@pytest.mark.parametrize("size", [1, 300], ids=["a byte", "300 bytes"])
def test_damage_anywhere_is_refused_or_changes_nothing_that_was_told(garden, size):
    for day in range(1, 20):
        garden.tell("reading", "10", "--dry-depth", f"{10 + day}", "--at",
                    f"2026-06-{day:02d}T08:00")
    garden.tell("backup")
    content, chance = garden.path.read_bytes(), random.Random(size)
    good = told(garden.path)
    beside = [garden.path.with_name(garden.path.name + end) for end in ("-wal", "-shm")]
    used = [i for i in range(len(content) - size) if content[i]]  # not the room left in pages
    found = 0
    for k in range(DAMAGES):
        start = used[k * len(used) // DAMAGES] if k % 2 else chance.choice(used)
        bad = bytearray(content)
        bad[start:start + size] = chance.randbytes(size)
        for path in beside:
            path.unlink(missing_ok=True)
        garden.path.write_bytes(bad)
        rows = told(garden.path)
        for command in (("trees", "--json"), ("watered", "2")):
            result = garden.run(*command)
            assert result.exit_code in (0, 1), (start, result.output, result.exception)
            assert "Traceback" not in result.output
            if result.exit_code == 1:
                assert result.stderr.count("\n") == 1, (start, result.stderr)
        if result.exit_code == 0:
            assert whole(garden.path)  # an entry is made in a whole file only
            assert rows == good, start  # and only where all is as it was told
            continue
        found += 1
        garden.tell("restore")
        assert whole(garden.path)
        assert told(garden.path) == good
    assert found > DAMAGES // 4


def test_a_label_that_changed_by_itself_stops_the_round_and_the_last_good_copy_is_offered(
        garden, tmp_path):
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-20", 20)))
    garden.tell("backup")
    content = garden.path.read_bytes()
    at = content.index(b"10black pine")  # label, kind of the first tree
    garden.path.write_bytes(content[:at] + b"7" + content[at + 1:])
    assert "puts back the last good copy" in garden.refused("morning")
    garden.tell("restore")
    assert '"tree": "10"' in garden.tell("morning", "--json")


def test_damage_is_never_copied_over_a_good_copy(garden):
    garden.tell("backup")
    content = bytearray(garden.path.read_bytes())
    content[4096:8192] = b"\x00" * 4096
    garden.path.write_bytes(content)
    assert "`advisor restore` puts back the last good copy" in garden.refused("backup")
    assert len(list((garden.path.parent / "garden-copies").glob("*.db"))) == 1
