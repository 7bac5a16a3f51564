"""Invented trees in real weather: what happens to each, hour by hour, but for its waterings.

Weather: sample_weather (a station's typical year). July: established trees of several species,
pots and mixes. September: conifers repotted on the first, half under a roof, half in the rain.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache

import numpy as np
from numpy.typing import NDArray
from places import ROOT
from scenes import sky

from advisor.balance import layout, members
from advisor.balance.pots import Pot
from advisor.balance.run import Forcing
from advisor.garden import example
from advisor.garden.knowledge import assemble
from advisor.garden.records import Mix, Move, Place, Potting, Tree
from advisor.jobs.air import work_out
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.forcing import happening
from advisor.jobs.rounds import rounds_between
from advisor.jobs.sky import Hours
from advisor.weather import files

Floats = NDArray[np.float64]

ZONE = example.SITE.zone
MIXES = (*example.MIXES, Mix("akadama", (("akadama 2-5", 1.0),)),
         Mix("peaty", (("sphagnum peat", 0.4), ("perlite", 0.3), ("composted bark", 0.3))))
PLACES = (Place("bench", 1, ground="gravel"), Place("shade", 2, wind="half", ground="earth",
                                                   grouped=True, shade=0.4),
          Place("roof", 3, wind="half", ground="slats", rain_factor=0.1))

#: group, mix, outside size [mm], crown width [cm], place
JULY = (("pine", "thirds", (350, 250, 60), 40, "bench"),
        ("pine", "airy", (420, 300, 90), 55, "bench"),
        ("juniper", "akadama", (300, 220, 70), 38, "bench"),
        ("maple", "leafy", (400, 300, 65), 50, "shade"),
        ("spruce", "peaty", (340, 260, 80), 42, "bench"),
        ("pine", "thirds", (600, 450, 120), 80, "bench"),
        ("hornbeam", "leafy", (360, 270, 75), 50, "shade"),
        ("maple", "akadama", (120, 90, 50), 14, "shade"))
#: group, mix, outside size [mm], crown width [cm], place, what was done to the roots
SEPTEMBER = (("pine", "thirds", (360, 280, 120), 50, "roof", "half bare"),
             ("pine", "airy", (400, 300, 110), 52, "roof", "edges combed"),
             ("juniper", "akadama", (350, 250, 90), 42, "roof", "all bare"),
             ("spruce", "thirds", (340, 260, 100), 45, "bench", "edges combed"),
             ("pine", "leafy", (380, 280, 100), 48, "roof", "half bare"),
             ("juniper", "airy", (420, 300, 90), 50, "bench", "all bare"))


@dataclass(frozen=True, eq=False)
class Scene:
    """One kind of tree through one season: its pot and its hours, thirst and noise left out."""

    model: TreeModel
    hours: Floats
    day: NDArray[np.int64]
    dates: NDArray[np.int64]
    rounds: tuple[int, ...]
    target_mm: float | None

    @property
    def pot(self) -> Pot:
        """The pot as the kernel takes it."""
        return self.model.filled.pot

    @property
    def limit(self) -> float:
        """Share of available water left at which it wants water."""
        return self.model.bears.limit

    def piece(self, first: int, last: int, noise: Floats, fill: bool = False) -> Forcing:
        """Give the hours between two rounds, watered at the first or not."""
        hours = self.hours[first:last].copy()
        hours[0, layout.FILL] = fill
        return Forcing(hours, noise, np.zeros_like(noise), day=self.day[first:last])


@cache
def _weather() -> Hours:
    """The sample year's air and each place's ET0, June to October."""
    position = files.Position(example.SITE.latitude_deg, example.SITE.longitude_deg)
    series = files.read(ROOT / "sample_weather" / "greensboro_2026.csv",
                        site_zone=example.SITE.time_zone, year=None, position=position)
    air = work_out(example.SITE, PLACES, series.hours.loc["2026-06-01":"2026-10-31"])
    return Hours(int(air.hour[0]), air.site["temp_c"], air.site["rain_mm"],
                 {name: found["et0_mm"] for name, found in air.places.items()})


def _local(month: int, day: int, hour: int) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=ZONE).astimezone(UTC)


@cache
def scenes(season: str) -> tuple[Scene, ...]:
    """Give July's trees or September's."""
    july = season == "July"
    start, end = (_local(7, 1, 7), _local(8, 1, 7)) if july else (_local(9, 1, 7),
                                                                  _local(10, 13, 7))
    potted = _local(3, 20, 7) if july else start
    kinds = [(*kind, "none") for kind in JULY] if july else SEPTEMBER
    found = []
    for number, (group, mix, size, crown, place, roots) in enumerate(kinds):
        label = f"{season} {number}"
        potting = Potting(label, potted, mix, outside_mm=size, root_work=roots)
        tree = Tree(label, group, crown_width_cm=crown)
        found.append([tree, Move(label, potted, place), potting])
    records = [example.SITE, *PLACES, *MIXES, *(record for kind in found for record in kind)]
    rows = defaultdict(list)
    for number, record in enumerate(records):
        rows[type(record)].append((number, record))
    told = Told(assemble(rows, end, None), _almanac(end), end)
    return tuple(_scene(told, kind[0].label, start, end) for kind in found)


def _almanac(end: datetime) -> Almanac:
    return Almanac(sky(_weather(), end + timedelta(days=1), example.SITE),
                   example.SITE.latitude_deg)


def _scene(told: Told, label: str, start: datetime, end: datetime) -> Scene:
    model = describe(told.knowledge, label, end)
    span = told.sky.index(start), told.sky.index(end)
    carried = np.array([0.0, 0.0, 18.0])
    made = happening(model, told, told.almanac.days(model), span, carried).forcing
    hours = made.hours.copy()
    hours[:, layout.MAYBE] = 0.0
    rounds = rounds_between(told.knowledge.rounds, told.knowledge.site,
                            start - timedelta(seconds=1), end)
    dates = told.sky.dates[told.sky.day[span[0]]:told.sky.day[span[1]] + 1].astype(np.int64)
    recovery = model.recovery
    return Scene(model, hours, made.rows, dates,
                 tuple(told.sky.index(at) - span[0] for at in rounds),
                 recovery.target_mm if recovery and recovery.dry else None)


def noise(scene: Scene, seed: int, count: int) -> Floats:
    """Give each day's factor on demand, (days, members)."""
    return members.days(seed, scene.dates, count)[0]
