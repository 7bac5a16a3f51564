"""Field soil through real dry spells, and the kernel with a soil of the table under the same sky.

US Climate Reference Network, daily: 26 stations in 2020, Manhattan KS 2012-2016, moisture at
5, 10 and 20 cm under grass (NOAA/NCEI; Bell et al. 2013, J. Hydrometeorology 14:977). The
stations tell neither wind nor soil: wind is FAO-56's 2 m/s, the soil that of the table which
at 60 cm of tension holds nearest to what the sensors show when a spell begins. Nothing is
fitted to how a spell goes on.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from places import shared_data
from soils import even_layers, half_sine, happens, members

from advisor.balance import layout
from advisor.balance.pots import Column, pack
from advisor.balance.run import Task, run
from advisor.demand import et0, ladder
from advisor.pot.capacity import rest_contents
from advisor.pot.mix import blend

FILES = ("uscrn/uscrn_daily_2020_26stations.csv.gz",
         "uscrn/uscrn_daily_KS_Manhattan_2012-2016.csv.gz")
DEPTHS_CM = (5, 10, 20)
DAYS = 12  # of a spell that are compared
SOAKED_MM = 10.0  # of rain on the two days before
DRY_MM = 1.0  # of rain in the whole spell, at most
WARM_C = 8.0  # soil at 5 cm, so that the grass grows
SOILS = ("sandy soil", "sandy loam", "loam", "silt loam", "clay loam, puddled", "clay")
TENSION_CM = 60.0  # of a field a day after rain [common practice: 50-100 cm in lighter soils]
LAYERS, LAYER_MM = 60, 10.0
DRUNK, EVAPORATED = 0.80, 0.20  # of ET0 by grass and by the soil under it; ours
ELEVATION_M = 300.0  # not in the files; 300 m more cost 1 % of ET0


@dataclass(frozen=True, eq=False)
class Spell:
    """A dry spell: what the air asked each day [mm], and moisture at its start and each evening.

    `seen` and `kernel` are (days + 1, depths) [m³/m³].
    """

    station: str
    start: str
    soil: str
    et0_mm: np.ndarray
    seen: np.ndarray
    kernel: np.ndarray


def stations() -> Iterator[tuple[str, pd.DataFrame]]:
    """Read each station's days, whole calendar, NaN where nothing is known."""
    for name in FILES:
        table = pd.read_csv(shared_data(name))
        table.columns = [column.lower() for column in table.columns]
        table = table.rename(columns={"wbanno": "wban"})
        date = pd.to_datetime(table["lst_date"].astype(str))
        for wban, days in table.assign(date=date).groupby("wban"):
            whole = days.set_index("date").apply(pd.to_numeric, errors="coerce")
            whole = whole.where(whole > -90.0)
            whole["latitude"] = whole["latitude"].ffill().bfill()
            yield f"{wban} {'Manhattan' if 'KS' in name else '2020'}", whole.asfreq("D")


def asked_mm(days: pd.DataFrame) -> np.ndarray:
    """Give each day's ET0 [mm], with the wind that FAO-56 takes where none is known."""
    tmax, tmin = days["t_daily_max"].to_numpy(), days["t_daily_min"].to_numpy()
    pair = ladder.Humidity(rhmax_pct=days["rh_daily_max"].to_numpy(),
                           rhmin_pct=days["rh_daily_min"].to_numpy())
    return np.asarray(et0.daily_et0(
        tmax, tmin, ladder.vapour_ladder(tmax, tmin, pair)[0],
        days["solarad_daily"].to_numpy(), 2.0, elevation_m=ELEVATION_M,
        latitude_deg=float(days["latitude"].iloc[0]),
        day_of_year=days.index.day_of_year.to_numpy()))


def starts(days: pd.DataFrame) -> Iterator[int]:
    """Give the days after which a spell begins: a day of draining after a soaking rain."""
    rain = days["p_daily_calc"].to_numpy()
    soil = days[[f"soil_moisture_{cm}_daily" for cm in DEPTHS_CM]].to_numpy()
    air = days[["t_daily_max", "t_daily_min", "rh_daily_max", "rh_daily_min",
                "solarad_daily"]].to_numpy()
    warm = days["soil_temp_5_daily"].to_numpy() > WARM_C
    day = 3
    while day + DAYS < len(days):
        span = slice(day + 1, day + DAYS + 1)
        if (rain[day - 2:day].sum() >= SOAKED_MM and rain[day] < DRY_MM
                and rain[span].sum() <= DRY_MM and warm[day:day + DAYS + 1].all()
                and not np.isnan(soil[day:day + DAYS + 1]).any()
                and not np.isnan(air[span]).any()):
            yield day
            day += DAYS
        day += 1


