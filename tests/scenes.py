"""Gardens and weather made by hand, and a grower's days walked through them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from advisor.garden.derived import Belief
from advisor.garden.knowledge import DATED, Knowledge, assemble
from advisor.garden.records import (
    Mix,
    Move,
    Place,
    Potting,
    Record,
    Site,
    Tree,
)
from advisor.garden.rows import CODECS
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.morning import Worked, morning
from advisor.jobs.named import OPEN_PLACE
from advisor.jobs.sky import Hours, Sky, sky_of

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
BERLIN = Site(52.1, 13.2, 40.0, "Europe/Berlin")
HOBART = Site(-42.9, 147.3, 50.0, "Australia/Hobart")
FIRST = datetime(2026, 6, 1, tzinfo=UTC)

BENCH = Place("bench", 1, ground="gravel")
SHADE = Place("shade", 2, wind="half", ground="earth", grouped=True, rain_factor=0.2)
THIRDS = Mix("thirds", (("akadama", 0.4), ("pumice", 0.3), ("lava", 0.3)))
LOAMY = Mix("loamy", (("loam", 0.7), ("grit", 0.3)))
PLACES = ("bench", "shade", OPEN_PLACE.name)
LAID_OUT: tuple[Record, ...] = (BENCH, SHADE, THIRDS, LOAMY)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def pot(tree: str, at: datetime, **told: Any) -> Potting:
    if not {"litres", "inside_mm", "outside_mm"} & told.keys():
        told["outside_mm"] = (350.0, 250.0, 80.0)
    return Potting(**({"tree": tree, "at": at, "mix": "thirds"} | told))


def tree(label: str, group: str, at: datetime, place: str = "bench", crown: float | None = None,
         **told: Any) -> list[Record]:
    """A tree, its place and its potting."""
    return [Tree(label, group, crown_width_cm=crown), Move(label, at, place),
            pot(label, at, **told)]


def known(records: list[Record | None], site: Site = BERLIN,
          at: datetime | None = None) -> Knowledge:
    """What these records tell up to an instant; one that is None was taken back."""
    rows: dict[type[Record], list[tuple[int, Any]]] = {kind: [] for kind in CODECS}
    for number, record in enumerate([site, *LAID_OUT, *records], 1):
        if record is not None and not (
                isinstance(record, DATED) and at is not None and record.at > at):
            rows[type(record)].append((number, record))
    for kind in DATED:
        rows[kind].sort(key=lambda row: (row[1].at, row[0]))
    return assemble(rows, at, None)


def hours(days: int = 40, first: datetime = FIRST, *, mean_c: float = 18.0,
          et0_mm: float = 4.5, rain: bool = True, seed: int = 1) -> Hours:
    """Hourly weather with sun by day, warm and cool spells, and showers."""
    source = np.random.Generator(np.random.Philox(key=seed))
    clock = np.arange(24 * days) % 24
    spell = np.repeat(source.normal(0.0, 3.0, days), 24)
    sun = np.maximum(np.sin(np.pi * (clock - 5.0) / 14.0), 0.0) * (clock < 19)
    shape = sun / sun[:24].sum() * np.repeat(source.uniform(0.5, 1.4, days), 24)
    showers = np.where(source.random(24 * days) < 0.04, source.exponential(2.0, 24 * days), 0.0)
    return Hours(int(first.timestamp()), mean_c + spell + 5.0 * np.sin(np.pi * (clock - 9) / 12),
                 showers * rain,
                 {name: et0_mm * shape * (1.0 - 0.4 * i) for i, name in enumerate(PLACES)})


def until(weather: Hours, at: datetime) -> Hours:
    """The same weather as it was known at an instant."""
    end = int((at.timestamp() - weather.first) // 3600)
    return changed(weather, slice(max(end, 0), None), np.nan)


def changed(weather: Hours, where: slice, value: float, column: str = "temp_c") -> Hours:
    """The same weather with other values in some hours; nothing known where `value` is NaN."""
    names = ("temp_c", "rain_mm") if np.isnan(value) else (column,)
    made = {name: getattr(weather, name).copy() for name in names}
    for values in made.values():
        values[where] = value
    return replace(weather, **made)


def sky(weather: Hours, at: datetime, site: Site = BERLIN) -> Sky:
    return sky_of(weather, site.time_zone, at, at + 12 * DAY)


def told(knowledge: Knowledge, weather: Hours, at: datetime) -> Told:
    seen = sky(weather, at, knowledge.site)
    return Told(knowledge, Almanac(seen, knowledge.site.latitude_deg), at)


def model(records: list[Record | None], label: str = "1", at: datetime | None = None,
          site: Site = BERLIN) -> TreeModel:
    made = describe(known(records, site), label, at or FIRST + 30 * DAY)
    assert made is not None
    return made


@dataclass
class Diary:
    """A garden walked morning after morning, with what is kept between."""

    records: list[Record | None]
    weather: Hours
    site: Site = BERLIN
    kept: dict[tuple[str, datetime], Belief] = field(default_factory=dict)
    used: int = 0

    def beliefs(self, label: str, before: datetime) -> Iterator[Belief]:
        of_tree = [at for name, at in self.kept if name == label and at <= before]
        for at in sorted(of_tree, reverse=True):
            self.used += 1
            yield self.kept[label, at]

    def walk(self, at: datetime, weather: Hours | None = None) -> Worked:
        """The round at an instant, with what was known by then, going on from what is kept."""
        made = self._round(at, weather, self.beliefs)
        self.kept |= {(belief.tree, belief.midnight): belief for belief in made.beliefs}
        return made

    def fresh(self, at: datetime, weather: Hours | None = None) -> Worked:
        """The same round with nothing kept."""
        return self._round(at, weather, lambda label, before: ())

    def _round(self, at: datetime, weather: Hours | None, beliefs: Any) -> Worked:
        knowledge = known(self.records, self.site, at)
        seen = sky(weather or until(self.weather, at), at, self.site)
        return morning(knowledge, seen, at, {}, beliefs)


def outlooks(worked: Worked) -> Mapping[str, Any]:
    return {verdict.label: verdict.outlook for verdict in worked.round.trees}


def assert_same_digits(one: Worked, other: Worked) -> None:
    """Every number of every tree, bit for bit."""
    these, those = outlooks(one), outlooks(other)
    assert these.keys() == those.keys()
    for label in these:
        assert these[label].first == those[label].first
        assert these[label].rows.tobytes() == those[label].rows.tobytes(), label
    assert [(v.verdict, v.call) for v in one.round.trees] == [
        (v.verdict, v.call) for v in other.round.trees]
