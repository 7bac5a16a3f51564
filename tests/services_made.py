"""Invented weather, written down as each open service would write it."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

START = datetime(2026, 6, 1, 10, tzinfo=UTC)
HOUR = timedelta(hours=1)
CONTACT = "grower@example.org"


@dataclass(frozen=True)
class Truth:
    """Readings at n + 1 instants from `START` on, and amounts of the n hours between them."""

    temp_c: Sequence[float]
    wind_ms: Sequence[float]
    cloud: Sequence[float]
    ghi_wm2: Sequence[float]
    rain_mm: Sequence[float]
    dew_c: float = 5.0

    @property
    def stamps(self) -> list[datetime]:
        return [START + i * HOUR for i in range(len(self.temp_c))]

    def means(self, name: str) -> list[float]:
        values = getattr(self, name)
        return [(a + b) / 2 for a, b in zip(values, values[1:], strict=False)]


PLAIN = Truth(
    [12.0, 13.0, 15.0, 16.0],
    [2.0, 3.0, 3.0, 5.0],
    [0.5, 0.25, 0.0, 1.0],
    [400.0, 500.0, 450.0],
    [0.0, 1.2, 0.3],
)


def body(document: Any) -> bytes:
    return json.dumps(document).encode()


def open_meteo(truth: Truth = PLAIN, *, offset_s: int = 0, us: bool = False) -> dict[str, Any]:
    """Period-ending amounts, readings at the stamp; `us`: degrees Fahrenheit, mph, inches."""
    local = [stamp + timedelta(seconds=offset_s) for stamp in truth.stamps]
    return {
        "latitude": 52.1,
        "longitude": 5.18,
        "utc_offset_seconds": offset_s,
        "timezone": "GMT",
        "elevation": 2.0,
        "hourly_units": {
            "time": "iso8601",
            "temperature_2m": "°F" if us else "°C",
            "dew_point_2m": "°F" if us else "°C",
            "wind_speed_10m": "mph" if us else "m/s",
            "cloud_cover": "%",
            "shortwave_radiation": "W/m²",
            "precipitation": "inch" if us else "mm",
        },
        "hourly": {
            "time": [f"{stamp:%Y-%m-%dT%H:%M}" for stamp in local],
            "temperature_2m": [t * 1.8 + 32 if us else t for t in truth.temp_c],
            "dew_point_2m": [truth.dew_c * 1.8 + 32 if us else truth.dew_c] * len(local),
            "wind_speed_10m": [w / 0.44704 if us else w for w in truth.wind_ms],
            "cloud_cover": [100 * c for c in truth.cloud],
            "shortwave_radiation": [None, *truth.ghi_wm2],
            "precipitation": [None, *(r / 25.4 if us else r for r in truth.rain_mm)],
        },
    }


def met_norway(truth: Truth = PLAIN) -> dict[str, Any]:
    """Rain from the stamp onward; no radiation."""
    rain = [*truth.rain_mm, None]
    steps = []
    for i, stamp in enumerate(truth.stamps):
        details = {
            "air_pressure_at_sea_level": 1012.3,
            "air_temperature": truth.temp_c[i],
            "cloud_area_fraction": 100 * truth.cloud[i],
            "dew_point_temperature": truth.dew_c,
            "wind_speed": truth.wind_ms[i],
        }
        steps.append(met_step(stamp, details, rain_1h=rain[i]))
    return met_document(steps)


def met_step(
    stamp: datetime,
    details: dict[str, float],
    *,
    rain_1h: float | None = None,
    six: dict[str, float] | None = None,
) -> dict[str, Any]:
    data: dict[str, Any] = {"instant": {"details": details}}
    if rain_1h is not None:
        data["next_1_hours"] = {"summary": {}, "details": {"precipitation_amount": rain_1h}}
    if six is not None:
        data["next_6_hours"] = {"details": six}
    return {"time": f"{stamp:%Y-%m-%dT%H:%M:%SZ}", "data": data}


def met_document(steps: list[dict[str, Any]]) -> dict[str, Any]:
    units = {
        "air_pressure_at_sea_level": "hPa",
        "air_temperature": "celsius",
        "cloud_area_fraction": "%",
        "dew_point_temperature": "celsius",
        "precipitation_amount": "mm",
        "relative_humidity": "%",
        "wind_speed": "m/s",
    }
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [5.18, 52.1, 2]},
        "properties": {
            "meta": {"updated_at": "2026-06-01T09:12:44Z", "units": units},
            "timeseries": steps,
        },
    }


def bright_sky(truth: Truth = PLAIN, kind: str = "historical") -> dict[str, Any]:
    """Period-ending kWh/m², mm and mean wind in km/h; temperature read at the stamp."""
    wind = [truth.wind_ms[0], *truth.means("wind_ms")]
    amounts = zip([None, *truth.ghi_wm2], [None, *truth.rain_mm], strict=True)
    rows = [
        {
            "timestamp": f"{stamp:%Y-%m-%dT%H:%M:%S}+00:00",
            "source_id": 1,
            "temperature": truth.temp_c[i],
            "dew_point": truth.dew_c,
            "pressure_msl": 1015.1,
            "wind_speed": 3.6 * wind[i],
            "precipitation": rain,
            "solar": None if ghi is None else ghi / 1000,
            "cloud_cover": 100 * truth.cloud[i],
            "condition": "dry",
        }
        for i, (stamp, (ghi, rain)) in enumerate(zip(truth.stamps, amounts, strict=True))
    ]
    return {"weather": rows, "sources": [bright_sky_source(1, kind)]}


def bright_sky_source(number: int, kind: str, distance_m: float = 16365.0) -> dict[str, Any]:
    return {
        "id": number,
        "dwd_station_id": f"{1765 + number:05d}",
        "wmo_station_id": "10315",
        "station_name": "Somewhere",
        "observation_type": kind,
        "lat": 52.1344,
        "lon": 7.6969,
        "height": 47.8,
        "distance": distance_m,
    }


def power_hours(truth: Truth = PLAIN, *, community: str = "ag") -> dict[str, Any]:
    """Means and sums, stamped at the start of the hour, wind at 2 m."""
    stamps = [f"{stamp:%Y%m%d%H}" for stamp in truth.stamps[:-1]]
    ag = community == "ag"
    columns = {
        "T2M": (truth.means("temp_c"), "C"),
        "T2MDEW": ([truth.dew_c] * len(stamps), "C"),
        "WS2M": (truth.means("wind_ms"), "m/s"),
        "ALLSKY_SFC_SW_DWN": (
            [ghi * 0.0036 if ag else ghi for ghi in truth.ghi_wm2],
            "MJ/hr" if ag else "Wh/m^2",
        ),
        "PRECTOTCORR": (truth.rain_mm, "mm/hour"),
    }
    return power_document(stamps, columns)


def power_document(
    stamps: Sequence[str], columns: dict[str, tuple[Sequence[float], str]], fill: float = -999.0
) -> dict[str, Any]:
    values = {name: dict(zip(stamps, given, strict=True)) for name, (given, _) in columns.items()}
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [5.18, 52.1, 3.4]},
        "properties": {"parameter": values},
        "header": {
            "title": "NASA/POWER",
            "api": {"version": "v2.9.2"},
            "fill_value": fill,
            "time_standard": "UTC",
            "start": stamps[0][:8],
            "end": stamps[-1][:8],
        },
        "messages": [],
        "parameters": {
            name: {"units": unit, "longname": name} for name, (_, unit) in columns.items()
        },
        "times": {"data": 0.97, "process": 0.05},
    }
