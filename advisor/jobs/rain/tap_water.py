"""Hard tap water, and days on which feeding does good."""

from collections.abc import Mapping
from datetime import date
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused

#: unit on a supplier's sheet -> mmol/L of calcium and magnesium in one of it [S: by definition;
#: 100.09 g/mol CaCO3, a German degree 10 mg/L CaO of 56.08 g/mol]
HARDNESS: Final[Mapping[str, float]] = {
    "mmol/L": 1.0, "°dH": 10.0 / 56.08, "°fH": 10.0 / 100.09, "°e": 14.254 / 100.09,
    "mg/L CaCO3": 1.0 / 100.09, "ppm": 1.0 / 100.09, "gpg": 17.118 / 100.09,
}
#: Up to how much water is called soft and middling [mmol/L] [S: German detergents law, WRMG 2007
#: §9, the classes on suppliers' sheets].
SOFT_MMOL, HARD_MMOL = 1.5, 2.5
MOST_MMOL: Final = 15.0  # no supplier's water is harder [J]

REPOTTED_DAYS: Final = 42  # none for 4-6 weeks after repotting [common practice]
DAMP_SHARE: Final = 0.5  # of its water left, from which grains are damp enough [J; .4-.6]
DRY_AHEAD_DAYS: Final = 2  # that wash nothing out [J; 2-4]
WASHES_MM: Final = 5.0  # rain in those days from which feed is washed out [J; 4-10]


class Hardness(NamedTuple):
    """How hard tap water is [mmol/L], in a word, and what follows."""

    mmol: float
    word: str
    note: str


NEVER_SOFTENED: Final = ("Never water from a household softener: it holds salt in place of lime.")


def hardness(value: float, unit: str) -> Hardness:
    """Read the hardness on a supplier's sheet.

    Parameters
    ----------
    value : float
    unit : str
        One of HARDNESS.

    Raises
    ------
    Refused
        An unknown unit, or harder than any supplier's water.
    """
    if unit not in HARDNESS:
        raise Refused("unit of hardness", repr(unit), ", ".join(HARDNESS), "Give one of these.")
    mmol = value * HARDNESS[unit]
    if not 0.0 <= mmol <= MOST_MMOL:
        most = MOST_MMOL / HARDNESS[unit]
        raise Refused("hardness of the tap water", f"{value:g} {unit}", f"0 to {most:.0f} {unit}",
                      "Check the number and its unit on the supplier's sheet.")
    if mmol < SOFT_MMOL:
        return Hardness(mmol, "soft", "Soft tap water may stand in for rain.")
    if mmol <= HARD_MMOL:
        return Hardness(mmol, "middling", "Keep rain water for azaleas and other trees that bear "
                        "no lime; let tap water run through well.")
    return Hardness(mmol, "hard", "Keep rain water for azaleas and other trees that bear no lime; "
                    "where tap water must do, give plenty, so that it runs through and takes "
                    "lime along.")


def feeding_days(days: NDArray[np.datetime64], left: NDArray[np.floating], rain_mm: NDArray[
        np.floating], growing: NDArray[np.bool_], repotted: date | None) -> list[date]:
    """Give the days on which feeding does good: damp grains, dry days ahead, no fresh roots.

    Parameters
    ----------
    days : (n,) array of datetime64[D]
        Coming days.
    left : (n,) array
        Share of its water left that morning [-].
    rain_mm : (n,) array
        Rain of each day [mm].
    growing : (n,) array of bool
        Whether it grows and is in leaf.
    repotted : date or None
        When its roots were last worked on.
    """
    coming = np.array([np.sum(rain_mm[i:i + DRY_AHEAD_DAYS]) for i in range(days.size)])
    told = np.arange(days.size) + DRY_AHEAD_DAYS <= days.size
    good = growing & (left >= DAMP_SHARE) & (coming < WASHES_MM) & told
    if repotted is not None:
        good &= (days - np.datetime64(repotted)).astype(np.int64) >= REPOTTED_DAYS
    return [each.astype(object) for each in days[good]]
