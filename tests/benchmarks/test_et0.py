"""A million days of reference evapotranspiration beside open libraries; no time is asserted.

pytest tests/benchmarks/test_et0.py -s

refet is in the environment of the tests, pyet in that of the peers; each is skipped where it
is missing. Runs take turns, and the medians are compared.
"""

import statistics
import time
from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest
from benchmarks.told import tell

from advisor.demand import air, radiation
from advisor.demand.et0 import daily_et0

DAYS = 1_000_000
TURNS = 7
LATITUDE_DEG, ELEVATION_M = 36.1, 273.0


def days() -> dict[str, np.ndarray]:
    """Give days of one station within what weather does, the same in every run."""
    rng = np.random.default_rng(1)
    day = np.arange(DAYS) % 365 + 1.0
    tmin = rng.uniform(-10.0, 22.0, DAYS)
    ra = radiation.extraterrestrial_day(LATITUDE_DEG, day)
    return {"tmin_c": tmin, "tmax_c": tmin + rng.uniform(1.0, 18.0, DAYS), "day_of_year": day,
            "rs_mj": ra * rng.uniform(0.35, 0.70, DAYS), "u2_ms": rng.uniform(0.5, 7.0, DAYS),
            "ea_kpa": air.saturation_pressure(tmin) * rng.uniform(0.5, 1.0, DAYS)}


def ours(told: dict[str, np.ndarray]) -> np.ndarray:
    return daily_et0(**told, elevation_m=ELEVATION_M, latitude_deg=LATITUDE_DEG)


def of_refet(refet: ModuleType, told: dict[str, np.ndarray]) -> np.ndarray:
    mm: np.ndarray = refet.Daily(
        tmin=told["tmin_c"], tmax=told["tmax_c"], ea=told["ea_kpa"], rs=told["rs_mj"],
        uz=told["u2_ms"], zw=2, elev=ELEVATION_M, lat=LATITUDE_DEG, doy=told["day_of_year"],
        method="asce").eto()
    return mm


def in_turns(*calls: Callable[[], object]) -> list[float]:
    """Call each in turn, some rounds; give the median seconds of each."""
    seconds: list[list[float]] = [[] for _ in calls]
    for turn in range(TURNS + 1):
        for call, found in zip(calls, seconds, strict=True):
            start = time.perf_counter()
            call()
            if turn:  # the first round warms up
                found.append(time.perf_counter() - start)
    return [statistics.median(found) for found in seconds]


def test_a_million_days_beside_refet() -> None:
    refet = pytest.importorskip("refet")
    told = days()
    assert np.abs(ours(told) - np.maximum(of_refet(refet, told), 0.0)).max() < 0.003
    mine, theirs = in_turns(lambda: ours(told), lambda: of_refet(refet, told))
    tell("a million days of ET0", mine / theirs, "x", beside=f"refet, {1000 * theirs:.0f} ms",
         bar="1.0 x")


def test_a_million_days_beside_pyet() -> None:
    pyet = pytest.importorskip("pyet")
    import pandas as pd

    told = days()
    # within what an index of nanoseconds holds: the same 90,000 days as often as needed
    index = pd.DatetimeIndex(np.datetime64("1800-01-01") + np.arange(90_000) % 365)
    frame = pd.DataFrame(told).iloc[:len(index)].set_index(index)
    share = DAYS / len(frame)

    def of_pyet() -> object:
        return pyet.pm_fao56(
            0.5 * (frame["tmax_c"] + frame["tmin_c"]), frame["u2_ms"], rs=frame["rs_mj"],
            tmax=frame["tmax_c"], tmin=frame["tmin_c"], ea=frame["ea_kpa"],
            elevation=ELEVATION_M, lat=np.radians(LATITUDE_DEG))

    part = {name: frame[name].to_numpy() for name in told}
    mine, theirs = in_turns(lambda: ours(part), of_pyet)
    tell("a million days of ET0", f"1/{theirs / mine:.0f}", "x",
         beside=f"pyet, {1000 * share * theirs:.0f} ms", bar="1/20 x")
    assert len(ours(part)) == len(frame)
