"""What scripts may rest on: open a garden, its round and its weather, ET0, one pot.

Import it from the package: `import advisor; advisor.open_garden(...)`. Nothing here reckons by
itself; each function calls what the commands call. Names, columns and keys change only with the
first number of the version.
"""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from advisor.errors import Refused

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from advisor.garden.records import Site
    from advisor.garden.store import Garden
    from advisor.jobs.shapes import Filled

HOUR_S: Final = 3600
#: Columns of `run_pot`'s table; the first two must be there.
POT_COLUMNS: Final = ("evaporation_mm", "transpiration_mm", "rain_mm", "poured_mm")


@contextmanager
def open_garden(path: Path | str | None = None) -> Iterator["Garden"]:
    """Open a garden file in a `with` block; one that may not be written is read all the same.

    Parameters
    ----------
    path : path-like, optional
        The file; else that of ADVISOR_GARDEN, else your own in the user data folder.

    Yields
    ------
    advisor.garden.store.Garden
        Give it to `morning_round` and `weather_hours`; `site()` is where it is, `knowledge()`
        all that was told.

    Raises
    ------
    Refused
        Missing, not a garden, damaged, or made by a newer version.

    Examples
    --------
    `advisor demo --into .` makes this one.

    >>> import advisor
    >>> with advisor.open_garden("garden.db") as garden:
    ...     garden.site().time_zone, len(garden.knowledge().trees)
    ('America/New_York', 20)
    """
    from advisor.cli.session import garden_path
    from advisor.cli.working import opened

    with opened(Path(path or os.environ.get("ADVISOR_GARDEN") or garden_path())) as garden:
        yield garden


def morning_round(garden: "Garden", at: datetime | None = None) -> dict[str, Any]:
    """Work out the round, as `advisor morning --json --offline` gives it.

    Parameters
    ----------
    garden : Garden
        From `open_garden`. What is worked out is kept in the file, where it may be written.
    at : datetime, optional
        An aware instant; else now. Only what was known by then counts.

    Returns
    -------
    dict
        "at", "site", "weather" and "trees", one a tree; the keys stand in README under
        "For scripts".

    Raises
    ------
    Refused
        No weather in the garden, or an instant without an offset.

    Examples
    --------
    >>> import advisor
    >>> from datetime import UTC, datetime
    >>> with advisor.open_garden("garden.db") as garden:
    ...     told = advisor.morning_round(garden, datetime(2026, 9, 10, 11, tzinfo=UTC))
    >>> [(tree["tree"], tree["verdict"]) for tree in told["trees"][:1]]
    [('1', 'water_now')]
    """
    from advisor.cli.session import Session
    from advisor.cli.working import work_round
    from advisor.show.wording import round_document

    return round_document(*work_round(garden, _aware(at, "at") or Session().clock()))


def weather_hours(garden: "Garden", start: datetime | None = None, end: datetime | None = None
                  ) -> "pd.DataFrame":
    """Give a garden's hourly weather, each value from the best source that has one.

    Parameters
    ----------
    garden : Garden
        From `open_garden`.
    start, end : datetime, optional
        Aware instants: the first hour, and the first that is left out; else all there is.

    Returns
    -------
    pandas.DataFrame, shape (hours, columns)
        Index `hour`, UTC, the hour starts at its stamp. Columns as in `read_weather`; NaN where
        nothing is known.

    Raises
    ------
    Refused
        An instant without an offset.

    Examples
    --------
    >>> import advisor
    >>> from datetime import UTC, datetime
    >>> with advisor.open_garden("garden.db") as garden:
    ...     hours = advisor.weather_hours(garden, datetime(2026, 7, 1, tzinfo=UTC),
    ...                                   datetime(2026, 8, 1, tzinfo=UTC))
    >>> len(hours), round(float(hours["rain_mm"].sum()), 1)
    (744, 151.3)
    """
    from advisor.cli.hours import EVER
    from advisor.jobs.air import table_of

    first, last = _aware(start, "start") or EVER[0], _aware(end, "end") or EVER[1]
    return table_of(garden.weather(first, last))


