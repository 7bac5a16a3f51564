"""What a process that stays keeps of one round, so that the next is worked out sooner."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from advisor.garden.looked import Identity, Mark
from advisor.garden.memory import RowMemory
from advisor.garden.records import Rounds
from advisor.garden.store import Garden
from advisor.jobs.later import later
from advisor.jobs.morning import Round, Worked
from advisor.show.wording import Leaning


@dataclass(frozen=True)
class Owed:
    """What was worked out and not yet stored, at a revision of the file."""

    worked: Worked
    revision: int

    def then(self, worked: Worked, revision: int) -> "Owed":
        """Give it together with what was worked out after it, on the same sky."""
        beliefs = {(each.tree, each.midnight): each
                   for each in (*self.worked.beliefs, *worked.beliefs)}
        outlooks = {**self.worked.outlooks, **worked.outlooks}
        return Owed(Worked(worked.round, outlooks, tuple(beliefs.values())), revision)


class Shelf:
    """Rows read, the last round and what it leans on, what is owed to the file.

    For one thread at a time.
    """

    def __init__(self) -> None:
        self._file: tuple[Identity, Mark] = (None, ())
        self._clear()

    def _clear(self) -> None:
        self.rows = RowMemory()
        self._weather = ""
        self.round: Round | None = None
        self.leaning: Leaning | None = None
        self.owed: Owed | None = None

    def begin(self, garden: Garden) -> None:
        """Begin a round of a garden; what is here of another is let go of."""
        file, mark = self._file
        if file != garden.identity or not garden.follows(mark):
            self._clear()
        self._file = garden.identity, garden.mark()

    def later(self, weather: str, rounds: Mapping[str, Rounds], at: datetime) -> Round | None:
        """Give the last round as it would stand at an instant, had nothing been told since.

        Parameters
        ----------
        weather : str
            The digest of what the hours of its places are worked out from now.
        rounds : mapping of season to Rounds
            As they are told now: every verdict is made for them.
        at : datetime

        Returns
        -------
        Round or None
            None where it must be worked out anew in any case.
        """
        told = self.round
        if (told is None or told.knowledge.since or weather != self._weather
                or told.knowledge.rounds != rounds or at < told.at):
            return None
        return later(told, at)

    def put(self, weather: str, told: Round, leaning: Leaning) -> None:
        """Keep a round, what it leans on, and the digest of its weather."""
        self._weather, self.round, self.leaning = weather, told, leaning

    def owe(self, worked: Worked, revision: int) -> None:
        """Keep what was worked out until it is stored."""
        self.owed = self.owed.then(worked, revision) if self.owed else Owed(worked, revision)
