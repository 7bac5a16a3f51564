"""Trees from and to a spreadsheet (CSV): one row a tree, with its place and its pot.

Reading takes what spreadsheets write: commas, semicolons (then with decimal commas) or tabs,
a byte order mark, any line ends. Writing uses commas, points and UTF-8, and what is written
reads back as the same trees. A column left out leaves what is known as it is; an empty
cell stands for the default.
"""

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from advisor.errors import ManyRefused, Refused
from advisor.garden.columns import (
    COLUMNS,
    Cells,
    Column,
    default_of,
    read_header,
    write_cell,
)
from advisor.garden.knowledge import Knowledge
from advisor.garden.naming import fold
from advisor.garden.records import Move, Potting, Record, Tree
from advisor.garden.rules import Fault, Names, faults

_DELIMITERS = (",", ";", "\t")
_BOMS = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}

Sound = Callable[[Knowledge, str], object]
Values = dict[str, dict[str, Any]]  # record -> field -> value


def trees_text(knowledge: Knowledge) -> str:
    """Give the trees that are still here, with their current place and potting, as CSV.

    Parameters
    ----------
    knowledge : Knowledge
        What is known.

    Returns
    -------
    str
        A header and one row a tree, in walking order; lines end in CR LF.
    """
    zone = ZoneInfo(knowledge.site.time_zone)
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(column.header for column in COLUMNS)
    for label in here(knowledge):
        told = _told(knowledge, label)
        writer.writerow(write_cell(_value(told.get(c.record), c), zone) for c in COLUMNS)
    return text.getvalue()


def here(knowledge: Knowledge) -> list[str]:
    """Give the labels of the trees that are not gone, in walking order."""
    return [label for label in knowledge.trees if not knowledge.is_gone(label)]


def write_trees(path: Path | str, knowledge: Knowledge) -> None:
    """Write the trees that are still here to a new CSV file.

    Raises
    ------
    Refused
        The file exists already, or cannot be written there.
    """
    path = Path(path)
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(trees_text(knowledge))
    except FileExistsError:
        raise Refused("file", path, "a file that does not exist yet",
                      "Name another, or move the old one away.") from None
    except OSError as error:
        raise Refused("file", f"{path}, {error.strerror or error}", "a file that can be written",
                      "Name a folder that may be written.") from error


def read_trees(path: Path | str, knowledge: Knowledge, made_at: datetime,
               sound: Sound = lambda known, label: None) -> list[Record]:
    """Read trees from a CSV file; nothing is written.

    Parameters
    ----------
    path : Path or str
        The file.
    knowledge : Knowledge
        What is known; places and mixes named in the file must be.
    made_at : datetime
        Now: since when a tree stands in its place where neither the file nor its potting
        says so.
    sound : callable, optional
        Refuses a tree that cannot be reckoned with, given all that would be known with it.

    Returns
    -------
    list of Record
        What is new: trees, moves and pottings. Empty where the file tells nothing new.

    Raises
    ------
    ManyRefused
        Every cell that cannot be used, by line, column, value and rule.
    Refused
        The file as a whole cannot be read.
    """
    path = Path(path)
    rows, decimal_comma = _rows(path)
    cells = Cells(decimal_comma, ZoneInfo(knowledge.site.time_zone))
    refusals: list[Refused] = []
    columns = list(_columns(rows[0][1], refusals))
    records: list[Record] = []
    if not refusals:
        sheet = _Sheet(knowledge, made_at, cells, columns, sound)
        for line, row in rows[1:]:
            told = sheet.row(line, row)
            records += told.records
            refusals += told.refusals
    if refusals:
        raise ManyRefused(str(path), refusals, "Mend these cells and import the file again.")
    return records


# --- the file --------------------------------------------------------------------------


def _rows(path: Path) -> tuple[list[tuple[int, list[str]]], bool]:
    """Give line and cells of every row that is not empty, and whether commas are decimal."""
    text = _text(path)
    first = next(iter(text.strip().splitlines()), "")
    delimiter = max(_DELIMITERS, key=lambda each: _known_columns(first, each))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise Refused(f"{path}, line {reader.line_num}", str(error), "a row of cells",
                      "Look whether the file is whole.") from error
    if not rows:
        raise Refused("file", path, "a row of column names, then one row a tree",
                      "`advisor export` writes such a file.")
    return rows, delimiter != ","


def _text(path: Path) -> str:
    try:
        data = path.read_bytes()
        return data.decode(_BOMS.get(data[:2], "utf-8-sig"))
    except OSError as error:
        raise Refused("file", f"{path}, {error.strerror or error}", "a file that can be read",
                      "Look at its name and its rights.") from error
    except UnicodeDecodeError as error:
        raise Refused("file", path, "text in UTF-8",
                      "In the spreadsheet, save it as CSV UTF-8.") from error


