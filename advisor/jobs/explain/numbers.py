"""One number of a chain of reasons: its unit, its spread, where it is from."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from advisor.jobs.summary import QUANTILES

TOLD: Final = "told"
DEFAULT: Final = "default"
LEARNED: Final = "learned"
TABLE: Final = "table"
WORKED: Final = "worked out"


@dataclass(frozen=True)
class Number:
    """One number of the chain.

    Attributes
    ----------
    key : str
        Its name, for scripts.
    value : float, str or None
    unit : str
        "-" where it has none; "" of a word.
    origin : str
        Told, default, learned, table, worked out, or the source of the weather.
    source : str
        What it rests on; "" where nothing more is to be said.
    spread : tuple of float, optional
        Low and high (5 and 95 %).
    """

    key: str
    value: float | str | None
    unit: str
    origin: str
    source: str = ""
    spread: tuple[float, float] | None = None


def spread_number(key: str, values: NDArray[np.float64], unit: str, origin: str,
                  source: str) -> Number:
    """Give the middle of (members,) values as a number, with its spread."""
    low, mid, high = (float(each) for each in np.quantile(values, QUANTILES))
    return Number(key, mid, unit, origin, source, (low, high))


def origin_of(record: Any, field: str) -> str:
    """Say whether a field of a record was told, or is what is taken where nothing was."""
    default = type(record).__dataclass_fields__[field].default
    return DEFAULT if getattr(record, field) == default else TOLD


def spread_source(sd_ln: float) -> str:
    """Say how far apart pots and trees of a kind may lie, before anything is read of one."""
    return f"before anything is read ± {100.0 * sd_ln:.0f} % [judgement]"
