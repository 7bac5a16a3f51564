"""What a record may say: every rule a generator of faults, nothing written and nothing read.

`faults` gives all that is wrong with a record; `resolved` gives the record with the names of
places, mixes and trees as they are written now, or raises the first fault.
"""

import math
import re
import zoneinfo
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any, Self

from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.instants import instant_words
from advisor.garden.knowledge import Knowledge
from advisor.garden.naming import closest, fold, look_up
from advisor.garden.records import (
    Event,
    Mix,
    Move,
    Place,
    Potting,
    Record,
    Rounds,
    Site,
    Tree,
    Watering,
)
from advisor.units import check

FUTURE_ALLOWED = timedelta(minutes=1)
SHARES_TOLERANCE = 0.005
NAME_LENGTH = 80
_EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)
_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
_ADD = {"place": "Add it first: `advisor add place`.", "mix": "Add it first: `advisor add mix`.",
        "tree": "Add it first: `advisor add tree`."}


@dataclass(frozen=True)
class Fault:
    """One field of a record that cannot be used, and how that is said."""

    field: str
    refusal: Refused


Faults = Iterator[Fault]


@dataclass
class Names:
    """The names known so far (folded to typed), and since when each tree has a pot."""

    places: dict[str, str] = field(default_factory=dict)
    mixes: dict[str, str] = field(default_factory=dict)
    trees: dict[str, str] = field(default_factory=dict)
    potted: dict[str, datetime] = field(default_factory=dict)
    zone: tzinfo = UTC  # whose clock refusals show

    @classmethod
    def of(cls, knowledge: Knowledge) -> Self:
        """Take the names out of what is known."""
        names = cls(zone=knowledge.site.zone)
        known: list[Record] = [*knowledge.places.values(), *knowledge.mixes.values(),
                               *knowledge.trees.values()]
        for record in known:
            names.learn(record)
        for pottings in knowledge.pottings.values():
            for potting in pottings:
                names.learn(potting)
        return names

    def learn(self, record: Record) -> None:
        """Know a record from here on."""
        if isinstance(record, Place):
            self.places[fold(record.name)] = record.name
        elif isinstance(record, Mix):
            self.mixes[fold(record.name)] = record.name
        elif isinstance(record, Tree):
            self.trees[fold(record.label)] = record.label
        elif isinstance(record, Potting):
            key = fold(record.tree)
            self.potted[key] = min(record.at, self.potted.get(key, record.at))


def resolved(record: Record, names: Names, made_at: datetime) -> Record:
    """Give the record with its references as they are written now.

    Parameters
    ----------
    record : Record
        What the grower tells.
    names : Names
        What is known so far.
    made_at : datetime
        Now.

    Raises
    ------
    Refused
        The first fault of the record.
    """
    for fault in faults(record, names, made_at):
        raise fault.refusal
    now: dict[str, Any] = {}
    for name, known in (("tree", names.trees), ("place", names.places), ("mix", names.mixes),
                        ("ball_mix", names.mixes)):
        told = getattr(record, name, None)
        if told is not None and known[fold(told)] != told:
            now[name] = known[fold(told)]
    if isinstance(record, Rounds) and record.season != fold(record.season):
        now["season"] = fold(record.season)
    return replace(record, **now) if now else record


def faults(record: Record, names: Names, made_at: datetime) -> Faults:
    """Give every fault of a record, in the order of its fields; none where it can be kept."""
    if isinstance(record, Site):
        yield from _site(record)
    elif isinstance(record, Place):
        yield from _place(record, names)
    elif isinstance(record, Mix):
        yield from _mix(record)
    elif isinstance(record, Tree):
        yield from _tree(record, names)
    elif isinstance(record, Rounds):
        yield from _rounds(record)
    else:
        yield from _known("tree", "tree", record.tree, names.trees)
        yield from _at(record.at, made_at, names.zone)
        if isinstance(record, Move):
            yield from _known("place", "place", record.place, names.places)
        elif isinstance(record, Potting):
            yield from _potting(record, names)
        elif isinstance(record, Watering):
            yield from _watering(record, names)
        else:
            yield from _event(record)


