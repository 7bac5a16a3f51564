"""All that is known of a garden at an instant, in the order in which it is walked."""

import hashlib
import json
import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from advisor.garden.naming import fold, natural_key
from advisor.garden.records import (
    DEFAULT_ROUNDS,
    Event,
    Mix,
    Move,
    Place,
    Potting,
    Reading,
    Record,
    Rounds,
    Site,
    Tree,
    Walk,
    Watering,
)

Dated = TypeVar("Dated", Potting, Move, Watering, Event, Reading)
#: Records that happen to a tree at an instant; of the first two, one counts an instant.
DATED: tuple[type[Record], ...] = (Potting, Move, Watering, Event, Reading)
#: All records that have an instant.
TIMED: tuple[type[Record], ...] = (*DATED, Walk)
#: A live row of a table: its id and the record in it.
Row = tuple[int, Any]
#: Rows as ids and, beside them, records.
Parted = tuple[tuple[int, ...], tuple[Any, ...]]


@dataclass(frozen=True)
class RowIds:
    """The ids of the rows that tell of one tree, each beside its record in `Knowledge`."""

    tree: int
    pottings: tuple[int, ...] = ()
    moves: tuple[int, ...] = ()
    waterings: tuple[int, ...] = ()
    events: tuple[int, ...] = ()
    readings: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Knowledge:
    """What the grower told, as it stands: corrections made, undone entries left out.

    Mappings of trees hold every tree, in walking order: by the position of its place, then
    as people count ("2" before "10"). What belongs to a tree is sorted by instant.
    """

    site: Site
    places: Mapping[str, Place]
    mixes: Mapping[str, Mix]
    trees: Mapping[str, Tree]
    pottings: Mapping[str, tuple[Potting, ...]]
    moves: Mapping[str, tuple[Move, ...]]
    waterings: Mapping[str, tuple[Watering, ...]]
    events: Mapping[str, tuple[Event, ...]]
    rounds: Mapping[str, Rounds]
    readings: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    row_ids: Mapping[str, RowIds] = field(default_factory=dict)
    site_id: int = 0
    place_ids: Mapping[str, int] = field(default_factory=dict)
    mix_ids: Mapping[str, int] = field(default_factory=dict)
    #: Every instant at which something was told of a tree or a walk, once, in order.
    entry_times: tuple[datetime, ...] = ()
    at: datetime | None = None
    since: datetime | None = None

    @cached_property
    def days_told(self) -> tuple[date, ...]:
        """The site's days on which something was told of a tree or a walk, in order."""
        return local_days(self.entry_times, self.site.zone)

    @cached_property
    def past_days_told(self) -> tuple[date, ...]:
        """Those before the day of `at`: on others of the past somebody may have watered."""
        if self.at is None:
            return self.days_told
        return self.days_told[:bisect_left(self.days_told, self.at.astimezone(
            self.site.zone).date())]

    def potting_of(self, label: str, at: datetime | None = None) -> Potting | None:
        """Give the potting of a tree in force at an instant (the last one where None)."""
        return _in_force(self.pottings[label], at)

    def place_of(self, label: str, at: datetime | None = None) -> Place | None:
        """Give the place where a tree stands at an instant (the last one where None)."""
        move = _in_force(self.moves[label], at)
        return self.places[move.place] if move else None

    def is_gone(self, label: str, at: datetime | None = None) -> bool:
        """Whether a tree was given away or lost by an instant (ever, where None)."""
        return any(event.kind == "gone" and (at is None or event.at <= at)
                   for event in self.events[label])

    def untouched_since(self, before: "Knowledge") -> set[str]:
        """Give the trees of which all is as it was before, and so is what they share.

        Both must be whole, with no earlier waterings left out, and of one local day.
        """
        def shared(known: Knowledge) -> tuple[object, ...]:
            return (known.since, known.site_id, known.place_ids, known.mix_ids, known.rounds,
                    known.past_days_told)

        if self.since is not None or shared(self) != shared(before):
            return set()
        return {label for label, ids in self.row_ids.items() if before.row_ids.get(label) == ids}

    def digest(self, label: str, before: datetime) -> str:
        """Give the digest of everything told of a tree before an instant.

        Parameters
        ----------
        label : str
            The tree, as it is written in `trees`.
        before : datetime
            The first instant that does not count.

        Returns
        -------
        str
            32 hexadecimal digits; another row, or one undone, gives another digest.

        Raises
        ------
        ValueError
            Earlier waterings and readings were left out.
        """
        if self.since is not None:
            raise ValueError("a digest needs all waterings: ask for knowledge without `since`")
        ids = self.row_ids[label]
        moves, pottings = self.moves[label], self.pottings[label]
        moved, potted = _until(moves, before), _until(pottings, before)
        mixes = {mix for p in pottings[:potted] for mix in (p.mix, p.ball_mix) if mix}
        told = [
            self.site_id, ids.tree, ids.pottings[:potted], ids.moves[:moved],
            ids.waterings[:_until(self.waterings[label], before)],
            ids.events[:_until(self.events[label], before)],
            ids.readings[:_until(self.readings[label], before)],
            sorted(self.place_ids[move.place] for move in moves[:moved]),
            sorted(self.mix_ids[mix] for mix in mixes),
        ]
        return hashlib.sha256(json.dumps(told).encode()).hexdigest()[:32]


