"""Gardens to be left for a while, under the weather of De Bilt or one of our own."""

import gzip
import shutil
import tempfile
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
from places import shared_data

from advisor.cli.hours import read_hours
from advisor.cli.weather_file import add_file
from advisor.cli.working import beliefs, work_round
from advisor.garden import example
from advisor.garden.records import Mix, Place, Site, Watering
from advisor.garden.store import Garden
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.away.absence import Ask, Left, leave, leaving, points, span_of
from advisor.jobs.away.remedies import Begun
from advisor.jobs.away.sky import AwaySky, away_sky
from advisor.jobs.morning import potted
from advisor.jobs.sky import Sky

HEAD = "day [{zone}],tmax [C],tmin [C],humidity [%],wind 10m [m/s],sunshine [h],rain [mm]"
#: De Bilt, and a morning of its July.
SITE = Site(52.1, 5.18, 2.0, "Europe/Amsterdam")
NOW = datetime(2019, 7, 10, 5, 0, tzinfo=UTC)


def de_bilt(until: date) -> str:
    """Days of KNMI station 260 from 2010 to before a day (CC0 / CC BY 4.0, "Source: KNMI")."""
    lines, names = [], []
    with gzip.open(shared_data("knmi/etmgeg_260_DeBilt_2010-.txt.gz"), "rt") as file:
        for line in file:
            cells = [cell.strip() for cell in line.lstrip("# ").split(",")]
            if cells[0] == "STN":
                names = cells
            elif names and cells[0].isdigit() and "2010" <= cells[1] < f"{until:%Y%m%d}":
                told = dict(zip(names, cells, strict=False))
                day = f"{cells[1][:4]}-{cells[1][4:6]}-{cells[1][6:]}"
                tenths = [float(told[name]) / 10.0 for name in ("TX", "TN", "FG", "SQ", "RH")]
                if cells[1][4:6] in ("11", "12", "01", "02"):  # low winter sun is hard to spread
                    tenths[3] *= 0.8
                lines.append(f"{day},{tenths[0]},{tenths[1]},{told['UG']},{tenths[2]},"
                             f"{max(tenths[3], 0.0)},{max(tenths[4], 0.0)}")
    return "\n".join([HEAD.format(zone="UTC"), *lines]) + "\n"


def made_up(first: date, until: date, seed: int = 1) -> str:
    """Days drawn by a generator of daily weather after Richardson (1981).

    Wet and dry days a first-order Markov chain, amounts gamma, temperature and sun about the
    season's mean, other on wet days, with residuals that carry over from day to day
    (Water Resour. Res. 17:182-190, its form from memory; numbers of a temperate garden, our own).
    """
    days, draw = (until - first).days, np.random.default_rng(seed)
    number = np.array([(first + timedelta(days=i)).timetuple().tm_yday for i in range(days)])
    season = -np.cos(2.0 * np.pi * (number - 20) / 365.25)
    wet, residual = np.zeros(days, dtype=bool), np.zeros(days)
    for i in range(1, days):
        wet[i] = draw.random() < (0.65 if wet[i - 1] else 0.28)
        residual[i] = 0.7 * residual[i - 1] + draw.normal(0.0, 0.7)
    fell = np.where(wet, draw.gamma(0.75, 6.0, days), 0.0)
    high = 14.5 + 8.5 * season + 3.2 * residual + np.where(wet, -1.5, 1.0)
    sun = np.clip((5.0 + 3.5 * season) * np.where(wet, 0.4, 1.2), 0.0, None)
    lines = [f"{first + timedelta(days=i)},{high[i]:.1f},{high[i] - 9.0:.1f},"
             f"{82 if wet[i] else 62},3.0,{sun[i]:.1f},{fell[i]:.1f}" for i in range(days)]
    return "\n".join([HEAD.format(zone="UTC"), *lines]) + "\n"


def garden(path: Path, weather: str, count: int = 20, now: datetime = NOW,
           site: Site = SITE, crown: float = 1.0) -> Path:
    """Make a garden of the example's trees, all watered on each of the last days.

    `crown` is by how much their crowns are wider: small ones drink little and last longer.
    """
    moved = now - example.AT
    file = path.parent / f"{path.stem}.csv"
    file.write_text(weather, encoding="utf-8")
    with Garden.create(path, site, now - timedelta(days=4000)) as kept:
        with kept.entry(now, "brought in") as entry:
            for record in example.records():
                if isinstance(record, Place | Mix):
                    entry.add(record)
            for i in range(count):
                tree, move, potting = example.TREES[i % len(example.TREES)]
                again = i // len(example.TREES)
                label, at = str(i + 1), potting.at + moved
                entry.add(replace(tree, label=label, name=f"{tree.name} {again or ''}".strip(),
                                  crown_width_cm=crown * (tree.crown_width_cm + 2 * (again % 7)),
                                  crown_depth_cm=crown * tree.crown_depth_cm))
                entry.add(replace(potting, tree=label, at=at))
                entry.add(replace(move, tree=label, at=at))
        add_file(kept, file, now)
        for day in range(6, 0, -1):
            at = now - timedelta(days=day)
            with kept.entry(at, "watered") as entry:
                for i in range(count):
                    if example.TREES[i % len(example.TREES)][2].at + moved < at:
                        entry.add(Watering(str(i + 1), at))
    return path


_FOLDER = tempfile.TemporaryDirectory(prefix="advisor-away-")


@cache
def _kept(count: int, years: int) -> Path:
    first = date(NOW.year - years, NOW.month, NOW.day) - timedelta(days=20)
    return garden(Path(_FOLDER.name) / f"{count}-{years}.db", made_up(first, NOW.date()), count,
                  crown=0.4)


def small_garden(folder: Path, count: int = 8, years: int = 6) -> Path:
    """Give a copy of a garden of small crowns under made-up weather of some years."""
    return Path(shutil.copy(_kept(count, years), folder / "garden.db"))


def worked(path: Path, ask: Ask, now: datetime = NOW) -> tuple[Left, AwaySky, Begun]:
    """Work out how long each tree of a garden lasts in an absence."""
    with Garden.open(path) as kept:
        work_round(kept, now)
        known = kept.knowledge(now)
        back = ask.visit_at(ask.end, known.site.zone) + timedelta(hours=2)
        away = away_sky(read_hours(kept, known), known.site.time_zone, now,
                        leaving(ask, known, now), back)
        told = Told(known, Almanac(away.sky, known.site.latitude_deg), now)
        begun = points(told, potted(known, now), lambda label, at: beliefs(kept, label, at))
    return left_of(ask, away.sky, told, begun), away, begun


def left_of(ask: Ask, sky: Sky, told: Told, begun: Begun) -> Left:
    """Give the garden as it is left under a sky."""
    under = replace(told, almanac=Almanac(sky, told.knowledge.site.latitude_deg))
    *_, left = leave(ask, span_of(ask, under, told.at), begun)
    assert isinstance(left, Left)
    return left
