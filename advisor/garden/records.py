"""What a grower tells the tool, one frozen record a thing, in the grower's own words.

Nothing here is computed. Words are checked against the tuples below; numbers against
`advisor.units.LIMITS`. How words become numbers is told in `advisor.jobs.describe`.
A field that is None was not told, and its default says that it is one where it is used.
Instants are aware datetimes in UTC; sizes are millimetres, crowns centimetres.
"""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

FORMS = ("pot", "small pot", "box", "basket", "slab", "root over rock", "forest")
OUTLINES = ("rectangle", "oval", "round")
WALLS = ("closed", "unglazed", "timber", "mesh")
CONDITIONS = ("grains", "gritty", "broken down")
ROOT_WORK = ("none", "slipped over", "edges combed", "half bare", "all bare")
ENTERS = ("sinks", "stands", "runs off")
DRESSINGS = ("none", "moss", "sphagnum", "grit")
DENSITIES = ("see-through", "medium", "dense")
BEARS = ("likes to dry", "ordinary", "never dry", "may stand in water")
WINDS = ("open", "half", "sheltered")
GROUNDS = ("lawn", "earth", "slats", "gravel", "paving", "wall", "damp sand")
SEASONS = ("spring", "summer", "autumn", "winter")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EVENTS = ("foliage off", "bud-break", "full leaf", "leaf-fall", "tipped", "fed", "frozen night",
          "gone")
FOLIAGE_OFF = ("quarter", "half", "most", "all")
PROBES = ("skewer", "finger")
FEELS = ("wet", "moist", "dry")
LIFTS = ("light", "usual", "heavy")
RAN = ("ran", "did not run")
LEAVES = ("hanging", "dropping")
#: kind of a reading -> the words it may say; none where only a number is read
READINGS: dict[str, tuple[str, ...]] = {
    "dry depth": PROBES, "feel": FEELS, "weight": (), "lift": LIFTS, "run-off": RAN,
    "enters": ENTERS, "leaves": LEAVES, "rain under": (),
}


@dataclass(frozen=True)
class Site:
    """Where the garden is: degrees, metres above the sea, the name of its time zone.

    Examples
    --------
    >>> import advisor
    >>> advisor.Site(52.1, 5.18, 3.0, "Europe/Amsterdam").zone
    zoneinfo.ZoneInfo(key='Europe/Amsterdam')
    """

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str

    @property
    def zone(self) -> ZoneInfo:
        """Whose clock shows on the wall."""
        return ZoneInfo(self.time_zone)


@dataclass(frozen=True)
class Place:
    """A bench or corner of the garden; `position` is its turn in the walk."""

    name: str
    position: int = 0
    wind: str = "open"
    ground: str = "slats"
    grouped: bool = False
    rain_factor: float = 1.0
    shade: float = 0.0
    sun_june: tuple[float, float] | None = None  # local clock hours, (from, to)
    sun_september: tuple[float, float] | None = None
    horizon: tuple[tuple[float, float], ...] = ()  # (azimuth, elevation) in degrees


@dataclass(frozen=True)
class Mix:
    """A substrate: parts by volume share, or what the grower measured of it."""

    name: str
    parts: tuple[tuple[str, float], ...]
    measured_capacity: float | None = None  # share of volume held after draining
    measured_depth_mm: float | None = None  # in a container this deep
    measured_density_kgl: float | None = None  # dry
    measured_k_c_cmh: float | None = None  # how readily water creeps from grain to grain
    measured_sd: float | None = None  # spread of ln(held) from one filling to the next
    measured_sd_ln_k_c: float | None = None  # spread of ln(measured_k_c_cmh)
    measured_vapour_depth_mm: float | None = None  # dry depth that halves what evaporates


@dataclass(frozen=True)
class Tree:
    """A tree; its place and its pot are told by its moves and pottings."""

    label: str
    group: str
    name: str = ""
    crown_width_cm: float | None = None
    crown_depth_cm: float | None = None
    density: str = "medium"
    bears: str | None = None  # None: as its group does
    limit: float | None = None  # share of available water left
    chance: float | None = None  # chance at which it is called
    must_not_lose: bool = False


@dataclass(frozen=True)
class Potting:
    """From an instant on, a tree stands in this pot and this mix."""

    tree: str
    at: datetime
    mix: str
    form: str = "pot"
    outline: str = "rectangle"
    outside_mm: tuple[float, float, float] | None = None  # length, width, height
    inside_mm: tuple[float, float] | None = None  # length, width at the soil's surface
    soil_depth_mm: float | None = None  # where a skewer finds the base
    litres: float | None = None  # soil volume where the shape is not told
    base_share: float = 1.0  # length at the base as a share of the length on top
    mound_mm: float = 0.0
    wall: str = "closed"
    drainage_mm: float = 0.0
    drainage_grain_mm: float = 8.0
    rock_share: float = 0.0
    ball_mix: str | None = None  # the old soil in the middle, where it is another
    ball_share: float = 0.0  # its share of the pot's area
    condition: str = "grains"
    dressing: str = "none"
    enters: str = "sinks"
    root_work: str = "none"
    collected: bool = False
    watered_in: bool = True
    target_mm: float | None = None
    recovery_days: int | None = None


@dataclass(frozen=True)
class Move:
    """From an instant on, a tree stands in this place."""

    tree: str
    at: datetime
    place: str


@dataclass(frozen=True)
class Watering:
    """A tree was watered: so many litres, or until it ran below."""

    tree: str
    at: datetime
    litres: float | None = None
    until_ran: bool = True


@dataclass(frozen=True)
class Event:
    """Something that changes how much a tree drinks or how its pot stands.

    `amount` is one of FOLIAGE_OFF for "foliage off", degrees for "tipped" ("0" sets it
    level again), and empty otherwise.
    """

    tree: str
    at: datetime
    kind: str
    amount: str = ""


@dataclass(frozen=True)
class Reading:
    """What the grower saw of a tree's water.

    By kind:

    dry depth    `value` is how far it is dry from the top down [mm], `word` one of PROBES
    feel         `word` is one of FEELS, at `depth_mm`
    weight       `value` is that of tree, pot and water [kg]
    lift         `word` is one of LIFTS: one end was lifted
    run-off      `value` is the water poured on [L], `word` one of RAN
    enters       `word` is one of ENTERS: how water went in
    leaves       `word` is one of LEAVES
    rain under   `value` is what a gauge under the crown caught [mm] since `since`

    `sd` is how far off the value may be, as told [mm, kg, L]; `note` what else was said.
    """

    tree: str
    at: datetime
    kind: str
    value: float | None = None
    word: str = ""
    depth_mm: float | None = None
    sd: float | None = None
    since: datetime | None = None
    note: str = ""


@dataclass(frozen=True)
class Walk:
    """The round was walked and every pot seen, whatever was watered then."""

    at: datetime


@dataclass(frozen=True)
class Rounds:
    """When the grower walks the round in a season: local clock times and weekdays."""

    season: str
    times: tuple[str, ...]  # "07:00"
    weekdays: tuple[str, ...] = WEEKDAYS


Record = (Site | Place | Mix | Tree | Potting | Move | Watering | Event | Reading | Walk
          | Rounds)

DEFAULT_ROUNDS = (
    Rounds("spring", ("07:00",)),
    Rounds("summer", ("07:00", "19:00")),
    Rounds("autumn", ("07:00",)),
    Rounds("winter", ("10:00",), ("sat",)),
)
