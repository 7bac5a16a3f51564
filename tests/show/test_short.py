"""The round as a paragraph and on paper: the same verdicts as the text."""

import io
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from demo_made import AT, NOW, demo_garden
from pypdf import PdfReader

from advisor.cli.main import cli
from advisor.cli.morning import DUE, round_at
from advisor.cli.session import Session
from advisor.show.short import short_text


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    return demo_garden(tmp_path)


def run(garden: Path, *args: str, at: str = AT) -> "tuple[int, str]":
    told = CliRunner().invoke(cli, ["--garden", str(garden), "morning", "--at", at, *args],
                              obj=Session(garden, lambda: NOW))
    return told.exit_code, told.stdout + told.stderr


def test_the_paragraph_says_what_is_due_and_its_code_says_that_something_is(garden: Path) -> None:
    code, text = run(garden, "--short")
    assert code == DUE
    assert len(text.strip().splitlines()) == 1
    assert text.startswith("Thursday 10 September 2026, 07:00: 13 to water now")
    assert "Water south bench 1, 2, 3, 4, 5, 6; wall 9;" in text
    assert "Look first at wall 8." in text


def test_a_garden_of_which_nothing_is_due_ends_with_nothing(garden: Path) -> None:
    runner = CliRunner()
    runner.invoke(cli, ["--garden", str(garden), "gone", "all", "--at", "2026-09-10T06:00-04:00"])
    code, text = run(garden, "--short")
    assert (code, text.strip()) == (0, "Thursday 10 September 2026, 07:00: nothing to water now.")


def test_old_weather_is_said_in_the_paragraph(garden: Path) -> None:
    told, leaning = round_at(Session(garden, lambda: NOW), None)
    old = replace(leaning, newest=NOW - timedelta(days=2))
    assert "Weather is 2 days old: look before you water." in short_text(told, old)
    assert "Weather" not in short_text(told, leaning)


def test_the_sheet_is_one_page_with_every_tree_and_the_verdicts_of_the_text(garden: Path,
                                                                            tmp_path: Path) -> None:
    drawn = tmp_path / "round.pdf"
    assert run(garden, "--sheet", str(drawn)) == (0, f"Drawn: {drawn}\n")
    pages = PdfReader(io.BytesIO(drawn.read_bytes())).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    _, told = run(garden, "--every")
    for line in told.splitlines():
        if re.match(r"  \d+  ", line):
            _, name, verdict = re.split(r"  |: ", line.strip(), maxsplit=2)
            assert f"{name}: {verdict[:1].upper()}{verdict[1:]}" in text or (
                f"{name}: {verdict}" in text)
    assert "Estimates, not orders" in text


def test_the_same_sheet_is_the_same_to_the_last_byte(garden: Path, tmp_path: Path) -> None:
    for name in ("a.pdf", "b.pdf"):
        run(garden, "--sheet", str(tmp_path / name), "--letter")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    box = PdfReader(tmp_path / "a.pdf").pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612.0, 792.0)


@pytest.mark.parametrize(("args", "code", "says"), [
    (["--short", "--json"], 2, "not both"), (["--sheet", "r.pdf", "--every"], 2, "not both"),
    (["--letter"], 2, "goes with --sheet"), (["--sheet", "r.txt"], 1, "ends in .pdf"),
    (["--sheet", "/no/such/folder/r.pdf"], 1, "a folder that may be written")])
def test_what_cannot_be_is_refused(garden: Path, args: list[str], code: int, says: str) -> None:
    got, text = run(garden, *args)
    assert got == code
    assert says in text
