"""One kind of outside check: what it rests on, how far off each case is, what is allowed."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest


@dataclass(frozen=True)
class Check:
    """One kind of check.

    Attributes
    ----------
    what, source, unit : str
    off : tuple of float
        How far off each case is.
    allowed : tuple of float
        How far it may be.
    rests_on : int, optional
        Of how many cases `off` are means and the like; as many as it has where None.
    """

    what: str
    source: str
    unit: str
    off: tuple[float, ...]
    allowed: tuple[float, ...]
    rests_on: int | None = None

    @property
    def cases(self) -> int:
        """How many cases it rests on."""
        return len(self.off) if self.rests_on is None else self.rests_on

    @property
    def shares(self) -> np.ndarray:
        """How much of what is allowed each case takes; above 1 it fails."""
        return np.array(self.off) / np.array(self.allowed)

    @property
    def worst(self) -> float:
        """The largest of them."""
        return float(self.shares.max())


def all_of(test: Any) -> list[tuple[Any, ...]]:
    """Give the cases that a test is run with, as they stand above it."""
    (mark,) = (each for each in test.pytestmark if each.name == "parametrize")
    return [tuple(row.values) if isinstance(row, type(pytest.param())) else
            row if isinstance(row, tuple) else (row,) for row in mark.args[1]]


def band(low: float, high: float, value: float) -> float:
    """Give how far from a band's middle a value is, over half its width: 1 at its edge."""
    return abs(value - 0.5 * (low + high)) / (0.5 * (high - low))


def within(what: str, source: str, bands: list[tuple[float, float, float]]) -> Check:
    """Make a check of bands (low, high, value)."""
    return Check(what, source, "half a band", tuple(band(*each) for each in bands),
                 (1.0,) * len(bands))
