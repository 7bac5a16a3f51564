"""A time axis in true time, labelled with local days and hours of 24."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, Final, TypeAlias
from zoneinfo import ZoneInfo

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Times: TypeAlias = NDArray[np.datetime64]

DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS: Final = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
DAY_S: Final = 86400.0
DAY_LABELS: Final = 18  # more than so many do not fit side by side
HOUR_LABELS_DAYS: Final = 4.0  # hours are named where the axis spans up to so many days
COMING: Final = "coming, if nothing is poured"
COMING_ROOM: Final = 0.08  # share of the span it takes; the rest runs into the margin
INK: Final = "#222222"
GREY: Final = "#6B6B6B"


class Clock:
    """Positions in days since 1970, UTC, and the local time at each.

    Parameters
    ----------
    times : array of datetime64, shape (n,)
        Starts of successive hours, UTC.
    now : datetime64
        What lies after it is coming, UTC.
    zone : str
        Time zone of the labels.
    """

    def __init__(self, times: Times, now: np.datetime64, zone: str) -> None:
        self.zone = ZoneInfo(zone)
        self.x = position(times)
        self.ends = (float(self.x[0]), float(self.x[-1]))
        self.now = float(position(now))
        self.days = self.ends[1] - self.ends[0]
        self.past = self.x <= self.now
        self.coming = self.x >= self.x[self.past].max(initial=-np.inf)  # joins the past

    def local(self, x: float) -> datetime:
        """Give the local time at a position."""
        return datetime.fromtimestamp(round(x * DAY_S), tz=self.zone)

    def within(self, instants: Iterable[np.datetime64]) -> list[float]:
        """Give the positions of those instants that lie on the axis."""
        found = (float(position(instant)) for instant in instants)
        return [x for x in found if self.ends[0] <= x <= self.ends[1]]

    def midnights(self) -> list[float]:
        """Give the positions of local midnights, from the one before to the one after."""
        first, last = (self.local(end).date() for end in self.ends)
        days = (first + timedelta(days=day) for day in range((last - first).days + 2))
        local = (datetime(day.year, day.month, day.day, tzinfo=self.zone) for day in days)
        return [midnight.timestamp() / DAY_S for midnight in local]


def position(times: Any) -> Floats:
    """Give positions on the time axis: days since 1970, UTC."""
    return np.asarray(times, dtype="datetime64[s]").astype(np.int64) / DAY_S


def name_days(axes: Axes, clock: Clock) -> None:
    """Name each local day below the middle of its hours, and the hours where they fit."""
    starts = clock.midnights()
    every = -(-len(starts) // DAY_LABELS)
    middles = [(start + end) / 2 for start, end in zip(starts[:-1], starts[1:], strict=True)]
    shown = [x for x in middles[::every] if clock.ends[0] <= x <= clock.ends[1]]
    days = [clock.local(x) for x in shown]
    months = [0, *(day.month for day in days[:-1])]
    names = [
        day_name(day, "\n", month=day.month != before)
        for day, before in zip(days, months, strict=False)
    ]
    axes.set_xticks(shown, names, fontsize=9)
    named_hours = clock.days <= HOUR_LABELS_DAYS
    axes.tick_params(
        axis="x", which="major", labelbottom=True, pad=16 if named_hours else 5, colors=INK
    )
    if named_hours:
        hours = [float(x) for x in clock.x if clock.local(float(x)).hour % 6 == 0]
        texts = [f"{clock.local(x):%H}" for x in hours]
        axes.xaxis.remove_overlapping_locs = False
        axes.set_xticks(hours, texts, minor=True, fontsize=8)
        axes.tick_params(axis="x", which="minor", labelbottom=True, length=3, colors=GREY)


def name_now(axes: Axes, clock: Clock) -> None:
    """Say what the line of now is and which side is coming, above it."""
    if not clock.ends[0] <= clock.now <= clock.ends[1]:
        return
    now = clock.local(clock.now)
    ahead = (clock.ends[1] - clock.now) / (clock.ends[1] - clock.ends[0])
    words = [(f"now, {day_name(now, ' ')}, {now:%H:%M}", -4, "right")]
    if clock.now < clock.ends[1]:
        words.append((COMING if ahead > COMING_ROOM else "coming", 6, "left"))
    for text, shift, side in words:
        axes.annotate(
            text,
            (clock.now, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(shift, 5),
            textcoords="offset points",
            ha=side,
            fontsize=9,
            color=INK,
            annotation_clip=False,
        )


def day_name(day: datetime, between: str, *, month: bool = False) -> str:
    """Name a day: "Thu 2", or "Thu 2 Jul"."""
    name = f"{DAYS[day.weekday()]}{between}{day.day}"
    return f"{name} {MONTHS[day.month - 1]}" if month else name
