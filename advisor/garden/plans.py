"""Plans of visits as they were made, each through an entry: the newest is the one that counts."""

import json
from datetime import datetime
from typing import Any

from advisor.garden.file import GardenFile, whole
from advisor.garden.instants import to_seconds

_LIVE = "entry NOT IN (SELECT entry FROM undone)"


class PlanStore(GardenFile):
    """The part of a garden file that holds plans of visits."""

    def add_plan(self, entry: int, at: datetime, document: dict[str, Any]) -> None:
        """Keep a plan.

        Parameters
        ----------
        entry : int
            The entry it belongs to (`Draft.id`).
        at : datetime
            When it was made.
        document : dict
            What JSON can hold.
        """
        with self.writing():
            self._connection.execute(
                "INSERT INTO awayplan (entry, at, document) VALUES (?, ?, ?)",
                (entry, to_seconds(at), json.dumps(document, ensure_ascii=False)))

    def last_plan(self, at: datetime) -> dict[str, Any] | None:
        """Give the plan made last up to an instant; None where there is none."""
        with whole(self.path):
            row = self._row(f"SELECT document FROM awayplan WHERE {_LIVE} AND at <= ? "
                            "ORDER BY at DESC, id DESC LIMIT 1", (to_seconds(at),))
        return dict(json.loads(row[0])) if row else None
