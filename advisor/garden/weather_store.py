"""Weather in the garden file: every source is kept, and one series is made of them all.

A table without an issue (a file, an own station) stands by the hour. What is issued again and
again (a service's answer) stands as one packed block a source, so that a season of forecasts
stays small and is read in a moment.
"""

import hashlib
import json
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.garden import lead, merge
from advisor.garden.answers import AnswerStore
from advisor.garden.blobs import pack, unpack
from advisor.garden.file import whole
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.instruments import applied, widened
from advisor.garden.lead import LeadError
from advisor.garden.merge import ENSEMBLE, HOUR_S, RANK, WITH_ORIGIN, Arrays, Layer, Source
from advisor.garden.schema import WEATHER_VALUES
from advisor.garden.sources import COLUMNS, REMOVED, SourceStore
from advisor.units import LIMITS, check
from advisor.weather.quality import Doubt
from advisor.weather.quality import doubts as doubts_of

__all__ = ["WITH_ORIGIN", "Arrays", "Source", "WeatherStore"]

_COLUMNS = ", ".join(WEATHER_VALUES)
_SAVE = (f"INSERT INTO weather (hour, source, {_COLUMNS}, origin) "
         f"VALUES ({', '.join('?' * (len(WEATHER_VALUES) + 3))})")
_COUNTED = f"(issued_at IS NULL OR issued_at <= ?) AND id NOT IN ({REMOVED})"
_READ = (f"SELECT source, hour, origin, {_COLUMNS} FROM weather "
         "WHERE hour >= ? AND hour < ? AND source IN (SELECT id FROM weather_source "
         f"WHERE {_COUNTED}) ORDER BY source, hour")
_BLOCKS = ("SELECT source, numbers FROM weather_block WHERE last_hour >= ? AND first_hour < ? "
           f"AND source IN (SELECT id FROM weather_source WHERE {_COUNTED} AND kind != '{ENSEMBLE}'"
           ")")
_LATEST = 2**62
_ORIGIN = "origin"


