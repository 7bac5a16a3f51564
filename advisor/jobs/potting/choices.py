"""A choice of pot and mix as a grower writes it.

"oval 420x310x75; 40% akadama, 30% pumice, 30% lava; drainage 15": the pot (outside, in mm),
then the mix, then what else is so. "as now" stands for the present pot or mix.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final

from advisor.errors import Refused
from advisor.garden import records
from advisor.garden.naming import closest, fold
from advisor.garden.records import Mix, Potting
from advisor.pot import mix as mixes
from advisor.pot.materials import find
from advisor.units import check

AS_NOW: Final = "as now"
EXAMPLE: Final = "Write it as: oval 420x310x75; 40% akadama, 30% pumice, 30% lava."
#: what a word in front of the size tells: field of a potting -> its words
POT_WORDS: Final = {"outline": records.OUTLINES, "form": records.FORMS, "wall": records.WALLS}
OTHER_WORDS: Final = {"rectangular": "rectangle"}
#: what may follow the mix with a number: words -> field, and its name in the limits
NUMBERS: Final = {"drainage": "drainage_mm", "drainage grain": "drainage_grain_mm",
                  "soil depth": "soil_depth_mm", "mound": "mound_mm"}
_SIZE: Final = re.compile(r"\d+(?:\.\d+)?(?:\s*[x×*]\s*\d+(?:\.\d+)?)*\s*(?:mm)?$")
_PART: Final = re.compile(r"(\d+(?:\.\d+)?)\s*%?\s+(?:of\s+)?(\S.*)")
_NUMBER: Final = re.compile(r"([a-z ]+?)\s+(\d+(?:\.\d+)?)\s*(?:mm)?")
#: A potting needs an instant; that of a choice never counts.
NEVER: Final = datetime(1900, 1, 1, tzinfo=UTC)
#: of a pot: what stays with it whatever fills it
OF_THE_POT: Final = ("form", "outline", "outside_mm", "inside_mm", "soil_depth_mm", "litres",
                     "base_share", "wall")
#: of the present potting, where neither pot nor mix would be another
AS_IT_IS: Final = ("mound_mm", "drainage_mm", "drainage_grain_mm", "rock_share", "condition",
                   "dressing", "enters")


@dataclass(frozen=True)
class Choice:
    """One pot and one mix: as it was written, and in records."""

    words: str
    potting: Potting
    mix: Mix


@dataclass(frozen=True)
class Known:
    """What a choice may name: the mixes, the empty pots, and the present potting."""

    mixes: Mapping[str, Mix]
    pots: Mapping[str, Potting]
    now: Potting | None = None


def read_choice(words: str, known: Known) -> Choice:
    """Read one choice.

    Parameters
    ----------
    words : str
        Pot; mix; what else, parted by semicolons.
    known : Known

    Raises
    ------
    Refused
        A part that cannot be read, with what it could be.
    """
    pot, *rest = (part.strip() for part in words.split(";"))
    told_mix = rest[0] if rest else AS_NOW
    mix = read_mix(told_mix, known)
    fields = _pot(pot, known) | {"mix": mix.name}
    if known.now is not None and fold(pot) == fold(told_mix) == AS_NOW:
        fields |= {name: getattr(known.now, name) for name in AS_IT_IS}
    for more in rest[1:]:
        fields |= _more(more)
    potting = Potting("", NEVER, **fields)
    if potting.soil_depth_mm is not None:
        check("soil_depth_mm", potting.soil_depth_mm)
    return Choice(words.strip(), potting, mix)


def _pot(text: str, known: Known) -> dict[str, Any]:
    if fold(text) == AS_NOW:
        if known.now is None:
            raise Refused("pot", repr(text), "a tree that stands in one", EXAMPLE)
        return _of(known.now)
    for name, pot in known.pots.items():
        if fold(text) in (fold(name), f"pot {fold(name)}"):
            return _of(pot)
    size = _SIZE.search(text)
    if size is None:
        meant = closest(text, known.pots)
        do = f"Did you mean {meant!r}?" if meant else EXAMPLE
        raise Refused("pot", repr(text), "its size in mm, outside, or the name of an own pot", do)
    sides = tuple(float(side) for side in re.findall(r"\d+(?:\.\d+)?", size.group()))
    told = _pot_words(text[:size.start()])
    if len(sides) == 2 and told.get("outline") == "round":
        sides = (sides[0], sides[0], sides[1])
    if len(sides) != 3:
        raise Refused("size of a pot", repr(size.group()), "length, width and height in mm, or "
                      "of a round pot width and height", EXAMPLE)
    for limit, side in zip(("length_mm", "width_mm", "height_mm"), sides, strict=True):
        check(limit, side)
    return told | {"outside_mm": sides}


def _of(pot: Potting) -> dict[str, Any]:
    return {name: getattr(pot, name) for name in OF_THE_POT}


def _pot_words(text: str) -> dict[str, Any]:
    """Read the words before a size: "unglazed oval small pot"."""
    told: dict[str, Any] = {}
    left = fold(text).replace(",", " ")
    known = {word: field for field, words in POT_WORDS.items() for word in words}
    for word in sorted([*known, *OTHER_WORDS], key=len, reverse=True):
        if re.search(rf"\b{re.escape(word)}\b", left):
            meant = OTHER_WORDS.get(word, word)
            told.setdefault(known[meant], meant)
            left = re.sub(rf"\b{re.escape(word)}\b", " ", left)
    if left.strip():
        raise Refused("kind of pot", repr(left.strip()), ", ".join(known), EXAMPLE)
    return told


def read_mix(text: str, known: Known) -> Mix:
    """Read a mix: parts in percent, the name of a mix of the garden, or "as now".

    Raises
    ------
    Refused
        Neither; or parts that do not make 100, or a material that is not known.
    """
    if fold(text) == AS_NOW:
        if known.now is None:
            raise Refused("mix", repr(text), "parts in percent, or the name of a mix", EXAMPLE)
        return known.mixes[known.now.mix]
    for name, mix in known.mixes.items():
        if fold(text) in (fold(name), f"mix {fold(name)}"):
            return mix
    parts = [_PART.fullmatch(part.strip()) for part in text.split(",")]
    if not all(parts):
        single = _single(text)
        if single is not None:
            return single
        meant = closest(text, known.mixes)
        do = f"Did you mean {meant!r}?" if meant else EXAMPLE
        raise Refused("mix", repr(text), "parts in percent, or the name of a mix", do)
    told = [(find(part.group(2)).name, float(part.group(1))) for part in parts if part]
    total = sum(share for _, share in told)
    if abs(total - 100.0) > 1.0:
        raise Refused("parts of a mix", f"{text} = {total:g}", "100 in all",
                      "Give each part in percent of the volume before mixing.")
    shares = tuple((name, share / total) for name, share in told)
    mixes.blend(shares)
    return Mix(text, shares)


def _single(text: str) -> Mix | None:
    """Give a mix of one material told without a part."""
    try:
        return Mix(text, ((find(text).name, 1.0),))
    except Refused:
        return None


def _more(text: str) -> dict[str, Any]:
    """Read what else is so: "drainage 15", "gritty", "moss"."""
    word = fold(text)
    if word in records.CONDITIONS:
        return {"condition": word}
    if word in records.DRESSINGS:
        return {"dressing": word}
    match = _NUMBER.fullmatch(word)
    if match is None or match.group(1) not in NUMBERS:
        wanted = ", ".join([*(f"{name} 15" for name in NUMBERS), *records.CONDITIONS,
                            *records.DRESSINGS])
        raise Refused("part of a choice", repr(text), wanted, EXAMPLE)
    field = NUMBERS[match.group(1)]
    return {field: check(field, float(match.group(2)))}


def without_drainage(choice: Choice) -> Choice:
    """Give the same choice without its drainage layer."""
    return replace(choice, potting=replace(choice.potting, drainage_mm=0.0))
