"""Readings narrow what is believed of a tree: a square-root ensemble filter, member by member.

The vector of a member is [ln thirst, ln capacity, ln K_c, dryness threshold, θ of every layer
of every column]. Readings are taken in one after the other, without random numbers (Whitaker &
Hamill 2002, Mon. Wea. Rev. 130:1913): the same readings give the same digits.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from advisor.balance import layout, seen
from advisor.balance.members import THRESHOLD_LIMITS
from advisor.balance.pots import Pot
from advisor.errors import Refused

Floats = NDArray[np.float64]
Kind = Literal["dry depth", "wetness", "feel", "lacking", "share left"]
Side = Literal["at", "below", "above"]

PARAMETERS: Final = 4
INFLATION: Final = 1.02  # of the parameters' spread after each reading [J]
DOUBTFUL_SD: Final = 4.0  # a reading further off is not used until a second agrees [J]
AGREE_SD: Final = 2.0  # how near to each other two doubtful readings lie that agree [J]
#: Thirst, capacity and K_c [cm/h] of any tree and pot: beyond, a reading is wrong [J].
LIMITS: Final = ((0.05, 20.0), (0.3, 3.0), (1e-9, 10.0))
LOWEST, HIGHEST = np.transpose([*np.log(LIMITS), THRESHOLD_LIMITS])[..., None]
MOST_WIDENED: Final = 5.0  # of a spread that two agreeing readings proved too narrow [J]
LEAST_OVER_SD: Final = 0.05  # of a dry depth compared as wetness [J; .03-.06]
QUANTILES: Final = (0.05, 0.50, 0.95)


@dataclass(frozen=True)
class Reading:
    """What was read of a pot at an instant, in numbers.

    Attributes
    ----------
    kind : str
        "dry depth" [mm], "wetness" at a depth (0 wilting, 1 at 20 hPa), "feel" at a depth
        (wetness over what reads dry), "lacking" below full [L], "share left" [-].
    value, sd : float
        In the kind's unit.
    depth_mm : float or None
        Where wetness or feel was read.
    id : int
        Of the entry.
    side : str
        "at" the value, or all that is known is that the truth lies "below" or "above" it.
    """

    kind: Kind
    value: float
    sd: float
    depth_mm: float | None = None
    id: int = 0
    side: Side = "at"

    def __post_init__(self) -> None:
        """Refuse what no reading is."""
        if not (math.isfinite(self.value) and math.isfinite(self.sd) and self.sd > 0.0):
            raise Refused(f"{self.kind} read", f"{self.value:g} ± {self.sd:g}",
                          "a number with a spread above 0", "Give what was read.")
        if self.kind in ("wetness", "feel") and self.depth_mm is None:
            raise Refused(f"{self.kind} read", "no depth", "the depth at which it was felt",
                          "Give the depth.")


@dataclass(frozen=True)
class Told:
    """What a reading told: what was foreseen of it, and whether it counts.

    Attributes
    ----------
    reading : Reading
    low, mid, high : float
        Foreseen, 5, 50 and 95 %, in the reading's unit.
    used : bool
    misfit : float
        Read less foreseen, in the reading's unit.
    sd_off : float
        How far off it was, in standard deviations of reading and spread together.
    """

    reading: Reading
    low: float
    mid: float
    high: float
    used: bool
    misfit: float
    sd_off: float


@dataclass(frozen=True, eq=False)
class Absorbed:
    """Members and state after the readings, and what each of these told."""

    members: Floats
    state: Floats
    told: tuple[Told, ...]


# --- words -----------------------------------------------------------------------------------

#: How earth feels, as wetness over what reads dry, spread, side [J; ± .10].
FEELS: Final[dict[str, tuple[float, float, Side]]] = {
    "dry": (0.0, 0.08, "below"),
    "moist": (0.20, 0.15, "at"),
    "wet": (0.35, 0.12, "above"),
}
#: How an end of the pot lifts, as share of available water left, spread, side [J; ± .15].
LIFTS: Final[dict[str, tuple[float, float, Side]]] = {
    "light": (0.40, 0.12, "below"),
    "usual": (0.60, 0.17, "at"),
    "heavy": (0.80, 0.10, "above"),
}
RAN_SD: Final = 0.15  # of the litres poured [J; some run past, some is still on its way]


def felt(word: str, depth_mm: float, id: int = 0) -> Reading:
    """Give how earth felt at a depth [mm]: "dry", "moist" or "wet"."""
    value, sd, side = _word(FEELS, "feel", word)
    return Reading("feel", value, sd, depth_mm, id, side)


def lifted(word: str, id: int = 0) -> Reading:
    """Give how an end of the pot lifted: "light", "usual" or "heavy"."""
    value, sd, side = _word(LIFTS, "lift", word)
    return Reading("share left", value, sd, None, id, side)


def poured(litres: float, ran: bool, id: int = 0) -> Reading:
    """Give what it tells that a pot ran, or did not, after so many litres [L]."""
    return Reading("lacking", litres, RAN_SD * litres, None, id, "below" if ran else "above")


def _word(table: dict[str, tuple[float, float, Side]], what: str,
          word: str) -> tuple[float, float, Side]:
    if word not in table:
        raise Refused(what, word, "known: " + ", ".join(table), "Use one of these words.")
    return table[word]


# --- the filter ------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Compared:
    """A reading beside what each member foresees of it."""

    foreseen: Floats
    value: float
    sd: float
    side: Side

    @property
    def misfit(self) -> float:
        """Read less foreseen; nothing where the right side was foreseen."""
        off = self.value - float(self.foreseen.mean())
        if self.side == "at":
            return off
        return min(off, 0.0) if self.side == "below" else max(off, 0.0)

    @property
    def sd_off(self) -> float:
        """The misfit in standard deviations of reading and members together."""
        return self.misfit / math.hypot(self.foreseen.std(ddof=1), self.sd)


def absorb(pot: Pot, members: Floats, state: Floats, readings: Sequence[Reading],
           doubted: Sequence[Told] = ()) -> Absorbed:
    """Take in the readings of one instant, in the order of kind, value and number.

    A reading more than DOUBTFUL_SD off is told and not used, unless an earlier doubtful one of
    the same kind was off as far, to the same side: then the spread was too narrow; it is
    widened and both count.

    Parameters
    ----------
    pot : Pot
    members : (4, m) array
        As `balance.members.draw` gives them.
    state : (columns, layers, m) array
        Water content at the instant [m³/m³].
    readings : sequence of Reading
    doubted : sequence of Told
        Earlier readings of the same potting that were not used.

    Returns
    -------
    Absorbed
        In new arrays.

    Raises
    ------
    Refused
        A depth outside the pot.
    """
    told: list[Told] = []
    for reading in sorted(readings, key=lambda r: (r.kind, r.value, r.id)):
        parts = _parts(pot, state, reading)
        off = max((_compare(pot, members, state, part).sd_off for part in parts),
                  key=abs, default=0.0)
        said = _told(reading, off, _foreseen(pot, members, state, reading))
        if not said.used:
            agreeing = [before for before in (*doubted, *told) if _agree(said, before)]
            if not agreeing:
                told.append(said)
                continue
            members, state = _widened(pot, members, state, said.sd_off)
            reading = replace(reading, sd=reading.sd / math.sqrt(1 + len(agreeing)))
            parts = _parts(pot, state, reading)
        told.append(replace(said, used=True))
        for part in parts:
            members, state = _narrowed(pot, members, state, _compare(pot, members, state, part))
        members = _inflated(members)
    return Absorbed(members, state, tuple(told))


def _parts(pot: Pot, state: Floats, reading: Reading) -> list[Reading]:
    """Give a reading as it is compared: a dry depth as wetness a little above and below it.

    There the earth is drier, and here wetter, than what reads dry. Depths themselves tell
    little where many members are dry nowhere or to the base, and less of how dry all is.
    """
    if reading.kind != "dry depth":
        return [reading]
    above, below = (min(max(reading.value + off, 0.0), pot.depth_mm)
                    for off in (-reading.sd, reading.sd))
    drop = seen.wetness(pot, state, below) - seen.wetness(pot, state, above)
    sd = max(float(np.abs(drop).mean()) / 2.0, LEAST_OVER_SD)
    parts = []
    if above > 0.0:
        parts.append(Reading("feel", 0.0, sd, above, reading.id, "below"))
    if below < pot.depth_mm:
        parts.append(Reading("feel", 0.0, sd, below, reading.id, "above"))
    return parts


def _compare(pot: Pot, members: Floats, state: Floats, reading: Reading) -> _Compared:
    """Put a reading beside what the members foresee."""
    foreseen = _foreseen(pot, members, state, reading)
    return _Compared(foreseen, reading.value, reading.sd, reading.side)


def _foreseen(pot: Pot, members: Floats, state: Floats, reading: Reading) -> Floats:
    """Give what each member foresees of a reading, in the reading's unit."""
    if reading.kind == "lacking":
        return seen.lacking_l(pot, members, state)
    if reading.kind == "share left":
        return seen.look(pot, members, state).left
    if reading.kind == "dry depth":
        return seen.look(pot, members, state).dry_mm
    wetness = seen.wetness(pot, state, reading.depth_mm or 0.0)
    return wetness - members[3] if reading.kind == "feel" else wetness


