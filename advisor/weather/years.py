"""Files of a typical year: which year they stand for, and whether they are whole."""

from collections.abc import Sequence

import pandas as pd

from advisor.errors import Refused

FIRST, LAST = 1900, 2200
#: what the readers of pvlib raise on a file that is not what it seems
NOT_READ = (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError)


def wanted(name: str, found: Sequence[int], year: int | None) -> int:
    """Give the year a file shall stand for: the one asked, else its only own.

    Raises
    ------
    Refused
        Its months come from several years and none was asked, or the year is no year.
    """
    if year is None and len(found) > 1:
        raise Refused(
            name,
            f"months of {len(found)} years, {found[0]} to {found[-1]}",
            "one year",
            "Say which year it shall stand for.",
        )
    chosen = found[0] if year is None else year
    if not FIRST <= chosen <= LAST:
        raise Refused(f"{name}, year", chosen, f"{FIRST} to {LAST}", "Check the year.")
    return chosen


def check_whole(
    name: str, fields: Sequence[int], head: int, lengths: Sequence[int], first_line: int = 3
) -> None:
    """Refuse a file of a year that has too few hours or a row with too few fields.

    Parameters
    ----------
    name : str
        Of the file.
    fields : sequence of int
        Separators in each row.
    head : int
        Separators that a row should have.
    lengths : sequence of int
        Rows that a year may have.
    first_line : int
        Line of the first row.
    """
    get_again = "The file was cut off half-way: get it again."
    if len(fields) not in lengths:
        raise Refused(name, f"{len(fields)} hours", f"{lengths[0]} hours, a whole year", get_again)
    short = [i for i, count in enumerate(fields) if count != head]
    if short:
        raise Refused(
            f"{name}, line {short[0] + first_line}",
            f"{fields[short[0]] + 1} fields",
            f"{head + 1} fields",
            get_again,
        )


def unreadable(name: str, kind: str, error: Exception) -> Refused:
    """Say that a file looks like one of that kind but cannot be read as one."""
    reason = " ".join(str(error).split())[:120]
    return Refused(
        name, f"'{reason}'", f"a {kind} file as its makers write it", "Get the file again."
    )


def notes(found: Sequence[int], year: int, hours: pd.DataFrame) -> tuple[str, ...]:
    """Say what laying the years of a file on this one did to it.

    Parameters
    ----------
    found : sequence of int
        Years in the file, in order.
    year : int
        The year it was laid on.
    hours : pandas.DataFrame
        The hourly table.
    """
    said = []
    if len(found) > 1:
        said.append(
            f"A typical year: its months are of {found[0]} to {found[-1]}, and {year} is nominal."
        )
    elif found[0] != year:
        said.append(f"The weather of {found[0]}; {year} is nominal.")
    index = pd.DatetimeIndex(hours.index)
    leap_day = (index.month == 2) & (index.day == 29)
    if hours["temp_c"].isna().to_numpy()[leap_day].any():
        said.append("29 February is not in the file: not known.")
    return tuple(said)
