"""From open sky to what reaches the soil of one pot, hour by hour, compiled.

The rules are those of `advisor.demand.surface` (needle store, snow, pot temperature), which
has each as a plain function for one hour; a test holds the two together.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.balance.compiled import compiled
from advisor.demand.surface import (
    DRIZZLE_MM_H,
    FROZEN_BELOW_C,
    SNOW_BELOW_C,
    SNOW_MELT_MM_C_D,
)

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PotWeather:
    """What reaches a pot in each hour, and what it carries over.

    Attributes
    ----------
    rain_mm : (hours,) array
        Rain and melt that reach the soil [mm].
    drizzle, frozen : (hours,) bool arrays
        Whether the rain wets from the top; whether the pot is frozen.
    carried : (hours + 1, 3) array
        Water on the needles [mm], snow [mm] and pot temperature [°C] at each hour's start.
    """

    rain_mm: Floats
    drizzle: NDArray[np.bool_]
    frozen: NDArray[np.bool_]
    carried: Floats


@compiled
def _hour(
    rain: float, air: float, et0: float, store: float, through: float, held: float, snow: float
) -> Any:
    """Give what reaches the soil in an hour, and the needle store and snow after it."""
    lies = rain if air < SNOW_BELOW_C else 0.0
    melt = min(snow + lies, SNOW_MELT_MM_C_D * max(air, 0.0) / 24.0)
    wet = held + rain - lies + melt
    kept = min(wet, store)
    return (wet - kept) * through, max(kept - et0, 0.0), snow + lies - melt


@compiled
def _hours(
    rain: Any, air: Any, et0: Any, store: Any, through: Any, ease: float, carried: Any, into: Any
) -> None:
    """Step needle store, snow and pot temperature through the hours."""
    for t in range(rain.shape[0]):
        into[t], carried[t + 1, 0], carried[t + 1, 1] = _hour(
            rain[t], air[t], et0[t], store[t], through[t], carried[t, 0], carried[t, 1]
        )
        carried[t + 1, 2] = carried[t, 2] + ease * (air[t] - carried[t, 2])


@compiled
def _ways(
    rain: Any, air: Any, et0: Any, store: Any, through: Any, held: float, snow: float, into: Any
) -> None:
    """Step needle store and snow of every way of the rain through the hours."""
    for j in range(rain.shape[1]):
        on_needles, lying = held, snow
        for t in range(rain.shape[0]):
            into[t, j], on_needles, lying = _hour(
                rain[t, j], air[t], et0[t], store[t], through[t], on_needles, lying
            )


def pot_weather(
    rain_mm: Floats,
    air_c: Floats,
    et0_mm: Floats,
    store_mm: Floats,
    through: Floats,
    pot_hours: float,
    carried: Floats,
) -> PotWeather:
    """Follow rain, snow and frost into one pot.

    Parameters
    ----------
    rain_mm, air_c, et0_mm : (hours,) arrays
        Rain of the place [mm], air temperature [°C], ET0 of the place [mm].
    store_mm, through : (hours,) arrays
        What the crown holds back [mm], and the share of the rest that falls through [-].
    pot_hours : float
        Time constant of the pot's temperature [h].
    carried : (3,) array
        Needle store, snow and pot temperature at the start.

    Returns
    -------
    PotWeather
    """
    rows = np.empty((rain_mm.size + 1, 3))
    rows[0] = carried
    into = np.empty(rain_mm.size)
    ease = 1.0 - float(np.exp(-1.0 / pot_hours))
    _hours(rain_mm, air_c, et0_mm, store_mm, through, ease, rows, into)
    return PotWeather(
        into, (into > 0.0) & (rain_mm <= DRIZZLE_MM_H), rows[1:, 2] < FROZEN_BELOW_C, rows
    )


def rain_of_ways(
    rain_mm: Floats, weather: tuple[Floats, Floats, Floats, Floats], carried: Floats
) -> Floats:
    """Follow the rain of many ways into one pot.

    Parameters
    ----------
    rain_mm : (hours, ways) array
        Rain of the place [mm].
    weather : four (hours,) arrays
        Air temperature [°C], ET0 of the place [mm], what the crown holds back [mm] and the
        share of the rest that falls through [-].
    carried : (3,) array
        Needle store [mm], snow [mm] and pot temperature [°C] at the start.

    Returns
    -------
    (hours, ways) array
        Rain and melt that reach the soil [mm].
    """
    into = np.empty(rain_mm.shape)
    _ways(rain_mm, *weather, float(carried[0]), float(carried[1]), into)
    return into
