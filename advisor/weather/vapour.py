"""Saturation vapour pressure, the one equation that turns every humidity into kPa.

FAO-56 is Allen, Pereira, Raes, Smith, "Crop evapotranspiration", FAO Irrigation and
Drainage Paper 56, Rome 1998.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: Tetens' coefficients in FAO-56 Eq. 11 [S]: pressure at 0 °C [kPa], slope [-], offset [°C]
TETENS = (0.6108, 17.27, 237.3)


def saturation_kpa(temp_c: ArrayLike) -> NDArray[np.float64]:
    """Vapour pressure of saturated air (FAO-56 Eq. 11).

    Of the air temperature it is the most vapour the air can hold; of the dew point it is
    the vapour the air does hold.

    Parameters
    ----------
    temp_c : array_like
        Air temperature or dew point [°C], any shape.

    Returns
    -------
    numpy.ndarray
        Vapour pressure [kPa], of the same shape.
    """
    at_zero, slope, offset = TETENS
    temp = np.asarray(temp_c, dtype=np.float64)
    return np.asarray(at_zero * np.exp(slope * temp / (temp + offset)))
