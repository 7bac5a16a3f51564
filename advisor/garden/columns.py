"""The columns of the spreadsheet of trees: what each is called, and what a cell may say."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from advisor.errors import Refused
from advisor.garden.naming import closest, fold
from advisor.garden.records import Potting, Tree
from advisor.units import CONVERSIONS, factor

_HEADER = re.compile(r"\s*(.*?)\s*(?:\[\s*(.*?)\s*\])?\s*")
_YES, _NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True)
class Cells:
    """How numbers and instants are written in one file."""

    decimal_comma: bool
    zone: ZoneInfo


Read = Callable[[str, Cells], Any]


@dataclass(frozen=True)
class Column:
    """One column: its name, the unit it is written in, and the field it fills.

    `part` is the index where the field holds several sizes; `read` turns text into a value
    and raises `Refused` on the value alone.
    """

    name: str
    record: str  # "tree", "potting" or "place"
    field: str
    read: Read
    unit: str = ""
    part: int | None = None

    @property
    def header(self) -> str:
        """The name with the unit behind it, as it is written out."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


def _refuse(text: str, limit: str, do: str) -> Refused:
    return Refused("cell", repr(text), limit, do)


def _text(text: str, cells: Cells) -> str:
    return text.strip()


def _number(text: str, cells: Cells) -> float:
    written = text.strip()
    if cells.decimal_comma and "." not in written:
        written = written.replace(",", ".", 1)
    if not _NUMBER.fullmatch(written):
        mark = "," if cells.decimal_comma else "."
        raise _refuse(text, "a number", f"Write it as 2{mark}5, without its unit.")
    return float(written)


def _share(text: str, cells: Cells) -> float:
    """Read a share, as 0.3 or 30 %."""
    written = text.strip()
    if written.endswith("%"):
        return _number(written.removesuffix("%"), cells) / 100.0
    return _number(text, cells)


def _whole(text: str, cells: Cells) -> int:
    value = _number(text, cells)
    if not value.is_integer():
        raise _refuse(text, "a whole number", "Leave the decimals out.")
    return int(value)


def _yes(text: str, cells: Cells) -> bool:
    if fold(text) not in _YES + _NO:
        raise _refuse(text, "yes or no", "Write yes or no.")
    return fold(text) in _YES


def _instant(text: str, cells: Cells) -> datetime:
    """Read an instant; a day alone is its noon, and without an offset it is local time."""
    written = text.strip()
    try:
        at = (datetime.combine(datetime.fromisoformat(written).date(), time(12))
              if _DAY.fullmatch(written) else datetime.fromisoformat(written))
        early, late = (at.replace(tzinfo=at.tzinfo or cells.zone, fold=side) for side in (0, 1))
        told, again = early.astimezone(UTC), late.astimezone(UTC)
    except (ValueError, OverflowError):
        raise _refuse(text, "a day or an instant",
                      "Write it as 2026-04-01 or 2026-04-01 08:00.") from None
    if told != again:
        raise _refuse(text, "a local time that is there once", "Add the offset: +02:00.")
    return told


def write_cell(value: Any, zone: ZoneInfo) -> str:
    """Give the text of a value, which reads back as the same value."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        local = value.astimezone(zone)
        return local.isoformat(" ", "seconds" if local.second else "minutes")
    return repr(value).removesuffix(".0") if isinstance(value, float) else str(value)


def _sizes(name: str, field: str, *parts: str) -> list[Column]:
    return [Column(f"{name} {part}", "potting", field, _number, "mm", i)
            for i, part in enumerate(parts)]


COLUMNS: tuple[Column, ...] = (
    Column("label", "tree", "label", _text),
    Column("group", "tree", "group", _text),
    Column("name", "tree", "name", _text),
    Column("crown width", "tree", "crown_width_cm", _number, "cm"),
    Column("crown depth", "tree", "crown_depth_cm", _number, "cm"),
    Column("density", "tree", "density", _text),
    Column("bears", "tree", "bears", _text),
    Column("limit", "tree", "limit", _share, "share"),
    Column("chance", "tree", "chance", _share, "share"),
    Column("must not lose", "tree", "must_not_lose", _yes),
    Column("place", "place", "place", _text),
    Column("in place since", "place", "at", _instant),
    Column("potted", "potting", "at", _instant),
    Column("mix", "potting", "mix", _text),
    Column("form", "potting", "form", _text),
    Column("outline", "potting", "outline", _text),
    *_sizes("outside", "outside_mm", "length", "width", "height"),
    *_sizes("inside", "inside_mm", "length", "width"),
    Column("soil depth", "potting", "soil_depth_mm", _number, "mm"),
    Column("soil volume", "potting", "litres", _number, "L"),
    Column("base", "potting", "base_share", _share, "share"),
    Column("mound", "potting", "mound_mm", _number, "mm"),
    Column("wall", "potting", "wall", _text),
    Column("drainage layer", "potting", "drainage_mm", _number, "mm"),
    Column("drainage grain", "potting", "drainage_grain_mm", _number, "mm"),
    Column("rock", "potting", "rock_share", _share, "share"),
    Column("ball mix", "potting", "ball_mix", _text),
    Column("ball", "potting", "ball_share", _share, "share"),
    Column("condition", "potting", "condition", _text),
    Column("dressing", "potting", "dressing", _text),
    Column("water enters", "potting", "enters", _text),
    Column("root work", "potting", "root_work", _text),
    Column("collected", "potting", "collected", _yes),
    Column("watered in", "potting", "watered_in", _yes),
    Column("target depth", "potting", "target_mm", _number, "mm"),
    Column("recovery", "potting", "recovery_days", _whole, "days"),
)
BY_NAME: Mapping[str, Column] = {column.name: column for column in COLUMNS}

_QUANTITY = {"cm": "length_mm", "mm": "length_mm", "L": "litres"}
_DEFAULTS = {"tree": Tree.__dataclass_fields__, "potting": Potting.__dataclass_fields__}


def default_of(column: Column) -> Any:
    """Give what an empty cell means: the default of its field, None where it has none."""
    fields = _DEFAULTS.get(column.record, {})
    default = fields[column.field].default if column.field in fields else None
    return default if isinstance(default, (str, int, float, bool)) else None


def read_header(text: str) -> tuple[Column, float]:
    """Give the column a header names, and the factor of its unit to the unit used inside.

    Raises
    ------
    Refused
        No such column, or not in this unit.
    """
    match = _HEADER.fullmatch(text)
    name, unit = (match.group(1), match.group(2) or "") if match else (text, "")
    column = BY_NAME.get(fold(name))
    if column is None:
        meant = closest(name, BY_NAME)
        do = f"Did you mean {BY_NAME[meant].header!r}?" if meant else "Leave this column out."
        raise Refused("column", repr(text), "a column of the list of trees", do)
    if unit == column.unit:
        return column, 1.0
    quantity = _QUANTITY.get(column.unit)
    if quantity is None or not unit:
        limit = f"written as {column.header!r}"
        raise Refused("column", repr(text), limit, f"Write {column.header!r}.")
    try:
        return column, factor(quantity, unit)[0] / factor(quantity, column.unit)[0]
    except Refused:
        known = ", ".join(CONVERSIONS[quantity])
        raise Refused("column", repr(text), f"units: {known}", "Give one of these units.") from None
