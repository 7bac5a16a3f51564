"""Bytes of the garden file overwritten anywhere: found and refused, or harmless; put back.

`DAMAGES=2000 pytest tests/mishaps/test_damage.py` takes two thousand places.
"""

import os
import random
import sqlite3
from contextlib import closing

import pytest

DAMAGES = int(os.environ.get("DAMAGES", "40"))


def whole(path):
    with closing(sqlite3.connect(path)) as file:
        return file.execute("PRAGMA quick_check").fetchall() == [("ok",)]


@pytest.mark.parametrize("size", [1, 300], ids=["a byte", "300 bytes"])
def test_damage_anywhere_is_refused_or_harms_no_structure(garden, size):
    garden.tell("backup")
    content, chance = garden.path.read_bytes(), random.Random(size)
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
        for command in (("trees", "--json"), ("watered", "2")):
            result = garden.run(*command)
            assert result.exit_code in (0, 1), (start, result.output, result.exception)
            assert "Traceback" not in result.output
            if result.exit_code == 1:
                assert result.stderr.count("\n") == 1, (start, result.stderr)
        if result.exit_code == 0:
            assert whole(garden.path)  # an entry is made in a whole file only
            continue
        found += 1
        garden.tell("restore")
        assert whole(garden.path)
        assert list(garden.knows().trees) == ["2", "10", "3"]
    assert found > (DAMAGES // 4 if size == 300 else 0)


def test_damage_is_never_copied_over_a_good_copy(garden):
    garden.tell("backup")
    content = bytearray(garden.path.read_bytes())
    content[4096:8192] = b"\x00" * 4096
    garden.path.write_bytes(content)
    assert "`advisor restore` puts back the last good copy" in garden.refused("backup")
    assert len(list((garden.path.parent / "garden-copies").glob("*.db"))) == 1
