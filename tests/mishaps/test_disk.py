"""A disk that is full, a garden that may not be written."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import sunny
from mishaps_made import WRITING, run_limited, told_digest

from advisor.errors import Refused
from advisor.garden import file
from advisor.garden.backup import back_up
from advisor.garden.store import Garden

FEW = ("watered", "add tree", "rainwater butt", "weather add")


@pytest.fixture
def weather(tmp_path):
    return str(sunny.write(tmp_path / "weather.csv", "2026-06-20", 12))


@pytest.mark.parametrize("room", [0, 4096, 20_000])
@pytest.mark.parametrize("name", FEW)
def test_a_full_disk_is_told_in_a_sentence_and_nothing_is_lost(garden, weather, name, room):
    line = tuple(part.format(weather=weather) for part in WRITING[name])
    before = told_digest(garden.path)
    result = run_limited(garden.path, line, room)
    after = told_digest(garden.path)
    if result.returncode == 0:  # there was room enough
        assert after != before
        return
    assert result.returncode == 1
    assert "Traceback" not in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1, result.stderr
    assert "Wanted: " in result.stderr
    assert after == before
    with Garden.open(garden.path) as opened:
        assert opened.verify() == []
    garden.tell("watered", "2")  # once there is room again


def test_a_full_disk_stops_a_copy_and_leaves_none(garden):
    result = run_limited(garden.path, ("backup",), 4096)
    assert result.returncode == 1
    assert "Traceback" not in result.stderr
    assert "Wanted: " in result.stderr
    assert not list((garden.path.parent / "garden-copies").glob("*.db"))


def test_no_room_means_that_nothing_is_entered(garden):
    """At nothing at all to be written, none of the entries can have been kept."""
    for name in FEW[:3]:
        assert run_limited(garden.path, WRITING[name], 0).returncode == 1


#: Root may write everything, until it lets go of that right for a process of its own.
BOUND = () if os.geteuid() else ("setpriv", "--bounding-set", "-dac_override", "--inh-caps",
                                 "-dac_override", "--")


def bound(*command):
    """Run a command as somebody who is held to the rights of files."""
    return subprocess.run([*BOUND, *command], capture_output=True, text=True)


def test_a_garden_that_may_not_be_written_is_read_all_the_same(garden):
    place, before = garden.path.parent / "shelf", told_digest(garden.path)
    place.mkdir()
    kept = Path(shutil.copy(garden.path, place / "garden.db"))
    kept.chmod(0o444)
    place.chmod(0o555)
    if BOUND and not shutil.which("setpriv") or not bound("touch", str(place / "x")).returncode:
        pytest.skip("setpriv (util-linux) is missing or does not hold root to the rights of files")
    run = (sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden", str(kept))
    try:
        refused = bound(*run, "watered", "2", "--at", "2026-06-30T07:00")
        assert refused.returncode == 1
        assert "read-only" in refused.stderr
        read = bound(*run, "trees")
        assert read.returncode == 0, read.stderr
        assert "maple" in read.stdout
    finally:
        place.chmod(0o755)
    assert told_digest(kept) == before


def test_what_is_opened_to_be_read_is_never_written(garden):
    before = told_digest(garden.path)
    with Garden.open(garden.path, readonly=True) as opened, pytest.raises(
            Refused, match="read-only"), opened.entry(opened.knowledge().entry_times[-1], "x"):
        pass
    assert told_digest(garden.path) == before


def test_a_garden_in_use_for_too_long_says_so(garden, monkeypatch):
    monkeypatch.setattr(file, "_BUSY_S", 0.01)
    with Garden.open(garden.path) as other, other.writing():
        message = garden.refused("watered", "2")
    assert "in use" in message


def test_a_copy_on_another_disk_needs_no_link(garden, tmp_path, monkeypatch):
    def never(*_):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", never)
    copy = back_up(garden.path, garden.now, tmp_path / "other.db")
    assert told_digest(copy.path) == told_digest(garden.path)
    assert shutil.disk_usage(tmp_path).free > 0


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16"])
def test_letters_that_a_terminal_lacks_break_nothing(garden, encoding):
    garden.tell("add", "tree", "🌲", "--group", "pine", "--place", "wall", "--mix", "third",
                "--outside", "350x250x60", "--potted", "2026-03-15")
    code = "from advisor.cli.main import main; main()"
    run = subprocess.run([sys.executable, "-c", code, "--garden", str(garden.path), "trees"],
                         check=True, capture_output=True,
                         env={**os.environ, "PYTHONIOENCODING": encoding})
    assert run.stderr == b""
    assert ("🌲" if encoding == "utf-16" else "?  pine") in run.stdout.decode(encoding)


def test_a_full_disk_takes_no_help_either(garden):
    code = "from advisor.cli.main import main; main()"
    with Path("/dev/full").open("w") as full:
        run = subprocess.run([sys.executable, "-c", code, "--help"], check=False, stdout=full,
                             stderr=subprocess.PIPE, text=True)
    assert (run.returncode, run.stderr.count("\n")) == (1, 1)