# --- one kind of field each ------------------------------------------------------------


def _caught(name: str, act: Callable[[], object]) -> Faults:
    try:
        act()
    except Refused as refusal:
        yield Fault(name, refusal)


def _number(name: str, value: float | None, limit: str, where: str = "") -> Faults:
    if value is None:
        return
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        yield Fault(name, Refused(name, repr(value), "a number", "Give a number."))
        return
    yield from _caught(name, lambda: check(limit, value, where))


def _word(name: str, value: str, words: Sequence[str]) -> Faults:
    if value not in words:
        meant = closest(value, words)
        do = f"Did you mean {meant!r}?" if meant else "Give one of these words."
        yield Fault(name, Refused(name.replace("_", " "), repr(value), ", ".join(words), do))


def _text(name: str, what: str, value: str, *, needed: bool = True) -> Faults:
    if not value.strip() and (needed or value):
        yield Fault(name, Refused(what, repr(value), "at least one letter or digit",
                                  "Give a name."))
    elif value != value.strip() or len(value) > NAME_LENGTH or not value.isprintable():
        limit = f"one line, at most {NAME_LENGTH} letters, no blanks at its ends"
        yield Fault(name, Refused(what, repr(value), limit, "Shorten or clean it."))


def _known(name: str, kind: str, value: str, known: dict[str, str]) -> Faults:
    yield from _caught(name, lambda: look_up(kind, value, known, _ADD[kind]))


def _at(at: datetime, made_at: datetime, zone: tzinfo) -> Faults:
    if at.tzinfo is None:
        yield Fault("at", Refused("instant", at.isoformat(), "an instant with its time zone",
                                  "Add the offset, as in 2026-07-01T07:00+02:00."))
    elif at > made_at + FUTURE_ALLOWED:
        yield Fault("at", Refused("instant", instant_words(at, zone),
                                  f"not after {instant_words(made_at, zone)}",
                                  "Enter it once it has happened."))
    elif at < _EARLIEST:
        yield Fault("at", Refused("instant", instant_words(at, zone), "not before 1900",
                                  "Check the year."))


# --- one kind of record each -----------------------------------------------------------


def _site(site: Site) -> Faults:
    for name in ("latitude_deg", "longitude_deg", "elevation_m"):
        yield from _number(name, getattr(site, name), name)
    try:
        zoneinfo.ZoneInfo(site.time_zone)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        meant = closest(site.time_zone, zoneinfo.available_timezones())
        do = f"Did you mean {meant!r}?" if meant else "Give it as continent/city."
        yield Fault("time_zone", Refused("time zone", repr(site.time_zone),
                                         "a name such as Europe/Berlin", do))


def _place(place: Place, names: Names) -> Faults:
    yield from _text("name", "name of a place", place.name)
    yield from _apart("name", "place", place.name, "tree", names.trees)
    yield from _whole("position", place.position, "position")
    yield from _word("wind", place.wind, records.WINDS)
    yield from _word("ground", place.ground, records.GROUNDS)
    yield from _number("rain_factor", place.rain_factor, "rain_factor")
    yield from _number("shade", place.shade, "shade")
    for name in ("sun_june", "sun_september"):
        yield from _sun(name, getattr(place, name))
    for azimuth, height in place.horizon:
        yield from _number("horizon", azimuth, "azimuth_deg", "skyline")
        yield from _number("horizon", height, "skyline_deg")


def _apart(name: str, kind: str, value: str, other: str, others: dict[str, str]) -> Faults:
    if fold(value) in others:
        yield Fault(name, Refused(f"name of a {kind}", repr(value), f"a name no {other} has",
                                  "Entries name both trees and places: choose another."))


def _whole(name: str, value: int | None, limit: str) -> Faults:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        yield Fault(name, Refused(name.replace("_", " "), repr(value), "a whole number",
                                  "Give a whole number."))
    else:
        yield from _number(name, value, limit)