class WeatherStore(SourceStore, AnswerStore):
    """The part of a garden file that holds weather."""

    def save_weather(
        self, source: Source, hours: Mapping[str, NDArray[Any]], made_at: datetime
    ) -> int:
        """Keep a table of hourly weather beside those already there.

        Parameters
        ----------
        source : Source
            Where it came from.
        hours : mapping of str to array, shape (n,)
            "hour": start of the hour, whole seconds since 1970 UTC [s]; any of
            `WEATHER_VALUES` (NaN where unknown) and "<value>_from" with the origin of
            each value in words. What is absent counts as unknown.
        made_at : datetime
            Now.

        Returns
        -------
        int
            The id of the source. The same issue of a source is not kept twice, nor is the
            newest file given again.

        Raises
        ------
        Refused
            The file cannot be written, or a value is beyond its limits.
        ValueError
            The hours are not whole hours in order, each once; a kind that is none.
        """
        table = _table(hours)
        if source.kind not in (*RANK, ENSEMBLE):
            raise ValueError(f"{source.kind} is no kind of weather")
        if source.issued_at is not None and not source.digest:
            source = replace(source, digest=_digest(table))
        with self.writing():
            if kept := self._same(source):
                return kept
            origins = self._origin_ids(hours, len(table["hour"]))
            source_id = self._new_source(source, made_at)
            if source.issued_at is None:
                self._connection.executemany(_SAVE, _rows(source_id, table, origins))
            elif len(table["hour"]):
                self._connection.execute(
                    "INSERT INTO weather_block VALUES (?, ?, ?, ?)",
                    (source_id, int(table["hour"][0]), int(table["hour"][-1]),
                     zlib.compress(pack({**table, _ORIGIN: origins}), 3)))
            return source_id

    def save_changed(
        self, source: Source, hours: Mapping[str, NDArray[Any]], made_at: datetime
    ) -> int:
        """Keep of a table that grows those hours that are new, or told otherwise than before.

        Parameters
        ----------
        source : Source
            Where it came from; its hours of earlier issues are those of its name and kind.
        hours : mapping of str to array, shape (n,)
            As `save_weather` takes them.
        made_at : datetime
            Now.

        Returns
        -------
        int
            How many hours were kept.
        """
        table = _table(hours)
        stamps = table["hour"]
        if not len(stamps):
            return 0
        layers, origins = self.layers(from_seconds(int(stamps[0])),
                                      from_seconds(int(stamps[-1]) + HOUR_S), made_at)
        before = merge.laid([layer for layer in layers if layer.name == source.name
                             and layer.kind == source.kind], origins)
        rows = _changed(table, before)
        if rows.any():
            self.save_weather(source, {name: np.asarray(column)[rows]
                                       for name, column in hours.items()}, made_at)
        return int(rows.sum())

    def _same(self, source: Source) -> int | None:
        if not source.digest:
            return None
        if source.issued_at is None:
            newest = self._row("SELECT id, name, digest FROM weather_source "
                               f"WHERE issued_at IS NULL AND id NOT IN ({REMOVED}) "
                               "ORDER BY id DESC LIMIT 1")
            same = newest and newest[1:] == (source.name, source.digest)
            return int(newest[0]) if newest and same else None
        row = self._row("SELECT id FROM weather_source WHERE name = ? AND kind = ? AND digest = ? "
                        f"AND issued_at = ? AND member IS ? AND id NOT IN ({REMOVED})",
                        (source.name, source.kind, source.digest, to_seconds(source.issued_at),
                         source.member))
        return int(row[0]) if row else None

    def _new_source(self, source: Source, made_at: datetime) -> int:
        issued = to_seconds(source.issued_at) if source.issued_at else None
        told = (to_seconds(made_at), source.name, source.words, source.licence, source.digest,
                issued, source.latitude_deg, source.longitude_deg, source.elevation_m, source.kind,
                source.member, source.attribution)
        source_id = self._connection.execute(
            f"INSERT INTO weather_source ({', '.join(COLUMNS[1:])}) "
            f"VALUES ({', '.join('?' * len(told))})", told).lastrowid
        assert source_id is not None
        return source_id

    def _origin_ids(self, hours: Mapping[str, NDArray[Any]], size: int) -> NDArray[np.int64]:
        nowhere = np.full(size, "", dtype=object)
        origins = [np.asarray(hours.get(f"{name}_from", nowhere), dtype=object).tolist()
                   for name in WITH_ORIGIN]
        words = list(zip(*origins, strict=True))
        ids = {each: self._origin_id(each) for each in set(words)}
        return np.array([ids[each] for each in words], dtype=np.int64)

    def _origin_id(self, origins: Sequence[str]) -> int:
        words = json.dumps([str(each) for each in origins], ensure_ascii=False)
        self._connection.execute(
            "INSERT INTO weather_origin (words) VALUES (?) ON CONFLICT DO NOTHING", (words,))
        row = self._row("SELECT id FROM weather_origin WHERE words = ?", (words,))
        assert row is not None
        return int(row[0])

    # --- one series from many -----------------------------------------------------------

    def weather(self, start: datetime, end: datetime, at: datetime | None = None) -> Arrays:
        """Give the hours from `start` up to `end`, each value from the best source with one.

        Own instruments come first, then stations and files, then analyses, then forecasts; of
        one kind, what was issued last. Readings of a gauge and a thermometer are laid over all.

        Parameters
        ----------
        start, end : datetime
            The first hour, and the first that is left out.
        at : datetime, optional
            What was issued or read later than this does not count; files count whenever they
            were added.

        Returns
        -------
        dict of str to array, shape (n,)
            "hour" [s since 1970 UTC], without holes from the first known to the last known;
            every one of `WEATHER_VALUES`, NaN where unknown; for each "<value>_from" origins,
            "<value>_source" names and "<value>_kind" kinds of sources, "" where unknown, and
            "<value>_issued" (datetime64, NaT where it was never issued). Empty arrays where
            nothing is known. A wind keeps the height it was measured at.
        """
        asked = to_seconds(start), to_seconds(end)
        with self.snapshot(), whole(self.path):
            readings = self.readings(at)
            span = widened(*asked, readings)
            merged = merge.laid(self._layers(span, at), self._origins())
            return merge.within(applied(merged, readings, span), *asked)

    def _origins(self) -> dict[int, list[str]]:
        return {row[0]: json.loads(row[1])
                for row in self._rows("SELECT id, words FROM weather_origin")}

    def _layers(self, span: tuple[int, int], at: datetime | None) -> list[Layer]:
        """Give the hours of every source that counts, cut to a span [s since 1970 UTC]."""
        values = (*span, to_seconds(at) if at else _LATEST)
        told = {row[0]: dict(zip(COLUMNS, row, strict=True))
                for row in self._rows(f"SELECT {', '.join(COLUMNS)} FROM weather_source")}
        layers = [_layer(told[source], table) for source, table in
                  _by_source(self._rows(_READ, values))]
        for source, numbers in self._rows(_BLOCKS, values):
            table = _unpacked(numbers)
            inside = (table["hour"] >= span[0]) & (table["hour"] < span[1])
            layers.append(_layer(told[source], {name: column[inside]
                                                for name, column in table.items()}))
        return layers

    def layers(
        self, start: datetime, end: datetime, at: datetime | None = None
    ) -> tuple[list[Layer], dict[int, list[str]]]:
        """Give every source's own hours, what was replaced among them, and the words of origin.

        Parameters
        ----------
        start, end : datetime
            The first hour, and the first that is left out.
        at : datetime, optional
            What was issued later than this does not count.
        """
        with self.snapshot(), whole(self.path):
            return self._layers((to_seconds(start), to_seconds(end)), at), self._origins()

    def doubts(self, start: datetime, end: datetime, at: datetime | None = None) -> list[Doubt]:
        """List what was set aside of any source, and its holes, with what is used instead.

        Forecasts that were replaced are left out.

        Parameters
        ----------
        start, end : datetime
            The first hour, and the first that is left out.
        at : datetime, optional
            What was issued later than this does not count.

        Returns
        -------
        list of Doubt
            By value, then by hour, then by source.
        """
        layers, origins = self.layers(start, end, at)
        used = self.weather(start, end, at)
        found = {doubt for layer in layers if layer.kind != "forecast"
                 for doubt in doubts_of(_told(layer, origins), layer.name)}
        return sorted((replace(doubt, instead=_instead(doubt, used)) for doubt in found),
                      key=lambda doubt: (WITH_ORIGIN.index(doubt.value), doubt.first,
                                         doubt.source))

    def errors_by_lead(self, value: str, at: datetime | None = None) -> list[LeadError]:
        """Give how far forecasts of a value were off by days ahead (`lead.errors_by_lead`).

        Parameters
        ----------
        value : str
            "temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share" or "rain_mm".
        at : datetime, optional
            What was issued later than this does not count.
        """
        with self.snapshot(), whole(self.path):
            return lead.errors_by_lead(value, self._layers((-_LATEST, _LATEST), at))

    def possible_futures(self, at: datetime | None = None) -> dict[int, Arrays]:
        """Give the newest ensemble issued up to an instant: its tables by number.

        Returns
        -------
        dict of int to dict of str to array
            "hour" [s since 1970 UTC] and `WEATHER_VALUES` of each; empty where there is none.
        """
        until = to_seconds(at) if at else _LATEST
        with self.snapshot(), whole(self.path):
            rows = self._rows(
                "SELECT member, numbers FROM weather_source JOIN weather_block ON source = id "
                f"WHERE kind = '{ENSEMBLE}' AND (issued_at, name) = (SELECT issued_at, name "
                f"FROM weather_source WHERE kind = '{ENSEMBLE}' AND issued_at <= ? "
                "ORDER BY issued_at DESC, name DESC LIMIT 1) ORDER BY member, digest", (until,))
            return {int(member or 0): {name: column for name, column in _unpacked(numbers).items()
                                       if name != _ORIGIN} for member, numbers in rows}

    def weather_revision(self, at: datetime | None = None) -> str:
        """Give a word that changes with every table and reading kept, and every one taken back.

        Parameters
        ----------
        at : datetime, optional
            Tables issued later than this do not count; all count where None.

        Returns
        -------
        str
            "" where there is nothing yet.
        """
        until = to_seconds(at) if at else _LATEST
        row = self._row(f"SELECT MAX(id), COUNT(*) FROM weather_source WHERE {_COUNTED}", (until,))
        readings = self._readings_revision()
        if row is None or (row[0] is None and not readings):
            return ""
        removed = "".join(f"-{number}" for number in sorted(self.removed_sources()))
        return f"{row[0] or 0}.{row[1]}.{readings}{removed}"


