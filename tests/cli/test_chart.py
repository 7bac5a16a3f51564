"""`advisor chart`: a file in each form, and what keeps it from being drawn."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
import sunny
from demo_made import AT, NOW, demo_garden


@pytest.fixture
def fair(garden, tmp_path):
    """Three trees and fair weather from 10 June to 10 July."""
    garden.tell("weather", "add", str(sunny.write(tmp_path / "w.csv", "2026-06-10", 30)))
    return garden


@pytest.mark.parametrize(("ending", "start"), [
    (".png", b"\x89PNG\r\n"), (".svg", b"<?xml"), (".pdf", b"%PDF-"), (".PNG", b"\x89PNG\r\n")])
def test_a_picture_is_written_in_each_form(fair, tmp_path, ending, start):
    path = tmp_path / f"ten{ending}"
    assert fair.tell("chart", "10", "--out", str(path)) == f"Drawn: {path}\n"
    assert path.read_bytes().startswith(start)


def test_without_a_name_it_is_the_tree_s_here(fair, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert fair.tell("chart", "10") == "Drawn: 10.png\n"
    assert (tmp_path / "10.png").stat().st_size > 10_000


def test_the_same_day_drawn_again_is_the_same_picture(fair, tmp_path):
    first, second, other = (tmp_path / f"{name}.svg" for name in ("first", "second", "other"))
    for path in (first, second):
        fair.tell("chart", "3", "--out", str(path))
    fair.tell("chart", "3", "--days-back", "3", "--out", str(other))
    assert first.read_bytes() == second.read_bytes()
    assert first.read_bytes() != other.read_bytes()


def test_a_recovering_tree_is_drawn_with_its_target(grower, tmp_path):
    example = replace(grower, path=demo_garden(tmp_path), now=NOW)
    path = tmp_path / "15.svg"
    example.tell("chart", "15", "--at", AT, "--out", str(path))
    drawn = path.read_text(encoding="utf-8")
    for words in ("15  Ridgeline, overhang", "target", "34 mm", "suffers", "root soil",
                  "root soil: not", "below 15 %", "coming, if nothing is poured"):
        assert f"<!-- {words} -->" in drawn
    assert "wants water" not in drawn


def test_a_tree_is_named_in_any_case(fair, tmp_path):
    fair.tell("add", "tree", "Old One", "--group", "pine", "--place", "wall", "--outside",
              "350x250x60", "--potted", "2026-03-15", "--mix", "third")
    assert fair.tell("chart", "old one", "--out", str(tmp_path / "x.png"))


def test_an_unknown_tree_is_refused(fair):
    message = fair.refused("chart", "11")
    assert message.startswith("tree or place: '11'. Known: 2, 3, 10, south bench, wall. ")


def test_a_tree_is_named_by_a_name_of_its_own(fair, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    fair.tell("add", "tree", "10", "--name", "Greybeard")
    assert fair.tell("chart", "greybeard") == "Drawn: 10.png\n"


def test_a_tree_that_is_gone_is_refused_with_its_day(fair):
    fair.tell("gone", "10", "--at", "2026-06-30T12:00")
    assert fair.refused("chart", "10").startswith("tree: '10' is gone since 30 June 2026. ")


def test_a_place_of_several_trees_is_refused(fair):
    assert "names 2 trees" in fair.refused("chart", "south bench")


def test_readings_are_drawn(fair, tmp_path):
    path, bare = tmp_path / "read.svg", tmp_path / "bare.svg"
    fair.tell("chart", "10", "--out", str(bare))
    fair.tell("reading", "10", "--dry-depth", "20", "--at", "2026-06-30T07:00")
    fair.tell("chart", "10", "--out", str(path))
    assert "Circle: skewer or finger" in path.read_text(encoding="utf-8")
    assert "Circle: skewer or finger" not in bare.read_text(encoding="utf-8")


def test_a_recovery_is_drawn_since_repotting_and_only_of_a_tree_that_recovers(grower, tmp_path):
    example = replace(grower, path=demo_garden(tmp_path), now=NOW)
    path = tmp_path / "15.svg"
    example.tell("chart", "15", "--recovery", "--at", AT, "--out", str(path))
    drawn = path.read_text(encoding="utf-8")
    for words in ("15  Ridgeline, overhang: after repotting", "34 mm", "dry from the top, mm"):
        assert f"<!-- {words} -->" in drawn
    assert "available water left" not in drawn
    assert example.refused("chart", "1", "--recovery", "--at", AT).startswith(
        "recovery of 1: none now.")


def test_a_pot_is_drawn_layer_by_layer(grower, tmp_path):
    example = replace(grower, path=demo_garden(tmp_path), now=NOW)
    path = tmp_path / "15.svg"
    example.tell("chart", "15", "--profile", "--at", AT, "--out", str(path))
    drawn = path.read_text(encoding="utf-8")
    for words in ("old root ball", "now, Thu 10 Sep 07:00", "dry depth waited for, 34 mm"):
        assert f"<!-- {words} -->" in drawn


def test_one_picture_at_a_time(fair):
    assert "--recovery or --profile" in fair.misused("chart", "10", "--recovery", "--profile")


@pytest.mark.parametrize("name", ["ten.bmp", "ten", "ten.png.txt"])
def test_an_unknown_ending_is_refused(fair, tmp_path, name):
    message = fair.refused("chart", "10", "--out", str(tmp_path / name))
    assert message == (f"picture file: {name}. Wanted: ending .png, .svg, .pdf. "
                       "Give the file one of these endings.")
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize("name", ["absent/ten.png", "garden.db/ten.png"])
def test_a_folder_that_cannot_be_written_to_is_refused(fair, tmp_path, name):
    message = fair.refused("chart", "10", "--out", str(tmp_path / name))
    assert message.startswith(f"picture file: {tmp_path / name}. Wanted: ")
    assert message.endswith("Choose another place.")


def test_a_tree_that_has_no_pot_yet_is_refused(fair, tmp_path):
    fair.tell("add", "tree", "20", "--group", "pine", "--place", "wall", "--outside", "350x250x60",
              "--potted", "2026-06-29", "--mix", "third")
    assert fair.refused("chart", "20", "--at", "2026-06-20T07:00").startswith("tree 20: no pot ")


def test_without_weather_there_is_nothing_to_draw(garden):
    assert garden.refused("chart", "10").startswith("weather: none in this garden yet")


def test_weather_long_past_is_refused(fair):
    late = replace(fair, now=datetime(2026, 12, 1, tzinfo=UTC))
    assert late.refused("chart", "10").startswith("weather: it ends on ")


@pytest.mark.parametrize("args", [("--days-back", "-1"), ("--days-ahead", "0"),
                                  ("--days-ahead", "soon")])
def test_a_span_that_is_none_is_a_usage_error(fair, args):
    assert "Invalid value" in fair.misused("chart", "10", *args)