def _sun(name: str, hours: tuple[float, float] | None) -> Faults:
    if hours is None:
        return
    for hour in hours:
        yield from _number(name, hour, "clock_h")
    if hours[0] >= hours[1]:
        yield Fault(name, Refused(name.replace("_", " in "), f"from {hours[0]:g} to {hours[1]:g}",
                                  "from must be before to", "Give it as 9 to 15."))


def _mix(mix: Mix) -> Faults:
    yield from _text("name", "name of a mix", mix.name)
    shares = [share for _, share in mix.parts]
    for material, share in mix.parts:
        yield from _text("parts", "material", material)
        yield from _number("parts", share, "share", material)
    if len({fold(material) for material, _ in mix.parts}) < len(mix.parts):
        yield Fault("parts", Refused(f"mix {mix.name}", "a material named twice",
                                     "each material once", "Add its shares together."))
    if not math.isclose(math.fsum(shares), 1.0, abs_tol=SHARES_TOLERANCE, rel_tol=0.0):
        yield Fault("parts", Refused(f"shares of mix {mix.name}", f"{math.fsum(shares):.3f} in all",
                                     f"1 within {SHARES_TOLERANCE}", "Give shares by volume."))
    yield from _number("measured_capacity", mix.measured_capacity, "share", "measured")
    yield from _number("measured_depth_mm", mix.measured_depth_mm, "soil_depth_mm", "measured")
    yield from _number("measured_density_kgl", mix.measured_density_kgl, "density_kgl")
    if (mix.measured_capacity is None) != (mix.measured_depth_mm is None):
        yield Fault("measured_capacity", Refused(
            f"measured mix {mix.name}", "capacity or depth alone", "both or neither",
            "Give the share of water held, and the depth of the container it was held in."))


def _tree(tree: Tree, names: Names) -> Faults:
    yield from _text("label", "label of a tree", tree.label)
    if "," in tree.label:
        yield Fault("label", Refused("label of a tree", repr(tree.label), "no comma in it",
                                     "Commas part one label from the next: leave it out."))
    yield from _apart("label", "tree", tree.label, "place", names.places)
    yield from _text("group", "group of a tree", tree.group)
    yield from _text("name", "name of a tree", tree.name, needed=False)
    yield from _number("crown_width_cm", tree.crown_width_cm, "crown_cm", "width")
    yield from _number("crown_depth_cm", tree.crown_depth_cm, "crown_cm", "depth")
    yield from _word("density", tree.density, records.DENSITIES)
    if tree.bears is not None:
        yield from _word("bears", tree.bears, records.BEARS)
    yield from _number("limit", tree.limit, "share", "limit")
    yield from _number("chance", tree.chance, "share", "chance")


def _size(potting: Potting) -> Faults:
    ways = [name for name in ("outside_mm", "inside_mm", "litres")
            if getattr(potting, name) is not None]
    if len(ways) != 1:
        yield Fault(ways[1] if ways else "outside_mm", Refused(
            f"size of the pot of {potting.tree}", "told twice" if ways else "not told",
            "one way: outside, inside and soil depth, or litres and soil depth",
            "Give the outside length, width and height where you have them."))
    elif ways != ["outside_mm"] and potting.soil_depth_mm is None:
        yield Fault("soil_depth_mm", Refused(
            f"soil depth of the pot of {potting.tree}", "not told", "its depth beside its size",
            "Push a skewer to the base and give its depth."))
    if potting.outside_mm and potting.soil_depth_mm is not None:
        most = potting.outside_mm[2] + potting.mound_mm
        if potting.soil_depth_mm > most:
            yield Fault("soil_depth_mm", Refused(
                "soil depth", f"{potting.soil_depth_mm:g} mm", f"at most {most:g} mm in this pot",
                "Check it against the height of the pot."))


