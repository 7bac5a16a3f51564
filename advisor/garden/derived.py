"""What was computed from what is known, kept to spare time: it can be emptied and rebuilt.

Every part carries the digest of what it was computed from, so that a caller sees what is stale.
Names of trees and places are matched without regard to case.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.garden.blobs import pack, unpack
from advisor.garden.file import GardenFile, told, whole
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.naming import fold
from advisor.garden.schema import DERIVED

Arrays = dict[str, NDArray[Any]]
HOUR_S = 3600
DAY_VALUES = ("tmax_c", "tmin_c", "tmean_c", "rain_mm", "et0_mm")
_DAY_COLUMNS = ("date", *DAY_VALUES, "rules", "first_hour", "n_hours")
_SITE_DAYS = "site days"
SITE = ""  # in place of a place's name: what all places share


@dataclass(frozen=True, eq=False)
class Belief:
    """What is believed of a tree at a local midnight: arrays of numbers and a digest."""

    tree: str
    midnight: datetime
    digest: str
    numbers: Mapping[str, NDArray[Any]]


@dataclass(frozen=True, eq=False)
class Projection:
    """The coming hours of a tree as computed at a revision of the file."""

    tree: str
    start_hour: datetime
    hours: int
    digest: str
    revision: int
    numbers: Mapping[str, NDArray[Any]]


class DerivedStore(GardenFile):
    """The part of a garden file that can be thrown away."""

    def drop_derived(self) -> None:
        """Empty every derived table."""
        with self.writing():
            for table in DERIVED:
                self._connection.execute(f"DELETE FROM {table}")

    # --- days of the site -------------------------------------------------------------

    def save_days(self, days: Mapping[str, Any], digest: str = "") -> None:
        """Keep local days of the site, in place of all kept before.

        Parameters
        ----------
        days : mapping of str to array, shape (n,)
            "date" (datetime64[D] or ISO text), `DAY_VALUES` in their units, "rules" (text),
            "first_hour" [s since 1970 UTC] and "n_hours".
        digest : str
            Of what they were computed from.
        """
        columns = [np.asarray(days["date"], dtype="datetime64[D]").astype(str).tolist()]
        columns += [np.asarray(days[name], dtype=float).tolist() for name in DAY_VALUES]
        columns += [[str(rule) for rule in days["rules"]]]
        columns += [np.asarray(days[name], dtype=np.int64).tolist()
                    for name in ("first_hour", "n_hours")]
        with self.writing():
            self._connection.execute("DELETE FROM site_day")
            self._connection.executemany(
                f"INSERT OR REPLACE INTO site_day ({', '.join(_DAY_COLUMNS)}) "
                f"VALUES ({', '.join('?' * len(_DAY_COLUMNS))})", zip(*columns, strict=True))
            self._save_digest(_SITE_DAYS, digest)

    def days(self, start: date, end: date) -> Arrays:
        """Give the days from `start` to `end`, both included, as `save_days` takes them."""
        with whole(self.path):
            rows = self._rows(f"SELECT {', '.join(_DAY_COLUMNS)} FROM site_day "
                              "WHERE date BETWEEN ? AND ? ORDER BY date",
                              (start.isoformat(), end.isoformat()))
            columns = list(zip(*rows, strict=True)) or [()] * len(_DAY_COLUMNS)
            kinds = ("datetime64[D]", *("float64",) * len(DAY_VALUES), "object", "int64", "int64")
            return {name: np.array(column, dtype=kind)
                    for name, column, kind in zip(_DAY_COLUMNS, columns, kinds, strict=True)}

    def days_digest(self) -> str | None:
        """Give the digest of what the days were computed from; None where there are none."""
        return self._digest(_SITE_DAYS)

    # --- hours of the site and its places ---------------------------------------------

    def save_hours(
        self, place: str, digest: str, hour: NDArray[np.int64],
        values: Mapping[str, NDArray[np.float64]],
    ) -> None:
        """Keep hourly numbers of a place, in place of those kept before.

        Parameters
        ----------
        place : str
            Its name, or SITE for what all places share.
        digest : str
            Of the place, the site and the weather they were computed from.
        hour : array of int, shape (n,)
            Start of the hour, whole hours without holes [s since 1970 UTC].
        values : mapping of str to array, shape (n,)
            Numbers with their unit in their name ("et0_mm"), the same names every time.
        """
        if np.any(np.diff(hour) != HOUR_S):
            raise ValueError("hours of a place have holes or another order")
        first = int(hour[0]) if len(hour) else 0
        with self.writing():
            self._connection.execute("INSERT OR REPLACE INTO place_hours VALUES (?, ?, ?)",
                                     (fold(place), first, pack(dict(values))))
            self._save_digest(f"place {fold(place)}", digest)

    def hours(self, place: str) -> Arrays:
        """Give "hour" [s since 1970 UTC] and the numbers kept of a place; empty where none are."""
        with whole(self.path):
            first, numbers = self._numbers(place)
            size = len(next(iter(numbers.values()))) if numbers else 0
            return {"hour": first + HOUR_S * np.arange(size, dtype=np.int64), **numbers}

    def hours_digest(self, place: str) -> str | None:
        """Give the digest of what a place's hours were computed from; None where none are."""
        return self._digest(f"place {fold(place)}")

    def _numbers(self, place: str) -> tuple[int, Arrays]:
        row = self._row("SELECT first_hour, numbers FROM place_hours WHERE place = ?",
                        (fold(place),))
        return (row[0], dict(unpack(row[1]))) if row else (0, {})

    # --- beliefs ----------------------------------------------------------------------

    def save_beliefs(self, beliefs: Iterable[Belief]) -> None:
        """Keep beliefs, in place of those of the same tree and midnight."""
        rows = [(fold(b.tree), to_seconds(b.midnight), b.digest, pack(b.numbers)) for b in beliefs]
        with self.writing():
            self._connection.executemany("INSERT OR REPLACE INTO belief VALUES (?, ?, ?, ?)", rows)

    def belief(self, tree: str, before: datetime) -> Belief | None:
        """Give the newest belief of a tree whose midnight is not after `before`."""
        row = self._row("SELECT midnight, digest, numbers FROM belief WHERE tree = ? "
                        "AND midnight <= ? ORDER BY midnight DESC LIMIT 1",
                        (fold(tree), to_seconds(before)))
        with whole(self.path):
            return Belief(tree, from_seconds(row[0]), row[1], unpack(row[2])) if row else None

    def belief_digests(self, tree: str) -> list[tuple[datetime, str]]:
        """Give midnight and digest of every belief of a tree, the oldest first."""
        rows = self._rows("SELECT midnight, digest FROM belief WHERE tree = ? ORDER BY midnight",
                          (fold(tree),))
        return [(from_seconds(midnight), digest) for midnight, digest in rows]

    def drop_beliefs(self, tree: str | None = None, after: datetime | None = None) -> None:
        """Forget beliefs: of one tree or all, later than an instant or all."""
        with self.writing():
            self._connection.execute(
                "DELETE FROM belief WHERE (?1 IS NULL OR tree = ?1) "
                "AND (?2 IS NULL OR midnight > ?2)",
                (fold(tree) if tree else None, to_seconds(after) if after else None))

    def thin_beliefs(self, at: datetime, keep_days: int = 14) -> None:
        """Of beliefs older than `keep_days` [d] before `at`, keep one a week and tree."""
        with self.writing():
            self._connection.execute(
                "DELETE FROM belief WHERE midnight < ?1 AND (tree, midnight) NOT IN "
                "(SELECT tree, MIN(midnight) FROM belief GROUP BY tree, midnight / 604800)",
                (to_seconds(at - timedelta(days=keep_days)),))

    # --- projections ------------------------------------------------------------------

    def save_projections(self, projections: Iterable[Projection]) -> None:
        """Keep the coming hours of trees, in place of those kept before."""
        rows = [(fold(p.tree), to_seconds(p.start_hour), p.hours, p.digest, p.revision,
                 pack(p.numbers)) for p in projections]
        with self.writing():
            self._connection.executemany(
                "INSERT OR REPLACE INTO projection VALUES (?, ?, ?, ?, ?, ?)", rows)

    def projections(self, trees: Sequence[str]) -> dict[str, Projection]:
        """Give the coming hours kept of each tree that has any."""
        rows = self._rows("SELECT tree, start_hour, hours, digest, revision, numbers "
                          "FROM projection")
        by_fold = {row[0]: row[1:] for row in rows}
        found = ((tree, by_fold.get(fold(tree))) for tree in trees)
        with whole(self.path):
            return {tree: Projection(tree, from_seconds(row[0]), row[1], row[2], row[3],
                                     unpack(row[4]))
                    for tree, row in found if row}

    # --- digests ----------------------------------------------------------------------

    def _save_digest(self, what: str, digest: str) -> None:
        with told(self.path):
            self._connection.execute("INSERT OR REPLACE INTO derived_from VALUES (?, ?)",
                                     (what, digest))

    def _digest(self, what: str) -> str | None:
        row = self._row("SELECT digest FROM derived_from WHERE what = ?", (what,))
        return row[0] if row else None
