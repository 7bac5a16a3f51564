"""Where a coefficient is from, read off the remark that stands beside it in its module."""

import re
from functools import lru_cache
from importlib.resources import files
from types import ModuleType
from typing import Final

WORDS: Final = {"S": "published", "M": "from memory", "J": "judgement", "C": "computed"}
_TAG: Final = re.compile(r"\b[SMJC]\b(?=[^\[\]]*\])")


def source_of(module: ModuleType, name: str) -> str:
    """Give the remark beside a constant of a module, its tag in words.

    Parameters
    ----------
    module : module
    name : str
        A constant at the top of it ("OASIS").

    Returns
    -------
    str
        "share of the crown's outline that is leaf, seen from above [judgement; ± .15]".

    Raises
    ------
    LookupError
        There is no such constant, or none that says where it is from.
    """
    package, _, file = module.__name__.rpartition(".")
    remark = _remark(package, file, name)
    if not _TAG.search(remark):
        raise LookupError(f"{module.__name__}.{name} says no source")
    return in_words(remark)


def in_words(text: str) -> str:
    """Give a remark with its tags written out."""
    return _TAG.sub(lambda tag: WORDS[tag.group()], text)


@lru_cache(maxsize=256)
def _remark(package: str, file: str, name: str) -> str:
    lines = (files(package) / f"{file}.py").read_text(encoding="utf-8").splitlines()
    here = next(i for i, line in enumerate(lines) if re.match(rf"{name}\b.*=", line))
    if "  # " in lines[here]:
        return lines[here].split("  # ", 1)[1]
    above: list[str] = []
    while here and lines[here - 1].startswith("#"):
        here -= 1
        above.insert(0, lines[here].lstrip("#: "))
    return " ".join(above)
