"""Comma-separated text with units in its header: reading it, and saying what is wrong with it.

Lines that begin with "#" before the header are remarks ("# source: my own station"). A column
is headed `name [unit]`; one that depends on a height says it, `wind 10m [m/s]`.
"""

import csv
import io
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.units import CONVERSIONS
from advisor.weather.refusals import raise_all

_HEAD = re.compile(r"(?P<words>[^\[\]\d]+?)\s*(?P<height>[\d.]+\s*m)?\s*(?:\[(?P<unit>[^\]]*)\])?")
_UNKNOWN = frozenset({"", "na", "nan", "null", "none"})


@dataclass(frozen=True)
class Head:
    """The head of one column."""

    words: str
    unit: str | None = None
    height_m: float | None = None


@dataclass(frozen=True)
class Column:
    """A column whose head was understood: where it stands and what it holds."""

    position: int
    name: str
    quantity: str
    head: Head


@dataclass(frozen=True)
class Sheet:
    """A file as rows of text, with the line on which each stands."""

    name: str
    remarks: Mapping[str, tuple[str, ...]]
    head: tuple[str, ...]
    rows: list[list[str]]
    lines: list[int]
    ended: bool  # the last line has a line end

    def remark(self, key: str) -> str:
        """Give the first remark of that name, or nothing."""
        return self.remarks.get(key, ("",))[0]

    def number(self, key: str) -> float | None:
        """Give the remark of that name as a number, if it is there."""
        written = self.remark(key).split(" ")[0].rstrip(",")
        if not written:
            return None
        try:
            return float(written)
        except ValueError:
            raise Refused(
                f"{self.name}, remark '{key}'", written, "a number", f"Write it as '# {key}: 52.1'."
            ) from None


def text(path: Path) -> str:
    """Read a text file.

    Raises
    ------
    Refused
        It cannot be opened, is empty, is no text, or is not written in UTF-8.
    """
    found = content(path)
    if b"\0" in found:
        raise Refused(
            path.name, "a binary file", "a text file with commas", "Save the table as CSV."
        )
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = found[: error.start].count(b"\n") + 1
        raise Refused(
            f"{path.name}, line {line}",
            "a letter in another encoding",
            "UTF-8",
            "Save the file as UTF-8.",
        ) from None


def old_text(path: Path) -> str:
    """Read a text file that may be older than UTF-8, as weather for simulations often is."""
    found = content(path)
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError:
        return found.decode("iso-8859-1")


def lines_of(found: str) -> list[str]:
    """Split a text at line ends alone: other splitters take some letters for one."""
    return re.split(r"\r\n|\r|\n", found.rstrip("\r\n"))


def content(path: Path) -> bytes:
    """Read a file's bytes; refuse what cannot be opened or is empty."""
    try:
        found = path.read_bytes()
    except OSError as error:
        raise Refused(
            str(path),
            error.strerror or "unreadable",
            "a file that can be read",
            "Check the name and its rights.",
        ) from None
    if not found.strip():
        raise Refused(path.name, "an empty file", "a weather file", "Give a file with rows in it.")
    return found


def sheet(path: Path) -> Sheet:
    """Read a file into rows of text.

    Raises
    ------
    Refused, ManyRefused
        No text, no rows, or rows with another number of fields than the head: a file that
        was cut off half-way says so.
    """
    found = text(path)
    rest = io.StringIO(found, newline="")
    remarks, before, first = _remarks(rest)
    rows = list(rows_of(itertools.chain([first], rest), path.name, before=before))
    made = Sheet(
        path.name,
        remarks,
        tuple(field.strip() for field in rows[0][1]) if rows else (),
        [row for _, row in rows[1:]],
        [line for line, _ in rows[1:]],
        found.endswith(("\n", "\r")),
    )
    _check_shape(made)
    return made


def rows_of(
    lines: Iterable[str], name: str, *, separator: str = ",", before: int = 0
) -> Iterator[tuple[int, list[str]]]:
    """Give line and fields of every row that is not empty.

    Parameters
    ----------
    lines : iterable of str
        With their line ends.
    name : str
        Of the file.
    separator : str
        Between two fields.
    before : int
        Lines of the file that stand before the first.

    Raises
    ------
    Refused
        A row that cannot be parted into fields.
    """
    reader = csv.reader(lines, delimiter=separator)
    try:
        for row in reader:
            if any(map(str.strip, row)):
                yield reader.line_num + before, row
    except csv.Error as error:
        raise Refused(
            f"{name}, line {reader.line_num + before}",
            str(error),
            "a row of fields",
            "Mend this row.",
        ) from None


