"""An invented garden to try the tool with: five places, twenty trees, names of our own."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Final

from advisor.garden.records import Event, Mix, Move, Place, Potting, Record, Site, Tree

#: Where the sample weather was measured (sample_weather/README.md).
SITE: Final = Site(36.1, -79.95, 273.0, "America/New_York")
#: Now, in the example: a morning in late summer, a week after the last repotting.
AT: Final = datetime(2026, 9, 10, 11, 0, tzinfo=UTC)

PLACES: Final = (
    Place("south bench", 1, wind="open", ground="gravel"),
    Place("wall", 2, wind="half", ground="wall", horizon=((240.0, 0.0), (245.0, 55.0),
                                                        (355.0, 55.0), (360.0, 0.0))),
    Place("shade", 3, wind="half", ground="earth", grouped=True, shade=0.45),
    Place("overhang", 4, wind="sheltered", ground="slats", rain_factor=0.1,
          sun_june=(7.0, 14.0), sun_september=(8.0, 14.0)),
    Place("sand bed", 5, wind="half", ground="damp sand", grouped=True),
)

MIXES: Final = (
    Mix("thirds", (("akadama 2-5", 1 / 3), ("pumice 2-5", 1 / 3), ("lava 2-6", 1 / 3))),
    Mix("airy", (("akadama 2-5", 0.2), ("pumice 2-5", 0.5), ("lava 2-6", 0.3))),
    Mix("leafy", (("akadama 2-5", 0.6), ("pumice 2-5", 0.25), ("composted bark", 0.15))),
    Mix("hillside", (("loam", 0.7), ("grit", 0.3))),
)


def _day(year: int, month: int, day: int) -> datetime:
    return datetime(year, month, day, 14, 0, tzinfo=UTC)


def _tree(label: str, group: str, name: str, crown: tuple[float, float], place: str,
          potting: Potting, density: str = "medium") -> tuple[Tree, Move, Potting]:
    tree = Tree(label, group, name, *crown, density=density)
    return tree, Move(label, potting.at, place), potting


def _pot(label: str, year: int, mix: str, size: tuple[float, float, float],
         outline: str = "rectangle", **told: object) -> Potting:
    return Potting(label, _day(year, 3, 20), mix, outside_mm=size, outline=outline,
                   **told)  # type: ignore[arg-type]


REPOTTED: Final = AT - timedelta(days=7, hours=-3)

TREES: Final = (
    _tree("1", "pine", "Greybeard", (62, 55), "south bench",
          _pot("1", 2024, "airy", (420, 300, 90))),
    _tree("2", "pine", "Two Sisters", (45, 40), "south bench",
          _pot("2", 2025, "thirds", (350, 250, 60))),
    _tree("3", "juniper", "Corkscrew", (40, 35), "south bench",
          _pot("3", 2025, "thirds", (300, 220, 70), "oval"), "dense"),
    _tree("4", "larch", "Ferryman", (50, 42), "south bench",
          _pot("4", 2024, "thirds", (380, 280, 70), "oval")),
    _tree("5", "larch", "Little Grove", (70, 45), "south bench",
          _pot("5", 2025, "thirds", (520, 330, 45), "oval", form="forest"), "see-through"),
    _tree("6", "spruce", "Lantern", (45, 40), "south bench",
          _pot("6", 2024, "thirds", (340, 260, 80))),
    _tree("7", "juniper", "Old Harbour", (55, 45), "wall",
          _pot("7", 2023, "thirds", (400, 300, 85), condition="gritty")),
    _tree("8", "pine", "Watchman", (90, 75), "wall",
          _pot("8", 2024, "airy", (600, 450, 180), form="box", wall="timber"), "dense"),
    _tree("9", "hornbeam", "Market Day", (55, 50), "wall",
          _pot("9", 2025, "leafy", (360, 270, 75), "oval")),
    _tree("10", "olive", "Quayside", (40, 36), "wall",
          _pot("10", 2025, "thirds", (300, 300, 90), "round")),
    _tree("11", "maple", "Ember", (60, 50), "shade",
          _pot("11", 2025, "leafy", (400, 300, 65), "oval", dressing="moss")),
    _tree("12", "maple", "First Frost", (45, 40), "shade",
          _pot("12", 2026, "leafy", (320, 240, 60), "oval")),
    _tree("13", "hornbeam", "The Twins", (50, 45), "shade",
          _pot("13", 2024, "leafy", (380, 280, 70), condition="gritty")),
    _tree("14", "azalea", "Late Guest", (38, 36), "shade",
          Potting("14", _day(2025, 6, 10), "kanuma bed", outside_mm=(300, 220, 90))),
    _tree("15", "pine", "Ridgeline", (52, 44), "overhang",
          Potting("15", REPOTTED, "airy", outside_mm=(400, 300, 110), root_work="edges combed")),
    _tree("16", "pine", "Long Reach", (58, 40), "overhang",
          Potting("16", REPOTTED + timedelta(hours=2), "thirds", outside_mm=(360, 280, 120),
                  root_work="half bare")),
    _tree("17", "juniper", "Stray", (48, 40), "overhang",
          Potting("17", _day(2026, 4, 4), "airy", form="box", inside_mm=(380, 280),
                  soil_depth_mm=120, wall="timber", ball_mix="hillside", ball_share=0.5,
                  root_work="half bare", collected=True)),
    _tree("18", "maple", "Thimble", (16, 14), "sand bed",
          _pot("18", 2026, "leafy", (120, 90, 45), form="small pot")),
    _tree("19", "elm", "Pebble", (18, 16), "sand bed",
          _pot("19", 2025, "leafy", (110, 110, 55), "round", form="small pot")),
    _tree("20", "juniper", "Outcrop", (34, 28), "sand bed",
          Potting("20", _day(2024, 4, 2), "hillside", form="slab", inside_mm=(300, 200),
                  soil_depth_mm=15, mound_mm=70, dressing="moss")),
)


def records() -> Sequence[Record]:
    """Give everything the example's grower told, but the waterings."""
    kanuma = Mix("kanuma bed", (("kanuma", 0.8), ("pumice 2-5", 0.2)))
    told: list[Record] = [*PLACES, *MIXES, kanuma]
    for tree, move, potting in TREES:
        told += [tree, move, potting]
    told.append(Event("6", _day(2026, 8, 25), "foliage off", "quarter"))
    return told
