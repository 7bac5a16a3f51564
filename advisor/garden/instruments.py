"""What the grower told of own instruments and services, each through an entry."""

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.garden.file import GardenFile, whole
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.merge import HOUR_S, WITH_ORIGIN, Arrays, held_to_saturation
from advisor.weather import gauge
from advisor.weather.gauge import GaugeTotal, MinMax, Reading

_LIVE = "entry NOT IN (SELECT entry FROM undone)"
_TABLES = ("gauge", "thermometer")
_LATEST = 2**62
_LONGEST_TEXT = 200


class InstrumentStore(GardenFile):
    """The part of a garden file that holds readings, the layouts of stations and settings."""

    def add_reading(self, entry: int, reading: Reading, made_at: datetime) -> None:
        """Keep what an instrument showed.

        Parameters
        ----------
        entry : int
            The entry it belongs to (`Draft.id`).
        reading : GaugeTotal or MinMax
            What was read.
        made_at : datetime
            Now.

        Raises
        ------
        Refused
            It cannot be, or its span meets that of a reading that still counts.
        """
        gauge.checked(reading, made_at)
        gauge.refuse_overlap(reading, self.readings())
        span = (entry, to_seconds(reading.start), to_seconds(reading.end))
        with self.writing():
            if isinstance(reading, GaugeTotal):
                self._connection.execute('INSERT INTO gauge (entry, start, "end", mm) '
                                         "VALUES (?, ?, ?, ?)", (*span, reading.mm))
            else:
                self._connection.execute(
                    'INSERT INTO thermometer (entry, start, "end", tmin_c, tmax_c) '
                    "VALUES (?, ?, ?, ?, ?)", (*span, reading.tmin_c, reading.tmax_c))

    def readings(self, at: datetime | None = None) -> list[Reading]:
        """Give all readings that count, thermometers first, each kind by its start.

        Parameters
        ----------
        at : datetime, optional
            What was read later than this does not count.
        """
        until = (to_seconds(at) if at else _LATEST,)
        where = f'WHERE {_LIVE} AND "end" <= ? ORDER BY start'
        with whole(self.path):
            ranges = self._rows(f'SELECT start, "end", tmin_c, tmax_c FROM thermometer {where}',
                                until)
            totals = self._rows(f'SELECT start, "end", mm FROM gauge {where}', until)
            return [*(MinMax(from_seconds(a), from_seconds(b), *told) for a, b, *told in ranges),
                    *(GaugeTotal(from_seconds(a), from_seconds(b), mm) for a, b, mm in totals)]

    def _readings_revision(self) -> int:
        """Give a number that grows with every reading and every one taken back."""
        row = self._row("SELECT " + " + ".join(
            f"(SELECT COALESCE(MAX(id), 0) FROM {table}) + (SELECT COUNT(*) FROM {table} "
            f"WHERE entry IN (SELECT entry FROM undone))" for table in _TABLES))
        return int(row[0]) if row else 0

    # --- layouts of stations, settings --------------------------------------------------

    def add_station(self, entry: int, name: str, columns: Mapping[str, Any]) -> None:
        """Keep how a station's file is laid out, in place of what was told of it before.

        Parameters
        ----------
        entry : int
            The entry it belongs to.
        name : str
            Of the station.
        columns : mapping
            `advisor.weather.station.Layout.told()`.
        """
        _check_text("name of a station", name)
        text = json.dumps(columns, ensure_ascii=False, sort_keys=True)
        with self.writing():
            self._connection.execute("INSERT INTO station (entry, name, columns) "
                                     "VALUES (?, ?, ?)", (entry, name, text))

    def stations(self) -> dict[str, dict[str, Any]]:
        """Give the layout of each station's file as it was told last, by name."""
        with whole(self.path):
            return {name: dict(json.loads(columns)) for name, columns in self._rows(
                f"SELECT name, columns FROM station WHERE {_LIVE} ORDER BY id")}

    def add_setting(self, entry: int, key: str, value: str) -> None:
        """Keep a setting ("contact"), in place of what was set before; "" unsets it."""
        _check_text("setting", key)
        if value:
            _check_text(key, value)
        with self.writing():
            self._connection.execute('INSERT INTO setting (entry, "key", value) '
                                     "VALUES (?, ?, ?)", (entry, key, value))

    def setting(self, key: str) -> str:
        """Give a setting as it was set last; "" where it never was."""
        row = self._row(f'SELECT value FROM setting WHERE {_LIVE} AND "key" = ? '
                        "ORDER BY id DESC LIMIT 1", (key,))
        return str(row[0]) if row else ""


def _check_text(what: str, text: str) -> None:
    if not text.strip() or text != text.strip() or not text.isprintable() or (
            len(text) > _LONGEST_TEXT):
        raise Refused(what, repr(text), f"one line of 1 to {_LONGEST_TEXT} letters, no blanks at "
                      "its ends", "Shorten or clean it.")


