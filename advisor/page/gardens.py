"""The garden's file kept open while pages are asked for, and closed soon after.

Closed, all of it lies in the one file, which can be copied; open, the last entries lie beside it.
"""

import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import Final

from advisor.cli.session import Session
from advisor.cli.working import unwritable
from advisor.garden.file import identity_of
from advisor.garden.looked import Looked
from advisor.garden.ticked import TickedGarden

IDLE_S: Final = 2.0  # [J]


class Lent(TickedGarden):
    """A garden that goes back to where it was lent from when it is closed."""

    lender: "Gardens | None" = None  # while it is in somebody's hand

    def close(self) -> None:
        """Give it back; once more, before it is lent again, does no harm."""
        lender, self.lender = self.lender, None
        if lender is not None:
            lender.take_back(self)

    def end(self) -> None:
        """Close it for good."""
        super().close()


class Gardens:
    """Open gardens of one file, each in one hand at a time."""

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        self._seconds = seconds
        self._looked = Looked(seconds)
        self._lock = Lock()
        self._idle: list[tuple[float, Lent]] = []

    def lend(self, path: Path, *, readonly: bool = False, identifier: str | None = None) -> Lent:
        """Give an open garden; close it to give it back.

        Raises
        ------
        Refused
            As `Garden.open`.
        """
        kept = None if readonly else self._found(path)
        garden = kept or Lent.open(path, readonly, self._looked)
        garden.lender, garden.identifier = self, identifier
        return garden

    def _found(self, path: Path) -> Lent | None:
        """Take one off the pile; those of a file that another took the place of are closed."""
        with suppress(OSError):
            now = identity_of(path)
            with self._lock:
                same = [each for each in self._idle if each[1].identity == now]
                others = [each for each in self._idle if each[1].identity != now]
                found = same.pop()[1] if same else None
                self._idle = same
            for _, garden in others:
                garden.end()
            return found
        return None

    def take_back(self, garden: Lent) -> None:
        """Keep a garden for the next who asks.

        One left in the middle of something is closed, and one that may only be read: it would not
        see what others write (`garden.file.connect`).
        """
        if garden.is_amid() or garden.readonly:
            garden.end()
            return
        with self._lock:
            self._idle.append((self._seconds(), garden))

    def rest(self, idle_s: float = IDLE_S) -> None:
        """Close those that nobody asked for lately."""
        until = self._seconds() - idle_s
        with self._lock:
            old = [garden for when, garden in self._idle if when <= until]
            self._idle = [each for each in self._idle if each[0] > until]
        for garden in old:
            garden.end()


@dataclass(frozen=True)
class PageSession(Session):
    """A session whose garden is kept open between requests."""

    gardens: Gardens = field(default_factory=Gardens)
    identifier: str | None = None  # which the next entry carries

    def open(self, *, readonly: bool = False) -> Lent:
        """Open the garden."""
        return self.gardens.lend(self.path, readonly=readonly, identifier=self.identifier)

    def reading(self) -> Lent:
        """Open it to read; one that may not be written is read all the same."""
        return self.open(readonly=unwritable(self.path))
