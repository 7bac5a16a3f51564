"""What the grower told of empty pots, weighed mixes, roofs and rain butts, through entries.

Each is a row that is never changed: what is told again under the same name replaces what was
told before, and what is done with (`gone`) no longer counts.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Any, Final, TypeVar

from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.faults import Fault, Faults, instant, number, text, word
from advisor.garden.file import GardenFile, whole
from advisor.garden.naming import fold
from advisor.garden.rows import Codec, codec_of

_LIVE = "entry NOT IN (SELECT entry FROM undone)"
WEIGHED: Final = ("dry", "drained", "drying")
_GRAMS: Final = (0.0, 200_000.0)


@dataclass(frozen=True)
class EmptyPot:
    """A pot of the grower's own with nothing in it."""

    name: str
    outside_mm: tuple[float, float, float]
    form: str = "pot"
    outline: str = "rectangle"
    wall: str = "closed"
    soil_depth_mm: float | None = None
    base_share: float = 1.0
    gone: bool = False


@dataclass(frozen=True)
class Container:
    """A straight-sided container with holes in which a mix is weighed; each begins a series."""

    mix: str
    at: datetime
    litres: float
    depth_mm: float
    empty_g: float
    outdoors: bool = False


@dataclass(frozen=True)
class MixWeight:
    """A mix on the scale, container and all; `kind` is one of WEIGHED."""

    mix: str
    at: datetime
    kind: str
    grams: float


@dataclass(frozen=True)
class RainRoof:
    """A roof whose rain goes into the butts."""

    name: str
    area_m2: float
    covering: str
    first_flush_mm: float = 0.0
    gone: bool = False


@dataclass(frozen=True)
class RainButt:
    """A rain butt: what it holds, and how high the water then stands."""

    name: str
    litres: float
    height_mm: float | None = None
    gone: bool = False


@dataclass(frozen=True)
class ButtLevel:
    """How much water was in all the butts together, and the spread of that."""

    at: datetime
    litres: float
    sd_l: float


Stock = EmptyPot | Container | MixWeight | RainRoof | RainButt | ButtLevel
Kind = TypeVar("Kind", EmptyPot, Container, MixWeight, RainRoof, RainButt, ButtLevel)
Named = TypeVar("Named", EmptyPot, RainRoof, RainButt)
CODECS: Final[dict[Any, Codec]] = {kind: codec_of(kind) for kind in (
    EmptyPot, Container, MixWeight, RainRoof, RainButt, ButtLevel)}


class StockStore(GardenFile):
    """The part of a garden file that holds pots, weights of mixes, roofs and butts."""

    def add_stock(self, entry: int, record: Stock, made_at: datetime,
                  zone: tzinfo = UTC) -> None:
        """Keep one of them.

        Parameters
        ----------
        entry : int
            The entry it belongs to (`Draft.id`).
        record : EmptyPot, Container, MixWeight, RainRoof, RainButt or ButtLevel
            What is told.
        made_at : datetime
            Now.
        zone : tzinfo
            Whose clock a refusal shows.

        Raises
        ------
        Refused
            It cannot be.
        """
        for fault in _faults(record, made_at, zone):
            raise fault.refusal
        codec = CODECS[type(record)]
        with self.writing():
            self._connection.execute(codec.insert, (entry, *codec.encode(record)))

    def empty_pots(self) -> dict[str, EmptyPot]:
        """Give the empty pots there are, by name."""
        return _named(self._stock(EmptyPot))

    def roofs(self) -> dict[str, RainRoof]:
        """Give the roofs, by name."""
        return _named(self._stock(RainRoof))

    def butts(self) -> dict[str, RainButt]:
        """Give the rain butts, by name."""
        return _named(self._stock(RainButt))

    def butt_level(self, at: datetime) -> ButtLevel | None:
        """Give the newest level read up to an instant."""
        told = [level for level in self._stock(ButtLevel) if level.at <= at]
        return max(told, key=lambda level: level.at, default=None)

    def weighed(self, mix: str, at: datetime) -> tuple[Container, list[MixWeight]] | None:
        """Give the series of a mix begun last, as it stands at an instant; None where none is."""
        begun = [each for each in self._stock(Container)
                 if fold(each.mix) == fold(mix) and each.at <= at]
        if not begun:
            return None
        container = max(begun, key=lambda each: each.at)
        weights = [each for each in self._stock(MixWeight) if fold(each.mix) == fold(mix)
                   and container.at <= each.at <= at]
        return container, sorted(weights, key=lambda each: each.at)

    def series_begun(self) -> list[Container]:
        """Give every container in which a mix was weighed, in the order told."""
        return self._stock(Container)

    def _stock(self, kind: type[Kind]) -> list[Kind]:
        codec = CODECS[kind]
        with whole(self.path):
            rows = self._rows(f"{codec.select} WHERE {_LIVE} ORDER BY id")
        return [record for _, record in codec.decode(rows, {})]


def _named(told: list[Named]) -> dict[str, Named]:
    """Give what was told last under each name, but what is gone."""
    last = {fold(each.name): each for each in told}
    return {each.name: each for each in last.values() if not each.gone}


def _faults(record: Stock, made_at: datetime, zone: tzinfo) -> Faults:
    if isinstance(record, EmptyPot):
        yield from text("name", "name of a pot", record.name)
        for limit, size in zip(("length_mm", "width_mm", "height_mm"), record.outside_mm,
                               strict=True):
            yield from number("outside_mm", size, limit)
        for name, words in (("form", records.FORMS), ("outline", records.OUTLINES),
                            ("wall", records.WALLS)):
            yield from word(name, getattr(record, name), words)
        yield from number("soil_depth_mm", record.soil_depth_mm, "soil_depth_mm")
        yield from number("base_share", record.base_share, "base_share")
    elif isinstance(record, Container):
        yield from number("litres", record.litres, "litres", "container")
        yield from number("depth_mm", record.depth_mm, "soil_depth_mm", "container")
        yield from _grams("empty_g", "empty container", record.empty_g)
    elif isinstance(record, MixWeight):
        yield from word("kind", record.kind, WEIGHED)
        yield from _grams("grams", f"weight, {record.kind}", record.grams)
    elif isinstance(record, (RainRoof, RainButt)):
        yield from text("name", "name", record.name)
    if isinstance(record, (Container, MixWeight, ButtLevel)):
        yield from instant("at", record.at, made_at, zone)


def _grams(name: str, what: str, grams: float) -> Faults:
    low, high = _GRAMS
    if not low <= grams <= high:
        yield Fault(name, Refused(what, f"{grams:g} g", f"{low:g} to {high:g} g",
                                  "Give grams as the scale shows them."))
