"""Readings of a tree's water: what they may say, how far off they are, and full weights.

How they change what is known of a tree is told in `advisor.jobs`.
"""

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final, NamedTuple

from advisor.errors import Refused
from advisor.garden.faults import Fault, Faults, number, text, word
from advisor.garden.instants import instant_words
from advisor.garden.records import READINGS, Potting, Reading, Watering


class Spread(NamedTuple):
    """How far off a reading may be: the larger of a fixed part and a share of the value."""

    fixed: float
    share: float

    def of(self, value: float) -> float:
        """Give the standard deviation at a value [its unit]."""
        return max(self.fixed, self.share * abs(value))


#: kind, or word of a dry depth -> standard deviation [mm, kg, L], where none is told
SPREADS: Final[Mapping[str, Spread]] = {
    "skewer": Spread(4.0, 0.0),  # mm [J; 3-6]
    "finger": Spread(6.0, 0.0),  # mm [J; 5-10]
    "weight": Spread(0.005, 0.003),  # kitchen scale: 5 g or .3 % [J; 2-20 g]
    "run-off": Spread(0.05, 0.15),  # L, poured by the can [J; 10-25 %]
    "rain under": Spread(0.5, 0.10),  # mm, one gauge under a crown [J; 5-30 %]
}
#: kind -> limit of its number, as `advisor.units` names it
NUMBERS: Final[Mapping[str, str]] = {
    "dry depth": "dry_depth_mm", "weight": "weight_kg", "run-off": "poured_l",
    "rain under": "rain_day_mm",
}
MOST_KG_PER_L: Final = 4.0  # soaked soil 1.2-2.2, walls and trunk beside [J; 3-5]
MOST_KG_BESIDE: Final = 6.0  # of a small pot [J; 4-10]
#: Forms whose weight their size does not bound: rock stands above the rim.
UNBOUNDED: Final = ("slab", "root over rock")
LONGEST_GAUGE: Final = timedelta(days=45)  # [J; 7-60], as of a gauge in the open

DRAINED_WITHIN: Final = timedelta(hours=3)  # of a full watering a weight is full [J; 2-4]
RENEWED_AFTER: Final = timedelta(days=31)  # trees grow [common practice: monthly]

HEAVIER: Final = "heavier without water"
#: Begins the note of a weight that cannot be told by water, and by nothing else known.
UNEXPLAINED: Final = f"unexplained: {HEAVIER}"


def spread_of(reading: Reading) -> float | None:
    """Give how far off a reading's value may be, as told or by its kind.

    Parameters
    ----------
    reading : Reading
        Any.

    Returns
    -------
    float or None
        Standard deviation [mm, kg, L]; None where the reading is a word.
    """
    if reading.value is None or reading.sd is not None:
        return reading.sd
    key = (reading.word or "skewer") if reading.kind == "dry depth" else reading.kind
    return SPREADS[key].of(reading.value)


# --- what a reading may say ------------------------------------------------------------


def faults_of_reading(reading: Reading, potting: Potting | None, zone: tzinfo) -> Faults:
    """Give what is wrong with what a reading says, its tree and its instant apart.

    Parameters
    ----------
    reading : Reading
        As it is told.
    potting : Potting or None
        What the tree stands in by then, where that is known.
    zone : tzinfo
        Whose clock refusals show.
    """
    if reading.kind not in READINGS:
        yield from word("kind", reading.kind, tuple(READINGS))
        return
    yield from _parts(reading)
    if reading.kind == "dry depth" and reading.value is not None:
        yield from _depth("value", reading.value, potting, reading)
    if reading.depth_mm is not None:
        yield from _depth("depth_mm", reading.depth_mm, potting, reading)
    if reading.kind == "weight" and reading.value is not None:
        yield from _weight(reading.value, potting, reading)
    if reading.sd is not None and not (0.0 < reading.sd < math.inf):
        yield Fault("sd", Refused("give or take", f"{reading.sd:g}", "more than 0",
                                  "Leave it out where it is not known."))
    yield from _since(reading, zone)
    yield from text("note", "note", reading.note, needed=False)


def _parts(reading: Reading) -> Faults:
    """Hold each part to what its kind has: a number, a word, a depth, the gauge's start."""
    kind, words = reading.kind, READINGS[reading.kind]
    needed = {"value": ("number", kind in NUMBERS), "word": ("word", bool(words)),
              "depth_mm": ("depth", kind == "feel"), "since": ("start", kind == "rain under")}
    for name, (part, wanted) in needed.items():
        told = getattr(reading, name) not in (None, "")
        if told != wanted:
            limit = f"no {part} beside it" if told else f"its {part}"
            yield Fault(name, Refused(f"{kind} of {reading.tree}",
                                      f"{part} told" if told else f"no {part}", limit,
                                      "Give what belongs to it, and nothing else."))
    if words and reading.word:
        yield from word("word", reading.word, words)
    if kind in NUMBERS:
        yield from number("value", reading.value, NUMBERS[kind], f"reading of {reading.tree}")
    if reading.sd is not None and kind not in NUMBERS:
        yield Fault("sd", Refused("give or take", f"{reading.sd:g}", "a reading in numbers",
                                  "Leave it out."))


def _depth(name: str, depth_mm: float, potting: Potting | None, reading: Reading) -> Faults:
    most = deepest_mm(potting)
    if not 0.0 <= depth_mm <= most:
        yield Fault(name, Refused(f"{reading.kind} of {reading.tree}", f"{depth_mm:g} mm",
                                  f"0 to {most:g} mm, the depth of its pot",
                                  "Check the number and its unit."))


