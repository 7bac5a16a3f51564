"""A garden told from a page: what is sent with an identifier is entered once and only once."""

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime

from advisor.garden.file import whole
from advisor.garden.instants import to_seconds
from advisor.garden.naming import fold
from advisor.garden.store import Draft, Garden


class TickedGarden(Garden):
    """A garden whose next entry is written together with the identifier it was sent with."""

    identifier: str | None = None

    @contextmanager
    def entry(self, made_at: datetime, words: str) -> Iterator[Draft]:
        """Make an entry; its identifier is kept with it or, with it, left out.

        Raises
        ------
        Refused
            As `Garden.entry`.
        """
        with self.writing(), super().entry(made_at, words) as draft:
            yield draft
            if self.identifier:
                self._connection.execute("INSERT INTO tick (identifier, entry) VALUES (?, ?)",
                                         (self.identifier, draft.id))

    def ticked(self, identifier: str) -> tuple[int, str] | None:
        """Give number and words of the entry made under an identifier, or None."""
        row = self._row("SELECT entry.id, entry.words FROM tick JOIN entry ON entry.id = entry "
                        "WHERE identifier = ?", (identifier,))
        return None if row is None else (int(row[0]), str(row[1]))

    def words_of(self, entry: int) -> str | None:
        """Give the words of an entry that still counts, or None."""
        row = self._row("SELECT words FROM entry WHERE id = ? AND id NOT IN "
                        "(SELECT entry FROM undone)", (entry,))
        return None if row is None else str(row[0])

    def watered_twice(self, labels: Sequence[str], since: datetime, until: datetime) -> list[str]:
        """Give those of some trees that were watered more than once between two instants."""
        rows = self._rows("SELECT tree, COUNT(*) FROM watering WHERE at BETWEEN ? AND ? AND entry "
                          "NOT IN (SELECT entry FROM undone) GROUP BY tree",
                          (to_seconds(since), to_seconds(until)))
        times: Counter[str] = Counter()
        with whole(self.path):
            for tree, count in rows:
                times[fold(tree)] += count
        return [label for label in labels if times[fold(label)] > 1]