def soil_of(theta: float) -> str:
    """Give the soil of the table that holds about so much at that tension [m³/m³]."""
    held = {name: float(blend([(name, 1.0)]).content(np.array([TENSION_CM]))[0])
            for name in SOILS}
    return min(held, key=lambda name: abs(held[name] - theta))


def kernel(soil: str, seen: np.ndarray, et0_mm: np.ndarray) -> np.ndarray:
    """Let the kernel dry a column of 60 cm from what the sensors show at the start."""
    curve, cut = blend([(soil, 1.0)]), even_layers(LAYERS, LAYER_MM)
    pot = pack([Column(curve, 1.0, rest_contents(curve, cut, 0.0))], cut, 1.0)
    centre_cm = (np.arange(LAYERS) + 0.5) * LAYER_MM / 10.0
    first = np.clip(np.interp(centre_cm, DEPTHS_CM, seen), curve.theta_ad, curve.theta_s)
    state, who = first[None, :, None].copy(), members(k_c_cmh=curve.k_c_cmh)
    rows = [np.interp(DEPTHS_CM, centre_cm, first)]
    for asked in et0_mm:
        hours = np.zeros((24, 9))
        hours[:, layout.EVAPORATION] = half_sine(EVAPORATED * asked, 0.07)
        hours[:, layout.TRANSPIRATION] = half_sine(DRUNK * asked)
        state = run(Task(pot, who, state, happens(hours, 1))).state
        rows.append(np.interp(DEPTHS_CM, centre_cm, state[0, :, 0]))
    return np.array(rows)


def spells() -> list[Spell]:
    """Find every spell, and let the kernel go through it."""
    found = []
    for station, days in stations():
        soil = days[[f"soil_moisture_{cm}_daily" for cm in DEPTHS_CM]].to_numpy()
        for day in starts(days):
            span = slice(day + 1, day + DAYS + 1)
            asked = asked_mm(days.iloc[span])
            seen = soil[day:day + DAYS + 1]
            name = soil_of(float(seen[0].mean()))
            found.append(Spell(station, str(days.index[day].date()), name, asked, seen,
                               kernel(name, seen[0], asked)))
    return found


def lost(theta: np.ndarray) -> np.ndarray:
    """Give what each depth lost over a spell [m³/m³]."""
    return np.asarray(theta[0] - theta[-1])


def slowing(theta: np.ndarray, et0_mm: np.ndarray) -> float:
    """Give the loss of the second half at 5 cm over the first's, each per mm of ET0 [-]."""
    half = DAYS // 2
    first = (theta[0, 0] - theta[half, 0]) / et0_mm[:half].sum()
    second = (theta[half, 0] - theta[-1, 0]) / et0_mm[half:].sum()
    return float(second / first) if first > 1e-4 else float("nan")


def in_order(theta: np.ndarray) -> bool:
    """Whether it lost most at 5 cm and least at 20."""
    at_5, at_10, at_20 = lost(theta)
    return bool(at_5 >= at_10 >= at_20)


def headline(found: list[Spell]) -> dict[object, np.ndarray | float]:
    """Give the numbers of the notebook: how spells went as seen, in the kernel, and apart."""
    numbers: dict[object, np.ndarray | float] = {}
    losses = {}
    for who in ("seen", "kernel"):
        paths = [getattr(each, who) for each in found]
        losses[who] = np.array([lost(path) for path in paths])
        numbers[who, "lost"] = np.median(losses[who], axis=0)
        numbers[who, "more above"] = float(np.mean(losses[who][:, 0] > losses[who][:, 2]))
        numbers[who, "in order"] = float(np.mean([in_order(path) for path in paths]))
        numbers[who, "slowing"] = np.nanquantile(
            [slowing(path, each.et0_mm) for path, each in zip(paths, found, strict=True)],
            (0.25, 0.50, 0.75))
    apart = losses["seen"] - losses["kernel"]
    numbers["bias"] = apart.mean(axis=0)
    numbers["off"] = np.sqrt((apart**2).mean(axis=0))
    ends = np.array([each.kernel[-1] - each.seen[-1] for each in found])
    numbers["end off"] = np.sqrt((ends**2).mean(axis=0))
    numbers["still"] = np.sqrt((losses["seen"] ** 2).mean(axis=0))
    numbers["together"] = np.array([
        np.corrcoef(losses["seen"][:, k], losses["kernel"][:, k])[0, 1] for k in range(3)])
    return numbers
