"""The round and what is entered from it, with scripts off: plain forms."""

import re
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner
from demo_made import AT, NOW
from page.conftest import Home, Phone

from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.garden.records import Site
from advisor.garden.store import Garden

ID = "0123456789abcdef"


def plain(text: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def test_the_page_says_what_the_command_says(phone: Phone, home: Home) -> None:
    told = CliRunner().invoke(cli, ["--garden", str(home.path), "morning", "--at", AT, "--every"])
    assert told.exit_code == 0
    page = plain(phone.get("/").text).lower()
    for line in told.stdout.splitlines():
        said = re.sub(r"^\s*\d+  [^:]*: ", "", line).strip().lower()
        if line.startswith("  ") and "leave" not in line and line.lstrip()[0].isdigit():
            assert said in page
        elif line and not line.startswith(" "):
            assert line.lower() in page


def test_benches_stand_in_the_order_of_the_walk(phone: Phone) -> None:
    heads = re.findall(r'<h2 id="bench\d">([^:]*):', phone.get("/").text)
    assert heads == ["South bench", "Wall", "Shade", "Overhang", "Sand bed"]


def test_a_tick_is_a_watering_until_it_ran(phone: Phone, home: Home) -> None:
    before = len(home.waterings("3"))
    answer = phone.post("/watered", {"tree": "3", "identifier": ID})
    assert answer.status_code == 303
    assert home.waterings("3")[before:] == [NOW]
    page = phone.get(answer.headers["Location"]).text
    assert "Watered 3, until it ran below." in plain(page)
    assert re.search(r'<li class="leave done"><div><a href="/tree\?label=3">', page)


def test_a_tick_sent_twice_counts_once(phone: Phone, home: Home) -> None:
    before = len(home.waterings("3"))
    first = phone.post("/watered", {"tree": "3", "identifier": ID}, script=True).json
    again = phone.post("/watered", {"tree": "3", "identifier": ID}, script=True).json
    assert len(home.waterings("3")) == before + 1
    assert (first["entry"], first["again"]) == (again["entry"], False)
    assert again["again"]


def test_a_tick_kept_on_the_phone_counts_when_it_was_made(phone: Phone, home: Home) -> None:
    phone.post("/watered", {"tree": "3", "ago": "5400"})
    assert home.waterings("3")[-1] == NOW - timedelta(minutes=90)


def test_a_whole_bench_as_it_is_listed(phone: Phone, home: Home) -> None:
    page = phone.get("/").text
    due = re.findall(r'name="due-0" value="([^"]+)"', page)[0].split()
    assert "3" in due
    phone.post("/watered", {"listed": "0", "due-0": "\n".join(due), "due-1": "9"})
    assert all(home.waterings(label)[-1] == NOW for label in due)
    assert NOW not in home.waterings("9")


def test_a_bench_but_some(phone: Phone, home: Home) -> None:
    phone.post("/watered", {"bench": "0", "of-0": ["1", "2"], "of-1": ["9"]})
    assert home.waterings("1")[-1] == home.waterings("2")[-1] == NOW
    assert NOW not in home.waterings("3") + home.waterings("9")


def test_nothing_watered_is_told_too(phone: Phone, home: Home) -> None:
    phone.post("/watered", {"nothing": "1"})
    assert home.entries()[0] == "walked the round, watered nothing"


def test_a_tick_is_taken_back_at_once_and_from_the_history(phone: Phone, home: Home) -> None:
    before = home.waterings("3")
    entry = phone.post("/watered", {"tree": "3"}, script=True).json["entry"]
    phone.post("/undo", {"entry": str(entry), "from": "round"})
    assert home.waterings("3") == before
    entry = phone.post("/watered", {"tree": "3"}, script=True).json["entry"]
    assert f'name="entry" value="{entry}"' in phone.get("/history").text
    phone.post("/undo", {"entry": str(entry)})
    assert phone.post("/undo", {"entry": str(entry)}).status_code == 303
    assert home.waterings("3") == before
    assert "taken back" in phone.get("/history").text


@pytest.mark.parametrize(("path", "fields"), [
    ("/watered", {"tree": "3"}), ("/tell/reading", {"label": "3", "told-dry-depth": "20"})])
def test_a_file_in_use_refuses_no_tick_for_good(phone: Phone, home: Home, path: str,
                                                fields: dict[str, str],
                                                monkeypatch: pytest.MonkeyPatch) -> None:
    """The answer is one after which a phone keeps its tick and sends it again."""
    phone.get("/")
    monkeypatch.setattr("advisor.garden.file._BUSY_S", 0.1)
    told, before = fields | {"identifier": ID}, home.entries()
    with Garden.open(home.path) as other, other.writing():
        busy = phone.post(path, told, script=True)
        assert busy.status_code == 503
        assert "in use" in busy.json["fault"]
    assert phone.post(path, told, script=True).status_code == 200
    assert len(home.entries()) == len(before) + 1


def test_two_phones_on_one_tree_lose_nothing_and_it_is_said(home: Home) -> None:
    before = len(home.waterings("3"))
    home.phone().post("/watered", {"tree": "3"})
    home.clock.on(minutes=2)
    answer = home.phone().post("/watered", {"tree": "3"}, script=True).json
    assert len(home.waterings("3")) == before + 2
    assert "twice in half an hour" in answer["text"]


@pytest.mark.parametrize(("who", "label"), [("South bench", "3"), ("all", "9"), (" 3 ", "3")])
def test_whom_a_tick_names_is_read_as_the_command_reads_it(phone: Phone, home: Home, who: str,
                                                           label: str) -> None:
    assert phone.post("/watered", {"tree": who}, script=True).status_code == 200
    assert home.waterings(label)[-1] == NOW


def test_a_reading_from_the_page_of_a_tree(phone: Phone, home: Home) -> None:
    answer = phone.post("/tell/reading", {"label": "3", "told-dry-depth": "3 cm",
                                          "told-note": "moss on top"})
    assert "dry to 30 mm" in answer.text
    with Garden.open(home.path, readonly=True) as garden:
        read = garden.knowledge().readings["3"][-1]
    assert (read.kind, read.value, read.note) == ("dry depth", 30.0, "moss on top")
    assert "3 Corkscrew" in phone.get("/tree?label=3").text


def test_the_picture_of_a_tree_is_small(phone: Phone) -> None:
    answer = phone.get("/tree.png?label=3")
    assert answer.data.startswith(b"\x89PNG")
    assert len(answer.data) < 100_000


@pytest.mark.parametrize(("path", "says"), [
    ("/recovering", "Ridgeline"), ("/weather", "ET0"), ("/history", "Started the garden"),
    ("/garden", "gravel"), ("/tree?label=15", "34 mm")])
def test_what_the_commands_know_is_there_to_read(phone: Phone, path: str, says: str) -> None:
    assert says in plain(phone.get(path).text)


def test_a_round_without_weather_says_so_and_takes_ticks(tmp_path: Path) -> None:
    path = tmp_path / "garden.db"
    site = Site(52.1, 13.2, 40.0, "Europe/Berlin")
    with Garden.create(path, site, NOW - timedelta(days=9)):
        pass
    home = Home(path)
    for line in (["add", "place", "bench"], ["add", "mix", "m", "--part", "akadama=100"],
                 ["add", "tree", "1", "--group", "larch", "--outside", "350x250x60", "--potted",
                  "2026-03-01"]):
        told = CliRunner().invoke(cli, line, obj=Session(path, lambda: NOW))
        assert told.exit_code == 0, told.output
    phone = home.phone()
    assert "none in this garden yet" in plain(phone.get("/").text)
    phone.post("/watered", {"tree": "1"})
    assert home.waterings("1") == [NOW]


def test_an_empty_garden_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "garden.db"
    with Garden.create(path, Site(52.1, 13.2, 40.0, "Europe/Berlin"), NOW):
        pass
    assert "No tree stands in a pot yet" in Home(path).phone().get("/").text


def test_the_plan_for_an_absence_is_that_of_the_command(phone: Phone) -> None:
    refused = phone.post("/away", {"told-from": "2026-09-20", "told-until": "2026-09-12"})
    assert refused.status_code == 422
    assert 'value="2026-09-20"' in refused.text
    answer = phone.post("/away", {"told-from": "2026-09-12", "told-until": "2026-09-15"})
    assert answer.status_code == 200, plain(answer.text)
    assert 'class="plan"' in answer.text
    assert "13 Sep" in answer.text or "14 Sep" in answer.text or "No visit" in answer.text


def test_where_no_plan_keeps_every_tree_the_page_says_which_and_what_would(phone: Phone) -> None:
    answer = phone.post("/away", {"told-from": "2026-09-12", "told-until": "2026-09-17"})
    assert answer.status_code == 200
    said = plain(answer.text)
    assert "no plan keeps every tree" in said
    assert "What would mend it" in said
    assert 'value="2026-09-17"' in answer.text
