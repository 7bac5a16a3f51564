"""When to repot: what past years say of late summer and of spring, week by week.

What is asked of a week is common practice: some two months without frost ahead in late
summer, roots that still grow, no heat; in spring the buds about to open. It is
never an order: the buds of the tree decide.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.demand import plant, season
from advisor.demand.groups import Group
from advisor.demand.year import trailing_mean
from advisor.errors import Refused
from advisor.jobs.sky import Sky

Floats = NDArray[np.float64]

AHEAD_D: Final = 56  # two months without frost ahead [common practice]
WARM_C: Final = 10.0  # mean of a week from which soil in a pot counts as warm for roots [J; 8-12]
FROST_C: Final = 0.0  # frost in the air, by definition [S]
FROST_CHANCE: Final = 0.25  # of frost in AHEAD_D that is borne in late summer [J; .1-.4]
LEAST_WARM_WEEKS: Final = 8.0  # of warm soil left in late summer [common practice]
HOT_C: Final = 30.0  # a hot day [common practice]
HOT_WITHIN_D: Final = 14
HALF_A_YEAR_D: Final = 182  # in which weeks of warm soil are counted
MOST_HOT_D: Final = 4.0  # hot days in the two weeks that follow [J; 2-6]
SPRING_FROST_C: Final = -4.0  # frost that fresh roots in a small pot do not bear [J; -7…-2]
SPRING_MEAN_C: Final = 5.0  # mean of the week from which roots stir [J; 4-7]
#: How many days before and after bud-break a repotting lies in spring, by whether it keeps its
#: leaves [common practice: as the buds swell; conifers a little into growth]
BESIDE_BUDS_D: Final = {True: (-28.0, 21.0), False: (-28.0, 0.0)}
SHARE_OF_YEARS: Final = 0.5  # of past years in which the buds must have stood so [J]
#: month and day between which weeks are looked at, in the north [common practice]
LATE, SPRING = ((7, 20), (10, 20)), ((1, 20), (6, 10))
LEAST_YEARS = 1
LATE_CUSTOM: Final = "pines, junipers and other conifers are often repotted then"
SPRING_CUSTOM: Final = "what drops its leaves is repotted then, as the buds swell; conifers too"


@dataclass(frozen=True, eq=False)
class Daily:
    """Days of past years: means and extremes of the air [°C]."""

    dates: NDArray[np.datetime64]
    mean_c: Floats
    low_c: Floats
    high_c: Floats


@dataclass(frozen=True)
class Week:
    """What past years say of repotting in the week that begins on a day.

    Attributes
    ----------
    month, day : int
    warm_weeks : float
        Weeks of warm soil that follow, the middle of the years.
    warmth_cd : float
        Degree-days above 6 °C in the eight weeks that follow, the middle [°C·d].
    frost_chance : float
        Share of years with frost in these eight weeks [-]; in spring of hard frost, against
        which a pot is brought in: it is told and rules no week out.
    hot_days : float
        Days above 30 °C in the two weeks that follow, the mean.
    against : tuple of str
        What speaks against it; nothing where it would do.
    """

    month: int
    day: int
    warm_weeks: float
    warmth_cd: float
    frost_chance: float
    hot_days: float
    against: tuple[str, ...]


@dataclass(frozen=True)
class Window:
    """The weeks of one season, and which of them would do: first and last day, or None."""

    season: str
    weeks: tuple[Week, ...]
    years: int
    custom: str

    @property
    def span(self) -> tuple[Week, Week] | None:
        """The first and last week of the longest run that would do."""
        best: list[Week] = []
        run: list[Week] = []
        for week in self.weeks:
            run = [] if week.against else [*run, week]
            best = max(best, run, key=len)
        return (best[0], best[-1]) if best else None


def daily(sky: Sky, hours: int) -> Daily:
    """Give the days that lie wholly within the first hours of a sky."""
    day = sky.day[:hours]
    starts = np.flatnonzero(np.diff(day, prepend=-1))
    full = np.diff(np.append(starts, day.size)) >= 23
    air = sky.temp_c[:hours]
    low, high = np.minimum.reduceat(air, starts), np.maximum.reduceat(air, starts)
    kept = day[starts][full]
    return Daily(sky.dates[kept], sky.tmean_c[kept], low[full], high[full])


def windows(group: Group, days: Daily, latitude_deg: float) -> tuple[Window, Window]:
    """Look at late summer and spring, week by week.

    Parameters
    ----------
    group : Group
        What it is.
    days : Daily
        Past years.
    latitude_deg : float
        South negative: the seasons lie half a year apart [°].

    Returns
    -------
    (Window, Window)
        Late summer and spring.

    Raises
    ------
    Refused
        No season of which eight weeks are known.
    """
    since = _beside_buds(season.days_since_bud_break(group, days.dates, days.mean_c, latitude_deg))
    week_c = trailing_mean(days.mean_c, 7, 5)
    return (_window("late summer", LATE, group, (days, since, week_c), latitude_deg),
            _window("spring", SPRING, group, (days, since, week_c), latitude_deg))


def _beside_buds(since_d: Floats) -> Floats:
    """Give the days since bud-break, or to the next one as a negative number."""
    broken = np.append(np.flatnonzero(since_d >= 0.0), since_d.size + HALF_A_YEAR_D)
    day = np.arange(since_d.size)
    to_next = broken[np.searchsorted(broken, day)] - day
    return np.where(since_d >= 0.0, since_d, -to_next.astype(np.float64))


def _window(name: str, span: tuple[tuple[int, int], tuple[int, int]], group: Group,
            past: tuple[Daily, Floats, Floats], latitude_deg: float) -> Window:
    weeks, years = [], 0
    for month, day in _starts(span, latitude_deg):
        seen = [_seen(past, i) for i in _days_of(past[0], month, day)]
        if not seen:
            raise Refused(f"weather of past years, {name}", "not known",
                          "a year with the eight weeks that follow",
                          "Get past years: advisor weather past.")
        years = max(years, len(seen))
        late = name != "spring"
        weeks.append(_week(month, day, np.array(seen), group, late))
    return Window(name, tuple(weeks), years, LATE_CUSTOM if span is LATE else SPRING_CUSTOM)


def _starts(span: tuple[tuple[int, int], tuple[int, int]],
            latitude_deg: float) -> Iterator[tuple[int, int]]:
    """Give month and day of each week's start; half a year later in the south."""
    first, last = (date(2001, *each) for each in span)
    while first <= last:
        told = first if latitude_deg >= 0.0 else first + timedelta(days=182)
        yield told.month, told.day
        first += timedelta(days=7)


