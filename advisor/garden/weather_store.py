"""Imported weather in the garden file: every source is kept, the newest wins where they meet."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.garden.file import GardenFile, whole
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.schema import WEATHER_VALUES

Arrays = dict[str, NDArray[Any]]
HOUR_S = 3600
#: Values with an origin of their own; the height of a wind belongs to the wind.
WITH_ORIGIN = tuple(name for name in WEATHER_VALUES if name != "wind_height_m")

_COLUMNS = ", ".join(WEATHER_VALUES)
_SAVE = (f"INSERT INTO weather (hour, source, {_COLUMNS}, origin) "
         f"VALUES ({', '.join('?' * (len(WEATHER_VALUES) + 3))})")
_READ = (f"SELECT source, hour, origin, {_COLUMNS} FROM weather "
         "WHERE hour >= ? AND hour < ? AND source IN (SELECT id FROM weather_source "
         "WHERE issued_at IS NULL OR issued_at <= ?) ORDER BY source, hour")
_LATEST = 2**62


@dataclass(frozen=True)
class Source:
    """Where a table of weather came from.

    Parameters
    ----------
    name, words, licence : str
        A short name, what it is in words, and the terms it may be used under.
    digest : str
        Digest of the file or the answer.
    issued_at : datetime, optional
        When a forecast was issued; None for weather that counts as known.
    latitude_deg, longitude_deg : float, optional
        Where it was measured or computed for [°].
    elevation_m : float, optional
        How high that lies [m].
    """

    name: str
    words: str = ""
    licence: str = ""
    digest: str = ""
    issued_at: datetime | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None


class WeatherStore(GardenFile):
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
            The id of the source. The newest source given again is not kept twice.

        Raises
        ------
        Refused
            The file cannot be written.
        ValueError
            The hours are not whole hours in order, each once.
        """
        stamps = np.asarray(hours["hour"], dtype=np.int64)
        if np.any(stamps % HOUR_S) or np.any(np.diff(stamps) <= 0):
            raise ValueError("hours of weather are not whole hours in order, each once")
        with self.writing():
            newest = self._row("SELECT id, name, digest FROM weather_source "
                               "ORDER BY id DESC LIMIT 1")
            if newest and source.digest and newest[1:] == (source.name, source.digest):
                return int(newest[0])
            source_id = self._new_source(source, made_at)
            self._connection.executemany(_SAVE, self._weather_rows(source_id, hours))
            return source_id

    def _new_source(self, source: Source, made_at: datetime) -> int:
        issued = to_seconds(source.issued_at) if source.issued_at else None
        source_id = self._connection.execute(
            "INSERT INTO weather_source (made_at, name, words, licence, digest, issued_at, "
            "latitude_deg, longitude_deg, elevation_m) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (to_seconds(made_at), source.name, source.words, source.licence, source.digest,
             issued, source.latitude_deg, source.longitude_deg, source.elevation_m),
        ).lastrowid
        assert source_id is not None
        return source_id

    def _weather_rows(
        self, source_id: int, hours: Mapping[str, NDArray[Any]]
    ) -> list[tuple[Any, ...]]:
        stamps = np.asarray(hours["hour"], dtype=np.int64)
        absent = np.full(len(stamps), np.nan)
        values = [np.asarray(hours.get(name, absent), dtype=float) for name in WEATHER_VALUES]
        nowhere = np.full(len(stamps), "", dtype=object)
        origins = [np.asarray(hours.get(f"{name}_from", nowhere), dtype=object).tolist()
                   for name in WITH_ORIGIN]
        words = list(zip(*origins, strict=True))
        ids = {each: self._origin_id(each) for each in set(words)}
        return [(hour, source_id, *row, ids[told]) for hour, told, *row in
                zip(stamps.tolist(), words, *(column.tolist() for column in values), strict=True)]

    def _origin_id(self, origins: Sequence[str]) -> int:
        words = json.dumps([str(each) for each in origins], ensure_ascii=False)
        self._connection.execute(
            "INSERT INTO weather_origin (words) VALUES (?) ON CONFLICT DO NOTHING", (words,))
        row = self._row("SELECT id FROM weather_origin WHERE words = ?", (words,))
        assert row is not None
        return int(row[0])

    def weather(self, start: datetime, end: datetime, at: datetime | None = None) -> Arrays:
        """Give the hours from `start` up to `end`, each value from the newest source with one.

        Parameters
        ----------
        start, end : datetime
            The first hour, and the first that is left out.
        at : datetime, optional
            Forecasts issued later than this do not count.

        Returns
        -------
        dict of str to array, shape (n,)
            "hour" [s since 1970 UTC], without holes from the first known to the last known;
            every one of `WEATHER_VALUES`, NaN where unknown; "<value>_from" origins and
            "<value>_source" names of sources, "" where unknown. Empty arrays where nothing
            is known. A wind keeps the height it was measured at.
        """
        span = (to_seconds(start), to_seconds(end), to_seconds(at) if at else _LATEST)
        with self.snapshot(), whole(self.path):
            rows = self._rows(_READ, span)
            names = dict(self._rows("SELECT id, name FROM weather_source"))
            origins = {row[0]: json.loads(row[1])
                       for row in self._rows("SELECT id, words FROM weather_origin")}
            table = np.array(rows, dtype=float).reshape(-1, 3 + len(WEATHER_VALUES))
            return _merged(table, names, origins)

    def weather_sources(self) -> list[Source]:
        """Give all sources, the newest first."""
        rows = self._rows("SELECT name, words, licence, digest, issued_at, latitude_deg, "
                          "longitude_deg, elevation_m FROM weather_source ORDER BY id DESC")
        return [Source(name, words, licence, digest,
                       None if issued is None else from_seconds(issued), *where)
                for name, words, licence, digest, issued, *where in rows]

    def weather_revision(self) -> int:
        """Give a number that grows with every table of weather kept."""
        row = self._row("SELECT COALESCE(MAX(id), 0) FROM weather_source")
        return int(row[0]) if row else 0