def _told(reading: Reading, sd_off: float, foreseen: Floats) -> Told:
    low, mid, high = _quantiles(foreseen)
    misfit = reading.value - float(foreseen.mean())
    return Told(reading, low, mid, high, abs(sd_off) <= DOUBTFUL_SD, misfit, sd_off)


def _quantiles(values: Floats) -> list[float]:
    """Give the 5, 50 and 95 % quantiles, linear between the members."""
    ordered = np.sort(values)
    places = [q * (ordered.size - 1) for q in QUANTILES]
    return [float(np.interp(place, np.arange(ordered.size), ordered)) for place in places]


def _agree(said: Told, before: Told) -> bool:
    """Whether an earlier doubtful reading was off as this one is."""
    this, that = said.reading, before.reading
    if before.used or (this.kind, this.side) != (that.kind, that.side):
        return False
    apart = abs(said.misfit - before.misfit)
    return said.sd_off * before.sd_off > 0.0 and apart <= AGREE_SD * math.hypot(this.sd, that.sd)


def _narrowed(pot: Pot, members: Floats, state: Floats,
              compared: _Compared) -> tuple[Floats, Floats]:
    """Draw all members towards a reading, by how each number goes along with what was read.

    Whitaker & Hamill 2002: the mean by the Kalman gain, the members about it by the reduced
    gain of Eq. 13 [M].
    """
    z = _vector(members, state)
    h = compared.foreseen
    mean, off = float(h.mean()), h - h.mean()
    spread = float(off @ off) / (h.size - 1)
    value, noise = _as_value(mean, spread, compared)
    if spread <= layout.SMALL or not math.isfinite(noise):
        return members, state
    about = z.mean(axis=1, keepdims=True)
    gain = _gain(z - about, off) * (spread / (spread + noise))
    reduced = 1.0 / (1.0 + math.sqrt(noise / (spread + noise)))
    z = z + gain[:, None] * (value - mean - reduced * off)
    return _split(pot, z, state)