_POTTING_WORDS: dict[str, Sequence[str]] = {
    "form": records.FORMS, "outline": records.OUTLINES, "wall": records.WALLS,
    "condition": records.CONDITIONS, "dressing": records.DRESSINGS, "enters": records.ENTERS,
    "root_work": records.ROOT_WORK,
}
_POTTING_NUMBERS = {
    "soil_depth_mm": "soil_depth_mm", "litres": "litres", "base_share": "base_share",
    "mound_mm": "mound_mm", "drainage_mm": "drainage_mm", "drainage_grain_mm":
    "drainage_grain_mm", "rock_share": "share", "ball_share": "share", "target_mm": "target_mm",
}


def _potting(potting: Potting, names: Names) -> Faults:
    yield from _known("mix", "mix", potting.mix, names.mixes)
    if potting.ball_mix is not None:
        yield from _known("ball_mix", "mix", potting.ball_mix, names.mixes)
    for sizes in (potting.outside_mm or (), potting.inside_mm or ()):
        name = "outside_mm" if sizes is potting.outside_mm else "inside_mm"
        limits = ("length_mm", "width_mm", "height_mm")
        for limit, size in zip(limits, sizes, strict=False):
            yield from _number(name, size, limit, name.removesuffix("_mm"))
    for name, words in _POTTING_WORDS.items():
        yield from _word(name, getattr(potting, name), words)
    for name, limit in _POTTING_NUMBERS.items():
        where = name.replace("_", " ") if limit == "share" else ""
        yield from _number(name, getattr(potting, name), limit, where)
    yield from _whole("recovery_days", potting.recovery_days, "recovery_days")
    yield from _size(potting)
    if (potting.ball_mix is None) != (potting.ball_share == 0):
        yield Fault("ball_share", Refused(
            "old soil in the middle", "its mix or its share alone", "both or neither",
            "Give what it is and its share of the pot's area."))


def _watering(watering: Watering, names: Names) -> Faults:
    yield from _number("litres", watering.litres, "poured_l")
    if watering.litres is None and not watering.until_ran:
        yield Fault("litres", Refused(f"watering of {watering.tree}", "nothing",
                                      "litres, or until it ran", "Say how much was given."))
    key = fold(watering.tree)
    potted = names.potted.get(key)
    if key in names.trees and (potted is None or watering.at < potted):
        zone = names.zone
        since = (f"not before it stood in a pot, {instant_words(potted, zone)}" if potted else
                 "a tree in a pot, and no potting is known")
        yield Fault("at", Refused(f"watering of {watering.tree}",
                                  instant_words(watering.at, zone), since,
                                  "Say first what it stands in: `advisor repotted`."))


def _event(event: Event) -> Faults:
    yield from _word("kind", event.kind, records.EVENTS)
    if event.kind == "foliage off":
        yield from _word("amount", event.amount, records.FOLIAGE_OFF)
    elif event.kind == "tipped":
        try:
            degrees = float(event.amount)
        except ValueError:
            degrees = math.nan
        yield from _number("amount", degrees, "tip_deg")
    elif event.amount:
        yield Fault("amount", Refused(event.kind, repr(event.amount), "nothing to add",
                                      "Leave the amount out."))


def _rounds(rounds: Rounds) -> Faults:
    yield from _word("season", fold(rounds.season), records.SEASONS)
    for time in rounds.times:
        if not _CLOCK.fullmatch(time):
            yield Fault("times", Refused("time of a round", repr(time), "00:00 to 23:59",
                                         "Give it as 07:00."))
    yield from _in_order("times", rounds.times, sorted(rounds.times))
    for day in rounds.weekdays:
        yield from _word("weekdays", day, records.WEEKDAYS)
    yield from _in_order("weekdays", rounds.weekdays,
                         [day for day in records.WEEKDAYS if day in rounds.weekdays])


def _in_order(name: str, told: Sequence[str], ordered: Iterable[str]) -> Faults:
    if not told or len(set(told)) < len(told) or list(told) != list(ordered):
        yield Fault(name, Refused(f"{name} of a round", ", ".join(told) or "none",
                                  "at least one, each once, in order", "Give them in order."))
