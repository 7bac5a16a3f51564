"""A small garden for the tests, and records as hypothesis draws them."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import strategies as st

from advisor.garden import records
from advisor.garden.records import Mix, Move, Place, Potting, Record, Site, Tree, Watering
from advisor.garden.store import Garden

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)
DAY = timedelta(days=1)
POTTED = NOW - 90 * DAY
SITE = Site(52.1, 13.2, 40.0, "Europe/Berlin")
BENCH = Place("south bench", position=1)
WALL = Place("wall", position=0, wind="sheltered", sun_june=(9.0, 15.0), horizon=((90.0, 30.0),))
MIX = Mix("third each", (("akadama", 0.3333), ("pumice", 0.3333), ("lava", 0.3334)))


def pot(tree: str, at: datetime = POTTED, **told: object) -> Potting:
    return Potting(**({"tree": tree, "at": at, "mix": MIX.name,
                       "outside_mm": (350.0, 250.0, 60.0)} | told))


def start(path: Path, *more: Record) -> Garden:
    garden = Garden.create(path, SITE, POTTED)
    with garden.entry(POTTED, "described the garden") as entry:
        for record in (BENCH, WALL, MIX, *more):
            entry.add(record)
    return garden


def two_trees() -> list[Record]:
    return [Tree("10", "pine"), Move("10", POTTED, "south bench"), pot("10"),
            Tree("2", "maple"), Move("2", POTTED, "south bench"), pot("2")]


def water(garden: Garden, tree: str, at: datetime, litres: float = 0.5) -> int:
    with garden.entry(at, f"watered {tree}") as entry:
        entry.add(Watering(tree, at, litres))
        return entry.id


# --- hypothesis ------------------------------------------------------------------------

NAMES = (
    st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=12)
    | st.sampled_from(['a, b', 'say "x"', "Föhre; alt", "007", "-1", "3,5", "1e3", "Größe [cm]",
                       "'q'", "=A1", "yes", "ﬁr", "Ä"])
)


def maybe(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.none() | strategy


def sizes(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


SHARES = sizes(0, 1)
INSTANTS = st.datetimes(datetime(1950, 1, 1), datetime(2026, 6, 30),  # noqa: DTZ001
                        timezones=st.just(UTC)).map(lambda at: at.replace(microsecond=0, fold=0))


def trees(label: str) -> st.SearchStrategy[Tree]:
    return st.builds(
        Tree, st.just(label), NAMES, st.just("") | NAMES, maybe(sizes(1, 600)),
        maybe(sizes(1, 600)), st.sampled_from(records.DENSITIES),
        maybe(st.sampled_from(records.BEARS)), maybe(SHARES), maybe(SHARES), st.booleans())


@st.composite
def pottings(draw: st.DrawFn, label: str) -> Potting:
    outside = st.tuples(sizes(20, 3000), sizes(20, 3000), sizes(10, 1200))
    inside = st.tuples(sizes(20, 3000), sizes(20, 3000))
    size = draw(st.one_of(
        st.builds(lambda s: {"outside_mm": s}, outside),
        st.builds(lambda s, d: {"inside_mm": s, "soil_depth_mm": d}, inside, sizes(5, 1000)),
        st.builds(lambda v, d: {"litres": v, "soil_depth_mm": d}, sizes(0.005, 1000),
                  sizes(5, 1000))))
    ball = draw(st.just({}) | st.builds(lambda s: {"ball_mix": MIX.name, "ball_share": s},
                                        sizes(0.01, 1)))
    told = {
        "form": records.FORMS, "outline": records.OUTLINES, "wall": records.WALLS,
        "condition": records.CONDITIONS, "dressing": records.DRESSINGS, "enters": records.ENTERS,
        "root_work": records.ROOT_WORK, "collected": (True, False), "watered_in": (True, False),
    }
    words = {name: draw(st.sampled_from(each)) for name, each in told.items()}
    numbers = {"base_share": sizes(0.2, 1.5), "mound_mm": sizes(0, 400),
               "drainage_mm": sizes(0, 300), "drainage_grain_mm": sizes(0.5, 60),
               "rock_share": SHARES, "target_mm": maybe(sizes(3, 300)),
               "recovery_days": maybe(st.integers(1, 1500))}
    return Potting(label, draw(INSTANTS), MIX.name, **size, **ball, **words,
                   **{name: draw(each) for name, each in numbers.items()})


@st.composite
def gardens(draw: st.DrawFn) -> list[Record]:
    labels = draw(st.lists(NAMES.filter(lambda name: "," not in name), min_size=1, max_size=4,
                           unique_by=lambda name: " ".join(name.casefold().split())))
    told: list[Record] = []
    for label in labels:
        told.append(draw(trees(label)))
        if draw(st.booleans()):
            told.append(draw(pottings(label)))
        if draw(st.booleans()):
            told.append(Move(label, draw(INSTANTS), draw(st.sampled_from(["wall", "south bench"]))))
    return told