def _days_of(days: Daily, month: int, day: int) -> list[int]:
    """Give the indices of a date in every year of which the eight weeks after it are known."""
    found = []
    for year in sorted({each.astype(object).year for each in days.dates[::300]} | {
            days.dates[-1].astype(object).year}):
        i = int(np.searchsorted(days.dates, np.datetime64(date(year, month, day))))
        last = i + AHEAD_D
        if last < days.dates.size and (days.dates[last] - days.dates[i]).astype(int) == AHEAD_D \
                and days.dates[i].astype(object) == date(year, month, day):
            found.append(i)
    return found


def _seen(past: tuple[Daily, Floats, Floats], i: int) -> tuple[float, ...]:
    """Give one year's numbers for a week: warm weeks, warmth, frosts, heat, buds, mean."""
    days, since, week_c = past
    ahead = slice(i, i + AHEAD_D)
    warm = float((week_c[i + 7:i + 7 + HALF_A_YEAR_D] >= WARM_C).sum()) / 7.0
    return (warm, float(np.maximum(days.mean_c[ahead] - plant.RECOVERY_BASE_C, 0.0).sum()),
            float((days.low_c[ahead] < FROST_C).any()),
            float((days.low_c[ahead] < SPRING_FROST_C).any()),
            float((days.high_c[i:i + HOT_WITHIN_D] > HOT_C).sum()), float(since[i]),
            float(days.mean_c[i:i + 7].mean()))


def _week(month: int, day: int, seen: Floats, group: Group, late: bool) -> Week:
    warm, warmth = np.median(seen[:, 0]), np.median(seen[:, 1])
    frost, hard, hot = seen[:, 2].mean(), seen[:, 3].mean(), seen[:, 4].mean()
    against = []
    if late:
        if warm < LEAST_WARM_WEEKS:
            against.append(f"{int(warm)} weeks of warm soil left")
        if frost > FROST_CHANCE:
            against.append("frost within eight weeks")
    else:
        early, past = BESIDE_BUDS_D[group.evergreen]
        if (seen[:, 5] < early).mean() > SHARE_OF_YEARS:
            against.append("buds far from opening")
        if (seen[:, 5] > past).mean() > SHARE_OF_YEARS:
            against.append("buds open already")
        if np.median(seen[:, 6]) < SPRING_MEAN_C:
            against.append("roots still at rest")
    if hot > MOST_HOT_D:
        against.append(f"{hot:.0f} hot days within two weeks")
    return Week(month, day, float(warm), float(warmth), float(frost if late else hard),
                float(hot), tuple(against))
