"""What README says of JSON and CSV, read back: shapes of documents, heads of tables.

A shape is `{"key", "key": shape}` with exactly these keys, `[shape]`, or a word; `spread` and
`number` stand for the shapes told for them; `{word: shape}` takes any keys. Null may stand for
every shape, and a list may be empty.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from places import ROOT

Shape = dict[str, Any] | list[Any] | str
TOKEN = re.compile(r'"[^"]*"|[{}\[\]:,]|[^\s{}\[\]:,"#]+')


def block(kind: str) -> str:
    """Give README's block of shapes ("json") or heads ("csv")."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return text.split(f"<!-- {kind}: ")[1].split("```\n")[1]


def told(kind: str) -> dict[str, str]:
    """Give what is said of each command, remarks left out."""
    found: dict[str, str] = {}
    command = ""
    for line in block(kind).splitlines():
        if line.startswith("advisor "):
            command = line
        elif name := re.match(r"  (\w+) = (.*)", line):
            found[name[1]] = name[2]
        else:
            found[command] = found.get(command, "") + line.split("#")[0] + "\n"
    return found


def shapes() -> dict[str, Shape]:
    """Give the shape of each command's document."""
    texts = told("json")
    named: dict[str, Shape] = {"spread": {"low": "", "mid": "", "high": ""}}
    named["number"] = _read(iter(TOKEN.findall(texts.pop("number"))), named)
    return {command: _read(iter(TOKEN.findall(text)), named) for command, text in texts.items()}


def heads() -> dict[str, str]:
    """Give the head of each command's table."""
    return {command: "".join(text.split()) for command, text in told("csv").items()}


def _read(tokens: Iterator[str], named: dict[str, Shape], first: str = "") -> Shape:
    token = first or next(tokens)
    if token == "{":
        return _object(tokens, named)
    if token == "[":
        return _list(tokens, named)
    return named.get(token, token)


def _list(tokens: Iterator[str], named: dict[str, Shape]) -> list[Any]:
    inside = _read(tokens, named)
    while next(tokens) != "]":  # [material, share]: the words after the first tell nothing more
        pass
    return [inside]


def _object(tokens: Iterator[str], named: dict[str, Shape]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for token in tokens:
        if token == "}":
            return found
        if token == ",":
            continue
        if token == ":":
            found[list(found)[-1]] = _read(tokens, named)
        else:
            found[token.strip('"') if token.startswith('"') else "*"] = ""
    raise ValueError("a shape is not closed")


@dataclass
class Compared:
    """How a document and its shape differ, and what of the shape was never seen filled."""

    wrong: list[str] = field(default_factory=list)
    empty: set[str] = field(default_factory=set)
    seen: set[str] = field(default_factory=set)

    def compare(self, shape: Shape, document: Any, at: str = "") -> None:
        """Compare one value with what is said of it."""
        inside = shape[0] if isinstance(shape, list) else shape
        if not isinstance(inside, str):  # a list of words tells nothing more when it is filled
            (self.empty if document in (None, [], {}) else self.seen).add(at)
        if document is None:
            return
        if isinstance(shape, dict):
            self._object(shape, document, at)
        elif isinstance(shape, list):
            if not isinstance(document, list):
                self.wrong.append(f"{at}: no list")
                return
            for each in document:
                self.compare(shape[0], each, f"{at}[]")
        elif isinstance(document, dict | list):
            self.wrong.append(f"{at}: more than a word")

    def _object(self, shape: dict[str, Any], document: Any, at: str) -> None:
        if not isinstance(document, dict):
            self.wrong.append(f"{at}: no object")
        elif "*" in shape:
            for each in document.values():
                self.compare(shape["*"], each, f"{at}.*")
        else:
            self.wrong += [f"{at}.{key}: not in README" for key in document if key not in shape]
            self.wrong += [f"{at}.{key}: only in README" for key in shape if key not in document]
            for key in set(shape) & set(document):
                self.compare(shape[key], document[key], f"{at}.{key}")
