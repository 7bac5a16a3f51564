"""Bright Sky: what the stations of Deutscher Wetterdienst measured, and its point forecasts.

Stamps mark the end of the hour: rain, radiation, sunshine and wind are of the hour before, all
else is read at the stamp. One series runs from measured to forecast, and single values come
from other stations: each value is told by its own source. Where a station has no radiation, its
sunshine stands in. Pressure is given for the sea's level, not the place's, and left out.
Source: server code of the service, 2026-04.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.weather import grid, series
from advisor.weather.services import SERVICES, Request, coordinates, headers, refused, reply
from advisor.weather.where import Where

SERVICE = SERVICES["bright-sky"]
URL = "https://api.brightsky.dev/weather"
#: their name -> the quantity here and its unit under `units=dwd`; the answer names no units [S]
VARIABLES = {
    "temperature": ("temp_c", "C"),
    "dew_point": ("dew_c", "C"),
    "relative_humidity": ("humidity_pct", "%"),
    "wind_speed": ("wind_ms", "km/h"),
    "solar": ("ghi_wm2", "kWh/m2"),
    "cloud_cover": ("cloud_share", "%"),
    "precipitation": ("rain_mm", "mm"),
}
SUNSHINE, SUNSHINE_MIN = "sunshine", 60.0
FROM_SUNSHINE = "radiation from sunshine"
MEASURED = ("historical", "current", "synop")
WIND_HEIGHT_M = 10.0
#: stations further off than this are not asked for [m]: the service's own default [S]
MOST_DISTANCE_M = 50_000
MOST_DAYS = 366


@dataclass(frozen=True)
class _Source:
    """A station, or a forecast for one."""

    kind: reply.Kind
    words: str
    latitude_deg: float
    longitude_deg: float
    note: str


def request(
    site: Where, contact: str, first: datetime, last: datetime, *, base_url: str = URL
) -> Request:
    """Ask for the days around two instants, measured or to come.

    Whole days in UTC, so that the same question is asked all day long.

    Parameters
    ----------
    site : Where
        Where weather is wanted.
    contact : str
        Who asks; may be empty.
    first, last : datetime
        Aware instants.
    base_url : str
        Where the service answers.

    Raises
    ------
    Refused
        Naive instants, out of order, or more than a year of them.
    """
    naive = first.tzinfo is None or last.tzinfo is None
    if naive or not timedelta(0) <= last - first <= timedelta(days=MOST_DAYS):
        raise Refused(
            "hours asked for",
            f"{first} to {last}",
            f"instants with their zone, in order, at most {MOST_DAYS} days",
            "Ask for other days.",
        )
    latitude, longitude = coordinates(site)
    params = {
        "lat": latitude,
        "lon": longitude,
        "date": f"{first.astimezone(UTC):%Y-%m-%d}",
        "last_date": f"{last.astimezone(UTC) + timedelta(days=1):%Y-%m-%d}",
        "max_dist": f"{MOST_DISTANCE_M}",
        "tz": "Etc/UTC",
        "units": "dwd",
    }
    return Request(SERVICE.name, "forecast", base_url, params, headers(SERVICE, contact))


def read(body: bytes, *, issued_at: datetime) -> list[reply.Answer]:
    """Read an answer asked for in `units=dwd`.

    Parameters
    ----------
    body : bytes
        The answer.
    issued_at : datetime
        When it was given.

    Returns
    -------
    list of Answer
        What stations measured, then what is forecast; one without hours is left out.

    Raises
    ------
    Refused
        The service says that it refuses, or the answer has another shape.
    """
    found = reply.document(body, SERVICE)
    with reply.documented(SERVICE):
        if "detail" in found:
            raise refused(
                SERVICE, f"'{found['detail']}'", "an answer with hours", "Change what is asked."
            )
        sources = {each["id"]: _source(each) for each in found["sources"]}
        values, ids = _table(found["weather"])
        told_of = ids.where(values.notna()).stack().dropna()
        if not told_of.isin(list(sources)).all():
            raise ValueError("a source that is not described")
        answers = [
            reply.Answer(kind, issued_at, told)
            for kind in ("station", "forecast")
            if (told := _series(values, ids, sources, kind)) is not None and len(told.hours)
        ]
    return reply.some(answers, SERVICE)


def _source(told: Mapping[str, Any]) -> _Source:
    station = told.get("dwd_station_id") or told.get("wmo_station_id") or told["id"]
    where = f"station {station}, {told['distance'] / 1000:.0f} km"
    measured = told["observation_type"] in MEASURED
    return _Source(
        "station" if measured else "forecast",
        where if measured else f"{SERVICE.name} forecast, {where}",
        float(told["lat"]),
        float(told["lon"]),
        f"Station {station} ({told['station_name']}) stands {told['distance'] / 1000:.0f} km "
        f"off at {told['height']:.0f} m.",
    )


def _table(rows: list[dict[str, Any]]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give the values under their own names, and the source of each."""
    index = reply.stamps([row["timestamp"] for row in rows], "%Y-%m-%dT%H:%M:%S%z")
    names = (*VARIABLES, SUNSHINE)
    values = {name: reply.numbers([row.get(name) for row in rows], len(rows)) for name in names}
    ids = {
        name: [(row.get("fallback_source_ids") or {}).get(name, row["source_id"]) for row in rows]
        for name in names
    }
    return pd.DataFrame(values, index=index), pd.DataFrame(ids, index=index)


