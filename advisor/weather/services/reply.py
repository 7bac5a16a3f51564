"""What the readers of all services share: documents, units, and hours of one kind."""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.units import CONVERSIONS, LIMITS
from advisor.weather import grid, series
from advisor.weather.services import Service, refused

Kind = Literal["forecast", "analysis", "station", "ensemble"]

#: units as services spell them -> as `units.CONVERSIONS` does
SPELLINGS: dict[str, dict[str, str]] = {
    "temp_c": {"celsius": "C"},
    "dew_c": {"celsius": "C"},
    "wind_ms": {"ms": "m/s", "kmh": "km/h"},
    "rain_mm": {"mm/hour": "mm", "mm/hr": "mm", "mm/h": "mm", "inch": "in"},
    "rain_day_mm": {"mm/day": "mm"},
    "ghi_wm2": {
        "W/m^2": "W/m2",
        "Wh/m^2": "Wh/m2",
        "kWh/m²": "kWh/m2",
        "MJ/hr": "MJ/m2",
        "MJ/h": "MJ/m2",
        "MJ/m^2/hr": "MJ/m2",
        "MJ/m^2/hour": "MJ/m2",
    },
    "ghi_day_mjm2": {
        "MJ/m^2/day": "MJ/m2",
        "kW-hr/m^2/day": "kWh/m2",
        "kWh/m^2/day": "kWh/m2",
        "Wh/m^2/day": "Wh/m2",
    },
}
_NOT_SHAPED = (KeyError, TypeError, ValueError, AttributeError, IndexError, OverflowError)
_LATER = "Ask again later; if it stays so, the service has changed its answers."


@dataclass(frozen=True)
class Answer:
    """Hours of one kind out of a service's answer.

    Attributes
    ----------
    kind : "forecast", "analysis", "station" or "ensemble"
        What they are: foretold, worked out afterwards by a model, measured, or one of many
        ways in which it may come.
    issued_at : datetime
        When the service gave them.
    series : Series
        The hours.
    member : int or None
        Number within an ensemble.
    """

    kind: Kind
    issued_at: datetime
    series: series.Series
    member: int | None = None


def document(body: bytes, service: Service) -> Any:
    """Read a body as JSON.

    Raises
    ------
    Refused
        It is none: a page for people, or cut off.
    """
    try:
        return json.loads(body)
    except (ValueError, RecursionError):
        start = body.lstrip()[:1]
        found = "a web page instead of data" if start == b"<" else "data cut off or garbled"
        raise refused(service, found, "a JSON document", _LATER) from None


@contextmanager
def documented(service: Service) -> Iterator[None]:
    """Turn what breaks on an answer of another shape into a refusal that names the host."""
    try:
        yield
    except Refused:
        raise
    except _NOT_SHAPED as error:
        told = f"{type(error).__name__} {error}"[:120]
        raise refused(
            service, f"an answer of another shape ({told})", "the documented shape", _LATER
        ) from None


def unit(service: Service, quantity: str, written: object) -> str:
    """Give the unit of a column as this tool writes it.

    Raises
    ------
    Refused
        A unit that is not known: the numbers could be anything.
    """
    ours = SPELLINGS.get(quantity, {}).get(str(written), str(written))
    if ours not in CONVERSIONS[quantity]:
        raise refused(
            service,
            f"{LIMITS[quantity].words} in '{written}'",
            "known units: " + ", ".join(CONVERSIONS[quantity]),
            _LATER,
        )
    return ours


def stamps(written: Sequence[object], form: str) -> pd.DatetimeIndex:
    """Read stamps that are all written in one form; those without an offset are UTC.

    Raises
    ------
    TypeError, ValueError
        Not written so.
    """
    texts = [each for each in written if isinstance(each, str)]
    if len(texts) < len(written):
        raise TypeError("a stamp that is no text")
    return pd.DatetimeIndex(pd.to_datetime(texts, format=form, utc=True))


def numbers(values: Sequence[object], count: int) -> NDArray[np.float64]:
    """Give a list of numbers and nulls as an array of known length; null is NaN.

    Raises
    ------
    ValueError
        Not a list of so many numbers.
    """
    found = np.array(values, dtype=np.float64)
    if found.shape != (count,):
        raise ValueError(f"{found.shape} numbers for {count} stamps")
    return found


def ended(hours: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """Leave out hours that were not over at the last stamp with a value.

    A reading there is the beginning of an hour of which nothing else is known.
    """
    last = values.dropna(how="all").index.max()
    over = pd.DatetimeIndex(hours.index) + grid.HOUR <= pd.Timestamp(last)
    return hours[over]


def known(hours: pd.DataFrame) -> pd.DataFrame:
    """Leave out the hours at both ends of which nothing is known."""
    rows = np.flatnonzero(hours[list(series.COLUMNS)].notna().any(axis=1))
    return hours.iloc[rows[0] : rows[-1] + 1] if len(rows) else hours.iloc[:0]


def split(told: series.Series, issued_at: datetime, words: Mapping[Kind, str]) -> list[Answer]:
    """Part hours that were over when the answer was given from those to come.

    Parameters
    ----------
    told : Series
        Hours whose origins are the word for "forecast".
    issued_at : datetime
        When the answer was given.
    words : mapping
        Origin of each kind.

    Returns
    -------
    list of Answer
        "analysis" first, then "forecast"; one without hours is left out.
    """
    past = pd.DatetimeIndex(told.hours.index) + grid.HOUR <= pd.Timestamp(issued_at)
    before = renamed(told.hours[past], {words["forecast"]: words["analysis"]})
    parts: tuple[tuple[Kind, pd.DataFrame], ...] = (
        ("analysis", before),
        ("forecast", told.hours[~past]),
    )
    return [
        Answer(kind, issued_at, replace(told, hours=hours))
        for kind, hours in ((kind, known(hours)) for kind, hours in parts)
        if len(hours)
    ]


def renamed(hours: pd.DataFrame, words: Mapping[str, str]) -> pd.DataFrame:
    """Give hours whose origins are called otherwise."""
    names = {f"{c}_from": hours[f"{c}_from"].replace(dict(words)) for c in series.COLUMNS}
    return hours.assign(**names)


def some(answers: list[Answer], service: Service) -> list[Answer]:
    """Give the answers on.

    Raises
    ------
    Refused
        There is not one.
    """
    if not answers:
        raise refused(
            service, "not one value in the whole answer", "hours with values", "Use another source."
        )
    return answers


def credit(service: Service) -> str:
    """Give the words that go with a service's data."""
    return f"{service.attribution} ({service.link}), {service.licence}"
