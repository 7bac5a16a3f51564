"""What a record may say: every rule a generator of faults, nothing written and nothing read.

`faults` gives all that is wrong with a record; `resolved` gives the record with the names of
places, mixes and trees as they are written now, or raises the first fault.
"""

import math
import re
import zoneinfo
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, tzinfo
from itertools import chain
from typing import Any, Self

from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.faults import Fault, Faults, caught, instant, number, text, whole, word
from advisor.garden.instants import instant_words
from advisor.garden.knowledge import Knowledge
from advisor.garden.naming import closest, fold, look_up
from advisor.garden.readings import faults_of_reading
from advisor.garden.records import (
    Event,
    Mix,
    Move,
    Place,
    Potting,
    Reading,
    Record,
    Rounds,
    Site,
    Tree,
    Walk,
    Watering,
)

__all__ = ["Fault", "Faults", "Names", "faults", "resolved"]

SHARES_TOLERANCE = 0.005
_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
_ADD = {"place": "Add it first: `advisor add place`.", "mix": "Add it first: `advisor add mix`.",
        "tree": "Add it first: `advisor add tree`."}


@dataclass
class Names:
    """The names known so far (folded to typed), each tree's pots, and since when it is gone."""

    places: dict[str, str] = field(default_factory=dict)
    mixes: dict[str, str] = field(default_factory=dict)
    trees: dict[str, str] = field(default_factory=dict)
    pottings: dict[str, list[Potting]] = field(default_factory=dict)
    gone: dict[str, datetime] = field(default_factory=dict)
    zone: tzinfo = UTC  # whose clock refusals show

    @classmethod
    def of(cls, knowledge: Knowledge) -> Self:
        """Take the names out of what is known."""
        names = cls(zone=knowledge.site.zone)
        dated: list[Sequence[Record]] = [*knowledge.pottings.values(),
                                         *knowledge.events.values()]
        known: list[Record] = [*knowledge.places.values(), *knowledge.mixes.values(),
                               *knowledge.trees.values(), *chain.from_iterable(dated)]
        for record in known:
            names.learn(record)
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
            self.pottings.setdefault(fold(record.tree), []).append(record)
        elif isinstance(record, Event) and record.kind == "gone":
            key = fold(record.tree)
            self.gone[key] = min(record.at, self.gone.get(key, record.at))

    def potted(self, tree: str) -> datetime | None:
        """Give since when a tree stands in a pot; None where no potting is told."""
        return min((potting.at for potting in self.pottings.get(fold(tree), ())), default=None)

    def potting_of(self, tree: str, at: datetime) -> Potting | None:
        """Give the pot a tree stands in at an instant: of two told for one, the later told."""
        told = [potting for potting in self.pottings.get(fold(tree), ()) if potting.at <= at]
        return max(reversed(told), key=lambda potting: potting.at, default=None)


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
    elif isinstance(record, Walk):
        yield from instant("at", record.at, made_at, names.zone)
    else:
        yield from _known("tree", "tree", record.tree, names.trees)
        yield from instant("at", record.at, made_at, names.zone)
        if isinstance(record, Move):
            yield from _known("place", "place", record.place, names.places)
        elif isinstance(record, Potting):
            yield from _potting(record, names)
        elif isinstance(record, Watering):
            yield from _watering(record, names)
        elif isinstance(record, Reading):
            yield from _reading(record, names)
        else:
            yield from _event(record)


def _known(name: str, kind: str, value: str, known: dict[str, str]) -> Faults:
    yield from caught(name, lambda: look_up(kind, value, known, _ADD[kind]))


# --- one kind of record each -----------------------------------------------------------


def _site(site: Site) -> Faults:
    for name in ("latitude_deg", "longitude_deg", "elevation_m"):
        yield from number(name, getattr(site, name), name)
    try:
        zoneinfo.ZoneInfo(site.time_zone)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        meant = closest(site.time_zone, zoneinfo.available_timezones())
        do = f"Did you mean {meant!r}?" if meant else "Give it as continent/city."
        yield Fault("time_zone", Refused("time zone", repr(site.time_zone),
                                         "a name such as Europe/Berlin", do))


def _place(place: Place, names: Names) -> Faults:
    yield from text("name", "name of a place", place.name)
    yield from _apart("name", "place", place.name, "tree", names.trees)
    yield from whole("position", place.position, "position")
    yield from word("wind", place.wind, records.WINDS)
    yield from word("ground", place.ground, records.GROUNDS)
    yield from number("rain_factor", place.rain_factor, "rain_factor")
    yield from number("shade", place.shade, "shade")
    for name in ("sun_june", "sun_september"):
        yield from _sun(name, getattr(place, name))
    for azimuth, height in place.horizon:
        yield from number("horizon", azimuth, "azimuth_deg", "skyline")
        yield from number("horizon", height, "skyline_deg")


def _apart(name: str, kind: str, value: str, other: str, others: dict[str, str]) -> Faults:
    if fold(value) in others:
        yield Fault(name, Refused(f"name of a {kind}", repr(value), f"a name no {other} has",
                                  "Entries name both trees and places: choose another."))


def _sun(name: str, hours: tuple[float, float] | None) -> Faults:
    if hours is None:
        return
    for hour in hours:
        yield from number(name, hour, "clock_h")
    if hours[0] >= hours[1]:
        yield Fault(name, Refused(name.replace("_", " in "), f"from {hours[0]:g} to {hours[1]:g}",
                                  "from must be before to", "Give it as 9 to 15."))


