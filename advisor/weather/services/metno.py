"""MET Norway's Locationforecast 2.0: the coming nine days, without radiation.

All is read at its stamp but rain, which falls from there on: through the next hour, or, further
ahead, through the next six. Steps grow from one hour to six; state values are drawn in a line
between them (marked so), with the highest or lowest of the six hours put at their middle. The
cloud cover is kept: radiation is estimated from it later. Pressure is given for the sea's level,
not the place's, and left out. Source: the service's documentation, 2023-03.
"""

from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd

from advisor.weather import grid, series
from advisor.weather.services import SERVICES, Request, coordinates, headers, reply
from advisor.weather.where import Where

SERVICE = SERVICES["met-norway"]
URL = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
ORIGIN = f"{SERVICE.name} forecast"
#: their name -> the quantity here
VARIABLES = {
    "air_temperature": "temp_c",
    "dew_point_temperature": "dew_c",
    "relative_humidity": "humidity_pct",
    "wind_speed": "wind_ms",
    "cloud_area_fraction": "cloud_share",
}
RAIN = "precipitation_amount"
WIND_HEIGHT_M = 10.0
BLOCK_H = 6
SIX_HOUR_RAIN = "a sum of six hours"

Step = tuple[pd.Timestamp, dict[str, Any]]


def request(site: Where, contact: str, *, base_url: str = URL) -> Request:
    """Ask for the coming days.

    Parameters
    ----------
    site : Where
        Where weather is wanted; whole metres of elevation are sent.
    contact : str
        Who asks: the service turns away who does not say.
    base_url : str
        Where the service answers.

    Raises
    ------
    Refused
        No contact.
    """
    latitude, longitude = coordinates(site)
    params = {"lat": latitude, "lon": longitude, "altitude": f"{site.elevation_m:.0f}"}
    return Request(SERVICE.name, "forecast", base_url, params, headers(SERVICE, contact))


def read(body: bytes, *, issued_at: datetime) -> list[reply.Answer]:
    """Read a forecast.

    Parameters
    ----------
    body : bytes
        The answer.
    issued_at : datetime
        When it was given.

    Returns
    -------
    list of Answer
        One forecast.

    Raises
    ------
    Refused
        A unit is not known, or the answer has another shape.
    """
    found = reply.document(body, SERVICE)
    with reply.documented(SERVICE):
        told = _series(found)
    return reply.some(
        [reply.Answer("forecast", issued_at, told)] if len(told.hours) else [], SERVICE
    )


def _series(found: dict[str, Any]) -> series.Series:
    properties, point = found["properties"], found["geometry"]["coordinates"]
    written = properties["meta"]["units"]
    given = properties["timeseries"]
    stamps = reply.stamps([step["time"] for step in given], "%Y-%m-%dT%H:%M:%SZ")
    steps = [(stamp, step["data"]) for stamp, step in zip(stamps, given, strict=True)]
    values = _hourly_state(steps).join(_hourly_rain(steps), how="outer")
    values["rain_mm_from"] = values["rain_mm_from"].where(values["rain_mm"].notna(), "")
    names = VARIABLES | {RAIN: "rain_mm"}
    units = {
        q: reply.unit(SERVICE, q, written[name]) for name, q in names.items() if _any(values, q)
    }
    hours = series.build(
        series.Raw(
            values,
            units,
            SERVICE.host,
            instants=True,
            bad="set aside",
            origin=ORIGIN,
            wind_height_m=WIND_HEIGHT_M,
            latitude_deg=float(point[1]),
        )
    )
    # the row before the first stamp only held that stamp's readings
    hours = reply.known(hours[hours.index >= steps[0][0]])
    return series.Series(
        hours,
        SERVICE.name,
        reply.credit(SERVICE),
        ("Radiation is not given; pressure at sea level is left out.",),
        float(point[1]),
        float(point[0]),
        float(point[2]) if len(point) > 2 else None,
    )


def _any(values: pd.DataFrame, quantity: str) -> bool:
    return quantity in values and bool(values[quantity].notna().any())


def _hourly_state(steps: list[Step]) -> pd.DataFrame:
    """Give readings at the end of each hour, drawn in a line where steps are longer."""
    given = pd.DataFrame(
        {
            quantity: [data["instant"]["details"].get(name) for _, data in steps]
            for name, quantity in VARIABLES.items()
        },
        index=pd.DatetimeIndex([stamp for stamp, _ in steps]),
        dtype=np.float64,
    )
    given = given.loc[:, given.notna().any()]
    every = pd.date_range(given.index[0], given.index[-1], freq="h")
    laid = given.reindex(every)
    told = laid.notna()
    if "temp_c" in laid:
        laid["temp_c"] = laid["temp_c"].fillna(pd.Series(_extremes(steps), dtype=np.float64))
    filled = laid.apply(_drawn)
    for column in given:
        drawn = filled[column].notna() & ~told[column]
        filled[f"{column}_from"] = np.where(drawn, series.BETWEEN, "")
    return filled.set_axis(every - grid.HOUR)


def _drawn(values: pd.Series) -> pd.Series:
    """Draw lines over holes no longer than a step of the service."""
    hole = values.isna()
    length = hole.groupby((~hole).cumsum()).transform("sum")
    line = values.interpolate(method="linear", limit_area="inside")
    return values.where(~(hole & (length < BLOCK_H)), line)


def _extremes(steps: list[Step]) -> dict[pd.Timestamp, float]:
    """Put the highest or lowest of six hours between two stamps at their middle.

    The one that lies further beyond both ends; [J], for the time of it is not told.
    """
    found = {}
    for (stamp, data), (following, after) in zip(steps, steps[1:], strict=False):
        block = data.get("next_6_hours", {}).get("details", {})
        most, least = block.get("air_temperature_max"), block.get("air_temperature_min")
        ends = [each["instant"]["details"].get("air_temperature") for each in (data, after)]
        if following - stamp != BLOCK_H * grid.HOUR or None in (most, least, *ends):
            continue
        above, below = most - max(ends), min(ends) - least
        if max(above, below) > 0.0:
            found[stamp + BLOCK_H // 2 * grid.HOUR] = most if above >= below else least
    return found


def _hourly_rain(steps: list[Step]) -> pd.DataFrame:
    """Give rain by hour: of the next hour where told, then sums of six hours, laid evenly.

    A sum counts only where its first hour is not told yet, and less what is told within it.
    """
    amounts: dict[pd.Timestamp, float] = {}
    for stamp, data in steps:
        amount = data.get("next_1_hours", {}).get("details", {}).get(RAIN)
        if amount is not None:
            amounts[stamp] = float(amount)
    origins = dict.fromkeys(amounts, ORIGIN)
    for stamp, data in steps:
        total = data.get("next_6_hours", {}).get("details", {}).get(RAIN)
        if total is None or stamp in amounts:
            continue
        block = [stamp + i * grid.HOUR for i in range(BLOCK_H)]
        open_hours = [hour for hour in block if hour not in amounts]
        rest = max(float(total) - sum(amounts.get(hour, 0.0) for hour in block), 0.0)
        amounts |= dict.fromkeys(open_hours, rest / len(open_hours))
        origins |= dict.fromkeys(open_hours, f"{ORIGIN}, {SIX_HOUR_RAIN}")
    hours = sorted(amounts)
    return pd.DataFrame(
        {
            "rain_mm": np.array([amounts[hour] for hour in hours], dtype=np.float64),
            "rain_mm_from": np.array([origins[hour] for hour in hours], dtype=object),
        },
        index=pd.DatetimeIndex(hours, tz="UTC"),
    )