def _known_columns(line: str, delimiter: str) -> int:
    try:
        return sum(map(_known, next(csv.reader([line], delimiter=delimiter), [])))
    except csv.Error:
        return 0


def _known(header: str) -> bool:
    try:
        read_header(header)
    except Refused:
        return False
    return True


def _columns(header: Sequence[str], refusals: list[Refused]) -> Iterator[tuple[Column, float]]:
    seen: set[str] = set()
    while header and not header[-1].strip():  # spreadsheets leave empty columns at the end
        header = header[:-1]
    for text in header:
        try:
            column, unit = read_header(text)
        except Refused as refusal:
            refusals.append(_placed(refusal, f"line 1, {text}"))
            continue
        if column.name in seen:
            refusals.append(Refused(f"line 1, {text}", "named twice", "each column once",
                                    "Leave one of them out."))
        seen.add(column.name)
        yield column, unit
    if "label" not in seen:
        refusals.append(Refused("line 1", "no column 'label'", "a column of labels",
                                "Add it: labels tell the trees apart."))


def _placed(refusal: Refused, where: str) -> Refused:
    return Refused(where, refusal.value, refusal.limit, refusal.do)


# --- one row ---------------------------------------------------------------------------


@dataclass
class _Told:
    records: list[Record]
    refusals: list[Refused]


class _Sheet:
    """Rows read one after the other, each knowing those before it."""

    def __init__(
        self, knowledge: Knowledge, made_at: datetime, cells: Cells,
        columns: Sequence[tuple[Column, float]], sound: Sound,
    ) -> None:
        self._knowledge, self._names, self._made_at = knowledge, Names.of(knowledge), made_at
        self._cells, self._columns, self._sound = cells, columns, sound
        self._lines: dict[str, int] = {}

    def row(self, line: int, row: Sequence[str]) -> _Told:
        """Give what a row tells anew, or all that is wrong with it."""
        try:
            self._refuse_length(line, row)
            values = self._values(line, row)
            label = self._label(line, values)
        except ManyRefused as many:
            return _Told([], many.refusals)
        except Refused as refusal:
            return _Told([], [refusal])
        known = _told(self._knowledge, label)
        told = _Told([], [])
        for record in self._records(values, label, known, line, told.refusals):
            wrong = list(faults(record, self._names, self._made_at))
            told.refusals += [self._at_cell(line, record, fault) for fault in wrong]
            if isinstance(record, Tree) or not wrong:
                self._names.learn(record)
            if record != known.get(_kind(record)):
                told.records.append(record)
        if told.records:
            told.refusals += self._unsound(line, label, told)
        return told

    def _unsound(self, line: int, label: str, told: _Told) -> list[Refused]:
        """Give why a tree cannot be reckoned with; of a row refused already, its kind alone."""
        try:
            self._sound(_with(self._knowledge, label, told), label)
        except Refused as refused:
            what = "group" if refused.what == "species group" else refused.what
            return [_placed(refused, f"line {line}, {what}")]
        return []

    def _refuse_length(self, line: int, row: Sequence[str]) -> None:
        cells, columns = len(row), len(self._columns)
        if cells < columns or any(cell.strip() for cell in row[columns:]):
            raise Refused(f"line {line}", f"{cells} cells", f"{columns}, as in the first line",
                          "Look whether the row is whole, and names with commas in quotes.")

    def _values(self, line: int, row: Sequence[str]) -> Values:
        values: Values = {"tree": {}, "place": {}, "potting": {}}
        refusals = []
        for (column, unit), cell in zip(self._columns, row, strict=False):
            try:
                value = column.read(cell, self._cells) if cell.strip() else None
            except Refused as refusal:
                refusals.append(_placed(refusal, f"line {line}, {column.header}"))
                continue
            if value is not None and unit != 1.0:
                value = value * unit
            key = column.field if column.part is None else f"{column.field} {column.part}"
            values[column.record][key] = value
        if refusals:
            tree = Tree("", values["tree"].get("group") or "")
            kind = self._unsound(line, "", _Told([tree], refusals)) if tree.group else []
            raise ManyRefused(f"line {line}", refusals + kind, "")
        return values

    def _label(self, line: int, values: Values) -> str:
        label: str = values["tree"]["label"] or ""
        if not label:
            raise Refused(f"line {line}, label", "nothing", "a label",
                          "Give every tree one, or clear the row.")
        before = self._lines.setdefault(fold(label), line)
        if before != line:
            raise Refused(f"line {line}, label", f"{label!r} stands in line {before} already",
                          "each tree once", "Leave one of the rows out.")
        label = self._names.trees.get(fold(label), label)
        if label in self._knowledge.trees and self._knowledge.is_gone(label):
            raise Refused(f"line {line}, label", f"{label!r} is that of a tree that is gone",
                          "a label of its own for every tree", "Choose another label.")
        return label

    def _records(
        self, values: Values, label: str, known: Mapping[str, Any], line: int,
        refusals: list[Refused],
    ) -> Iterator[Record]:
        yield self._tree(values["tree"], known.get("tree"))
        potting = self._potting(values["potting"], label, known.get("potting"), line, refusals)
        if potting:
            yield potting
        move = known.get("place")
        place: str = values["place"].get("place") or ""
        since: datetime | None = values["place"].get("at")
        if since and not place:
            refusals.append(Refused(f"line {line}, place", "nothing", "the place beside its day",
                                    "Give the place, or leave the day out."))
        if not place or (move and not since and fold(move.place) == fold(place)):
            return
        default = potting.at if potting and not move else self._made_at
        yield Move(label, since or default, self._names.places.get(fold(place), place))

    def _tree(self, values: Mapping[str, Any], known: Tree | None) -> Tree:
        return replace(known or Tree("", ""), **_filled(values, "tree"))

    def _potting(
        self, values: Mapping[str, Any], label: str, known: Potting | None, line: int,
        refusals: list[Refused],
    ) -> Potting | None:
        if not any(value is not None for value in values.values()):
            return None
        at = values.get("at") or (known.at if known and "at" not in values else None)
        if at is None:
            refusals.append(Refused(f"line {line}, potted", "nothing", "a day beside a pot",
                                    "Give the day it was potted."))
            return None
        base = known if known and known.at == at else Potting(label, at, "")
        told = _filled({name: value for name, value in values.items() if name != "at"}, "potting")
        for field, count in (("outside_mm", 3), ("inside_mm", 2)):
            sizes = [told.pop(f"{field} {i}") for i in range(count) if f"{field} {i}" in told]
            if len(sizes) == count and None not in sizes:
                told[field] = tuple(sizes)
            elif any(size is not None for size in sizes):
                refusals.append(Refused(f"line {line}, {field.removesuffix('_mm')}", "a part of it",
                                        "all its sizes or none", "Fill in the others."))
            elif sizes:
                told[field] = None
        for field in ("mix", "ball_mix"):
            if told.get(field):
                told[field] = self._names.mixes.get(fold(told[field]), told[field])
        return replace(base, **told)

    def _at_cell(self, line: int, record: Record, fault: Fault) -> Refused:
        kind = _kind(record)
        names = [c.header for c in COLUMNS if c.record == kind and c.field == fault.field]
        where = names[0] if len(names) == 1 else fault.field.removesuffix("_mm")
        return _placed(fault.refusal, f"line {line}, {where}")


