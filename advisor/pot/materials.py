"""The substrates a grower may name, one row each in `materials.csv`.

Every row carries its source ("S:" published, "J:" judged), how far to trust it, and the range
in which its capacity and its available water lie.
"""

import csv
import difflib
import re
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from advisor.errors import Refused


class Pores(NamedTuple):
    """One mode of van Genuchten's curve; a mode that holds nothing has water 0."""

    water: float  # share of volume between saturated and dry
    alpha_cm: float  # 1/cm
    n: float


@dataclass(frozen=True)
class Material:
    """One row of the table: what a substrate holds, lets through, and how sure that is."""

    name: str
    aliases: tuple[str, ...]
    grade_mm: str
    d50_mm: float
    density_kgl: float
    theta_r: float
    between: Pores
    inside: Pores
    ks_cmh: float
    k_c_cmh: float
    k_c_low_cmh: float
    k_c_high_cmh: float
    wetting: str
    breaks_to: str
    held_wp: float
    capacity_range_pct: float
    available_range_pct: float
    confidence: str
    source: str


TEXT = ("name", "grade_mm", "wetting", "breaks_to", "confidence", "source")
NUMBERS = tuple(field.name for field in fields(Material) if field.type is float)
NO_PORES = Pores(0.0, 1.0, 2.0)


def find(name: str) -> Material:
    """Find a material by its name or by what growers call it.

    Parameters
    ----------
    name : str
        "akadama 2-5", or the bare "akadama", or "Pumice 5–10 mm": capitals, dashes and the
        unit do not matter.

    Raises
    ------
    Refused
        No row has that name; the message offers the nearest.
    """
    index = _index()
    key = _key(name)
    if key in index:
        return index[key]
    near = difflib.get_close_matches(key, index, n=6, cutoff=0.6)
    offers = list(dict.fromkeys(index[match].name for match in near))[:3]
    do = (
        f"Did you mean {' or '.join(offers)}?"
        if offers
        else "Known are: " + "; ".join(row.name for row in table()) + "."
    )
    raise Refused("material", repr(name), "a name in the table of materials", do)


@lru_cache(maxsize=1)
def table() -> tuple[Material, ...]:
    """Read every row of `materials.csv`, in its order."""
    with Path(__file__).with_name("materials.csv").open(encoding="utf-8", newline="") as rows:
        return tuple(_material(row) for row in csv.DictReader(rows))


@lru_cache(maxsize=1)
def _index() -> dict[str, Material]:
    return {_key(word): row for row in table() for word in (row.name, *row.aliases)}


def _key(name: str) -> str:
    plain = re.sub(r"\s*[-–—‒]\s*", "-", name.casefold())
    plain = re.sub(r"\s*mm$", "", plain.strip())
    return re.sub(r"[\s,]+", " ", plain).strip()


def _material(row: dict[str, str]) -> Material:
    values: dict[str, Any] = {column: row[column] for column in TEXT}
    values |= {column: float(row[column]) for column in NUMBERS}
    return Material(
        **values,
        aliases=tuple(word for word in row["aliases"].split(";") if word),
        between=_pores(row, "between"),
        inside=_pores(row, "inside"),
    )


def _pores(row: dict[str, str], mode: str) -> Pores:
    water = float(row[mode])
    if not water:
        return NO_PORES
    return Pores(water, float(row[f"{mode}_alpha_cm"]), float(row[f"{mode}_n"]))
