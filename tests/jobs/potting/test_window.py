"""The repotting window from past years."""

import gzip
from datetime import UTC, date, datetime

import numpy as np
import pytest
from places import shared_data
from scenes import DAY, hours, sky

from advisor.demand import groups, season
from advisor.demand.groups import Group
from advisor.errors import Refused
from advisor.jobs.potting.window import Daily, Window, daily, windows

PINE, MAPLE = groups.find("pine"), groups.find("maple")


def past(years: int = 10, mean_c: float = 9.5, swing_c: float = 9.5, south: bool = False,
         seed: int = 1) -> Daily:
    """Years like those of the lowlands of Germany, spells of warmth and cold among them."""
    dates = np.arange("2010-01-01", f"{2010 + years}-01-01", dtype="datetime64[D]")
    season = -np.cos(2 * np.pi * (np.arange(dates.size) - 14 - 182 * south) / 365.25)
    spell = np.repeat(np.random.default_rng(seed).normal(0, 2.5, dates.size // 4 + 1), 4)
    mean = mean_c + swing_c * season + spell[:dates.size]
    half = 3.5 + 2.0 * (season + 1) / 2
    return Daily(dates, mean, mean - half, mean + half)


def bud_breaks(group: Group, days: Daily) -> list[int]:
    since = season.days_since_bud_break(group, days.dates, days.mean_c, 52.0)
    first = np.flatnonzero((since >= 0) & ~np.append(False, since[:-1] >= 0))
    return [days.dates[i].astype(object).timetuple().tm_yday for i in first]


def de_bilt() -> Daily:
    """KNMI, station 260, 2010-2019 (CC0 / CC BY 4.0, "Source: KNMI"): tenths of a degree."""
    rows = []
    with gzip.open(shared_data("knmi/etmgeg_260_DeBilt_2010-.txt.gz"), "rt") as file:
        names: list[str] = []
        for line in file:
            cells = [cell.strip() for cell in line.lstrip("# ").split(",")]
            if cells[0] == "STN":
                names = cells
            elif names and cells[0].isdigit() and "2010" <= cells[1][:4] <= "2019":
                told = dict(zip(names, cells, strict=False))
                rows.append((f"{told['YYYYMMDD'][:4]}-{told['YYYYMMDD'][4:6]}-"
                             f"{told['YYYYMMDD'][6:]}", *(float(told[name]) / 10
                                                          for name in ("TG", "TN", "TX"))))
    dates, mean, low, high = zip(*rows, strict=True)
    return Daily(np.array(dates, dtype="datetime64[D]"), *map(np.array, (mean, low, high)))


def test_de_bilt_by_the_books() -> None:
    """Conifers in August to early September; maples in March to April: common practice."""
    late = windows(PINE, de_bilt(), 52.1)[0]
    spring = windows(MAPLE, de_bilt(), 52.1)[1]
    assert late.years == 10
    assert span(late)[0] <= "08-10" <= span(late)[1] <= "09-10"
    assert "02-15" <= span(spring)[0] <= "03-31"
    assert span(spring)[1] <= "04-21"


def span(window: Window) -> tuple[str, str]:
    assert window.span is not None
    return tuple(f"{week.month:02d}-{week.day:02d}" for week in window.span)


def test_late_summer_ends_two_months_before_the_frost() -> None:
    """Some two months without frost ahead: common practice."""
    late, _ = windows(PINE, past(), 52.0)
    first, last = span(late)
    assert "07-20" <= first <= "08-10"
    assert "08-10" <= last <= "09-07"
    assert late.weeks[-1].against
    assert "frost within eight weeks" in late.weeks[-1].against
    assert "weeks of warm soil left" in late.weeks[-1].against[0]


def test_spring_lies_at_the_buds() -> None:
    """As the buds swell; what drops its leaves before they open: common practice."""
    leafy, pine = (windows(group, past(), 52.0)[1] for group in (MAPLE, PINE))
    broken = np.median(bud_breaks(MAPLE, past()))  # day of the year
    first, last = (date(2001, week.month, week.day).timetuple().tm_yday for week in leafy.span)
    assert broken - 35 <= first < last <= broken
    assert span(pine)[1] > span(leafy)[1]
    assert "buds open already" in leafy.weeks[-1].against
    assert leafy.weeks[0].against


def test_warmer_years_lengthen_late_summer_and_bring_spring_forward() -> None:
    cool, warm = (windows(MAPLE, past(mean_c=mean), 52.0) for mean in (9.0, 12.0))
    assert span(warm[0])[1] > span(cool[0])[1]
    assert span(warm[1])[0] <= span(cool[1])[0]
    for a, b in zip(cool[0].weeks, warm[0].weeks, strict=True):
        assert b.warm_weeks >= a.warm_weeks
        assert b.warmth_cd > a.warmth_cd
        assert b.frost_chance <= a.frost_chance


def test_frost_grows_likelier_and_warmth_less_week_by_week() -> None:
    late, _ = windows(PINE, past(years=20), 52.0)
    assert np.all(np.diff([week.frost_chance for week in late.weeks]) >= 0)
    assert np.all(np.diff([week.warmth_cd for week in late.weeks]) < 0)


def test_heat_speaks_against_a_week() -> None:
    late, _ = windows(PINE, past(mean_c=17.0, swing_c=11.0), 40.0)
    assert "hot days within two weeks" in " ".join(late.weeks[0].against)
    assert span(late)[0] > "07-20"


def test_the_south_lies_half_a_year_apart() -> None:
    late, spring = windows(PINE, past(south=True), -42.9)
    assert (late.weeks[0].month, late.weeks[0].day) == (1, 18)
    assert span(late)[1] <= "03-15"
    assert spring.weeks[0].month == 7


def test_a_tropical_site_has_no_end_of_warmth() -> None:
    late, _ = windows(PINE, past(mean_c=26.0, swing_c=1.0), 10.0)
    assert late.weeks[-1].warm_weeks > 20
    assert late.weeks[-1].frost_chance == 0.0


def test_a_single_year_will_do_and_none_is_refused() -> None:
    assert windows(PINE, past(years=1), 52.0)[0].years == 1
    short = past(years=1)
    cut = Daily(*(each[:150] for each in (short.dates, short.mean_c, short.low_c, short.high_c)))
    with pytest.raises(Refused, match="weather of past years, late summer: not known"):
        windows(PINE, cut, 52.0)


def test_a_window_where_nothing_would_do() -> None:
    late, _ = windows(PINE, past(mean_c=2.0), 60.0)
    assert late.span is None


def test_days_of_a_sky() -> None:
    first = datetime(2026, 3, 1, tzinfo=UTC)
    seen = sky(hours(40, first), first + 40 * DAY)
    days = daily(seen, 40 * 24)
    assert days.dates[0] == np.datetime64("2026-03-01")
    assert np.all((days.low_c <= days.mean_c) & (days.mean_c <= days.high_c))
    assert np.all(np.diff(days.dates).astype(int) == 1)
