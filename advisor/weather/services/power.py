"""NASA POWER: analyses of past days and hours all over the world, for filling back.

Hours and days are asked for in UTC (else they follow the sun of the place) and stamped at
their start; all values are means or sums. Radiation lags behind the rest: the fill value that
the answer names stands there. The cells are half a degree wide: mountains and coasts are off.

`pvlib.iotools.get_nasa_power` asks the same hours but knows no time-out, says nobody's name and
leaves units as they come, so it serves as the check of this reader in the tests. Source: pvlib
0.16.1, the service's pages on hours and days, and recorded answers of other clients, 2026-06.
"""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Literal

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.units import LIMITS, check, factor
from advisor.weather import grid, series
from advisor.weather.services import SERVICES, Request, coordinates, headers, refused, reply
from advisor.weather.vapour import saturation_kpa
from advisor.weather.where import Where

SERVICE = SERVICES["power"]
HOURLY_URL = "https://power.larc.nasa.gov/api/temporal/hourly/point"
DAILY_URL = "https://power.larc.nasa.gov/api/temporal/daily/point"
ORIGIN = f"{SERVICE.name} analysis"
#: their name -> the quantity here
VARIABLES = {
    "T2M": "temp_c",
    "T2MDEW": "dew_c",
    "RH2M": "humidity_pct",
    "WS2M": "wind_ms",
    "ALLSKY_SFC_SW_DWN": "ghi_wm2",
    "PRECTOTCORR": "rain_mm",
    "PS": "pressure_kpa",
}
#: where a day has another quantity or more of them
OF_DAYS = {
    "T2M_MAX": "temp_c",
    "T2M_MIN": "temp_c",
    "ALLSKY_SFC_SW_DWN": "ghi_day_mjm2",
    "PRECTOTCORR": "rain_day_mm",
}
WIND_HEIGHT_M = 2.0
#: the service's first years [S]
FIRST_YEAR = {"hourly": 2001, "daily": 1981}
#: days asked for in one go, [J]: about a megabyte
MOST_DAYS = {"hourly": 366, "daily": 3660}

Every = Literal["hourly", "daily"]


def request(
    site: Where,
    contact: str,
    first: date,
    last: date,
    *,
    every: Every = "hourly",
    base_url: str | None = None,
) -> Request:
    """Ask for past hours or days.

    Parameters
    ----------
    site : Where
        Where weather is wanted.
    contact : str
        Who asks; may be empty.
    first, last : date
        The first and the last day, UTC.
    every : "hourly" or "daily"
        What is asked for.
    base_url : str or None
        Where the service answers.

    Raises
    ------
    Refused
        Days out of order, before the service's first year, or too many.
    """
    most, first_year = MOST_DAYS[every], FIRST_YEAR[every]
    if first > last or first.year < first_year or (last - first).days >= most:
        raise Refused(
            f"{every} past weather",
            f"{first} to {last}",
            f"in order, from {first_year} on, at most {most} days in one go",
            "Ask for other days.",
        )
    latitude, longitude = coordinates(site)
    names = VARIABLES if every == "hourly" else VARIABLES | OF_DAYS
    params = {
        "parameters": ",".join(names),
        "community": "ag",
        "latitude": latitude,
        "longitude": longitude,
        "start": f"{first:%Y%m%d}",
        "end": f"{last:%Y%m%d}",
        "format": "JSON",
        "time-standard": "UTC",
    }
    url = base_url or (HOURLY_URL if every == "hourly" else DAILY_URL)
    return Request(SERVICE.name, every, url, params, headers(SERVICE, contact))


def read(body: bytes, *, issued_at: datetime) -> list[reply.Answer]:
    """Read hours or days; days are laid over their hours.

    Parameters
    ----------
    body : bytes
        The answer.
    issued_at : datetime
        When it was given.

    Returns
    -------
    list of Answer
        One analysis.

    Raises
    ------
    Refused
        The service says that it refuses, local solar time, an unknown unit, another shape.
    """
    found = reply.document(body, SERVICE)
    with reply.documented(SERVICE):
        _refuse_errors(found)
        longitude, latitude, *height = (float(x) for x in found["geometry"]["coordinates"])
        check("latitude_deg", latitude, SERVICE.host)
        check("longitude_deg", longitude, SERVICE.host)
        hours = reply.known(_hours(found, latitude, longitude))
    told = series.Series(
        hours,
        SERVICE.name,
        reply.credit(SERVICE),
        ("Mean of a cell half a degree wide.",),
        latitude,
        longitude,
        height[0] if height else None,
    )
    return reply.some([reply.Answer("analysis", issued_at, told)] if len(hours) else [], SERVICE)