def _merged(
    rows: NDArray[np.float64], names: Mapping[int, str], origins: Mapping[int, list[str]]
) -> Arrays:
    """Lay rows (source, hour, origin, values), sorted by source, over one another."""
    sources, stamps, origin_ids = rows[:, :3].T.astype(np.int64)
    values = dict(zip(WEATHER_VALUES, rows[:, 3:].T, strict=True))
    first = int(stamps.min()) if len(rows) else 0
    hour = np.arange(first, int(stamps.max()) + HOUR_S, HOUR_S) if len(rows) else stamps
    place = (stamps - first) // HOUR_S
    merged: Arrays = {"hour": hour}
    for k, name in enumerate(WITH_ORIGIN):
        given = values[name]
        known = np.flatnonzero(~np.isnan(given))
        winner = np.full(len(hour), -1)
        winner[place[known]] = known  # rows are sorted by source: the newest comes last
        won = winner >= 0
        by_row = winner[won]
        merged[name] = _spread(given[by_row], won, np.nan)
        words = {origin_id: each[k] for origin_id, each in origins.items()}
        merged[f"{name}_from"] = _words(origin_ids[by_row], won, words)
        merged[f"{name}_source"] = _words(sources[by_row], won, names)
        if name == "wind_ms":
            merged["wind_height_m"] = _spread(values["wind_height_m"][by_row], won, np.nan)
    return merged


def _spread(values: NDArray[Any], where: NDArray[Any], empty: float) -> NDArray[Any]:
    column = np.full(len(where), empty)
    column[where] = values
    return column


def _words(ids: NDArray[Any], where: NDArray[Any], words: Mapping[int, str]) -> NDArray[Any]:
    column = np.full(len(where), "", dtype=object)
    known, index = np.unique(ids, return_inverse=True)
    table = np.array([words[int(each)] for each in known], dtype=object)
    column[where] = table[index] if len(known) else ""
    return column