def _with(knowledge: Knowledge, label: str, told: _Told) -> Knowledge:
    """Give what would be known of one tree with its row: without pots where that is refused."""
    trees, pottings = dict(knowledge.trees), dict(knowledge.pottings)
    pottings.setdefault(label, ())
    for record in told.records:
        if isinstance(record, Tree):
            trees[label] = record
        elif isinstance(record, Potting):
            others = [each for each in pottings[label] if each.at != record.at]
            pottings[label] = tuple(sorted([*others, record], key=lambda each: each.at))
    if told.refusals:
        pottings[label] = ()
    return replace(knowledge, trees=trees, pottings=pottings,
                   moves={label: (), **knowledge.moves}, events={label: (), **knowledge.events},
                   readings={label: (), **knowledge.readings})


def _filled(values: Mapping[str, Any], record: str) -> dict[str, Any]:
    """Put the default where a cell was empty."""
    defaults = {c.field: default_of(c) for c in COLUMNS if c.record == record}
    defaults |= {"group": "", "mix": ""}  # have none: refused by the rules
    return {name: defaults.get(name) if value is None else value for name, value in values.items()}


def _kind(record: Record) -> str:
    return {Tree: "tree", Move: "place", Potting: "potting"}[type(record)]


def _told(knowledge: Knowledge, label: str) -> dict[str, Any]:
    """Give the tree, the potting and the move that a row stands for."""
    if label not in knowledge.trees:
        return {}
    told: dict[str, Any] = {"tree": knowledge.trees[label]}
    if knowledge.moves[label]:
        told["place"] = knowledge.moves[label][-1]
    if knowledge.pottings[label]:
        told["potting"] = knowledge.pottings[label][-1]
    return told


def _value(record: Any, column: Column) -> Any:
    value = getattr(record, column.field, None)
    return value if column.part is None or value is None else value[column.part]