def read_weather(path: Path | str, *, year: int | None = None) -> "pd.DataFrame":
    """Read a weather file of any kind that `advisor weather add` takes.

    Parameters
    ----------
    path : path-like
        This tool's own CSV, hourly or daily, a TMY3 or an EPW file.
    year : int, optional
        The year that a typical year (TMY3, EPW) shall stand for.

    Returns
    -------
    pandas.DataFrame, shape (hours, columns)
        Index `hour`, UTC, without holes. Columns `temp_c` [°C], `vapour_kpa` [kPa], `wind_ms`
        [m/s] at `wind_height_m` [m], `ghi_wm2` [W/m²], `cloud_share` [-], `rain_mm` [mm],
        `pressure_kpa` [kPa], NaN where unknown, and of each where it came from (`temp_c_from`).

    Raises
    ------
    Refused
        No weather file, cut off, or with values that no air has.

    Examples
    --------
    >>> import advisor
    >>> year = advisor.read_weather("greensboro_2026.csv")
    >>> len(year), round(float(year["rain_mm"].sum()), 1)
    (8760, 834.5)
    """
    from advisor.weather import files

    return files.read(path, year=year).hours


def hourly_et0(hours: "pd.DataFrame", site: "Site") -> "NDArray[np.float64]":
    """Give the reference evapotranspiration of hourly weather (FAO-56 Eq. 53).

    What is missing stands in by the rules of FAO-56 chapter 3; each local day adds up to Eq. 6.

    Parameters
    ----------
    hours : pandas.DataFrame
        As `read_weather` and `weather_hours` give it.
    site : Site
        Where: latitude, longitude [°], elevation [m], name of the time zone.

    Returns
    -------
    ndarray, shape (hours,)
        In the open [mm in the hour].

    Raises
    ------
    Refused
        A column is missing, the hours have holes or no zone, or nowhere is such a site.

    Examples
    --------
    >>> import advisor
    >>> year = advisor.read_weather("greensboro_2026.csv")
    >>> site = advisor.Site(36.1, -79.95, 273.0, "America/New_York")
    >>> et0_mm = advisor.hourly_et0(year, site)
    >>> et0_mm.shape, round(float(et0_mm.sum()))
    ((8760,), 1117)
    """
    from advisor.demand.days import OPEN, place_hours

    found: NDArray[np.float64] = place_hours(site, hours, OPEN)["et0_mm"].to_numpy()
    return found


def fill_pot(mix: Mapping[str, float], *, outside_mm: tuple[float, float, float] | None = None,
             inside_mm: tuple[float, float] | None = None, soil_depth_mm: float | None = None,
             outline: str = "rectangle", condition: str = "grains") -> "Filled":
    """Fill a pot with a mix, to see what it holds and to run it.

    Parameters
    ----------
    mix : mapping of str to float
        Material (`advisor materials` lists them) to its share by volume; they add up to 1.
    outside_mm : tuple of float, optional
        Length, width, height outside [mm]; or ...
    inside_mm : tuple of float, optional
        ... length and width at the soil's surface [mm], with `soil_depth_mm`.
    soil_depth_mm : float, optional
        Where a skewer finds the base [mm].
    outline, condition : str
        "rectangle", "oval" or "round"; "grains", "gritty" or "broken down".

    Returns
    -------
    advisor.jobs.shapes.Filled
        `soil_l` [L], `held_l`: water after draining [L], `pot.available_l`: of it for a tree
        [L], `pot.depth_mm` [mm], `pot.surface_m2` [m²]. From the retention curves of the table;
        water at a height after Milks, Fonteno & Larson (1989).

    Raises
    ------
    Refused
        No size, an unknown material, shares that do not add up, a pot that holds no soil.

    Examples
    --------
    >>> import advisor
    >>> pot = advisor.fill_pot({"akadama": 1 / 3, "pumice": 1 / 3, "lava": 1 / 3},
    ...                        outside_mm=(350, 250, 60))
    >>> round(pot.soil_l, 2), round(pot.held_l, 2), round(pot.pot.available_l, 2)
    (2.9, 1.32, 1.04)
    """
    from datetime import UTC

    from advisor.garden.records import Mix, Potting
    from advisor.jobs.shapes import fill

    potting = Potting("this script", datetime(2000, 1, 1, tzinfo=UTC), "the mix",
                      outside_mm=outside_mm, inside_mm=inside_mm, soil_depth_mm=soil_depth_mm,
                      outline=outline, condition=condition)
    return fill(potting, Mix("the mix", tuple(mix.items())), None, 0.0)


