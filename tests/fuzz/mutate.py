"""Good files made bad: a few cells, rows, values or bytes changed, as accidents change them."""

import json
import re
from collections.abc import Callable
from random import Random
from typing import Any

#: What may stand where a number, a word, a name, an instant should.
ODD = (
    "", " ", "nan", "NaN", "-inf", "inf", "1e308", "1e400", "-0", "0x10", "1_000", "１２", "٣", "½",
    "9" * 20, "9" * 400, "9" * 5000, "-1", "1.5.2", "2,5", "=1+1", "\u2028", "\ufeff", "İ", "ß",
    "e\u0301" * 40, "🌲", "\x00", "\x1b[2J", "\r", "\n", '"', "'", '"""', ",", ";", "\t", "#", "-",
    "--", "--help", "all", "none", "null", "None", "true", "[]", "{}", "x" * 140_000, "0001-01-01",
    "9999-12-31", "0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00", "2026-02-30", "2026-03-29",
    "2026-03-29T02:30", "2026-10-25T02:30", "2026-07-01 24:00", "2026-07-01T05:00+25:00",
    "Europe/Nowhere", "../../etc", "C:\\x", "°F", "km/h", "kWh/m2", "L", "mm")
#: The same for a value of a JSON document.
ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1e308, -1e308, 1e-300, 2**63, 10**400, float("nan"), float("inf"), "",
    "12", "nan", [], {}, [None], [[1.0]], {"a": 1}, "x" * 5000, "2026-06-01T25:00Z", -999.0, "°F")
Mutate = Callable[[bytes, Random], bytes]


def some_bytes(data: bytes, chance: Random) -> bytes:
    """Overwrite, leave out, double or insert a short run of bytes, or cut the rest off."""
    start = chance.randrange(len(data) + 1)
    length = chance.choice((1, 1, 2, 8, 300))
    kept, run, rest = data[:start], data[start:start + length], data[start + length:]
    how = chance.randrange(6)
    if how == 0:
        return kept + chance.randbytes(len(run)) + rest
    if how == 1:
        return kept + rest
    if how == 2:
        return kept + run + run + rest
    if how == 3:
        return kept + run + chance.randbytes(length) + rest
    if how == 4:
        return kept
    return kept + run.swapcase() + rest


def cells(data: bytes, chance: Random) -> bytes:
    """Change a cell, a word, a row or a column of a table or a text."""
    text = data.decode("utf-8", errors="surrogateescape")
    how = chance.randrange(7)
    if how == 0:
        return some_bytes(data, chance)
    if how <= 3:
        parts = re.split(r"([,;\t\n=: x\[\]]+)", text)
        at = chance.randrange(0, len(parts), 2)
        odd = chance.choice(ODD)
        parts[at] = odd if how < 3 else chance.choice((parts[at] + odd, odd + parts[at]))
        text = "".join(parts)
    else:
        rows = text.split("\n")
        a, b = chance.randrange(len(rows)), chance.randrange(len(rows))
        if how == 4:
            rows[a], rows[b] = rows[b], rows[a]
        elif how == 5:
            rows.insert(b, rows[a])
        else:
            del rows[a]
        text = "\n".join(rows)
    return text.encode("utf-8", errors="surrogateescape")


def values(data: bytes, chance: Random) -> bytes:
    """Change, leave out, double or rename one value of a JSON document, wherever it lies."""
    if chance.randrange(8) == 0:
        return some_bytes(data, chance)
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        return some_bytes(data, chance)
    inside = list(_containers(document))
    if not inside:
        return json.dumps(chance.choice(ODD_VALUES)).encode()
    where = chance.choice(inside)
    key = chance.choice(list(where) if isinstance(where, dict) else range(len(where)))
    how = chance.randrange(5)
    if how == 0:
        del where[key]
    elif how == 1:
        other = chance.choice(inside)
        where[key] = json.loads(json.dumps(other)) if chance.randrange(2) else where[key]
    elif how == 2 and isinstance(where, list):
        where.insert(key, where[key])
    elif how == 2:
        where[chance.choice(ODD)] = where.pop(key)
    else:
        where[key] = chance.choice(ODD_VALUES)
    try:
        return json.dumps(document).encode()
    except RecursionError:
        return data


def _containers(document: Any, deep: int = 0) -> "list[Any]":
    found = [document] if document and isinstance(document, dict | list) else []
    if found and deep < 30:
        within = document.values() if isinstance(document, dict) else document
        for each in within:
            found += _containers(each, deep + 1)
    return found


def times(mutate: Mutate, data: bytes, chance: Random) -> bytes:
    """Change something a few times over."""
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        data = mutate(data, chance)
    return data