def _table(hours: Mapping[str, NDArray[Any]]) -> Arrays:
    """Give hours with every value as plain numbers; refuse what the series never holds."""
    stamps = np.asarray(hours["hour"], dtype=np.int64)
    if np.any(stamps % HOUR_S) or np.any(np.diff(stamps) <= 0):
        raise ValueError("hours of weather are not whole hours in order, each once")
    absent = np.full(len(stamps), np.nan)
    table: Arrays = {"hour": stamps}
    for name in WEATHER_VALUES:
        column = np.asarray(hours.get(name, absent), dtype=float)
        if column.shape != stamps.shape:
            raise ValueError(f"{name} and its hours differ in length (zip)")
        limit = LIMITS[name]
        beyond = np.flatnonzero((column < limit.low) | (column > limit.high))
        if len(beyond):
            check(name, float(column[beyond[0]]), f"{from_seconds(int(stamps[beyond[0]])):%FT%RZ}")
        table[name] = column
    return table


def _changed(table: Arrays, before: Arrays) -> NDArray[np.bool_]:
    """Say which hours of a table an earlier one does not tell likewise."""
    position = np.searchsorted(before["hour"], table["hour"])
    there = np.isin(table["hour"], before["hour"])
    rows = ~there
    for name in WEATHER_VALUES:
        old = np.full(len(rows), np.nan)
        old[there] = before[name][position[there]]
        rows |= ~((table[name] == old) | np.isnan(table[name]))
    return rows


