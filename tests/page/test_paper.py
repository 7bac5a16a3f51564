"""The browser's print view of the round is the same list as the sheet."""

import base64
import io
import json
import os
import re
import unicodedata
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from demo_made import AT
from page.conftest import Home
from page.test_browser import browser, pytestmark
from pypdf import PdfReader

from advisor.cli.main import cli

__all__ = ["pytestmark"]


def run(home: Home, *args: str) -> str:
    told = CliRunner().invoke(cli, ["--garden", str(home.path), "morning", "--at", AT, *args])
    assert told.exit_code == 0, told.output
    return told.stdout


def text_of(pdf: bytes) -> str:
    """The words of all pages, in order, on one line, without ligatures."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    text = unicodedata.normalize("NFKC", " ".join(page.extract_text() for page in pages))
    return " ".join(text.split())


@pytest.fixture
def printed(served: Home) -> bytes:
    chrome = browser(width=1280, dark=True)
    try:
        chrome.get(served.url)
        chrome.execute_async_script(
            "requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")  # painted once
        made = chrome.execute_cdp_cmd("Page.printToPDF", {
            "paperWidth": 8.27, "paperHeight": 11.69, "printBackground": False})
        return base64.b64decode(made["data"])
    finally:
        chrome.quit()


def test_the_print_view_is_the_list_of_the_sheet(served: Home, printed: bytes,
                                                 tmp_path: Path) -> None:
    trees: list[dict[str, Any]] = json.loads(run(served, "--json"))["trees"]
    sheet = tmp_path / "round.pdf"
    run(served, "--sheet", str(sheet))
    every = run(served, "--every")
    if shots := os.environ.get("ADVISOR_SHOTS"):
        (Path(shots) / "printed.pdf").write_bytes(printed)
        (Path(shots) / "sheet.pdf").write_bytes(sheet.read_bytes())
    for paper in (text_of(printed), text_of(sheet.read_bytes())):
        found = []
        for tree in trees:
            line = re.search(rf"^  {tree['tree']}  ([^:]+): (.+)$", every, re.M)
            assert line
            name, verdict = line.groups()
            said = re.search(rf"\b{tree['tree']} {name}:? {re.escape(verdict)}", paper, re.I)
            assert said, (tree["tree"], paper)
            found.append(said.start())
            for each in tree["also"]:
                assert each["why"].lower() in paper[said.end():].lower()
        assert found == sorted(found)
        for head in re.findall(r"^\S.*: (?:water|nothing).*$", every, re.M):
            assert head in paper
        assert "Estimates, not orders" in paper
    assert len(PdfReader(io.BytesIO(printed)).pages) == 1
    assert not re.search(r"as listed|Recovering|Walked|those ticked", text_of(printed))