def local_days(times: Sequence[datetime], zone: ZoneInfo) -> tuple[date, ...]:
    """Give the local days of instants that are in order, each day once."""
    days: list[date] = []
    i = 0
    while i < len(times):
        days.append(times[i].astimezone(zone).date())
        tomorrow = datetime.combine(days[-1] + timedelta(days=1), time(), zone)
        i = bisect_left(times, tomorrow, i + 1)
    return tuple(days)


def _at(record: Potting | Move | Watering | Event | Reading) -> datetime:
    return record.at


def _until(records: Sequence[Potting | Move | Watering | Event | Reading],
           before: datetime) -> int:
    return bisect_left(records, before, key=_at)


def _in_force(records: Sequence[Dated], at: datetime | None) -> Dated | None:
    count = len(records) if at is None else bisect_right(records, at, key=_at)
    return records[count - 1] if count else None


@dataclass(frozen=True, eq=False)
class Diary:
    """What was told of trees at instants: by kind and tree, in order, and every instant once."""

    of_tree: Mapping[type[Record], Mapping[str, Parted]]
    times: tuple[datetime, ...]


def _diary(rows: Mapping[type[Record], Sequence[Row]], labels: Iterable[str]) -> Diary:
    of_tree = {kind: {label: parted(kind, told) for label, told in
                      _by_tree(rows[kind], labels).items()} for kind in DATED}
    return Diary(of_tree, tuple(sorted({record.at for kind in TIMED for _, record in rows[kind]})))


def assemble(rows: Mapping[type[Record], Sequence[Row]], at: datetime | None,
             since: datetime | None, told_at: Diary | None = None) -> Knowledge:
    """Put together what is known from the live rows of every table.

    Parameters
    ----------
    rows : mapping of type to sequence of (int, record)
        Dated records sorted by instant, then by id; the others by id.
    at : datetime or None
        The instant up to which the dated ones reach.
    since : datetime or None
        The instant from which the waterings reach; the readings reach further back.
    told_at : Diary, optional
        In place of the dated rows.
    """
    places, mixes = _latest(rows[Place], "name"), _latest(rows[Mix], "name")
    trees = _latest(rows[Tree], "label")
    told_at = told_at or _diary(rows, trees)
    told = {label: [told_at.of_tree[kind][label] for kind in DATED] for label in trees}
    standing = {label: moves[-1].place for label, (_, moves) in told_at.of_tree[Move].items()
                if moves}
    order = _walk(trees, places, standing)
    pottings, moves, waterings, events, readings = (
        {label: told[label][k][1] for label in order} for k in range(len(DATED)))
    in_turn = sorted(places, key=lambda name: _turn(places[name][1]))
    return Knowledge(
        site=rows[Site][-1][1], site_id=rows[Site][-1][0],
        places=_records(places, in_turn), place_ids=_ids(places),
        mixes=_records(mixes, mixes), mix_ids=_ids(mixes), trees=_records(trees, order),
        pottings=pottings, moves=moves, waterings=waterings, events=events,
        rounds=_rounds(record for _, record in rows[Rounds]), readings=readings,
        row_ids={label: RowIds(trees[label][0], *(ids for ids, _ in told[label]))
                 for label in order},
        entry_times=told_at.times, at=at, since=since,
    )


def spelling(rows: Mapping[type[Record], Sequence[Row]]) -> dict[str, dict[str, str]]:
    """Give, for each column that names a place, a mix or a tree, folded name to name."""
    places, mixes, trees = ({fold(name): name for name in _latest(rows[kind], key)}
                            for kind, key in ((Place, "name"), (Mix, "name"), (Tree, "label")))
    return {"tree": trees, "place": places, "mix": mixes, "ball_mix": mixes}


def _latest(rows: Iterable[Row], key: str) -> dict[str, Row]:
    """Give the last row of each name, under the name as it was typed last."""
    by_fold = {fold(getattr(row[1], key)): row for row in rows}
    return {getattr(row[1], key): row for row in by_fold.values()}


def _by_tree(rows: Iterable[Row], labels: Iterable[str]) -> dict[str, list[Row]]:
    trees: dict[str, list[Row]] = {label: [] for label in labels}
    for row in rows:
        trees[row[1].tree].append(row)
    return trees


def _records(rows: Mapping[str, Row], order: Iterable[str]) -> dict[str, Any]:
    return {name: rows[name][1] for name in order}


def parted(kind: type[Record], rows: Sequence[Row]) -> Parted:
    """Part a tree's rows, in order; where only one counts an instant, the last told does."""
    if kind in (Potting, Move):
        rows = [*{record.at: (row_id, record) for row_id, record in rows}.values()]
    ids, records = zip(*rows, strict=True) if rows else ((), ())
    return ids, records


def _ids(rows: Mapping[str, Row]) -> dict[str, int]:
    return {name: row_id for name, (row_id, _) in rows.items()}


def _rounds(told: Iterable[Rounds]) -> dict[str, Rounds]:
    """Give the rounds of all four seasons: as told, else as they are by default."""
    rounds = {default.season: default for default in DEFAULT_ROUNDS}
    return rounds | {each.season: each for each in told}


def _turn(place: Place) -> tuple[Any, ...]:
    return place.position, natural_key(place.name)


def _walk(
    trees: Iterable[str], places: Mapping[str, Row], standing: Mapping[str, str]
) -> list[str]:
    """Sort labels by place, then as people count; trees without a place come last."""

    def turn(label: str) -> tuple[Any, ...]:
        place = standing.get(label)
        return (_turn(places[place][1]) if place else (math.inf, ())), natural_key(label)

    return sorted(trees, key=turn)
