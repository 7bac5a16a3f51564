"""Names as growers type them: matched without regard to case, ordered as people count."""

import difflib
import re
import unicodedata
from collections.abc import Iterable, Mapping

from advisor.errors import Refused

_DIGITS = re.compile(r"(\d+)")
_SHOWN = 8


def fold(name: str) -> str:
    """Give the form under which a name is looked up ("South Bench" and "south bench" meet).

    Parameters
    ----------
    name : str
        A name as typed.

    Returns
    -------
    str
        Normalised (NFC), caseless, and without doubled spaces.
    """
    caseless = unicodedata.normalize("NFC", name).casefold()
    return " ".join(unicodedata.normalize("NFC", caseless).split())


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """Give a sorting key in which "2" stands before "10" and "3a" before "3b"."""
    parts = (part for part in _DIGITS.split(fold(name)) if part)
    return tuple((0, int(part), part) if part.isdecimal() else (1, 0, part) for part in parts)


def closest(name: str, known: Iterable[str]) -> str | None:
    """Give the known name that `name` was probably meant to be, or None."""
    by_fold = {fold(other): other for other in known}
    near = difflib.get_close_matches(fold(name), list(by_fold), n=1, cutoff=0.6)
    return by_fold[near[0]] if near else None


def unknown(kind: str, name: str, known: Iterable[str], do: str) -> Refused:
    """Make the refusal of a name nobody has told yet, with the one probably meant.

    Parameters
    ----------
    kind : str
        What the name should be ("place").
    name : str
        The name given.
    known : iterable of str
        The names that would have been accepted.
    do : str
        The next step where the name is new indeed.
    """
    names = sorted(known, key=natural_key)
    shown = ", ".join(names[:_SHOWN]) + (", …" if len(names) > _SHOWN else "")
    limit = f"known: {shown}" if names else f"no {kind} is known yet"
    meant = closest(name, names)
    return Refused(kind, repr(name), limit, f"Did you mean {meant!r}? {do}" if meant else do)


def look_up(kind: str, name: str, known: Mapping[str, str], do: str) -> str:
    """Give a known name as it is written now.

    Parameters
    ----------
    kind, name, do : str
        As in `unknown`.
    known : mapping of str to str
        Folded name to the name as typed.

    Raises
    ------
    Refused
        The name is not among them.
    """
    found = known.get(fold(name))
    if found is None:
        raise unknown(kind, name, known.values(), do)
    return found
