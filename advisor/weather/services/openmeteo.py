"""Open-Meteo: forecast with the recent past, archive, ensembles.

Stamps mark the end of the hour for rain and radiation; all else is read at the stamp. Nulls
stand where a model has nothing, mostly at the end. What it calls the past is a model's
analysis, not a gauge. Source: documentation and server code of the service, 2026-08.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

import pandas as pd

from advisor.errors import Refused
from advisor.weather import series
from advisor.weather.services import (
    SERVICES,
    Interface,
    Request,
    coordinates,
    headers,
    refused,
    reply,
)
from advisor.weather.where import Where

SERVICE = SERVICES["open-meteo"]
FORECAST_URL = "https://api.open-meteo.com/v1/forecast"
ARCHIVE_URL = "https://archive-api.open-meteo.com/v1/archive"
ENSEMBLE_URL = "https://ensemble-api.open-meteo.com/v1/ensemble"

#: their name -> the quantity here; at most ten, or a call counts as several
VARIABLES = {
    "temperature_2m": "temp_c",
    "relative_humidity_2m": "humidity_pct",
    "dew_point_2m": "dew_c",
    "wind_speed_10m": "wind_ms",
    "shortwave_radiation": "ghi_wm2",
    "cloud_cover": "cloud_share",
    "precipitation": "rain_mm",
    "surface_pressure": "pressure_kpa",
}
#: what every ensemble model has
MEMBER_VARIABLES = (
    "temperature_2m",
    "relative_humidity_2m",
    "wind_speed_10m",
    "shortwave_radiation",
    "precipitation",
)
#: units asked for, so that none is a default
UNITS = {"temperature_unit": "celsius", "wind_speed_unit": "ms", "precipitation_unit": "mm"}
MODEL = "icon_seamless_eps"
#: the service's limits [d], [S]
MOST_PAST_DAYS, MOST_DAYS, MOST_MEMBER_DAYS = 92, 16, 35
FIRST_YEAR = 1940
#: years of archive in one go: 26 calls each by their count, under 600 a minute [S]
MOST_YEARS = 20
WIND_HEIGHT_M = 10.0


def request(
    site: Where,
    contact: str,
    *,
    past_days: int = 14,
    forecast_days: int = 10,
    base_url: str = FORECAST_URL,
) -> Request:
    """Ask for the coming days and the recent past.

    Parameters
    ----------
    site : Where
        Where weather is wanted.
    contact : str
        Who asks; may be empty.
    past_days, forecast_days : int
        Days back (0 to 92) and ahead, today included (0 to 16).
    base_url : str
        Where the service answers.

    Raises
    ------
    Refused
        More days than the service gives.
    """
    _days("past days", past_days, MOST_PAST_DAYS)
    _days("days of forecast", forecast_days, MOST_DAYS)
    span = {"past_days": str(past_days), "forecast_days": str(forecast_days)}
    return _request("forecast", base_url, _params(site, VARIABLES) | span, contact)


def archive_requests(
    site: Where, contact: str, first: date, last: date, *, base_url: str = ARCHIVE_URL
) -> list[Request]:
    """Ask for past years, a calendar year a request.

    Parameters
    ----------
    site : Where
        Where weather is wanted.
    contact : str
        Who asks; may be empty.
    first, last : date
        The first and the last day.
    base_url : str
        Where the archive answers.

    Raises
    ------
    Refused
        Days out of order, before 1940, or of more than 20 years.
    """
    years = range(first.year, last.year + 1)
    if first > last or first.year < FIRST_YEAR or len(years) > MOST_YEARS:
        raise Refused(
            "days of the archive",
            f"{first} to {last}",
            f"in order, from {FIRST_YEAR} on, at most {MOST_YEARS} years in one go",
            "Ask for other days.",
        )
    spans = [(max(first, date(y, 1, 1)), min(last, date(y, 12, 31))) for y in years]
    return [
        _request(
            "archive",
            base_url,
            _params(site, VARIABLES) | {"start_date": f"{start}", "end_date": f"{end}"},
            contact,
        )
        for start, end in spans
    ]


def ensemble_request(
    site: Where,
    contact: str,
    *,
    model: str = MODEL,
    forecast_days: int = 10,
    base_url: str = ENSEMBLE_URL,
) -> Request:
    """Ask for the ways in which the coming days may go.

    Parameters
    ----------
    site : Where
        Where weather is wanted.
    contact : str
        Who asks; may be empty.
    model : str
        The service's name of the ensemble, or several with commas.
    forecast_days : int
        Days ahead, today included (0 to 35).
    base_url : str
        Where the ensembles answer.

    Raises
    ------
    Refused
        More days than the service gives.
    """
    _days("days of forecast", forecast_days, MOST_MEMBER_DAYS)
    span = {"models": model, "forecast_days": str(forecast_days)}
    return _request("ensemble", base_url, _params(site, MEMBER_VARIABLES) | span, contact)


def _days(what: str, days: int, most: int) -> None:
    if not 0 <= days <= most:
        raise Refused(what, days, f"0 to {most}", "Ask for fewer days.")


def _params(site: Where, variables: Mapping[str, str] | Sequence[str]) -> dict[str, str]:
    latitude, longitude = coordinates(site)
    return {
        "latitude": latitude,
        "longitude": longitude,
        "elevation": f"{site.elevation_m:.0f}",
        "hourly": ",".join(variables),
        **UNITS,
        "timezone": "GMT",
        "timeformat": "iso8601",
    }


def _request(interface: Interface, url: str, params: dict[str, str], contact: str) -> Request:
    return Request(SERVICE.name, interface, url, params, headers(SERVICE, contact))


def read(
    body: bytes, *, issued_at: datetime, interface: Interface = "forecast"
) -> list[reply.Answer]:
    """Read an answer of any of its interfaces.

    Parameters
    ----------
    body : bytes
        The answer: one place, or a list of places.
    issued_at : datetime
        When it was given: hours over by then are an analysis, the others a forecast.
    interface : Interface
        Which was asked: "forecast", "archive" or "ensemble".

    Returns
    -------
    list of Answer
        For each place its analysis and its forecast; of an ensemble its members, what is over
        left out. Member 0 is the undisturbed run; of several models the members are numbered on.

    Raises
    ------
    Refused
        The service says that it refuses, a unit is not known, or the answer has another shape.
    """
    found = reply.document(body, SERVICE)
    with reply.documented(SERVICE):
        answers = [
            answer
            for place in (found if isinstance(found, list) else [found])
            for answer in _place(place, issued_at, interface)
        ]
    return reply.some(answers, SERVICE)


def _place(told: dict[str, Any], issued_at: datetime, interface: Interface) -> list[reply.Answer]:
    if told.get("error"):
        raise refused(
            SERVICE, f"'{told.get('reason')}'", "an answer with hours", "Change what is asked."
        )
    stamps = _stamps(told)
    groups = _groups(told["hourly"])
    if interface != "ensemble":
        words: dict[reply.Kind, str] = {
            "forecast": f"{SERVICE.name} {interface}",
            "analysis": f"{SERVICE.name} {'archive' if interface == 'archive' else 'analysis'}",
        }
        hours = _hours(told, stamps, groups["", 0], words["forecast"])
        return reply.split(_series(told, hours, SERVICE.name), issued_at, words)
    answers = []
    for member, ((model, number), columns) in enumerate(sorted(groups.items())):
        origin = " ".join(filter(None, (SERVICE.name, "ensemble", model)))
        hours = _hours(told, stamps, columns, origin)
        ahead = pd.DatetimeIndex(hours.index) + pd.Timedelta(hours=1) > pd.Timestamp(issued_at)
        hours = reply.known(hours[ahead])
        if len(hours):
            name = f"{origin}, member {number}"
            answers.append(reply.Answer("ensemble", issued_at, _series(told, hours, name), member))
    return answers


def _stamps(told: dict[str, Any]) -> pd.DatetimeIndex:
    """Give the stamps in UTC: theirs are local by one offset for the whole answer."""
    times = told["hourly"]["time"]
    if told["hourly_units"]["time"] == "unixtime":
        return pd.DatetimeIndex(pd.to_datetime(times, unit="s", utc=True))
    offset = pd.Timedelta(seconds=int(told["utc_offset_seconds"]))
    return reply.stamps(times, "%Y-%m-%dT%H:%M") - offset


def _groups(hourly: Mapping[str, Any]) -> dict[tuple[str, int], dict[str, str]]:
    """Sort columns by model and member: their name of each quantity here.

    Control runs have the plain name, members `…_member01`; a model may stand behind both.
    """
    groups: dict[tuple[str, int], dict[str, str]] = {}
    for column in hourly:
        for name, quantity in VARIABLES.items():
            found = re.fullmatch(rf"{name}(?:_member(\d+))?(?:_(.+))?", column)
            if found:
                key = (found[2] or "", int(found[1] or 0))
                groups.setdefault(key, {})[quantity] = column
    return groups


def _hours(
    told: dict[str, Any], stamps: pd.DatetimeIndex, columns: Mapping[str, str], origin: str
) -> pd.DataFrame:
    hourly, units = told["hourly"], told["hourly_units"]
    values = {q: reply.numbers(hourly[name], len(stamps)) for q, name in columns.items()}
    raw = series.Raw(
        pd.DataFrame(values, index=stamps),
        {q: reply.unit(SERVICE, q, units[name]) for q, name in columns.items()},
        SERVICE.host,
        period="end",
        instants=True,
        bad="set aside",
        origin=origin,
        wind_height_m=WIND_HEIGHT_M,
        latitude_deg=told["latitude"],
        labels=columns,
    )
    return reply.ended(series.build(raw), raw.values)


def _series(told: dict[str, Any], hours: pd.DataFrame, source: str) -> series.Series:
    return series.Series(
        hours,
        source,
        reply.credit(SERVICE),
        (),
        told["latitude"],
        told["longitude"],
        told.get("elevation"),
    )