def _remarks(lines: Iterator[str]) -> tuple[dict[str, tuple[str, ...]], int, str]:
    """Read remarks and blank lines; give them, their number, and the first line after them."""
    remarks: dict[str, tuple[str, ...]] = {}
    for number, line in enumerate(lines):
        if line.strip(" ,\r\n") and not line.lstrip(' "').startswith("#"):
            return remarks, number, line
        if line.startswith('"'):  # a spreadsheet quotes a remark with commas in it
            line = line.strip().rstrip(",").strip('"').replace('""', '"')
        key, _, value = line.strip().lstrip("# ").partition(":")
        key = key.strip().lower()
        remarks[key] = (*remarks.get(key, ()), value.strip())
    return remarks, 0, ""


def _check_shape(made: Sheet) -> None:
    """Refuse a sheet without rows, and rows that are longer or shorter than the head."""
    if not made.rows:
        raise Refused(
            made.name,
            "no rows below its head",
            "at least one row",
            "Give a file with rows in it; this one may be cut off.",
        )
    if len(made.head) == 1 and ";" in made.head[0]:
        raise Refused(
            f"{made.name}, head",
            "semicolons",
            "commas between columns, points in numbers",
            "Save it as CSV with commas.",
        )
    wanted = len(made.head)
    if len(made.rows[-1]) < wanted:
        raise Refused(
            f"{made.name}, line {made.lines[-1]}, the last one",
            f"{len(made.rows[-1])} of {wanted} fields",
            "whole rows",
            "The file was cut off half-way: get it again.",
        )
    raise_all(
        made.name,
        [
            Refused(
                f"line {line}",
                f"{len(row)} fields",
                f"{wanted} fields as in the head",
                "Mend this row.",
            )
            for row, line in zip(made.rows, made.lines, strict=True)
            if len(row) != wanted
        ],
        "Mend these rows.",
    )


def head(written: str) -> Head:
    """Take the head of a column apart: "wind 10m [m/s]" is wind, m/s, 10 m."""
    match = _HEAD.fullmatch(written.strip())
    if match is None:
        return Head(written.strip().lower())
    high = match["height"]
    try:
        height_m = float(high.rstrip("m ")) if high else None
    except ValueError:
        return Head(written.strip().lower())
    unit = match["unit"]
    return Head(match["words"].strip().lower(), unit.strip() if unit else None, height_m)


def columns(
    made: Sheet, known: Mapping[str, str], quantities: Mapping[str, str] | None = None
) -> list[Column]:
    """Understand the heads of all columns but the first, which is the time.

    Parameters
    ----------
    made : Sheet
        The file.
    known : mapping
        Name used inside by the words of a head.
    quantities : mapping
        Quantity (key of `units.CONVERSIONS`) by name, where that is another word.

    Raises
    ------
    Refused
        An unknown column or unit (with the likeliest meant), no unit, or a column twice.
    """
    found: list[Column] = []
    for position, written in enumerate(made.head[1:], start=1):
        where, parts = f"{made.name}, column '{written}'", head(written)
        if parts.words not in known:
            raise Refused(
                where,
                written or "no name",
                "known: " + ", ".join(known),
                _meant(parts.words, known),
            )
        name = known[parts.words]
        quantity = (quantities or {}).get(name, name)
        if name in (column.name for column in found):
            raise Refused(where, "there twice", "each column once", "Take one of the two out.")
        _check_unit(where, quantity, parts)
        found.append(Column(position, name, quantity, parts))
    return found


def _check_unit(where: str, quantity: str, parts: Head) -> None:
    units = CONVERSIONS.get(quantity)
    if units is None:  # words, not numbers
        return
    if parts.unit is None:
        raise Refused(
            where,
            "no unit",
            "known: " + ", ".join(units),
            f"Write the unit behind the name: '{parts.words} [{next(iter(units))}]'.",
        )
    if parts.unit not in units:
        raise Refused(
            where, f"unit {parts.unit}", "known: " + ", ".join(units), _meant(parts.unit, units)
        )


def _meant(written: str, known: Mapping[str, object]) -> str:
    by_small = {name.lower(): name for name in known}
    close = get_close_matches(written.lower(), by_small, n=1, cutoff=0.5)
    return f"Did you mean '{by_small[close[0]]}'?" if close else "Give one of these."


def numbers(made: Sheet, found: list[Column]) -> dict[str, NDArray[np.float64]]:
    """Read columns of numbers; empty cells and "NA" are NaN.

    Raises
    ------
    Refused, ManyRefused
        Cells that are no numbers, by line and column.
    """
    read: dict[str, NDArray[np.float64]] = {}
    refusals: list[Refused] = []
    for column in found:
        values = np.full(len(made.rows), np.nan)
        for i, row in enumerate(made.rows):
            written = row[column.position].strip()
            if written.lower() in _UNKNOWN:
                continue
            try:
                values[i] = float(written.replace("_", "?"))
            except ValueError:
                refusals.append(
                    Refused(
                        f"line {made.lines[i]}, {column.head.words}",
                        f"'{written}'",
                        "a number with a point, or nothing",
                        "Mend this cell.",
                    )
                )
        read[column.name] = values
    raise_all(made.name, refusals, "Mend these cells.")
    return read
