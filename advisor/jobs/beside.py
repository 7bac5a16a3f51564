"""What water asks for besides watering: rain, frost, heat, and pots frozen through."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.jobs.judge import When
from advisor.jobs.outlook import FROZEN, POT_C, RAIN_IN, TENDER, Outlook, Singles
from advisor.jobs.recovery import Recovery

LOOK_AHEAD_H: Final = 72
SOAKS_MM: Final = 5.0  # rain into the pot that undoes days of drying [common practice]
SOAKS_DRY_SIDE_MM: Final = 15.0  # the same where the rain cannot be kept off [J]
SOAKS_ANY_MM: Final = 40.0  # into the pot of any tree that likes to dry [J]
FROST_C: Final = -1.0  # air of the coming night, in leaf or in recovery [J; 0 to -2]
A_DAY_H: Final = 24  # [C]
HEAVY_L: Final = 12.0  # soil of a pot that one person does not tip [J]
SAFE_C: Final = 2.0  # air at which it may go out again [J]
HOT_C: Final = 32.0  # air, for a tree with few roots or soft leaves [J]
WET_HOUR_MM: Final = 0.05  # into the pot


@dataclass(frozen=True)
class Beside:
    """One thing to do besides watering: `do` is a word of the JSON, `why` a key of the wording."""

    do: str
    start: datetime | None
    end: datetime | None
    why: str
    amount: float = 0.0


@dataclass(frozen=True)
class Kind:
    """What kind of tree asks.

    In recovery or not, liking to dry or not, the frost its roots bear [°C], too heavy to be
    tipped, drinking more than its pot can hold to the next round, and watered now anyway.
    """

    recovery: Recovery | None
    likes_to_dry: bool
    roots_bear_c: float = -15.0
    heavy: bool = False
    beyond: bool = False
    watered: bool = False


def beside(outlook: Outlook, when: When, kind: Kind) -> tuple[Beside, ...]:
    """Give what one tree asks for besides watering, from the coming three days."""
    now = max(when.now - outlook.first, 0)
    stop = min(now + LOOK_AHEAD_H, outlook.rows.shape[1])
    air = when.sky.temp_c[outlook.first + now:outlook.first + stop]
    rows = outlook.rows[:, now:stop]
    start = outlook.first + now
    recovery = kind.recovery
    dry_side = recovery is not None and recovery.dry
    found = [
        _frozen(rows[FROZEN], when, start),
        _cold(rows, air, when, start, kind),
        None if kind.watered else _rain(rows[RAIN_IN], when, start, dry_side),
        _tip(rows[RAIN_IN], when, start, dry_side, kind),
        _heat(air, when, start) if recovery is not None else None,
        _beyond(outlook, when) if kind.beyond else None,
    ]
    asked = [each for each in found if each is not None]
    back = [Beside("take_out", each.end, None, "frost over") for each in asked
            if each.do == "bring_in" and each.end is not None
            and each.end < when.at + timedelta(hours=30)]
    return tuple(asked + back)


def _span(hours: NDArray[np.intp], when: When, start: int) -> tuple[datetime, datetime]:
    """Give the instants of the first hour and of the end of the last."""
    return when.sky.instant(start + int(hours[0])), when.sky.instant(start + int(hours[-1]) + 1)


def _frozen(frozen: NDArray[np.float32], when: When, start: int) -> Beside | None:
    if not frozen.size or frozen[0] == 0.0:
        return None
    thaws = np.flatnonzero(frozen == 0.0)
    until = when.sky.instant(start + int(thaws[0])) if thaws.size else None
    return Beside("frozen_leave", when.at, until, "frozen")


def _cold(rows: Singles, air: NDArray[np.float64], when: When, start: int,
          kind: Kind) -> Beside | None:
    """Ask to bring in what the coming night's frost would hurt: few roots, soft leaves, roots.

    A spell lasts until no such hour follows within a day: nobody carries trees to and fro.
    """
    frost = air < FROST_C
    tender = frost & (rows[TENDER] > 0.0)
    few_roots = frost & (kind.recovery is not None)
    roots = rows[POT_C] < kind.roots_bear_c
    hours = np.flatnonzero(tender | few_roots | roots)
    if not hours.size or hours[0] >= A_DAY_H:
        return None
    gaps = np.flatnonzero(np.diff(hours) > A_DAY_H)
    last = int(hours[gaps[0]] if gaps.size else hours[-1])
    mild = np.flatnonzero(air[last:] > SAFE_C)
    end = when.sky.instant(start + last + int(mild[0])) if mild.size else None
    begin = when.sky.instant(start + int(hours[0])) if hours[0] > 1 else None
    spell = slice(int(hours[0]), last + 1)
    if roots[spell].any():
        return Beside("bring_in", begin, end, "frost in the roots", float(rows[POT_C, spell].min()))
    why = "frost in recovery" if kind.recovery is not None else "frost in leaf"
    return Beside("bring_in", begin, end, why, float(air[spell].min()))


def _rain(rain: NDArray[np.float32], when: When, start: int, dry_side: bool) -> Beside | None:
    """Ask to keep rain off a tree on the dry side when it would undo the drying."""
    if not dry_side or float(rain.sum()) < SOAKS_MM:
        return None
    begin, end = _span(np.flatnonzero(rain > WET_HOUR_MM), when, start)
    return Beside("keep_rain_off", begin, end, "rain in recovery", float(rain.sum()))


def _tip(rain: NDArray[np.float32], when: When, start: int, dry_side: bool,
         kind: Kind) -> Beside | None:
    """Ask to tip a pot whose foot would stand wet: days of rain into a tree that must dry."""
    soaks = SOAKS_DRY_SIDE_MM if dry_side else SOAKS_ANY_MM
    wants = dry_side or kind.likes_to_dry
    if kind.heavy or not wants or float(rain.sum()) < soaks:
        return None
    begin, end = _span(np.flatnonzero(rain > WET_HOUR_MM), when, start)
    return Beside("tip", begin, end, "days of rain", float(rain.sum()))


def _heat(air: NDArray[np.float64], when: When, start: int) -> Beside | None:
    hot = np.flatnonzero(air[:24] >= HOT_C)
    if not hot.size:
        return None
    begin, end = _span(hot, when, start)
    return Beside("shade", begin, end, "heat in recovery", float(air[:24].max()))


def _beyond(outlook: Outlook, when: When) -> Beside:
    """Ask to shade a tree that even a full pot does not bring to the next round."""
    why = "roots cannot keep up" if outlook.standing.to_target else "cannot last"
    return Beside("shade", when.at, when.rounds[0], why)
