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
def _hours(
    rain: Any, air: Any, et0: Any, store: Any, through: Any, ease: float, carried: Any, into: Any
) -> None:
    """Step needle store, snow and pot temperature through the hours."""
    for t in range(rain.shape[0]):
        held, snow, pot = carried[t, 0], carried[t, 1], carried[t, 2]
        lies = rain[t] if air[t] < SNOW_BELOW_C else 0.0
        melt = min(snow + lies, SNOW_MELT_MM_C_D * max(air[t], 0.0) / 24.0)
        falls = rain[t] - lies + melt
        wet = held + falls
        kept = min(wet, store[t])
        into[t] = (wet - kept) * through[t]
        carried[t + 1, 0] = max(kept - et0[t], 0.0)
        carried[t + 1, 1] = snow + lies - melt
        carried[t + 1, 2] = pot + ease * (air[t] - pot)


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