def _mix(mix: Mix) -> Faults:
    yield from text("name", "name of a mix", mix.name)
    shares = [share for _, share in mix.parts]
    for material, share in mix.parts:
        yield from text("parts", "material", material)
        yield from number("parts", share, "share", material)
    if len({fold(material) for material, _ in mix.parts}) < len(mix.parts):
        yield Fault("parts", Refused(f"mix {mix.name}", "a material named twice",
                                     "each material once", "Add its shares together."))
    if not math.isclose(math.fsum(shares), 1.0, abs_tol=SHARES_TOLERANCE, rel_tol=0.0):
        yield Fault("parts", Refused(f"shares of mix {mix.name}", f"{math.fsum(shares):.3f} in all",
                                     f"1 within {SHARES_TOLERANCE}", "Give shares by volume."))
    yield from number("measured_capacity", mix.measured_capacity, "share", "measured")
    yield from number("measured_depth_mm", mix.measured_depth_mm, "soil_depth_mm", "measured")
    yield from number("measured_density_kgl", mix.measured_density_kgl, "density_kgl")
    if (mix.measured_capacity is None) != (mix.measured_depth_mm is None):
        yield Fault("measured_capacity", Refused(
            f"measured mix {mix.name}", "capacity or depth alone", "both or neither",
            "Give the share of water held, and the depth of the container it was held in."))


def _tree(tree: Tree, names: Names) -> Faults:
    yield from text("label", "label of a tree", tree.label)
    if "," in tree.label:
        yield Fault("label", Refused("label of a tree", repr(tree.label), "no comma in it",
                                     "Commas part one label from the next: leave it out."))
    yield from _apart("label", "tree", tree.label, "place", names.places)
    yield from text("group", "group of a tree", tree.group)
    yield from text("name", "name of a tree", tree.name, needed=False)
    yield from number("crown_width_cm", tree.crown_width_cm, "crown_cm", "width")
    yield from number("crown_depth_cm", tree.crown_depth_cm, "crown_cm", "depth")
    yield from word("density", tree.density, records.DENSITIES)
    if tree.bears is not None:
        yield from word("bears", tree.bears, records.BEARS)
    yield from number("limit", tree.limit, "share", "limit")
    yield from number("chance", tree.chance, "share", "chance")


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
            yield from number(name, size, limit, name.removesuffix("_mm"))
    for name, words in _POTTING_WORDS.items():
        yield from word(name, getattr(potting, name), words)
    for name, limit in _POTTING_NUMBERS.items():
        where = name.replace("_", " ") if limit == "share" else ""
        yield from number(name, getattr(potting, name), limit, where)
    yield from whole("recovery_days", potting.recovery_days, "recovery_days")
    yield from _size(potting)
    if (potting.ball_mix is None) != (potting.ball_share == 0):
        yield Fault("ball_share", Refused(
            "old soil in the middle", "its mix or its share alone", "both or neither",
            "Give what it is and its share of the pot's area."))


def _watering(watering: Watering, names: Names) -> Faults:
    yield from number("litres", watering.litres, "poured_l")
    if watering.litres is None and not watering.until_ran:
        yield Fault("litres", Refused(f"watering of {watering.tree}", "nothing",
                                      "litres, or until it ran", "Say how much was given."))
    yield from _in_a_pot("watering", watering, names)


def _reading(reading: Reading, names: Names) -> Faults:
    gone = names.gone.get(fold(reading.tree))
    if gone is not None and gone <= reading.at:
        yield Fault("tree", Refused(
            f"reading of {reading.tree}", instant_words(reading.at, names.zone),
            f"not after it was gone, {instant_words(gone, names.zone)}",
            "If that is wrong, `advisor undo --list` shows the entry to take back."))
    yield from _in_a_pot("reading", reading, names)
    potting = names.potting_of(reading.tree, reading.at)
    yield from faults_of_reading(reading, potting, names.zone)


def _in_a_pot(what: str, record: Watering | Reading, names: Names) -> Faults:
    potted = names.potted(record.tree)
    if fold(record.tree) in names.trees and (potted is None or record.at < potted):
        since = ("a tree in a pot, and no potting is known" if potted is None else
                 f"not before it stood in a pot, {instant_words(potted, names.zone)}")
        yield Fault("at", Refused(f"{what} of {record.tree}",
                                  instant_words(record.at, names.zone), since,
                                  "Say first what it stands in: `advisor repotted`."))


def _event(event: Event) -> Faults:
    yield from word("kind", event.kind, records.EVENTS)
    if event.kind == "foliage off":
        yield from word("amount", event.amount, records.FOLIAGE_OFF)
    elif event.kind == "tipped":
        try:
            degrees = float(event.amount)
        except ValueError:
            degrees = math.nan
        yield from number("amount", degrees, "tip_deg")
    elif event.amount:
        yield Fault("amount", Refused(event.kind, repr(event.amount), "nothing to add",
                                      "Leave the amount out."))


def _rounds(rounds: Rounds) -> Faults:
    yield from word("season", fold(rounds.season), records.SEASONS)
    for time in rounds.times:
        if not _CLOCK.fullmatch(time):
            yield Fault("times", Refused("time of a round", repr(time), "00:00 to 23:59",
                                         "Give it as 07:00."))
    yield from _in_order("times", rounds.times, sorted(rounds.times))
    for day in rounds.weekdays:
        yield from word("weekdays", day, records.WEEKDAYS)
    yield from _in_order("weekdays", rounds.weekdays,
                         [day for day in records.WEEKDAYS if day in rounds.weekdays])


def _in_order(name: str, told: Sequence[str], ordered: Iterable[str]) -> Faults:
    if not told or len(set(told)) < len(told) or list(told) != list(ordered):
        yield Fault(name, Refused(f"{name} of a round", ", ".join(told) or "none",
                                  "at least one, each once, in order", "Give them in order."))