def _gain(about: Floats, off: Floats) -> Floats:
    """Give by how much each number goes along with what was read, row by row.

    The regression of the members about their mean, by the share of its r² that the adjusted r²
    leaves, 1 - (1 - r²)(m - 1)/(m - 2): what so few members show by chance is left out.
    """
    along, square = about @ off, float(off @ off)
    r2 = along**2 / np.maximum((about**2).sum(axis=1) * square, layout.SMALL**2)
    chance = (1.0 - r2) / ((off.size - 2) * np.maximum(r2, layout.SMALL))
    return np.asarray(along / square * np.maximum(1.0 - chance, 0.0))


def _inflated(members: Floats) -> Floats:
    """Widen the parameters' spread a little: the model is never the whole truth."""
    z = _parameters(members)
    about = z.mean(axis=1, keepdims=True)
    return _members(about + INFLATION * (z - about))


def _as_value(mean: float, spread: float, compared: _Compared) -> tuple[float, float]:
    """Give value and variance of a reading.

    Where only a side is known, those that bring a normal distribution to the mean and variance
    it has when cut off there softly (truncated by a normal distribution's own integral).
    """
    noise = compared.sd**2
    if compared.side == "at":
        return compared.value, noise
    sign = 1.0 if compared.side == "below" else -1.0
    both = math.sqrt(spread + noise)
    u = sign * (compared.value - mean) / both
    hazard = _hazard(u)
    shrunk = spread / both**2 * hazard * (hazard + u)  # of the variance
    if shrunk <= layout.SMALL:
        return mean, math.inf
    moved = mean - sign * spread / both * hazard
    noise = spread * (1.0 - shrunk) / shrunk
    return mean + (moved - mean) / shrunk, noise


