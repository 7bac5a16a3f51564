"""The year of a tree: when it is in leaf, and how much it asks at its height.

All arrays are per local day; seasons as in `year`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from advisor import units
from advisor.demand.groups import Group
from advisor.demand.year import Bools, Days, Floats, ease, season_day, season_start, trailing_mean
from advisor.errors import Refused

Seen: TypeAlias = np.datetime64 | Sequence[np.datetime64] | None


@dataclass(frozen=True)
class LeafDates:
    """Days the grower saw (datetime64[D], several, or None), each for its own season only.

    On the day of `leaf_fall` the last leaf is gone.
    """

    bud_break: Seen = None
    full_leaf: Seen = None
    leaf_fall: Seen = None


_UNSEEN = LeafDates()

#: Course of an evergreen: (northern month, day, 0 = winter to 1 = May-July); between them
#: eased. September .5625 is .65 of the May-July height of a conifer with winter share .20.
#: [J] throughout; winter share .15-.25; FAO-56 Table 17 gives the height only.
COURSE: Final = (
    (1, 1, 0.0),
    (2, 15, 0.0),
    (5, 1, 1.0),
    (7, 31, 1.0),
    (9, 15, 0.5625),
    (11, 30, 0.0),
    (12, 31, 0.0),
)
#: Below the first latitude no winter rest, above the second the whole of it [J; ± 5°].
REST_LATITUDES_DEG: Final = (10.0, 35.0)
GROWING_ABOVE: Final = 0.20  # of the course: mid-March to early November [J; .1-.3]

LEAFLESS_KCB: Final = 0.05  # a deciduous tree without leaves [J; .02-.10]
DEGREE_DAY_BASE_C: Final = 5.0  # bud-break [J; 4-6]
LEAFING_DAYS: Final = 42  # bud-break to full leaf [J; 30-50]
REFERENCE_LATITUDE_DEG: Final = 50.0  # of the dates in groups.csv [C, De Bilt 52°, 2011-2019]
DAYS_PER_DEGREE: Final = 2.0  # spring later, autumn earlier polewards [J; 1-4 (Hopkins' law 4, M)]
DATED_LATITUDES_DEG: Final = (25.0, 65.0)  # beyond them dates stay [J]
EARLIEST_DAYS: Final = 35  # bud-break by warmth at most so long before its table date [J; 20-50]

AUTUMN: Final = ((8, 20), (10, 31))  # leaves age between these northern dates [J; ± 15 d]
AUTUMN_SHARE: Final = 0.72  # .65/.90: apple and cherry end/mid, FAO-56 Table 17 [S; .65-.8]
FALL_BELOW_C: Final = 8.0  # mean of 14 days that starts leaf-fall [J; 6-10]
FALL_MEAN_DAYS: Final = 14  # [J; 7-21]
FALL_FROM: Final = (9, 1)  # not before this northern date [J]
FALL_DAY: Final = (11, 8)  # its start at 50° where no temperatures are known [J; ± 15 d]
FALL_LATEST_DAYS: Final = 25  # by warmth at most so long after that date [J; 15-40]
FALL_DAYS: Final = 28  # from its start to the last leaf [J; 14-40]
LAST_FALL_DAY: Final = 364 - FALL_DAYS  # so that it ends within its season [C]

COLD_MEAN_DAYS: Final = 7  # [J; 3-14]
COLD_NONE_C: Final = 2.0  # [J; 0-4]
COLD_SPAN_C: Final = 8.0  # [J; 5-12]
COLD_FLOOR: Final = 0.02  # [J; winter use 1/55-1/250 of autumn's is M]
NO_UPTAKE_BELOW_C: Final = 0.0  # air of the hour [J]


@dataclass(frozen=True)
class _Leaf:
    """One season of a deciduous tree, in days after its first day."""

    bud: float
    full: float
    fall: float
    bare: float  # the last leaf; equal to `fall` where the grower gave the date

    def share(self, day: Floats) -> Floats:
        """Give the share of full leaf [-]."""
        if np.isinf(self.bud):
            return np.zeros(len(day))
        grown = ease((day - self.bud) / max(self.full - self.bud, 1.0))
        start, end = (season_day(*date) for date in AUTUMN)
        aged = 1.0 - (1.0 - AUTUMN_SHARE) * ease((day - start) / (end - start))
        if self.bare <= self.fall:
            return grown * aged * (day < self.fall)
        return grown * aged * np.clip((self.bare - day) / (self.bare - self.fall), 0.0, 1.0)


def kcb(group: Group, dates: Days, tmean_c: Floats | None, latitude_deg: float,
        noted: LeafDates = _UNSEEN) -> Floats:
    """Basal crop coefficient per crown area, through the year.

    Evergreens follow `COURSE`; deciduous trees rise from bud-break to full leaf, age in
    autumn and fall to `LEAFLESS_KCB`. Height: FAO-56 Table 17; course: judgement. Cold is
    not in it (`cold_factor`).

    Parameters
    ----------
    group : Group
        Species group.
    dates : array of datetime64[D], shape (n,)
        Local days, each the day after the one before.
    tmean_c : array, shape (n,), or None
        Mean air temperature of those days [°C]; from the season's first day on it dates
        bud-break, from the end of summer on leaf-fall. Else a table by latitude does.
    latitude_deg : float
        Latitude, south negative [°].
    noted : LeafDates
        What the grower saw.

    Returns
    -------
    array, shape (n,)
        Kcb [-].

    Raises
    ------
    Refused
        Days that do not follow one another, temperatures of another length, a latitude
        beyond ±90°, or full leaf not after bud-break.
    """
    if group.evergreen:
        _check(dates, tmean_c, latitude_deg)
        share = group.winter_share + (1.0 - group.winter_share) * course(dates, latitude_deg)
        return group.kcb_peak * share
    leaf = leaf_share(group, dates, tmean_c, latitude_deg, noted)
    return LEAFLESS_KCB + (group.kcb_peak - LEAFLESS_KCB) * leaf


def leaf_share(group: Group, dates: Days, tmean_c: Floats | None, latitude_deg: float,
               noted: LeafDates = _UNSEEN) -> Floats:
    """Share of full leaf per day: 1 for evergreens, 0 for a leafless tree.

    Parameters and refusals as in `kcb`.

    Returns
    -------
    array, shape (n,)
        Share of the leaf it has in June [-].
    """
    _check(dates, tmean_c, latitude_deg)
    share = np.ones(len(dates))
    if group.evergreen:
        return share
    for season in _seasons(dates, tmean_c, latitude_deg):
        share[season.here] = _leaf(group, season, noted).share(season.day)
    return share


def days_since_bud_break(group: Group, dates: Days, tmean_c: Floats | None,
                         latitude_deg: float, noted: LeafDates = _UNSEEN) -> Floats:
    """Days since this season's bud-break, evergreens too: soft growth and frost.

    Parameters and refusals as in `kcb`.

    Returns
    -------
    array, shape (n,)
        Days [d]; negative before it, minus infinity where warmth has not yet brought it.
    """
    _check(dates, tmean_c, latitude_deg)
    since = np.empty(len(dates))
    for season in _seasons(dates, tmean_c, latitude_deg):
        seen = season.seen(noted.bud_break)
        since[season.here] = season.day - (season.bud_break(group) if seen is None else seen)
    return since


def course(dates: Days, latitude_deg: float) -> Floats:
    """Course of an evergreen from 0 (winter rest) to 1 (May-July, south: November-January).

    Parameters
    ----------
    dates : array of datetime64[D], shape (n,)
        Local days.
    latitude_deg : float
        Latitude, south negative; the rest fades towards the equator [°].

    Returns
    -------
    array, shape (n,)
        Share of the way from winter to the height of the year [-].
    """
    day = (dates - season_start(dates, latitude_deg)).astype(np.float64)
    knots = np.array([season_day(month, date) for month, date, _ in COURSE], dtype=np.float64)
    values = np.array([value for _, _, value in COURSE])
    left = np.clip(np.searchsorted(knots, day, side="right") - 1, 0, len(knots) - 2)
    along = ease((day - knots[left]) / (knots[left + 1] - knots[left]))
    at_rest = 1.0 - (values[left] + (values[left + 1] - values[left]) * along)
    low, high = REST_LATITUDES_DEG
    depth = min(max((abs(latitude_deg) - low) / (high - low), 0.0), 1.0)
    awake: Floats = 1.0 - at_rest * depth
    return awake


def growing(dates: Days, latitude_deg: float) -> Bools:
    """Whether roots and shoots make progress: not in the winter rest.

    Parameters
    ----------
    dates : array of datetime64[D], shape (n,)
        Local days.
    latitude_deg : float
        Latitude, south negative [°].

    Returns
    -------
    array of bool, shape (n,)
    """
    return course(dates, latitude_deg) > GROWING_ABOVE


def cold_factor(tmean_c: Floats) -> Floats:
    """Share of transpiration that cold leaves: clip((mean of 7 days − 2)/8, .02, 1).

    Parameters
    ----------
    tmean_c : array, shape (n,)
        Mean air temperature of successive days [°C]; the first six use the days there are.

    Returns
    -------
    array, shape (n,)
        Factor [-]; NaN where none of the seven days is known. Source: judgement.
    """
    mean = trailing_mean(tmean_c, COLD_MEAN_DAYS, 1)
    factor: Floats = np.clip((mean - COLD_NONE_C) / COLD_SPAN_C, COLD_FLOOR, 1.0)
    return factor


@dataclass(frozen=True)
class _Season:
    """The part of a series that lies in one season; `day` counts from its first day."""

    start: np.datetime64
    here: Bools
    day: Floats
    tmean_c: Floats | None
    latitude_deg: float

    def seen(self, given: Seen) -> float | None:
        """Give the last of the dates that lies in this season."""
        if given is None:
            return None
        dates = np.atleast_1d(np.asarray(given, dtype="datetime64[D]"))
        own = dates[season_start(dates, self.latitude_deg) == self.start]
        return float((own.max() - self.start).astype(np.int64)) if len(own) else None

    def later_polewards(self) -> float:
        """Give the days by which spring comes later here than at the table's latitude."""
        latitude = np.clip(abs(self.latitude_deg), *DATED_LATITUDES_DEG)
        return float(DAYS_PER_DEGREE * (latitude - REFERENCE_LATITUDE_DEG))

    def bud_break(self, group: Group) -> float:
        """Give bud-break by warmth, else by date; endless where not yet reached."""
        dated = group.bud_break_day + self.later_polewards()
        if self.tmean_c is None or self.day[0] > 0:
            return dated
        warmth = np.cumsum(np.nan_to_num(np.maximum(self.tmean_c - DEGREE_DAY_BASE_C, 0.0)))
        reached = (warmth >= group.bud_break_dd) & (self.day >= dated - EARLIEST_DAYS)
        return float(self.day[reached][0]) if reached.any() else np.inf

    def leaf_fall(self) -> float:
        """Give the start of leaf-fall by cold, else by date."""
        first = season_day(*FALL_FROM)
        dated = season_day(*FALL_DAY) - self.later_polewards()
        if self.tmean_c is None or self.day[0] > first - FALL_MEAN_DAYS:
            return min(dated, LAST_FALL_DAY)
        mean = trailing_mean(self.tmean_c, FALL_MEAN_DAYS, FALL_MEAN_DAYS // 2)
        cold = self.day[(mean < FALL_BELOW_C) & (self.day >= first)]
        latest = min(dated + FALL_LATEST_DAYS, LAST_FALL_DAY)
        return min(float(cold[0]), latest) if len(cold) else latest


def _seasons(dates: Days, tmean_c: Floats | None, latitude_deg: float) -> Iterator[_Season]:
    starts = season_start(dates, latitude_deg)
    for start in np.unique(starts):
        here = starts == start
        day = (dates[here] - start).astype(np.float64)
        warm = None if tmean_c is None else np.asarray(tmean_c, dtype=np.float64)[here]
        yield _Season(start, here, day, warm, latitude_deg)


def _leaf(group: Group, season: _Season, noted: LeafDates) -> _Leaf:
    bud, full = season.seen(noted.bud_break), season.seen(noted.full_leaf)
    fall = season.seen(noted.leaf_fall)
    if bud is None:
        bud = season.bud_break(group) if full is None else full - LEAFING_DAYS
    elif full is not None and full <= bud:
        raise Refused(
            "full leaf",
            f"day {full:g} of the season",
            f"after bud-break on day {bud:g}",
            "Correct one of the two dates.",
        )
    full = bud + LEAFING_DAYS if full is None else full
    if fall is not None and fall > bud:
        return _Leaf(bud, full, fall, bare=fall)
    start = season.leaf_fall()  # a date before bud-break told of dead leaves held till spring
    return _Leaf(bud, full, start, bare=start + FALL_DAYS)


def _check(dates: Days, tmean_c: Floats | None, latitude_deg: float) -> None:
    units.check("latitude_deg", latitude_deg)
    if len(dates) == 0 or np.any(np.diff(dates) != np.timedelta64(1, "D")):
        raise Refused(
            "days of a season",
            f"{len(dates)} days",
            "each the day after the one before, at least one",
            "Fill the gaps first.",
        )
    if tmean_c is not None and len(tmean_c) != len(dates):
        raise Refused(
            "daily temperatures",
            f"{len(tmean_c)} values",
            f"one for each of the {len(dates)} days",
            "Give both for the same days.",
        )
