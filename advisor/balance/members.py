"""The members of a tree: equally likely guesses at what is not known of it.

Drawn once as a Latin hypercube from a seed kept with the tree, so that a day can be
replayed to the last digit.
"""

from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MEMBERS: Final = 64
BLOCK_DAYS: Final = 16  # drawn at once, to spare time

#: Prior spread (standard deviation) of each member's parameters [J]: none was measured.
SD_LN_THIRST: Final = 0.35
SD_LN_CAPACITY: Final = 0.15  # fresh mix: all capacities ± 15 %
SD_LN_CAPACITY_OLD: Final = 0.27  # root-filled, broken down: ± 25-30 %
SD_LN_K_C: Final = 1.15
THRESHOLD: Final = 0.35  # share of the water between wilting and 20 hPa that reads dry (.25-.45)
SD_THRESHOLD: Final = 0.06
THRESHOLD_LIMITS: Final = (0.10, 0.60)
SD_DAY: Final = 0.10  # of the day's demand


@dataclass(frozen=True)
class Prior:
    """What is believed of a potting before anything was read."""

    k_c_cmh: float
    sd_ln_capacity: float = SD_LN_CAPACITY
    sd_ln_k_c: float = SD_LN_K_C


def draw(seed: int, potting_seed: int, prior: Prior, count: int = MEMBERS) -> Floats:
    """Draw the members' parameters.

    Parameters
    ----------
    seed, potting_seed : int
        Of the tree (its thirst stays with it) and of the potting (the rest starts anew).
    prior : Prior
        What the mix and its age say.
    count : int
        Members.

    Returns
    -------
    (4, count) array
        Factor on demand [-], factor on storage [-], K_c [cm/h], dryness threshold [-].
    """
    thirst = _stratified(seed, 1, count)[0]
    capacity, k_c, threshold = _stratified(potting_seed, 3, count)
    return np.ascontiguousarray(
        [
            np.exp(SD_LN_THIRST * thirst),
            np.exp(prior.sd_ln_capacity * capacity),
            prior.k_c_cmh * np.exp(prior.sd_ln_k_c * k_c),
            np.clip(THRESHOLD + SD_THRESHOLD * threshold, *THRESHOLD_LIMITS),
        ]
    )


def shares(seed: int, low: float, high: float, count: int = MEMBERS) -> Floats:
    """Spread `count` shares evenly between two ends, in an order of the seed's own."""
    order = np.random.Generator(np.random.Philox(key=seed)).permutation(count)
    return np.asarray(low + (high - low) * (order + 0.5) / count)


def days(
    seed: int, day_numbers: NDArray[np.int64], count: int = MEMBERS
) -> tuple[Floats, Floats]:
    """Draw what a day does to each member: a factor on its demand, and a coin.

    Keyed by tree, day and member, so that a day's draw does not depend on when it is asked.

    Parameters
    ----------
    seed : int
        Of the tree.
    day_numbers : (days,) array
        Local days, counted from 1970-01-01, in order.
    count : int
        Members.

    Returns
    -------
    factor, coin : (days, count) arrays
        Lognormal factor with median one [-], and 0 or 1.
    """
    first, last = (int(day) // BLOCK_DAYS for day in (day_numbers[0], day_numbers[-1]))
    drawn = [_block(seed, block, count) for block in range(first, last + 1)]
    row = day_numbers - first * BLOCK_DAYS
    normal = np.concatenate([block[0] for block in drawn])[row]
    coin = np.concatenate([block[1] for block in drawn])[row]
    return np.exp(SD_DAY * normal), coin


def _block(seed: int, block: int, count: int) -> tuple[Floats, Floats]:
    """Draw normal values and coins for a block of days at once: (BLOCK_DAYS, count) each."""
    source = np.random.Generator(np.random.Philox(key=seed, counter=[0, 0, 0, block]))
    normal = source.standard_normal((BLOCK_DAYS, count))
    return normal, (source.random((BLOCK_DAYS, count)) < 0.5).astype(np.float64)


_NORMAL = NormalDist()


def _stratified(seed: int, rows: int, count: int) -> Floats:
    """Standard normal values, one from each of `count` equally likely strata, shuffled a row."""
    source = np.random.Generator(np.random.Philox(key=seed))
    middle = np.array([_NORMAL.inv_cdf((i + 0.5) / count) for i in range(count)])
    return np.array([middle[source.permutation(count)] for _ in range(rows)])
