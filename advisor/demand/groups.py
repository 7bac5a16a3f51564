"""Groups of species: how thirsty, when in leaf, how they bear dryness (groups.csv).

Each row of groups.csv names its source; tags as in the tables of this folder:
[S] published, [M] from memory, [J] judgement, [C] computed.
"""

import csv
import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, TypeVar

from advisor.demand.year import season_day
from advisor.errors import Refused

T = TypeVar("T")

HABITS: Final = ("evergreen conifer", "deciduous conifer", "deciduous", "evergreen broad-leaved")


@dataclass(frozen=True)
class Bears:
    """How a tree bears dryness: shares of available water left, and a chance.

    Attributes
    ----------
    limit : float
        Share of available water left at which it wants water [-].
    chance : float
        Chance of passing the limit at which it is called [-].
    harm : float
        Share of available water left at which it suffers [-].
    """

    limit: float
    chance: float
    harm: float


#: Limits and chances by how a tree bears dryness; all [J], ranges limit ± .10, chance ± .08.
BEARS: Final[Mapping[str, Bears]] = {
    "likes to dry": Bears(limit=0.30, chance=0.30, harm=0.08),
    "ordinary": Bears(limit=0.40, chance=0.20, harm=0.08),
    "never dry": Bears(limit=0.50, chance=0.12, harm=0.15),
    "may stand in water": Bears(limit=0.50, chance=0.12, harm=0.08),
}


@dataclass(frozen=True)
class Group:
    """One row of groups.csv.

    Attributes
    ----------
    name : str
        Its plain name.
    habit : str
        One of `HABITS`.
    kcb_peak : float
        Basal crop coefficient per crown area at its height of the year [-].
    kcb_range : tuple of float
        Lowest and highest plausible `kcb_peak` [-].
    winter_share : float
        Share of `kcb_peak` left in mild winter weather; 0 where leafless [-].
    bears : str
        A key of `BEARS`.
    throughfall : tuple of float
        Share of rain that passes a dense and a see-through crown in leaf [-].
    bud_break_dd : float
        Degree-days above 5 °C from midwinter's 1 January (south: 1 July) [°C·d].
    roots_bear_c : float
        Lowest temperature that roots in a pot bear [°C].
    bud_break_day : int
        Bud-break at 50° of latitude, days after that first day [d].
    also : tuple of str
        Other names, common and Latin, in lower case.
    source : str
        What the numbers rest on.
    """

    name: str
    habit: str
    kcb_peak: float
    kcb_range: tuple[float, float]
    winter_share: float
    bears: str
    throughfall: tuple[float, float]
    bud_break_dd: float
    bud_break_day: int
    roots_bear_c: float
    also: tuple[str, ...]
    source: str

    @property
    def evergreen(self) -> bool:
        """Whether it keeps its leaves or needles through the winter."""
        return self.habit.startswith("evergreen")

    @property
    def conifer(self) -> bool:
        """Whether it is a conifer."""
        return self.habit.endswith("conifer")


@cache
def table() -> Mapping[str, Group]:
    """Give all groups by name, in the order of groups.csv."""
    with Path(__file__).with_name("groups.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: _group(row) for row in csv.DictReader(file)}


def find(name: str) -> Group:
    """Find the group of a tree by its common or Latin name.

    The longest part of the name that is known decides: "Japanese black pine" is a pine,
    "dwarf swamp cypress" a swamp cypress, "Acer palmatum" a maple.

    Parameters
    ----------
    name : str
        As a grower writes it; case does not matter.

    Returns
    -------
    Group

    Raises
    ------
    Refused
        No part of the name is known; the message says what comes near.
    """
    known = _names()
    words = name.lower().replace("-leafed", "-leaved").split()
    for length in range(len(words), 0, -1):
        for start in range(len(words) - length, -1, -1):
            group = known.get(" ".join(words[start : start + length]))
            if group is not None:
                return group
    raise _unknown("species group", name, known, table())


def bearing(word: str) -> Bears:
    """Give limits and chance for one of the words of `BEARS`.

    Raises
    ------
    Refused
        The word is not known.
    """
    return look_up(BEARS, word, "how it bears dryness")


def look_up(options: Mapping[str, T], word: str, what: str) -> T:
    """Give `options[word]`, or refuse the word and say what was meant.

    Parameters
    ----------
    options : mapping
        Known words and what they stand for.
    word : str
        The word given.
    what : str
        What the word tells ("root work").

    Raises
    ------
    Refused
        The word is not among the options.
    """
    if word not in options:
        raise _unknown(what, word, options, options)
    return options[word]


def _unknown(
    what: str, word: str, known: Mapping[str, object], listed: Mapping[str, object]
) -> Refused:
    near = difflib.get_close_matches(str(word).lower(), list(known), n=1, cutoff=0.6)
    do = f"Did you mean {near[0]}?" if near else "Give one of these."
    return Refused(what, repr(word), "known: " + ", ".join(listed), do)


@cache
def _names() -> Mapping[str, Group]:
    return {word: group for group in table().values() for word in (group.name, *group.also)}


def _group(row: Mapping[str, str]) -> Group:
    month, day = (int(part) for part in row["bud_break_day"].split("-"))
    return Group(
        name=row["name"],
        habit=row["habit"],
        kcb_peak=float(row["kcb_peak"]),
        kcb_range=(float(row["kcb_low"]), float(row["kcb_high"])),
        winter_share=float(row["winter_share"]),
        bears=row["bears"],
        throughfall=(float(row["throughfall_low"]), float(row["throughfall_high"])),
        bud_break_dd=float(row["bud_break_dd"]),
        bud_break_day=season_day(month, day),
        roots_bear_c=float(row["roots_bear_c"]),
        also=tuple(row["also"].split(";")),
        source=row["source"],
    )
