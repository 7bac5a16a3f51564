"""The garden's file is kept open while it is asked for, and whole on the disk soon after."""

import subprocess
import sys
import time
from pathlib import Path
from threading import Semaphore, Thread
from typing import Any

import pytest
from demo_made import NOW, demo_garden
from page.conftest import Home

from advisor.errors import Refused
from advisor.garden.records import Watering
from advisor.garden.store import Garden
from advisor.page.gardens import Gardens, PageSession
from advisor.page.round_view import Worked


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return demo_garden(tmp_path)


@pytest.fixture
def gardens() -> Gardens:
    return Gardens()


def water(garden: Garden, label: str) -> None:
    with garden.entry(NOW, f"watered {label}") as entry:
        entry.add(Watering(label, NOW))


def log(path: Path) -> Path:
    return path.with_name(f"{path.name}-wal")


def test_one_given_back_is_lent_again(path: Path, gardens: Gardens) -> None:
    with gardens.lend(path) as garden:
        first = garden
    with gardens.lend(path) as again, gardens.lend(path) as beside:
        assert again is first
        assert beside is not first


def test_given_back_twice_it_is_lent_once(path: Path, gardens: Gardens) -> None:
    with gardens.lend(path) as garden:
        garden.close()
    one, other = gardens.lend(path), gardens.lend(path)
    assert one is garden
    assert other is not garden


def test_from_one_thread_to_the_next(path: Path, gardens: Gardens) -> None:
    def tell() -> None:
        with gardens.lend(path) as garden:
            water(garden, "3")

    for _ in range(3):
        thread = Thread(target=tell)
        thread.start()
        thread.join()
    with Garden.open(path) as garden:
        assert [each.words for each in garden.entries(3)] == ["watered 3"] * 3


def test_at_rest_all_lies_in_the_one_file(path: Path, gardens: Gardens, tmp_path: Path) -> None:
    """So that a copy made by hand holds the last entry."""
    with gardens.lend(path) as garden:
        water(garden, "3")
    assert log(path).exists()
    gardens.rest(60.0)
    assert log(path).exists()
    gardens.rest(0.0)
    assert not log(path).exists()
    copy = tmp_path / "by hand.db"
    copy.write_bytes(path.read_bytes())
    with Garden.open(copy) as garden:
        assert garden.entries(1)[0].words == "watered 3"


def test_one_left_in_the_middle_of_something_is_not_lent_again(path: Path,
                                                               gardens: Gardens) -> None:
    with gardens.lend(path) as garden:
        garden._connection.execute("BEGIN IMMEDIATE")
    with gardens.lend(path) as other:
        assert other is not garden
        water(other, "3")


def test_one_to_read_is_not_kept(path: Path, gardens: Gardens) -> None:
    """In a folder that may not be written it would not see what others write."""
    with gardens.lend(path, readonly=True) as reading, pytest.raises(Refused, match="read-only"):
        water(reading, "3")
    with gardens.lend(path) as garden:
        assert not garden.readonly
    with gardens.lend(path, readonly=True) as again:
        assert again is not reading


def test_an_identifier_is_not_left_on_one_given_back(path: Path) -> None:
    session = PageSession(path, lambda: NOW, identifier="sent with this one")
    with session.open() as garden:
        water(garden, "3")
    with session.gardens.lend(path) as garden:
        water(garden, "4")
        assert garden.ticked("sent with this one") is not None
        assert [each.words for each in garden.entries(1)] == ["watered 4"]


def test_a_garden_put_back_takes_the_place_of_those_kept_open(path: Path, gardens: Gardens,
                                                              tmp_path: Path) -> None:
    """Those of the file before, closed later, leave what is told to the new one alone."""
    def advisor(*words: str) -> None:
        done = subprocess.run(
            [sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden",
             str(path), *words], capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr

    advisor("backup", str(tmp_path / "copy.db"))
    with gardens.lend(path) as before, gardens.lend(path) as kept:
        water(before, "3")
        kept.revision()
    advisor("restore", str(tmp_path / "copy.db"))
    with Garden.open(path) as new:
        water(new, "5")
        assert log(path).exists()
        gardens.rest(0.0)
        assert log(path).exists()
        water(new, "6")
        with gardens.lend(path) as lent:
            assert [each.words for each in lent.entries(2)] == ["watered 6", "watered 5"]
    gardens.rest(0.0)
    with Garden.open(path) as garden:
        assert garden.verify() == []
        assert garden.entries(1)[0].words == "watered 6"


def test_of_a_file_that_is_gone_none_is_lent(path: Path, gardens: Gardens) -> None:
    with gardens.lend(path):
        pass
    path.unlink()
    with pytest.raises(Refused, match="garden file"):
        gardens.lend(path)


def test_calls_that_wait_share_one_round(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever asked before it was begun is given it, and finds there what was told before."""
    rounds, worked = home.house.rounds, []
    at, waiting = rounds._at, Semaphore(0)
    given: dict[str, Worked] = {}

    def ask(label: str) -> None:
        with Garden.open(home.path) as garden:
            water(garden, label)
        waiting.release()
        given[label] = rounds.now()

    threads = [Thread(target=ask, args=(label,)) for label in "3456"]

    def slow(*told: Any) -> Worked:
        if not worked:
            for thread in threads:
                thread.start()
            for _ in threads:
                waiting.acquire()
            time.sleep(0.2)  # all of them wait for this round to end
            home.clock.on(seconds=1)
        worked.append(told)
        return at(*told)

    monkeypatch.setattr(rounds, "_at", slow)
    first = rounds.now()
    for thread in threads:
        thread.join()
    assert len(worked) < 1 + len(threads)
    for label, each in given.items():
        assert each is not first
        assert [told.at for told in each.knowledge.waterings[label]][-1] == NOW