def _refuse_errors(found: Mapping[str, Any]) -> None:
    if "properties" not in found:
        said = found.get("message") or found.get("messages") or found.get("detail")
        raise refused(SERVICE, f"'{said}'", "an answer with values", "Change what is asked.")
    standard = found["header"]["time_standard"]
    if standard != "UTC":
        raise refused(SERVICE, f"time standard {standard}", "UTC, as asked", "Use another source.")


def _hours(found: Mapping[str, Any], latitude_deg: float, longitude_deg: float) -> pd.DataFrame:
    given = found["properties"]["parameter"]
    stamps = list(list(given.values())[0])
    daily = len(stamps[0]) == len("YYYYMMDD")
    index = reply.stamps(stamps, "%Y%m%d" if daily else "%Y%m%d%H")
    names = VARIABLES | (OF_DAYS if daily else {})
    fill = float(found["header"]["fill_value"])
    values = pd.DataFrame(
        {
            name: reply.numbers([column[stamp] for stamp in stamps], len(stamps))
            for name, column in given.items()
            if name in names
        },
        index=index,
    )
    values = values.where(values != fill)
    units = {
        name: reply.unit(SERVICE, names[name], found["parameters"][name]["units"])
        for name in map(str, values)
    }
    if daily:
        return _spread(_in_our_units(values, units, names), latitude_deg, longitude_deg)
    return series.build(
        series.Raw(
            values.rename(columns=names),
            {names[name]: unit for name, unit in units.items()},
            SERVICE.host,
            bad="set aside",
            origin=ORIGIN,
            wind_height_m=WIND_HEIGHT_M,
            latitude_deg=latitude_deg,
        )
    )


def _in_our_units(
    days: pd.DataFrame, units: Mapping[str, str], names: Mapping[str, str]
) -> pd.DataFrame:
    """Give daily figures in the units used inside, the impossible ones left out."""
    ours = {}
    for name in map(str, days):
        times, plus = factor(names[name], units[name])
        limit = LIMITS[names[name]]
        figures = days[name] * times + plus
        ours[name] = figures.where(figures.between(limit.low, limit.high))
    table = pd.DataFrame(ours).reindex(columns=list(VARIABLES | OF_DAYS))
    return table.mask(table["T2M_MAX"] < table["T2M_MIN"])


def _spread(days: pd.DataFrame, latitude_deg: float, longitude_deg: float) -> pd.DataFrame:
    """Lay UTC days over their hours, so that each day's figures come back."""
    from advisor.weather import spread

    calendar = pd.date_range(days.index[0], days.index[-1], freq="D")
    hours = pd.date_range(calendar[0], calendar[-1] + 23 * grid.HOUR, freq="h")
    day = np.repeat(np.arange(len(calendar), dtype=np.int64), 24)
    figure = {
        str(name): column.to_numpy(np.float64) for name, column in days.reindex(calendar).items()
    }
    sun = spread.sun(hours, latitude_deg, longitude_deg)
    temp = spread.temperature(day, figure["T2M_MAX"], figure["T2M_MIN"], sun.elevation)
    from_mean = figure["RH2M"] / 100.0 * saturation_kpa(figure["T2M"])
    dew = saturation_kpa(figure["T2MDEW"])
    mean_kpa = np.where(np.isnan(dew), from_mean, dew)
    values = {
        "temp_c": temp,
        "vapour_kpa": spread.vapour(day, mean_kpa, saturation_kpa(temp)),
        "wind_ms": figure["WS2M"][day],
        "ghi_wm2": spread.radiation(day, figure["ALLSKY_SFC_SW_DWN"], sun.height),
        "rain_mm": spread.evenly(day, figure["PRECTOTCORR"]),
        "pressure_kpa": figure["PS"][day],
    }
    return series.build(
        series.Raw(
            pd.DataFrame(values, index=hours),
            name=SERVICE.host,
            bad="set aside",
            origin=series.SPREAD,
            wind_height_m=WIND_HEIGHT_M,
            latitude_deg=latitude_deg,
        )
    )
