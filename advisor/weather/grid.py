"""Hours without holes: laying rows onto whole UTC hours, and bridging short gaps."""

import numpy as np
import pandas as pd

from advisor.errors import Refused
from advisor.weather.refusals import raise_all

HOUR = pd.Timedelta(hours=1)
QUARTER = pd.Timedelta(minutes=15)  # the finest step between the time zones in use
#: longest gap bridged between neighbours [h], [J] 1 to 6
BRIDGED_H = 3
#: a longer gap inside one file is taken for a slip of the pen [d], [J]
LONGEST_GAP_D = 400
#: amounts in an hour, which add up; all other columns are means of it
AMOUNTS = ("rain_mm",)


def check_order(stamps: pd.DatetimeIndex, lines: list[int], name: str) -> None:
    """Refuse stamps that repeat, go back, lie within an hour of each other or far apart.

    Raises
    ------
    Refused, ManyRefused
        By line of the file.
    """
    steps = np.diff(stamps.asi8) / HOUR.value
    rules = (
        (steps == 0, "the same hour as", "each hour once", "Keep one of the two rows."),
        (steps < 0, "earlier than", "rows in order of time", "Sort the rows."),
        (
            (steps > 0) & (steps < 1),
            "less than an hour after",
            "one row an hour",
            "Take out the rows between.",
        ),
        (
            steps > LONGEST_GAP_D * 24,
            f"more than {LONGEST_GAP_D} days after",
            "rows of one stretch of time",
            "Check the year, or give the parts as files of their own.",
        ),
    )
    raise_all(
        name,
        [
            Refused(
                f"line {lines[i + 1]}, hour",
                f"{stamps[i + 1]:%Y-%m-%dT%H:%MZ}, {wrong} the line before",
                limit,
                do,
            )
            for broken, wrong, limit, do in rules
            for i in np.flatnonzero(broken).tolist()
        ],
        "Mend these rows.",
    )
    _check_quarters(stamps, lines, name)


def _check_quarters(stamps: pd.DatetimeIndex, lines: list[int], name: str) -> None:
    """Refuse stamps that no time zone's full hour can have."""
    odd = np.flatnonzero(stamps.asi8 % QUARTER.value).tolist()
    raise_all(
        name,
        [
            Refused(
                f"line {lines[i]}, hour",
                f"{stamps[i]:%Y-%m-%dT%H:%M:%SZ}",
                "a start on a full quarter of an hour",
                "Give the stamp at which the hour starts.",
            )
            for i in odd
        ],
        "Mend these stamps.",
    )


def whole_hours(values: pd.DataFrame, origins: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Lay hours that start at any quarter onto every whole UTC hour from first to last.

    Time zones with half hours put local hours across two UTC hours. Means are weighted by the
    time shared; amounts are split by it, so that their sum is kept. Hours with no row are NaN.

    Parameters
    ----------
    values, origins : pandas.DataFrame
        Numbers and where each came from, by start of the hour [UTC], in order.

    Returns
    -------
    tuple of pandas.DataFrame
        Both by whole hour, without holes.
    """
    index = pd.DatetimeIndex(values.index)
    if (index.asi8 % HOUR.value).any():
        values, origins = _shared_out(values), _first_of(origins)
        index = pd.DatetimeIndex(values.index)
    every = pd.date_range(index[0], index[-1], freq="h", name="hour")
    return values.reindex(every), origins.reindex(every).fillna("")


def _shared_out(values: pd.DataFrame) -> pd.DataFrame:
    """Weigh the rows by the quarters each shares with a whole hour."""
    quarters = pd.concat([values.shift(freq=QUARTER * i) for i in range(4)])
    by_hour = quarters.groupby(pd.DatetimeIndex(quarters.index).floor("h"))
    hours = by_hour.mean()
    for column in hours.columns.intersection(list(AMOUNTS)):
        hours[column] = by_hour[column].sum(min_count=1) / 4.0
    return hours


def _first_of(origins: pd.DataFrame) -> pd.DataFrame:
    """Give each whole hour the first origin told among the rows it shares.

    One that stands beside a value goes before one that says why there is none.
    """
    quarters = pd.concat([origins.shift(freq=QUARTER * i) for i in range(4)]).sort_index()
    told = quarters.where(quarters != "")
    aside = told.apply(lambda column: column.str.startswith("set aside", na=False))
    hour = pd.DatetimeIndex(told.index).floor("h")
    kept: pd.DataFrame = told.mask(aside).groupby(hour).first()
    return kept.fillna(told.groupby(hour).first())


def means_of_ends(values: pd.Series) -> pd.Series:
    """Turn readings taken at the end of each hour into means of the hour's two ends.

    Where only one end is known, it stands for the hour.
    """
    ends = pd.concat([values.shift(1), values], axis=1)
    return ends.mean(axis=1)


def bridged(values: pd.Series) -> pd.Series:
    """Bridge holes of up to `BRIDGED_H` hours in a line between their neighbours."""
    hole = values.isna()
    length = hole.groupby((~hole).cumsum()).transform("sum")
    line = values.interpolate(method="linear", limit_area="inside")
    return values.where(~(hole & (length <= BRIDGED_H)), line)
