"""What each hour of weather rests on: the source that knew it, or the rule that stood in."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.garden.merge import HOUR_S
from advisor.weather.quality import MADE

Words = NDArray[np.object_]
#: value -> how the rules of FAO-56 that stand in for it begin (`advisor.demand.ladder.RULES`)
RULES = {"temp_c": ("temperature",), "vapour_kpa": ("humidity",), "wind_ms": ("wind 2 m/s",),
         "ghi_wm2": ("radiation",), "rain_mm": ()}
UNKNOWN = "not known"


def filled(
    series: Mapping[str, NDArray[Any]], days: Mapping[str, NDArray[Any]], start: int, end: int
) -> dict[str, Words]:
    """Say of every hour of a span what each of `RULES` rests on.

    Parameters
    ----------
    series : mapping of str to array
        As `WeatherStore.weather` gives it.
    days : mapping of str to array
        As `DerivedStore.days` gives them: "first_hour" [s since 1970 UTC] and "rules".
    start, end : int
        The first hour, and the first that is left out [s since 1970 UTC].

    Returns
    -------
    dict of str to array of str
        "hour" apart, for each value its source ("open-meteo, analysis"), "between neighbours",
        the day's rule ("radiation from cloud cover"), or "not known".
    """
    hour = np.arange(start, end, HOUR_S)
    rules = _rules(days, hour)
    at = (series["hour"] - start) // HOUR_S
    inside = (at >= 0) & (at < len(hour))
    found: dict[str, Words] = {}
    for name, begins in RULES.items():
        column = _standing_in(rules, begins)
        known = inside & ~np.isnan(series[name])
        column[at[known]] = _sources(series, name, known)
        found[name] = column
    return found


def shares(found: Mapping[str, Words]) -> dict[str, dict[str, float]]:
    """Give the share of hours for each word of each value, the largest first."""
    counted = {name: Counter(words.tolist()).most_common() for name, words in found.items()}
    return {name: {word: count / len(found[name]) for word, count in told}
            for name, told in counted.items()}


def _sources(series: Mapping[str, NDArray[Any]], name: str, rows: NDArray[np.bool_]) -> Words:
    told = zip(series[f"{name}_source"][rows].tolist(), series[f"{name}_kind"][rows].tolist(),
               series[f"{name}_from"][rows].tolist(), strict=True)
    return np.array([MADE[0] if origin.startswith(MADE[0]) else words_of(source, kind)
                     for source, kind, origin in told], dtype=object)


def words_of(source: str, kind: str) -> str:
    """Give a source in words: "open-meteo, forecast"; a file is its name."""
    return f"{source}, {kind}" if kind in ("analysis", "forecast") else source


def _rules(days: Mapping[str, NDArray[Any]], hour: NDArray[np.int64]) -> list[tuple[str, ...]]:
    """Give the rules of the day in which each hour lies; none where no day is kept."""
    starts = np.asarray(days["first_hour"], dtype=np.int64)
    if not len(starts):
        return [()] * len(hour)
    row = np.searchsorted(starts, hour, side="right") - 1
    ends = starts + HOUR_S * np.asarray(days["n_hours"], dtype=np.int64)
    told = [tuple(str(rules).split(";")) for rules in days["rules"]]
    return [told[k] if k >= 0 and at < ends[k] else ()
            for k, at in zip(row.tolist(), hour.tolist(), strict=True)]


def _standing_in(rules: list[tuple[str, ...]], begins: tuple[str, ...]) -> Words:
    """Give the first rule of each hour that begins so; "not known" where none does."""
    chosen = {told: next((rule for rule in told if begins and rule.startswith(begins)), UNKNOWN)
              for told in set(rules)}
    return np.array([chosen[told] for told in rules], dtype=object)


