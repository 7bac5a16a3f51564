"""The garden's memory: what the grower told, kept in one file and never overwritten."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Self

from advisor.errors import Refused
from advisor.garden import schema
from advisor.garden.derived import Belief, DerivedStore, Projection
from advisor.garden.file import connect, look_at, told, whole
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.knowledge import DATED, TIMED, Knowledge, Row, assemble, spelling
from advisor.garden.looked import Looked
from advisor.garden.making import making, put
from advisor.garden.memory import RowMemory, TableMemory
from advisor.garden.naming import fold
from advisor.garden.plans import PlanStore
from advisor.garden.records import (
    Event,
    Mix,
    Move,
    Place,
    Potting,
    Reading,
    Record,
    Site,
    Tree,
    Watering,
)
from advisor.garden.rows import CODECS
from advisor.garden.schema import migrate, refuse_older
from advisor.garden.stock import StockStore
from advisor.garden.weather_store import Source, WeatherStore

if TYPE_CHECKING:
    from advisor.garden import rules

__all__ = ["Belief", "Draft", "Entry", "Garden", "Knowledge", "Projection", "Source"]

#: By how much more than waterings readings reach back where earlier ones are left out.
READINGS_BEFORE: Final = timedelta(days=31)
#: Dated tables that stay small.
FEW: Final = (Potting, Move, Event)
Spelled = Mapping[str, Mapping[str, str]]
_LATEST = 2**62
_LIVE = "entry NOT IN (SELECT entry FROM undone)"
_ENTRIES = ("SELECT entry.id, entry.made_at, words, undone.made_at FROM entry "
            "LEFT JOIN undone ON undone.entry = entry.id")


@dataclass(frozen=True)
class Entry:
    """One thing the grower told at once, in words, and when it was taken back."""

    id: int
    made_at: datetime
    words: str
    undone_at: datetime | None = None


class Draft:
    """The records of an entry while it is being made."""

    def __init__(self, garden: "Garden", entry_id: int, made_at: datetime) -> None:
        self.id = entry_id
        self._garden, self._made_at = garden, made_at
        self._names = garden._names()

    def add(self, record: Record) -> None:
        """Add a record to the entry.

        Raises
        ------
        Refused
            The record names what is not known, or says what cannot be; the whole entry
            is left out unless the caller catches this.
        """
        from advisor.garden import rules

        record = rules.resolved(record, self._names, self._made_at)
        codec = CODECS[type(record)]
        self._garden._connection.execute(codec.insert, (self.id, *codec.encode(record)))
        self._names.learn(record)


class Garden(WeatherStore, DerivedStore, StockStore, PlanStore):
    """An open garden. Use it in a `with` block, or close it."""

    @cached_property
    def _tables(self) -> TableMemory:
        return TableMemory()

    @classmethod
    def create(cls, path: Path | str, site: Site, made_at: datetime) -> Self:
        """Make a new garden file and open it.

        Parameters
        ----------
        path : Path or str
            Where; missing folders are made.
        site : Site
            Where the garden is.
        made_at : datetime
            Now.

        Raises
        ------
        Refused
            There is a file already, it cannot be made there, or the site cannot be.
        """
        from advisor.garden import rules

        path = Path(path)
        rules.resolved(site, rules.Names(), made_at)
        exists = Refused("garden file", f"there is one already at {path}",
                         "a file that does not exist yet",
                         "Name another with --garden, or move the old one away.")
        if path.exists():
            raise exists
        try:
            with making(path) as made:
                cls._fill(made, site, made_at)
                put(made, path)
        except OSError as error:
            if path.exists():  # another process was first
                raise exists from error
            raise Refused("garden file", f"{path}, {error.strerror or error}",
                          "a folder that may be written", "Name another.") from error
        return cls.open(path)

    @classmethod
    def _fill(cls, path: Path, site: Site, made_at: datetime) -> None:
        with told(path):
            connection = connect(path, "rwc")
            with cls(path, connection, readonly=False) as garden:
                connection.execute("PRAGMA journal_mode = WAL")
                migrate(connection, str(path), schema.MIGRATIONS)
                with garden.entry(made_at, "started the garden") as entry:
                    entry.add(site)

    @classmethod
    def open(cls, path: Path | str, readonly: bool = False,
             looked: Looked | None = None) -> Self:
        """Open a garden file; one made by an older version is brought up to date.

        Parameters
        ----------
        path : Path or str
        readonly : bool
        looked : Looked, optional
            When the calling process looked the file through, where it opens it again and again.

        Raises
        ------
        Refused
            Missing, not a garden, damaged, or made by a newer version. Nothing is written
            then.
        """
        path = Path(path)
        look_at(path)
        with told(path):
            connection = connect(path, "ro" if readonly else "rw")
            try:
                connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
                if readonly:
                    refuse_older(connection, str(path), schema.MIGRATIONS)
                elif schema.version(connection) != len(schema.MIGRATIONS):
                    from advisor.garden.backup import bring_up_to_date

                    bring_up_to_date(path, connection)
            except BaseException:
                connection.close()
                raise
        return cls(path, connection, readonly, looked)

    # --- entries ----------------------------------------------------------------------

    @contextmanager
    def entry(self, made_at: datetime, words: str) -> Iterator[Draft]:
        """Make an entry: everything added inside the block is kept, or nothing.

        Parameters
        ----------
        made_at : datetime
            Now.
        words : str
            The entry in plain language ("watered 3 and 11 until they ran").

        Yields
        ------
        Draft
            Takes the records.
        """
        self.refuse_damaged()
        with self.writing():
            made = self._connection.execute(
                "INSERT INTO entry (made_at, words) VALUES (?, ?)", (to_seconds(made_at), words))
            assert made.lastrowid is not None
            yield Draft(self, made.lastrowid, made_at)

    def undo(self, made_at: datetime, entry_id: int | None = None) -> Entry:
        """Take back an entry: its rows stay in the file and no longer count.

        Parameters
        ----------
        made_at : datetime
            Now.
        entry_id : int, optional
            Which; the last one that still counts where None.

        Raises
        ------
        Refused
            Nothing to undo, undone already, or what other entries rest on.
        """
        self.refuse_damaged()
        with self.writing():
            entry = self._to_undo(entry_id)
            self._connection.execute("INSERT INTO undone (entry, made_at) VALUES (?, ?)",
                                     (entry.id, to_seconds(made_at)))
            self._refuse_loose_ends(entry)
            return Entry(entry.id, entry.made_at, entry.words, from_seconds(to_seconds(made_at)))

    def _to_undo(self, entry_id: int | None) -> Entry:
        if entry_id is None:
            row = self._row(f"{_ENTRIES} WHERE undone.id IS NULL ORDER BY entry.id DESC LIMIT 1")
        else:
            asked = min(entry_id, _LATEST)  # SQLite takes no larger number
            row = self._row(f"{_ENTRIES} WHERE entry.id = ?", (asked,))
        if row is None:
            raise Refused("entry to undo", entry_id or "none", "an entry that was made",
                          "See the list of entries.")
        entry = _entry(row)
        if entry.undone_at is not None:
            raise Refused("entry to undo", f"{entry.id} ({entry.words}) is taken back already",
                          "an entry that still counts",
                          "See the list of entries.")
        first = self._row("SELECT MIN(id) FROM entry")
        if first and entry.id == first[0]:
            raise Refused("entry to undo", f"none but the first, {entry.words}",
                          "an entry made since",
                          "To start anew, make another garden file.")
        return entry

    def _refuse_loose_ends(self, entry: Entry) -> None:
        names = self._names()
        needed = [(names.trees, tree) for kind in DATED
                  for tree in self._told(CODECS[kind].table, "tree")]
        needed += [(names.places, place) for place in self._told("move", "place")]
        needed += [(names.mixes, mix) for column in ("mix", "ball_mix")
                   for mix in self._told("potting", column)]
        loose = sorted({name for known, name in needed if fold(name) not in known})
        early = sorted({tree for table in ("watering", "reading") for tree, at in self._rows(
            f"SELECT tree, MIN(at) FROM {table} WHERE {_LIVE} GROUP BY tree")
            if (potted := names.potted(tree)) is None or from_seconds(at) < potted})
        if loose or early:
            rests = ", ".join(loose or early)
            raise Refused("entry to undo", f"{entry.id} ({entry.words})",
                          f"an entry on which no later one rests ({rests})",
                          "Undo the later entries first.")

    def _told(self, table: str, column: str) -> list[str]:
        rows = self._rows(f'SELECT DISTINCT "{column}" FROM "{table}" '
                          f'WHERE {_LIVE} AND "{column}" IS NOT NULL')
        return [row[0] for row in rows]

    def entries(self, limit: int = 20, include_undone: bool = True) -> list[Entry]:
        """Give the last entries, the newest first."""
        which = "" if include_undone else "WHERE undone.id IS NULL"
        with whole(self.path):
            return [_entry(row) for row in
                    self._rows(f"{_ENTRIES} {which} ORDER BY entry.id DESC LIMIT ?", (limit,))]

    def revision(self) -> int:
        """Give a number that grows with every entry, undone entry and weather import."""
        row = self._row("SELECT (SELECT COALESCE(MAX(id), 0) FROM entry) "
                        "+ (SELECT COALESCE(MAX(id), 0) FROM undone) "
                        "+ (SELECT COALESCE(MAX(id), 0) FROM weather_source)")
        return int(row[0]) if row else 0

    def next_to_count(self, after: datetime) -> datetime | None:
        """Give the first later instant at which more of what is in the file counts, or None.

        That is something told of a time to come, or weather issued then.
        """
        tables = [*((CODECS[kind].table, "at") for kind in TIMED), ("weather_source", "issued_at")]
        row = self._row("SELECT MIN(at) FROM (" + " UNION ALL ".join(
            f'SELECT MIN("{column}") AS at FROM "{table}" WHERE "{column}" > ?1'
            for table, column in tables) + ")", (to_seconds(after),))
        return None if row is None or row[0] is None else from_seconds(row[0])

    # --- what is known ----------------------------------------------------------------

    def site(self) -> Site:
        """Give where the garden is."""
        site: Site = self._told_after({}, Site, 0)[-1][1]
        return site

    def knowledge(self, at: datetime | None = None, since: datetime | None = None,
                  memory: RowMemory | None = None) -> Knowledge:
        """Give all that is known, as it stands after corrections.

        Parameters
        ----------
        at : datetime, optional
            What happened later than this does not count; all counts where None. Sites,
            places, mixes, trees and rounds have no instant: they are as they are now.
        since : datetime, optional
            Waterings earlier than this, and readings earlier by `READINGS_BEFORE`, are left
            out, to spare time in an old garden; no digest can be had then.
        memory : RowMemory, optional
            Rows that the calling process read before; goes without `since`.
        """
        with self.snapshot(), whole(self.path):
            rows = self._small_tables()
            spelled = spelling(rows)
            if memory is not None:
                assert since is None
                return assemble(rows, at, None, memory.diary(
                    (self.identity, self._undone(), spelled), spelled["tree"].values(), at,
                    partial(self._told_after, spelled)))
            rows |= {kind: [row for row in CODECS[kind].respelled(rows[kind], spelled)
                            if at is None or row[1].at <= at] for kind in FEW}
            first = {Watering: since, Reading: since and since - READINGS_BEFORE}
            rows |= {kind: self._dated(kind, at, first.get(kind), spelled)
                     for kind in TIMED if kind not in FEW}
            return assemble(rows, at, since)

    def _small_tables(self) -> dict[type[Record], list[Row]]:
        """Give the rows of tables that stay small, names as they were typed."""
        basis, read = (self._undone(), self._rolled_back), partial(self._told_after, {})
        return {kind: self._tables.rows(kind, basis, read)
                for kind in CODECS if kind not in TIMED or kind in FEW}

    def _undone(self) -> object:
        """Give what changes where rows that were read may count no more."""
        return self._row("SELECT MAX(id) FROM undone")

    def _dated(self, record: type[Record], at: datetime | None, since: datetime | None,
               spelled: Spelled) -> list[Row]:
        codec = CODECS[record]
        span = (to_seconds(since) if since else -_LATEST, to_seconds(at) if at else _LATEST)
        return codec.decode(self._rows(f"{codec.select} WHERE {_LIVE} AND at >= ? AND at <= ? "
                                       "ORDER BY at, id", span), spelled)

    def _told_after(self, spelled: Spelled, record: type[Record], last: int) -> list[Row]:
        codec = CODECS[record]
        order = "at, id" if record in TIMED else "id"
        return codec.decode(self._rows(f"{codec.select} WHERE {_LIVE} AND id > ? ORDER BY {order}",
                                       (last,)), spelled)

    def _names(self) -> "rules.Names":
        from advisor.garden import rules

        names = rules.Names()
        with whole(self.path):
            rows = self._small_tables()
            if rows[Site]:
                names.zone = rows[Site][-1][1].zone
            for kind in (Place, Mix, Tree, Potting, Event):
                for _, record in rows[kind]:
                    names.learn(record)
        return names


def _entry(row: tuple[Any, ...]) -> Entry:
    undone_at = None if row[3] is None else from_seconds(row[3])
    return Entry(row[0], from_seconds(row[1]), row[2], undone_at)
