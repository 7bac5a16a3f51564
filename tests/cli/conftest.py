"""A grower at a garden of their own: every call at one instant, nobody at the terminal."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from advisor.cli import session
from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.garden.knowledge import Knowledge
from advisor.garden.store import Garden

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)  # 07:00 in Berlin


@dataclass
class Grower:
    path: Path
    now: datetime = NOW

    def run(self, *args: str, answers: str | None = None) -> Result:
        runner = CliRunner()
        return runner.invoke(cli, args, obj=Session(self.path, lambda: self.now), input=answers)

    def tell(self, *args: str) -> str:
        result = self.run(*args)
        assert result.exit_code == 0, result.output
        return result.stdout

    def refused(self, *args: str) -> str:
        """Give the message of a refusal, having made sure that nothing was written."""
        before = self.path.read_bytes() if self.path.exists() else None
        result = self.run(*args)
        assert result.exit_code == 1, result.output
        assert result.stdout == ""
        assert "Traceback" not in result.stderr
        assert (self.path.read_bytes() if self.path.exists() else None) == before
        return result.stderr.strip()

    def misused(self, *args: str) -> str:
        result = self.run(*args)
        assert result.exit_code == 2, result.output
        assert result.stdout == ""
        return result.stderr

    def knows(self) -> Knowledge:
        with Garden.open(self.path, readonly=True) as garden:
            return garden.knowledge()


@pytest.fixture(autouse=True)
def nobody_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session, "on_terminal", lambda: False)
    monkeypatch.delenv("ADVISOR_GARDEN", raising=False)


@pytest.fixture
def somebody_there(monkeypatch: pytest.MonkeyPatch, nobody_there: None) -> None:
    monkeypatch.setattr(session, "on_terminal", lambda: True)


@pytest.fixture
def grower(tmp_path: Path) -> Grower:
    """A garden file that is not there yet."""
    return Grower(tmp_path / "garden.db")


@pytest.fixture
def garden(grower: Grower) -> Grower:
    """Two places, one mix; 2 and 10 on the south bench, 3 at the wall."""
    grower.tell("start", "--latitude", "52.1", "--longitude", "13.2", "--elevation", "40",
                "--time-zone", "Europe/Berlin", "--at", "2026-03-01T09:00")
    grower.tell("add", "place", "south bench")
    grower.tell("add", "place", "wall", "--wind", "sheltered")
    grower.tell("add", "mix", "third", "--part", "akadama=40", "--part", "pumice=30",
                "--part", "lava=30")
    for label, group, place in (("10", "black pine", "south bench"), ("2", "maple", "south bench"),
                                ("3", "larch", "wall")):
        grower.tell("add", "tree", label, "--group", group, "--place", place, "--outside",
                    "350x250x60", "--potted", "2026-03-15")
    return grower
