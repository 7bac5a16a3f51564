"""One series from many: layers of hourly weather laid over one another, value by value.

What stands higher in `RANK` replaces what stands lower; of one rank, what was issued later
replaces what was issued earlier. What is not known never replaces anything.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.garden.schema import WEATHER_VALUES
from advisor.weather.vapour import saturation_kpa

Arrays = dict[str, NDArray[Any]]
HOUR_S = 3600
#: Values with an origin of their own; the height of a wind belongs to the wind.
WITH_ORIGIN = tuple(name for name in WEATHER_VALUES if name != "wind_height_m")
#: Which kind replaces which. A file the grower added counts like a station.
RANK = {"forecast": 0, "analysis": 1, "file": 2, "station": 2, "instrument": 3}
#: Many possible futures beside one another: kept, and never part of the one series.
ENSEMBLE = "ensemble"
#: What is told of each value beside the value itself.
TOLD = ("from", "source", "kind", "issued")


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
        When it was issued; None for weather that counts as known whenever it was added.
    latitude_deg, longitude_deg : float, optional
        Where it was measured or computed for [°].
    elevation_m : float, optional
        How high that lies [m].
    kind : str
        One of `RANK`, or `ENSEMBLE`.
    member : int, optional
        Which of the possible futures, in an ensemble.
    attribution : str
        What must be shown wherever the data is shown.
    """

    name: str
    words: str = ""
    licence: str = ""
    digest: str = ""
    issued_at: datetime | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None
    kind: str = "file"
    member: int | None = None
    attribution: str = ""


@dataclass(frozen=True, eq=False)
class Layer:
    """The hours of one source.

    Parameters
    ----------
    order : tuple
        Layers of a higher order replace those of a lower one.
    name, kind : str
        Of the source.
    issued : int or None
        When it was issued [s since 1970 UTC].
    hour : array of int, shape (n,)
        Starts of hours [s since 1970 UTC], in order.
    values : mapping of str to array, shape (n,)
        `WEATHER_VALUES`, NaN where unknown.
    origin : array of int, shape (n,)
        Key of each hour's origins.
    """

    order: tuple[int, int, str, int]
    name: str
    kind: str
    issued: int | None
    hour: NDArray[np.int64]
    values: Mapping[str, NDArray[np.float64]]
    origin: NDArray[np.int64]


def order_of(kind: str, issued: int | None, digest: str, made_at: int, number: int
             ) -> tuple[int, int, str, int]:
    """Give where a source stands among others: kind, then issue, then digest.

    A file has no issue: the grower adding it is one, and of two added in the same second the
    one added last counts.
    """
    if issued is None:
        return RANK[kind], made_at, "", number
    return RANK[kind], issued, digest, 0


def laid(layers: Sequence[Layer], origins: Mapping[int, Sequence[str]]) -> Arrays:
    """Lay layers over one another.

    Parameters
    ----------
    layers : sequence of Layer
        In any order.
    origins : mapping of int to sequence of str
        Words of origin by key, one for each of `WITH_ORIGIN`.

    Returns
    -------
    dict of str to array
        As `WeatherStore.weather` gives it.
    """
    layers = sorted(layers, key=lambda layer: layer.order)
    stamps = _joined([layer.hour for layer in layers], np.int64)
    first = int(stamps.min()) if len(stamps) else 0
    hour = np.arange(first, int(stamps.max()) + HOUR_S, HOUR_S) if len(stamps) else stamps
    place = (stamps - first) // HOUR_S
    number = np.repeat(np.arange(len(layers)), [len(layer.hour) for layer in layers])
    origin = _joined([layer.origin for layer in layers], np.int64)
    values = {name: _joined([layer.values[name] for layer in layers], np.float64)
              for name in WEATHER_VALUES}
    merged: Arrays = {"hour": hour}
    for k, name in enumerate(WITH_ORIGIN):
        known = np.flatnonzero(~np.isnan(values[name]))
        winner = np.full(len(hour), -1)
        winner[place[known]] = known  # the highest layer comes last
        won = winner >= 0
        row = winner[won]
        merged[name] = _spread(values[name][row], won, np.nan)
        words = {key: each[k] for key, each in origins.items()}
        merged[f"{name}_from"] = _words(origin[row], won, words)
        for told in ("name", "kind"):
            by_layer = {i: getattr(layer, told) for i, layer in enumerate(layers)}
            column = f"{name}_source" if told == "name" else f"{name}_kind"
            merged[column] = _words(number[row], won, by_layer)
        merged[f"{name}_issued"] = _issues(number[row], won, layers)
        if name == "wind_ms":
            merged["wind_height_m"] = _spread(values["wind_height_m"][row], won, np.nan)
    return held_to_saturation(merged)


def held_to_saturation(hours: Arrays) -> Arrays:
    """Hold vapour from one source to what the air of another can hold (FAO-56 Eq. 11)."""
    most = saturation_kpa(hours["temp_c"])
    vapour = hours["vapour_kpa"]
    return hours | {"vapour_kpa": np.where(vapour > most, most, vapour)}


def within(hours: Arrays, start: int, end: int) -> Arrays:
    """Cut hours to those from `start` up to `end` [s since 1970 UTC], known at both ends."""
    inside = (hours["hour"] >= start) & (hours["hour"] < end)
    known = np.zeros(len(inside), dtype=bool)
    for name in WITH_ORIGIN:
        known |= ~np.isnan(hours[name])
    rows = np.flatnonzero(inside & known)
    cut = slice(rows[0], rows[-1] + 1) if len(rows) else slice(0, 0)
    return {name: column[cut] for name, column in hours.items()}


def _joined(columns: Sequence[NDArray[Any]], dtype: type) -> NDArray[Any]:
    return np.concatenate(columns).astype(dtype) if columns else np.empty(0, dtype)


def _spread(values: NDArray[Any], where: NDArray[Any], empty: Any) -> NDArray[Any]:
    column = np.full(len(where), empty, dtype=values.dtype if len(values) else None)
    column[where] = values
    return column


def _words(ids: NDArray[Any], where: NDArray[Any], words: Mapping[int, str]) -> NDArray[Any]:
    column = np.full(len(where), "", dtype=object)
    known, index = np.unique(ids, return_inverse=True)
    table = np.array([words[int(each)] for each in known], dtype=object)
    column[where] = table[index] if len(known) else ""
    return column


def _issues(ids: NDArray[Any], where: NDArray[Any], layers: Sequence[Layer]) -> NDArray[Any]:
    unknown = np.datetime64("NaT", "s")
    issues = np.array([unknown if layer.issued is None else np.datetime64(layer.issued, "s")
                       for layer in layers], dtype="datetime64[s]")
    column = np.full(len(where), unknown)
    column[where] = issues[ids]
    return column
