"""How far forecasts were off, by the days they looked ahead: the garden's own record.

Every forecast that was replaced is compared with what was measured or analysed later, a day of
24 hours ahead at a time: means of the day, and the day's rain. Where the record is short, stated
defaults stand in.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from advisor.garden.merge import HOUR_S, RANK, Layer, laid

Floats = NDArray[np.float64]

DAY_H = 24
#: a day counts where so many of its hours are known on both sides [h], [J] 16 to 24
LEAST_HOURS = 20
#: as many days are needed before the record is trusted, [J] 10 to 40
LEAST_PAIRS = 20
LAST_DAY = 15  # services look ahead for 16 days


class Default(NamedTuple):
    """Spread on the first day ahead, what each further day adds, and its end."""

    first: float
    a_day: float
    most: float


#: Standard deviation of a day's mean (of rain: of its sum) against a station nearby, where the
#: garden has no record yet. All [J]: temperature 1 to 1.5 K and 3 to 4 K after ten days as
#: verifications of services commonly show, the others in the same proportion of their own
#: day-to-day spread in summer. Ranges: half to twice.
DEFAULTS: Mapping[str, Default] = {
    "temp_c": Default(1.2, 0.25, 4.0),  # [K]
    "vapour_kpa": Default(0.08, 0.02, 0.30),  # [kPa]
    "wind_ms": Default(0.7, 0.10, 1.6),  # [m/s] at 10 m
    "ghi_wm2": Default(35.0, 4.0, 75.0),  # [W/m²] mean of day and night
    "cloud_share": Default(0.20, 0.015, 0.35),
    "rain_mm": Default(3.0, 0.30, 6.0),  # [mm] in a day
}


@dataclass(frozen=True)
class LeadError:
    """How far forecasts of a value are off, so many days ahead.

    Parameters
    ----------
    value : str
        One of `DEFAULTS`.
    day : int
        0 for the first 24 hours after the issue.
    bias, spread : float
        Mean and standard deviation of forecast less observation, in the value's unit; of
        rain, of the sum of 24 hours [mm].
    pairs : int
        Days compared.
    measured : bool
        From the garden's own record; else the stated default, without bias.
    """

    value: str
    day: int
    bias: float
    spread: float
    pairs: int
    measured: bool


def errors_by_lead(value: str, layers: Sequence[Layer]) -> list[LeadError]:
    """Give the errors of forecasts of a value by days ahead, 0 to 15.

    Of the issues of one service on one day (UTC) the first is compared, so that a day does not
    count many times.

    Parameters
    ----------
    value : str
        One of `DEFAULTS`.
    layers : sequence of Layer
        All there are (`WeatherStore.layers`), forecasts and observations.
    """
    observed = _observed(value, layers)
    errors: dict[int, list[float]] = {day: [] for day in range(LAST_DAY + 1)}
    for layer in _first_of_day(layers):
        for day, error in _errors(value, layer, observed):
            errors[day].append(error)
    return [_summed_up(value, day, found) for day, found in errors.items()]


def _observed(value: str, layers: Iterable[Layer]) -> dict[int, float]:
    known = [layer for layer in layers if layer.order[0] > RANK["forecast"]]
    origins = {key: ("",) * 8 for layer in known for key in set(layer.origin.tolist())}
    series = laid(known, origins)
    there = ~np.isnan(series[value])
    return dict(zip(series["hour"][there].tolist(), series[value][there].tolist(), strict=True))


def _first_of_day(layers: Iterable[Layer]) -> list[Layer]:
    first: dict[tuple[str, int], Layer] = {}
    for layer in sorted(layers, key=lambda each: each.order):
        if layer.kind == "forecast" and layer.issued is not None:
            first.setdefault((layer.name, layer.issued // (DAY_H * HOUR_S)), layer)
    return list(first.values())


def _errors(
    value: str, layer: Layer, observed: Mapping[int, float]
) -> Iterable[tuple[int, float]]:
    """Give day ahead and error of each whole day of a forecast that has come to pass."""
    assert layer.issued is not None
    seen = np.array([observed.get(hour, np.nan) for hour in layer.hour.tolist()])
    off = layer.values[value] - seen
    day = (layer.hour - layer.issued) // (DAY_H * HOUR_S)
    for each in np.unique(day[(day >= 0) & (day <= LAST_DAY)]).tolist():
        known = off[(day == each) & ~np.isnan(off)]
        if len(known) >= LEAST_HOURS:
            yield each, float(known.mean()) * (DAY_H if value == "rain_mm" else 1)


def _summed_up(value: str, day: int, errors: Sequence[float]) -> LeadError:
    if len(errors) >= LEAST_PAIRS:
        return LeadError(value, day, float(np.mean(errors)), float(np.std(errors, ddof=1)),
                         len(errors), True)
    stated = DEFAULTS[value]
    spread = min(stated.first + day * stated.a_day, stated.most)
    return LeadError(value, day, 0.0, spread, len(errors), False)
