"""Weather that arrives: a year of archive kept, and places worked out; no time is asserted.

pytest tests/benchmarks/test_archive.py -s
"""

import json
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from benchmarks.told import peak_mb, seconds_to_import, tell

from advisor.garden.records import Place, Site
from advisor.garden.store import Garden, Source
from advisor.jobs.air import arrays_of, work_out
from advisor.weather import quality
from advisor.weather.services import openmeteo

NOW = datetime(2026, 7, 1, tzinfo=UTC)
SITE = Site(52.1, 5.18, 2.0, "Europe/Amsterdam")
TIMES = 3
PLACES = 12


def year() -> bytes:
    """Write a year as the archive answers."""
    at = np.arange("2025-01-01T00:00", "2026-01-01T00:00", dtype="datetime64[h]")
    t = np.arange(len(at))
    temp = np.round(10 + 8 * np.sin(t / 8760 * 6.28) + 4 * np.sin((t - 8) / 24 * 6.28), 1)
    chance = np.random.default_rng(5)
    columns = {
        "temperature_2m": (temp, "°C"), "relative_humidity_2m": (np.full(len(t), 70), "%"),
        "dew_point_2m": (temp - 5, "°C"), "wind_speed_10m": (chance.gamma(3, 1, len(t)), "m/s"),
        "shortwave_radiation": (np.maximum(0, 500 * np.sin((t % 24 - 6) / 12 * 3.14)), "W/m²"),
        "cloud_cover": (chance.integers(0, 101, len(t)), "%"),
        "precipitation": (np.round(np.maximum(0, chance.normal(-1, 1, len(t))), 1), "mm"),
        "surface_pressure": (np.round(1000 + chance.normal(0, 5, len(t)), 1), "hPa"),
    }
    return json.dumps({
        "latitude": 52.1, "longitude": 5.18, "elevation": 2.0, "utc_offset_seconds": 0,
        "hourly_units": {"time": "iso8601", **{name: unit for name, (_, unit) in columns.items()}},
        "hourly": {"time": [str(each) for each in at.astype("datetime64[m]")],
                   **{name: np.round(each, 2).tolist() for name, (each, _) in columns.items()}},
    }).encode()


def stored(body: bytes, path: Path) -> float:
    """Parse, check and store a year; give the time it took [s]."""
    with Garden.create(path, SITE, NOW) as garden:
        began = time.perf_counter()
        for answer in openmeteo.read(body, issued_at=NOW, interface="archive"):
            hours = quality.set_aside(arrays_of(answer.series.hours), SITE.latitude_deg,
                                      sensor=answer.kind == "station")
            garden.save_weather(Source("archive", kind=answer.kind, issued_at=answer.issued_at),
                                hours, NOW)
        return time.perf_counter() - began


def test_a_year_of_archive_is_stored_while_libraries_load(tmp_path: Path) -> None:
    body = year()
    took = [stored(body, tmp_path / f"{k}.db") for k in range(TIMES)]
    beside = [seconds_to_import("pandas", "pvlib") for _ in range(TIMES)]
    tell("a year of archive parsed, checked, stored", min(took) / min(beside), "x",
         beside=f"import pandas, pvlib, {min(beside):.2f} s", bar="1.0 x", peak_mb=peak_mb())
    with Garden.open(tmp_path / "0.db") as garden:
        assert len(garden.weather(NOW.replace(year=2024), NOW)["hour"]) == 8760


def test_twelve_places_of_sixteen_days_are_worked_out() -> None:
    """Twelve skylines, winds and shades under one sky."""
    (answer,) = openmeteo.read(year(), issued_at=NOW, interface="archive")
    places = [Place(f"place {k}", position=k, wind=("open", "half", "sheltered")[k % 3],
                    shade=0.05 * k, horizon=((90.0, 5.0 + k), (200.0, 2.0 * k)))
              for k in range(PLACES)]
    for days in (16, 360):
        hours = answer.series.hours.iloc[:24 * days]
        took = []
        for _ in range(TIMES + 1):
            began = time.perf_counter()
            worked = work_out(SITE, places, hours)
            took.append(time.perf_counter() - began)
        tell(f"ET0 and radiation, {PLACES} places x {days} days",
             min(took) / seconds_to_import("pandas", "pvlib"), "x",
             beside="import pandas, pvlib", bar="0.3 s" if days == 16 else "", peak_mb=peak_mb())
        assert len(worked.places) == PLACES
        assert all(np.isfinite(place["et0_mm"]).all() for place in worked.places.values())
