"""A garden file that is none: every command says so, and leaves it as it is."""

import sqlite3

import pytest

COMMANDS = (("trees",), ("watered", "2"), ("undo",), ("add", "place", "x"), ("rounds",),
            ("repotted", "2"), ("moved", "2", "--to", "wall"), ("export", "-"))


@pytest.fixture(params=["missing", "text", "empty", "cut off", "other", "newer"])
def bad(request, garden):
    """A path at which there is no garden, and what must be said of it."""
    path = garden.path
    if request.param == "missing":
        path.unlink()
        said = "Run `advisor start` to make one"
    elif request.param == "text":
        path.write_text("not a garden at all, but a note of what was watered on Monday " * 9)
        said = "Name the right file with --garden."
    elif request.param == "empty":
        path.write_bytes(b"")
        said = "Name the right file with --garden."
    elif request.param == "cut off":
        path.write_bytes(path.read_bytes()[:9000])
        said = "Put back a copy of it"
    elif request.param == "other":
        path.unlink()
        with sqlite3.connect(path) as other:
            other.execute("CREATE TABLE bird (name TEXT)")
        other.close()
        said = "Name the right file with --garden."
    else:
        changed = sqlite3.connect(path)
        changed.execute("PRAGMA user_version = 99")
        changed.close()
        said = "newer"
    return said


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_file_that_is_no_garden_is_refused_by_every_command(garden, bad, command):
    message = garden.refused(*command)
    assert bad in message
    assert str(garden.path) in message