def deepest_mm(potting: Potting | None) -> float:
    """Give how deep a skewer can go at most [mm]: as told, else by the pot's height."""
    if potting is None:
        return math.inf
    if potting.soil_depth_mm is not None:
        return potting.soil_depth_mm
    return potting.outside_mm[2] + potting.mound_mm if potting.outside_mm else math.inf


def _weight(weight_kg: float, potting: Potting | None, reading: Reading) -> Faults:
    most = heaviest_kg(potting)
    if weight_kg > most:
        yield Fault("value", Refused(f"weight of {reading.tree}", f"{weight_kg:g} kg",
                                     f"at most {most:.0f} kg for a pot of its size",
                                     "Check the number and its unit."))


def heaviest_kg(potting: Potting | None) -> float:
    """Give what a pot with its tree can weigh at most [kg], generously; inf where unbounded."""
    if potting is None or potting.form in UNBOUNDED:
        return math.inf
    if potting.outside_mm:
        length, width, height = potting.outside_mm
        litres = length * width * (height + potting.mound_mm) / 1e6
    elif potting.inside_mm and potting.soil_depth_mm is not None:
        litres = potting.inside_mm[0] * potting.inside_mm[1] * potting.soil_depth_mm / 1e6
    elif potting.litres is not None:
        litres = potting.litres
    else:
        return math.inf
    return MOST_KG_BESIDE + MOST_KG_PER_L * litres


def _since(reading: Reading, zone: tzinfo) -> Faults:
    since = reading.since
    if since is None:
        return
    if since.tzinfo is None:
        yield Fault("since", Refused("instant", since.isoformat(), "an instant with its time zone",
                                     "Add the offset, as in 2026-07-01T07:00+02:00."))
    elif not timedelta(0) < reading.at - since <= LONGEST_GAUGE:
        yield Fault("since", Refused(
            f"rain under {reading.tree}, since", instant_words(since, zone),
            f"before {instant_words(reading.at, zone)}, by at most {LONGEST_GAUGE.days} days",
            "Say when the gauge was emptied."))


# --- weights ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Weighed:
    """A weight beside the full weight that holds for it."""

    reading: Reading
    full_kg: float
    full_at: datetime

    @property
    def lacking_l(self) -> float:
        """Water lacking below full [L]; a litre weighs a kilogram."""
        return self.full_kg - (self.reading.value or 0.0)

    @property
    def renew(self) -> bool:
        """Whether the full weight is so old that the tree has grown since."""
        return self.reading.at - self.full_at > RENEWED_AFTER


def reference_weights(
    readings: Sequence[Reading], waterings: Sequence[Watering], potting_at: datetime
) -> list[tuple[datetime, float]]:
    """Give the full weights of a potting: the first after each watering until it ran.

    Parameters
    ----------
    readings, waterings : sequence
        All of one tree, by instant. Who knows that it was watered in at its potting hands
        that in as a watering.
    potting_at : datetime
        Since when it stands in this pot; what was before does not count.

    Returns
    -------
    list of (datetime, float)
        When, and the weight then [kg], by instant. The newest holds until there is another.
    """
    weights = _weights(readings, potting_at)
    found: dict[datetime, float] = {}
    for watering in waterings:
        after = bisect_right(weights, watering.at, key=_at)
        if (watering.until_ran and watering.at >= potting_at and after < len(weights)
                and weights[after].at - watering.at <= DRAINED_WITHIN):
            found[weights[after].at] = weights[after].value or 0.0
    return list(found.items())


def lacking(
    readings: Sequence[Reading], waterings: Sequence[Watering], potting_at: datetime
) -> list[Weighed]:
    """Give each weight of a potting beside the newest full weight up to then.

    Parameters
    ----------
    readings, waterings, potting_at
        As `reference_weights` takes them.

    Returns
    -------
    list of Weighed
        By instant; weights before the first full one are left out.
    """
    full = reference_weights(readings, waterings, potting_at)
    weighed = []
    for reading in _weights(readings, potting_at):
        count = bisect_right(full, reading.at, key=lambda each: each[0])
        if count:
            at, full_kg = full[count - 1]
            weighed.append(Weighed(reading, full_kg, at))
    return weighed


def _weights(readings: Sequence[Reading], potting_at: datetime) -> list[Reading]:
    return [each for each in readings if each.kind == "weight" and each.at >= potting_at]


def _at(reading: Reading) -> datetime:
    return reading.at


def heavier_than(
    weight: Reading, readings: Sequence[Reading], potting_at: datetime
) -> Reading | None:
    """Give the last weight before one that is lighter by more than both spreads.

    Parameters
    ----------
    weight : Reading
        Of kind "weight".
    readings : sequence of Reading
        All of its tree, by instant.
    potting_at : datetime
        Since when it stands in this pot.

    Returns
    -------
    Reading or None
        None where the last weight of this potting is not lighter, or there is none.
    """
    before = [each for each in _weights(readings, potting_at) if each.at < weight.at]
    if not before:
        return None
    gained = (weight.value or 0.0) - (before[-1].value or 0.0)
    both = (spread_of(weight) or 0.0) + (spread_of(before[-1]) or 0.0)
    return before[-1] if gained > both else None