# --- readings laid over the series --------------------------------------------------------


def widened(start: int, end: int, readings: Sequence[Reading]) -> tuple[int, int]:
    """Give the span [s since 1970 UTC] with the whole of every reading that reaches into it.

    A reading is spread over all its hours, so that an hour is the same in whichever span it
    is asked for.
    """
    low, high, grown = start, end, True
    while grown:
        meeting = [_hours_of(reading) for reading in readings]
        meeting = [(a, b) for a, b in meeting if a < high and b > low]
        found = (min([low, *(a for a, _ in meeting)]), max([high, *(b for _, b in meeting)]))
        grown, (low, high) = found != (low, high), found
    return low, high


def _hours_of(reading: Reading) -> tuple[int, int]:
    """Give the start of the first hour of a reading and the end of its last [s]."""
    start, end = to_seconds(reading.start), to_seconds(reading.end)
    return start - start % HOUR_S, end + -end % HOUR_S


def applied(hours: Arrays, readings: Sequence[Reading], span: tuple[int, int]) -> Arrays:
    """Make the hours of each reading agree with it.

    Parameters
    ----------
    hours : dict of str to array
        As `merge.laid` gives them.
    readings : sequence of Reading
        Of spans that do not meet.
    span : tuple of int
        Readings outside it are left out [s since 1970 UTC].

    Returns
    -------
    dict of str to array
        The same columns over the same hours and those of every gauge.
    """
    counted = [r for r in readings if _hours_of(r)[0] < span[1] and _hours_of(r)[1] > span[0]]
    if not counted:
        return hours
    covered = [_hours_of(r) for r in counted if isinstance(r, GaugeTotal)]
    hours = _covering(hours, covered)
    for reading in counted:
        if isinstance(reading, GaugeTotal):
            _lay_total(hours, reading)
        else:
            _lay_range(hours, reading)
    return held_to_saturation(hours)


def _covering(hours: Arrays, spans: Sequence[tuple[int, int]]) -> Arrays:
    """Give a copy with rows for every hour of the spans, and every hour between."""
    stamps = hours["hour"]
    edges = [(int(stamps[0]), int(stamps[-1]) + HOUR_S)] if len(stamps) else []
    edges += spans
    if not edges:
        return hours
    first, last = min(a for a, _ in edges), max(b for _, b in edges)
    made: Arrays = {"hour": np.arange(first, last, HOUR_S)}
    start = (int(stamps[0]) - first) // HOUR_S if len(stamps) else 0
    for name, column in hours.items():
        if name != "hour":
            made[name] = np.full(len(made["hour"]), _nothing(name), dtype=column.dtype)
            made[name][start:start + len(column)] = column
    return made


def _nothing(name: str) -> Any:
    if name.endswith("_issued"):
        return np.datetime64("NaT", "s")
    return "" if name.endswith(("_from", "_source", "_kind")) else np.nan


def _lay_total(hours: Arrays, reading: GaugeTotal) -> None:
    share = gauge.shares(hours["hour"], to_seconds(reading.start), to_seconds(reading.end))
    touched = share > 0.0
    seen = hours["rain_mm"]
    wet = bool((np.nan_to_num(seen) * share).any())
    hours["rain_mm"] = gauge.spread_total(seen, share, reading.mm)
    how = "by the rain another source saw" if wet else "evenly"
    _tell(hours, "rain_mm", touched, reading, f"spread from a gauge of {reading.mm:g} mm, {how}")


def _lay_range(hours: Arrays, reading: MinMax) -> None:
    middle = hours["hour"] + HOUR_S // 2
    start, end = to_seconds(reading.start), to_seconds(reading.end)
    touched = ((middle >= start) & (middle < end) & ~np.isnan(hours["temp_c"])
               & (hours["temp_c_kind"] != "instrument"))
    temp = hours["temp_c"].copy()
    temp[touched] = gauge.scaled(temp[touched], reading.tmin_c, reading.tmax_c)
    hours["temp_c"] = temp
    told = f"stretched to a thermometer's {reading.tmin_c:g} to {reading.tmax_c:g} °C"
    _tell(hours, "temp_c", touched, reading, told)


def _tell(hours: Arrays, name: str, rows: NDArray[np.bool_], reading: Reading, told: str) -> None:
    assert name in WITH_ORIGIN
    issued = np.datetime64(to_seconds(reading.end), "s")
    for part, value in (("from", told), ("source", gauge.words(reading)), ("kind", "instrument"),
                        ("issued", issued)):
        column = hours[f"{name}_{part}"].copy()
        column[rows] = value
        hours[f"{name}_{part}"] = column