def _rows(source_id: int, table: Arrays, origins: NDArray[np.int64]) -> Iterable[tuple[Any, ...]]:
    columns = (table[name].tolist() for name in WEATHER_VALUES)
    return ((hour, source_id, *row, origin) for hour, origin, *row in
            zip(table["hour"].tolist(), origins.tolist(), *columns, strict=True))


def _by_source(rows: Sequence[tuple[Any, ...]]) -> Iterable[tuple[int, Arrays]]:
    """Take rows (source, hour, origin, values), sorted by source, apart."""
    table = np.array(rows, dtype=float).reshape(-1, 3 + len(WEATHER_VALUES))
    sources, stamps, origins = table[:, :3].T.astype(np.int64)
    ids, starts = np.unique(sources, return_index=True)
    edges = [*starts.tolist(), len(table)]
    for source, part in zip(ids.tolist(), map(slice, edges, edges[1:]), strict=True):
        yield source, {"hour": stamps[part], _ORIGIN: origins[part],
                       **dict(zip(WEATHER_VALUES, table[part, 3:].T, strict=True))}


def _unpacked(numbers: bytes) -> Arrays:
    try:
        return unpack(zlib.decompress(numbers))
    except zlib.error as error:
        raise ValueError("a block of weather that is not whole") from error


def _layer(told: Mapping[str, Any], table: Arrays) -> Layer:
    issued = told["issued_at"]
    order = merge.order_of(told["kind"], issued, told["digest"], told["made_at"], told["id"])
    return Layer(order, told["name"], told["kind"], issued, table["hour"],
                 {name: table[name] for name in WEATHER_VALUES}, table[_ORIGIN])


def _digest(table: Arrays) -> str:
    return hashlib.sha256(pack(table)).hexdigest()


def _told(layer: Layer, origins: Mapping[int, Sequence[str]]) -> Arrays:
    """Give a layer's hours with the words of origin beside each value."""
    words = [origins[key] for key in layer.origin.tolist()]
    return {"hour": layer.hour, **layer.values,
            **{f"{name}_from": np.array([each[k] for each in words], dtype=object)
               for k, name in enumerate(WITH_ORIGIN)}}


def _instead(doubt: Doubt, used: Arrays) -> tuple[str, ...]:
    rows = (used["hour"] >= doubt.first) & (used["hour"] <= doubt.last)
    return tuple(sorted({*used[f"{doubt.value}_source"][rows].tolist()} - {""}))
