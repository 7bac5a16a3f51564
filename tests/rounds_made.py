"""A round put together by hand, tree by tree, for the tests of its words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Place, Site
from advisor.jobs.beside import Beside
from advisor.jobs.judge import Call, Reached, Spread
from advisor.jobs.morning import Round, TreeVerdict
from advisor.jobs.outlook import BALL_MID, POT_C, RAIN_IN, ROWS, Outlook, Standing
from advisor.jobs.recovery import Recovery
from advisor.jobs.sky import Sky
from advisor.show.wording import Leaning

ZONE = ZoneInfo("Europe/Berlin")
SITE = Site(52.1, 13.2, 40.0, ZONE.key)
BENCH, WALL = Place("south bench", 1), Place("wall", 2)
#: Wednesday 1 July 2026, 07:00 on the wall.
AT = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)
FIRST = datetime(2026, 6, 20, 22, 0, tzinfo=UTC)  # a local midnight
HOURS = 24 * 24
FRESH = Leaning(AT + timedelta(days=5), ())


def local(text: str) -> datetime:
    """Give an instant from what the clock on the wall shows."""
    return datetime.fromisoformat(text).replace(tzinfo=ZONE).astimezone(UTC)


EVENING, TOMORROW = local("2026-07-01T19:00"), local("2026-07-02T07:00")


def sky(temp_c: float = 18.0) -> Sky:
    """Give even weather."""
    even = np.full(HOURS, temp_c)
    return Sky(
        first=int(FIRST.timestamp()), temp_c=even, rain_mm=np.zeros(HOURS), et0_mm={},
        guessed=np.zeros(HOURS, dtype=bool), sd=np.zeros(HOURS), day=np.arange(HOURS) // 24,
        dates=np.arange("2026-06-21", "2026-07-15", dtype="datetime64[D]"),
        tmean_c=np.full(HOURS // 24, temp_c), newest=FIRST + timedelta(hours=HOURS),
        rain_unknown=np.zeros(HOURS, dtype=bool), zone=ZONE)


@dataclass(frozen=True)
class Told:
    """What differs from tree to tree; the rest is as every tree has it."""

    verdict: str = "leave"
    call: str = ""  # where another verdict stands behind "look first"
    place: Place | None = BENCH
    left: tuple[float, float, float] = (0.60, 0.80, 0.90)
    dry_mm: tuple[float, float, float] = (0.0, 4.0, 9.0)
    chance: float = 0.05
    at_target: float = 0.0
    litres: float = 0.0
    next: datetime | None = TOMORROW
    perhaps: datetime | None = None
    target_mm: float = float("nan")
    reached: Reached | None = None
    recovery: Recovery | None = None
    ball: float = float("nan")
    rain: tuple[int, float] = (0, 0.0)  # hours after AT, mm
    also: tuple[Beside, ...] = ()
    dressing: str = "none"
    name: str = "pine"


def tree(label: str, told: Told) -> TreeVerdict:
    """Put a tree together."""
    midnight = 24 * 10
    rows = np.zeros((ROWS, HOURS - midnight), dtype=np.float32)
    rows[BALL_MID] = told.ball
    rows[POT_C] = 15.0
    after, rain_mm = told.rain
    rows[RAIN_IN, 7 + after] = rain_mm
    call = Call(
        verdict=told.call or told.verdict, left=Spread(*told.left), dry_mm=Spread(*told.dry_mm),
        chance_past_limit=told.chance, chance_at_target=told.at_target, litres=told.litres,
        next=told.next, perhaps=told.perhaps, reaches_target=told.reached, worth_a_look=0.0)
    standing = Standing(limit=0.30, chance=0.30, harm=0.08, target_mm=told.target_mm,
                        available_l=1.0, soil_depth_mm=60.0, soil_l=3.0)
    return TreeVerdict(label, told.name, told.place, told.verdict, call, told.recovery, told.also,
                       Outlook(midnight, rows, standing), False, told.dressing)


def round_of(trees: Sequence[TreeVerdict], temp_c: float = 18.0) -> Round:
    """Put a round together: now, this evening, tomorrow morning and on."""
    knowledge = Knowledge(SITE, {}, {}, {}, {}, {}, {}, {}, {})
    rounds = [AT + timedelta(hours=12 * i) for i in range(1, 20)]
    return Round(AT, knowledge, sky(temp_c), tuple(trees), rounds)
