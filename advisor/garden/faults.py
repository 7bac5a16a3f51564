"""One kind of field each: what a name, a number, a word or an instant may be."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Final

from advisor.errors import Refused
from advisor.garden.instants import instant_words
from advisor.garden.naming import closest
from advisor.units import check

FUTURE_ALLOWED: Final = timedelta(minutes=1)
NAME_LENGTH: Final = 80
_EARLIEST: Final = datetime(1900, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Fault:
    """One field of a record that cannot be used, and how that is said."""

    field: str
    refusal: Refused


Faults = Iterator[Fault]


def caught(name: str, act: Callable[[], object]) -> Faults:
    """Give the refusal of an act as the fault of a field."""
    try:
        act()
    except Refused as refusal:
        yield Fault(name, refusal)


def number(name: str, value: float | None, limit: str, where: str = "") -> Faults:
    """Hold a number that may be left out to `advisor.units.LIMITS[limit]`."""
    if value is None:
        return
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        yield Fault(name, Refused(name, repr(value), "a number", "Give a number."))
        return
    yield from caught(name, lambda: check(limit, value, where))


def whole(name: str, value: int | None, limit: str) -> Faults:
    """Hold a whole number that may be left out to its limit."""
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        yield Fault(name, Refused(name.replace("_", " "), repr(value), "a whole number",
                                  "Give a whole number."))
    else:
        yield from number(name, value, limit)


def word(name: str, value: str, words: Sequence[str]) -> Faults:
    """Hold a word to those there are."""
    if value not in words:
        meant = closest(value, words)
        do = f"Did you mean {meant!r}?" if meant else "Give one of these words."
        yield Fault(name, Refused(name.replace("_", " "), repr(value), ", ".join(words), do))


def text(name: str, what: str, value: str, *, needed: bool = True) -> Faults:
    """Hold a text to one clean line of at most `NAME_LENGTH` letters."""
    if not value.strip() and (needed or value):
        yield Fault(name, Refused(what, repr(value), "at least one letter or digit",
                                  "Give a name."))
    elif value != value.strip() or len(value) > NAME_LENGTH or not value.isprintable():
        limit = f"one line, at most {NAME_LENGTH} letters, no blanks at its ends"
        yield Fault(name, Refused(what, repr(value), limit, "Shorten or clean it."))


def instant(name: str, at: datetime, made_at: datetime, zone: tzinfo) -> Faults:
    """Hold an instant to what has happened by now, `made_at`."""
    if at.tzinfo is None:
        yield Fault(name, Refused("instant", at.isoformat(), "an instant with its time zone",
                                  "Add the offset, as in 2026-07-01T07:00+02:00."))
    elif at > made_at + FUTURE_ALLOWED:
        yield Fault(name, Refused("instant", instant_words(at, zone),
                                  f"not after {instant_words(made_at, zone)}",
                                  "Enter it once it has happened."))
    elif at < _EARLIEST:
        yield Fault(name, Refused("instant", instant_words(at, zone), "not before 1900",
                                  "Check the year."))