def _series(
    values: pd.DataFrame, ids: pd.DataFrame, sources: Mapping[int, _Source], kind: reply.Kind
) -> series.Series | None:
    """Give the hours whose values are of one kind; None where there is none."""
    of_kind = [number for number, source in sources.items() if source.kind == kind]
    mine = values.where(ids.isin(of_kind))
    words = {number: source.words for number, source in sources.items()}
    columns = {}
    for name, (quantity, _) in VARIABLES.items():
        columns[quantity] = mine[name]
        columns[f"{quantity}_from"] = ids[name].map(words).where(mine[name].notna(), "")
    used = [
        sources[number] for number in of_kind if ids.where(mine.notna()).eq(number).any(axis=None)
    ]
    table = pd.DataFrame(columns)
    if not used:
        return None
    table = _with_sunshine(table, mine[SUNSHINE], ids[SUNSHINE].map(words), used[0])
    return series.Series(
        reply.known(reply.ended(_built(_raw(table, used[0].latitude_deg)), mine)),
        SERVICE.name,
        reply.credit(SERVICE),
        (*(source.note for source in used), "Pressure at sea level is left out."),
        used[0].latitude_deg,
        used[0].longitude_deg,
    )


def _raw(table: pd.DataFrame, latitude_deg: float) -> series.Raw:
    return series.Raw(
        table,
        dict(VARIABLES.values()),
        SERVICE.host,
        period="end",
        instants=True,
        bad="set aside",
        origin=SERVICE.name,
        wind_height_m=WIND_HEIGHT_M,
        latitude_deg=latitude_deg,
    )


def _built(raw: series.Raw) -> pd.DataFrame:
    """Build hours whose wind is a mean already, while the other state values are readings."""
    hours = series.build(raw)
    wind = ["wind_ms", "wind_height_m", "wind_ms_from"]
    hours[wind] = series.build(replace(raw, instants=False))[wind]
    return hours


def _with_sunshine(
    table: pd.DataFrame, minutes: pd.Series, words: pd.Series, where: _Source
) -> pd.DataFrame:
    """Fill hours without radiation from their sunshine (FAO-56 Eq. 35, hour by hour)."""
    empty = table["ghi_wm2"].isna() & minutes.notna()
    if not empty.any():
        return table
    from advisor.weather import spread

    starts = pd.DatetimeIndex(table.index[empty]) - grid.HOUR
    sun = spread.sun(starts, where.latitude_deg, where.longitude_deg)
    bright = minutes[empty].to_numpy(dtype=np.float64) / SUNSHINE_MIN
    # the sum of an hour in MJ/m² and its mean in W/m² differ by a factor only
    ghi_wm2 = spread.radiation_from_sunshine_mjm2(bright, sun.up, sun.above)
    table = table.copy()
    table.loc[empty, "ghi_wm2"] = ghi_wm2 / 1000.0  # in the column's kWh/m²
    table.loc[empty, "ghi_wm2_from"] = f"{FROM_SUNSHINE}, " + words[empty]
    return table
