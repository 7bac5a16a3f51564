"""Files that are made aside, and what a process that was killed has left of one."""

import os
import re

import pytest

from advisor.garden.making import making, put


def test_what_is_not_put_in_its_place_is_thrown_away(tmp_path):
    where = tmp_path / "deep" / "garden.db"

    def half():
        with making(where) as made:
            made.write_text("half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half()
    assert list(where.parent.iterdir()) == []


def test_a_finished_file_gets_its_name_once(tmp_path):
    where = tmp_path / "garden.db"
    with making(where) as made:
        made.write_text("whole")
        put(made, where)
        with pytest.raises(FileExistsError):
            put(made, where)
    assert [path.name for path in tmp_path.iterdir()] == ["garden.db"]
    assert where.read_text() == "whole"


def test_what_was_left_long_ago_is_cleared_away_and_what_is_being_made_stays(tmp_path):
    for name, age_s in ((".new-old", 3700.0), (".new-now", 60.0), ("mine", 10_000.0)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "garden.db").write_text("x")
        at = (tmp_path / name).stat().st_mtime - age_s
        os.utime(tmp_path / name, (at, at))
    with making(tmp_path / "garden.db"):
        names = {path.name for path in tmp_path.iterdir()}
    assert {name for name in names if not re.fullmatch(r"\.new-[a-z0-9_]{8}", name)} == {
        ".new-now", "mine"}