def _hazard(u: float) -> float:
    """Give φ(u)/Φ(u) of the normal distribution; far below by its asymptotic series."""
    if u < -30.0:
        return -u - 1.0 / u + 2.0 / u**3
    density = math.exp(-0.5 * u * u) / math.sqrt(2.0 * math.pi)
    return density / (0.5 * math.erfc(-u / math.sqrt(2.0)))


def _widened(pot: Pot, members: Floats, state: Floats, sd_off: float) -> tuple[Floats, Floats]:
    """Widen the spread of all numbers so that what was read lies about AGREE_SD off."""
    z = _vector(members, state)
    about = z.mean(axis=1, keepdims=True)
    return _split(pot, about + min(abs(sd_off) / AGREE_SD, MOST_WIDENED) * (z - about), state)


def _parameters(members: Floats) -> Floats:
    """Give the parameters as the filter takes them: three by their logarithms."""
    return np.concatenate([np.log(members[:3]), members[3:]])


def _members(parameters: Floats) -> Floats:
    """Give parameters back, within their limits."""
    z = np.minimum(np.maximum(parameters, LOWEST), HIGHEST)
    return np.concatenate([np.exp(z[:3]), z[3:]])


def _vector(members: Floats, state: Floats) -> Floats:
    """Give the members as one matrix: a row a number, a column a member."""
    return np.concatenate([_parameters(members), state.reshape(-1, state.shape[2])])


def _split(pot: Pot, z: Floats, before: Floats) -> tuple[Floats, Floats]:
    """Give parameters and state back, within their limits.

    Nothing is drier than air-dry; nothing becomes wetter than at rest, but what was before.
    """
    air_dry = pot.soil[:, layout.AD][:, None, None]
    most = np.maximum(pot.rest[:, layout.REST, :, None], before)
    state = np.minimum(np.maximum(z[PARAMETERS:].reshape(before.shape), air_dry), most)
    return _members(z[:PARAMETERS]), np.ascontiguousarray(state)


def repotted(before: Floats, fresh: Floats) -> Floats:
    """Give the members of a tree in a new pot: its thirst stays with it, the rest is new.

    Parameters
    ----------
    before : (4, m) array
        As they were when it was repotted.
    fresh : (4, m) array
        As drawn for the new potting.
    """
    return np.ascontiguousarray(np.concatenate([before[:1], fresh[1:]]))
