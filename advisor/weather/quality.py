"""What an instrument shows that the air does not do: stuck, dead, jumping, too much rain.

Numpy only. An hour that is doubted is set aside with a reason, so that the next source or rule
fills it; nothing is mended here. Hours spread or bridged from others are not looked at twice.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from advisor.units import LIMITS
from advisor.weather.vapour import saturation_kpa

Arrays = dict[str, NDArray[Any]]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

HOUR_S = 3600
ASIDE = "set aside: "
_GIVEN = re.compile(rf"{ASIDE}(.+?) \((.+)\)")
#: Origins of hours that no sensor gave.
MADE = ("between neighbours", "spread")
VALUES = ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share", "rain_mm", "pressure_kpa")


class Stuck(NamedTuple):
    """Longer than so many hours [h] within this of one value is a stuck sensor."""

    longest_h: int
    within: float = 0.0
    above: float = -np.inf  # values up to this are left alone: calm air, a dark or a dry hour


#: Longest run of one value [h], how near is the same, and what may last. All [J], with range.
STUCK = {
    "temp_c": Stuck(6),  # [h] 5 to 12, where tenths are told
    "humidity_pct": Stuck(12, within=0.05),  # [h] 8 to 24; [%] of rounding .02 to .2
    "wind_ms": Stuck(24, above=0.0),  # [h] 12 to 48
    "ghi_wm2": Stuck(3, above=5.0),  # [h] 3 to 6; [W/m²] of a sensor's rest at night 2 to 10
    "rain_mm": Stuck(6, above=1.0),  # [h] 5 to 12; [mm] drizzle may last, .5 to 2
    "pressure_kpa": Stuck(48),  # [h] 24 to 96, where tenths of hPa are told or not
}
#: a temperature told in whole degrees is often the same as the hour before: from this share of
#: hours on [J] .08 to .12 (stations that tell tenths: .05 and less; whole degrees: .13 and more)
#: it may stand still for longer [h], [J] 24 to 48. Under fog it did for 23 h on a coast of
#: Alaska (packaged TMY3 of Sand Point)
COARSE_SHARE, COARSE_LONGEST_H = 0.10, 30
#: air this damp stays as it is in fog and rain, and sensors stop short of 100 [%], [J] 95 to 99
STUCK_HUMIDITY_BELOW = 97.0
#: humidity stands still of itself where the air does; it is stuck where this changes by more
#: meanwhile [K], [J] 1 to 4
STUCK_HUMIDITY_RANGE_K = 2.0
#: radiation of nil for longer than this is a dead sensor [h]: the longest night at 60° and a
#: dark hour at each end are 21, [C] from FAO-56 Eq. 25; [J] 22 to 48
DEAD_RADIATION_H = 24
#: nearer to a pole the night itself is as long [°], [C] from FAO-56 Eq. 25
POLAR_DEG = 60.0
#: calm longer than this is a seized wheel [h], [J] 48 to 240
SEIZED_WIND_H = 96
#: change from one hour to the next that the air does not make, all [J]: [K] 8 to 15,
#: [m/s] 12 to 25, [kPa] .8 to 2
JUMPS = {"temp_c": 10.0, "wind_ms": 15.0, "pressure_kpa": 1.0}
#: after so long at its new level a jump is taken for real [h], [J] 1 to 6
JUMP_HOLDS_H = 3
#: a hole shorter than this is no news [h], [J] 1 to 6
GAP_H = 3


@dataclass(frozen=True)
class Doubt:
    """Hours of one value of one source that are not used, or are not there.

    Parameters
    ----------
    value : str
        One of `VALUES`.
    source : str
        Name of the source.
    first, last : int
        Starts of the first and the last hour [s since 1970 UTC].
    hours : int
        How many between them, both counted.
    why : str
        "stuck for 9 h", "unknown for 5 h".
    given : str
        What was set aside, with its unit; "" of a hole, or where that is not told.
    instead : tuple of str
        Sources that fill these hours; set by who knows them.
    """

    value: str
    source: str
    first: int
    last: int
    hours: int
    why: str
    given: str = ""
    instead: tuple[str, ...] = ()


def set_aside(
    hours: Mapping[str, NDArray[Any]], latitude_deg: float | None = None, *, sensor: bool = True
) -> Arrays:
    """Set aside what no air does, each hour with its reason.

    Parameters
    ----------
    hours : mapping of str to array, shape (n,)
        "hour" [s since 1970 UTC] without holes, any of `VALUES` in the units of their names,
        and "<value>_from" with origins. Nothing handed in is changed.
    latitude_deg : float, optional
        Where it was taken [°]; near the poles long nights are not doubted.
    sensor : bool
        Measured values, which can be stuck or dead; of a forecast only limits are held.

    Returns
    -------
    dict of str to array
        The same columns, NaN and "set aside: what (why)" in the hours that are doubted.
    """
    made = {name: column.copy() for name, column in hours.items()}
    found: list[tuple[str, Bools, str]] = list(_beyond(hours))
    if sensor:
        found += [*_stuck(hours), *_silent(hours, latitude_deg), *_jumps(hours)]
    for name, rows, why in found:
        told = made.setdefault(f"{name}_from", np.full(len(made["hour"]), "", dtype=object))
        rows = rows & ~np.isnan(made[name])
        if rows.any():
            told[rows] = f"{ASIDE}{_given(name, made[name][rows])} ({why})"
        made[name][rows] = np.nan
    return made


def _given(name: str, values: Floats) -> str:
    """Give values in words: "15.3 °C", "36 to 38 °C"."""
    ends = dict.fromkeys(f"{value:.4g}" for value in (values.min(), values.max()))
    return f"{' to '.join(ends)} {LIMITS[name].unit.partition(' ')[0]}"


def _beyond(hours: Mapping[str, NDArray[Any]]) -> Iterator[tuple[str, Bools, str]]:
    for name in VALUES:
        if name in hours:
            low, high, unit, _ = LIMITS[name]
            beyond = (hours[name] < low) | (hours[name] > high)
            for start, stop in runs(np.where(beyond, 1.0, np.nan), 0.0, 0):
                rows = _rows(hours[name], start, stop)
                yield name, rows, f"beyond {low:g} to {high:g} {unit}"


def _stuck(hours: Mapping[str, NDArray[Any]]) -> Iterator[tuple[str, Bools, str]]:
    for name, rule in STUCK.items():
        column = "vapour_kpa" if name == "humidity_pct" else name
        if column not in hours:
            continue
        values = _humidity(hours) if name == "humidity_pct" else hours[name]
        longest_h = rule.longest_h
        if name == "temp_c" and _coarse(values, longest_h):
            longest_h = COARSE_LONGEST_H
        values = np.where(_made(hours, column) | (values <= rule.above), np.nan, values)
        for start, stop in runs(values, rule.within, longest_h):
            if name == "humidity_pct" and not np.ptp(hours["temp_c"][start:stop]) > (
                STUCK_HUMIDITY_RANGE_K
            ):
                continue
            yield column, _rows(values, start, stop), f"stuck for {stop - start} h"


def _coarse(values: Floats, longest_h: int) -> bool:
    """Whether values often repeat the one before, long runs of one value apart."""
    same = np.diff(values) == 0.0
    counted = ~np.isnan(np.diff(values))
    for start, stop in runs(values, 0.0, longest_h):
        counted[start : stop - 1] = False
    return bool(counted.any()) and float(same[counted].mean()) >= COARSE_SHARE


def _humidity(hours: Mapping[str, NDArray[Any]]) -> Floats:
    """Give relative humidity [%] where it is low enough to be told stuck, else NaN."""
    if "temp_c" not in hours:
        return np.full(len(hours["hour"]), np.nan)
    percent = 100.0 * hours["vapour_kpa"] / saturation_kpa(hours["temp_c"])
    return np.where(percent < STUCK_HUMIDITY_BELOW, percent, np.nan)


def _silent(
    hours: Mapping[str, NDArray[Any]], latitude_deg: float | None
) -> Iterator[tuple[str, Bools, str]]:
    rules = [("wind_ms", SEIZED_WIND_H, "no wind at all for {} h")]
    if latitude_deg is None or abs(latitude_deg) <= POLAR_DEG:
        rules.append(("ghi_wm2", DEAD_RADIATION_H, "no light at all for {} h"))
    for name, longest_h, why in rules:
        if name in hours:
            nil = np.where(hours[name] == 0.0, 0.0, np.nan)
            for start, stop in runs(nil, 0.0, longest_h):
                yield name, _rows(nil, start, stop), why.format(stop - start)


def _jumps(hours: Mapping[str, NDArray[Any]]) -> Iterator[tuple[str, Bools, str]]:
    for name, most in JUMPS.items():
        if name not in hours:
            continue
        values = hours[name]
        steps = np.flatnonzero(np.abs(np.diff(values)) > most)
        rows = np.zeros(len(values), dtype=bool)
        for step in steps.tolist():
            if not rows[step]:  # the level before it is a good one
                after = values[step + 1 : step + 1 + JUMP_HOLDS_H]
                back = np.flatnonzero(np.abs(after - values[step]) <= most)
                count = int(back[0]) if len(back) else len(after)
                rows[step + 1 : step + 1 + count] = True
        for start, stop in runs(np.where(rows, 1.0, np.nan), 0.0, 0):
            unit = LIMITS[name].unit
            yield name, _rows(values, start, stop), f"jumps by more than {most:g} {unit} in an hour"


def runs(values: Floats, within: float, longer_than: int) -> list[tuple[int, int]]:
    """Give start and stop of each run of known values that stay within so much of its first.

    Parameters
    ----------
    values : array, shape (n,)
        NaN ends a run.
    within : float
        How far from the first value of a run the others may be.
    longer_than : int
        Runs of this many values are not given, nor shorter ones.

    Returns
    -------
    list of tuple of int
        The stop is the first index that is left out.
    """
    known = ~np.isnan(values)
    breaks = ~known[1:] | ~known[:-1] | (np.abs(np.diff(values)) > within)
    edges = np.concatenate([[0], np.flatnonzero(breaks) + 1, [len(values)]])
    long = np.flatnonzero(np.diff(edges) > longer_than)
    found = []
    for start, stop in zip(edges[long].tolist(), edges[long + 1].tolist(), strict=True):
        while start < stop and known[start]:
            off = np.flatnonzero(np.abs(values[start:stop] - values[start]) > within)
            end = start + int(off[0]) if len(off) else stop
            if end - start > longer_than:
                found.append((start, end))
            start = end
    return found


def _made(hours: Mapping[str, NDArray[Any]], name: str) -> Bools:
    told = hours.get(f"{name}_from")
    if told is None:
        return np.zeros(len(hours["hour"]), dtype=bool)
    words = {each: str(each).startswith(MADE) for each in set(told.tolist())}
    return np.array([words[each] for each in told.tolist()], dtype=bool)


def _rows(values: Floats, start: int, stop: int) -> Bools:
    rows = np.zeros(len(values), dtype=bool)
    rows[start:stop] = True
    return rows


def doubts(hours: Mapping[str, NDArray[Any]], source: str) -> list[Doubt]:
    """List what of a source was set aside, and its holes, by value, then by hour.

    Parameters
    ----------
    hours : mapping of str to array, shape (n,)
        "hour" [s since 1970 UTC], `VALUES`, and "<value>_from" with origins.
    source : str
        Its name.
    """
    found: list[Doubt] = []
    for name in VALUES:
        values = hours.get(name)
        if values is None or not len(values):
            continue
        told = hours.get(f"{name}_from", np.full(len(values), "", dtype=object))
        aside = np.array([str(each).startswith(ASIDE) for each in told], dtype=bool)
        why = np.where(aside, told, np.where(np.isnan(values), "unknown", ""))
        edges = [
            0,
            *(
                np.flatnonzero((why[1:] != why[:-1]) | (np.diff(hours["hour"]) != HOUR_S)) + 1
            ).tolist(),
            len(why),
        ]
        for start, stop in zip(edges[:-1], edges[1:], strict=True):
            inside = start > 0 and stop < len(why)
            gap = why[start] == "unknown" and inside and stop - start >= GAP_H
            if gap or aside[start]:
                given, words = parted(str(why[start]))
                found.append(
                    Doubt(
                        name,
                        source,
                        int(hours["hour"][start]),
                        int(hours["hour"][stop - 1]),
                        stop - start,
                        f"unknown for {stop - start} h" if gap else words,
                        given,
                    )
                )
    return found


def parted(origin: str) -> tuple[str, str]:
    """Part "set aside: what (why)" into what and why; what is "" where it is not told."""
    whole = _GIVEN.fullmatch(origin)
    return (whole[1], whole[2]) if whole else ("", origin.removeprefix(ASIDE))