def run_pot(pot: "Filled", hours: "pd.DataFrame", seed: int = 1) -> "pd.DataFrame":
    """Run a pot through hours, from just watered: 64 guesses at what is not known of it.

    Parameters
    ----------
    pot : Filled
        From `fill_pot`.
    hours : pandas.DataFrame
        Hourly, its index aware and without holes. `evaporation_mm` and `transpiration_mm`: what
        the surface and a crown are asked for; optional `rain_mm`, what reaches the soil, and
        `poured_mm`; all over the pot's surface [mm in the hour], none missing.
    seed : int
        Of the guesses.

    Returns
    -------
    pandas.DataFrame, shape (hours, 6)
        At each hour's start, after what was poured: share left of the water for a tree, and
        depth to which it is dry from the top [mm], 5, 50 and 95 %: `left_low`, `left_mid`,
        `left_high`, `dry_low_mm`, `dry_mid_mm`, `dry_high_mm`.

    Raises
    ------
    Refused
        A column is missing or has holes or numbers below 0, or the index is no row of hours.

    Examples
    --------
    >>> import advisor, pandas as pd
    >>> pot = advisor.fill_pot({"pumice": 1.0}, outside_mm=(350, 250, 60))
    >>> index = pd.date_range("2026-07-01", periods=49, freq="h", tz="UTC")
    >>> asked = pd.DataFrame({"evaporation_mm": 0.1, "transpiration_mm": 0.2}, index=index)
    >>> path = advisor.run_pot(pot, asked)
    >>> path["left_mid"].iloc[[0, 24, 48]].round(2).tolist()
    [1.0, 0.53, 0.15]
    """
    import numpy as np
    import pandas as pd

    from advisor.balance import layout, members
    from advisor.balance.run import Forcing, Task, at_rest, run
    from advisor.jobs.summary import quantiles

    day, table = _pot_table(hours, dict(zip(POT_COLUMNS, (
        layout.EVAPORATION, layout.TRANSPIRATION, layout.RAIN, layout.POUR), strict=True)))
    who = members.draw(seed, seed + 1, pot.prior)
    noise, coin = members.days(seed, np.arange(day[0], day[-1] + 1))
    path = run(Task(pot.pot, who, at_rest(pot.pot, who.shape[1]),
                    Forcing(table, noise, coin, day=day - day[0])))
    names = [f"{what}_{end}{unit}" for what, unit in (("left", ""), ("dry", "_mm"))
             for end in ("low", "mid", "high")]
    rows = np.concatenate([quantiles(path.left), quantiles(path.dry_mm)]).astype(np.float64)
    return pd.DataFrame(rows.T, index=hours.index, columns=names)


def _pot_table(hours: "pd.DataFrame", columns: Mapping[str, int]
               ) -> "tuple[NDArray[np.int64], NDArray[np.float64]]":
    """Give the day of each hour, counted from 1970, and its row for the balance."""
    import numpy as np
    import pandas as pd

    stamps = hours.index
    if not isinstance(stamps, pd.DatetimeIndex) or stamps.tz is None or len(stamps) == 0:
        raise Refused("index of the hours", type(stamps).__name__,
                      "hourly instants with a time zone", "Use pandas.date_range(..., tz=\"UTC\").")
    seconds = stamps.as_unit("s").asi8
    if np.any(np.diff(seconds) != HOUR_S):
        raise Refused("index of the hours", "holes or another order", "hour after hour",
                      "Fill the holes first: hours.asfreq(\"h\").")
    table = np.zeros((len(hours), 9))
    for name, column in columns.items():
        if name not in hours and name in POT_COLUMNS[2:]:
            continue
        values = hours[name].to_numpy(float) if name in hours else np.array([np.nan])
        if not np.all(values >= 0.0):
            raise Refused(f"column {name}", "missing, with holes or below 0",
                          "a number of 0 or more in every hour", "Fill it, with 0 where nothing "
                          "happens.")
        table[:, column] = values
    return seconds // (24 * HOUR_S), table


def _aware(at: datetime | None, name: str) -> datetime | None:
    if at is not None and at.utcoffset() is None:
        raise Refused(name, at.isoformat(), "an instant with an offset from UTC",
                      "Give its tzinfo, as datetime(2026, 7, 1, 7, tzinfo=UTC).")
    return at
