"""What may stand behind an option: read here, refused here, in a grower's words."""

import re
from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final

import click

from advisor.errors import Refused
from advisor.garden.naming import closest, fold
from advisor.units import factor

_QUANTITY: Final = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*(\D*?)\s*", re.ASCII)
_HOUR: Final = re.compile(r"([01]?\d|2[0-4])(?::([0-5]\d))?", re.ASCII)
_CLOCK: Final = re.compile(r"([01]?\d|2[0-3]):[0-5]\d", re.ASCII)
ALL_DAY: Final = "all day"

if TYPE_CHECKING:
    ParamType = click.ParamType[Any]
else:
    ParamType = click.ParamType  # not generic in older releases


def _number(text: str) -> float:
    match = _QUANTITY.fullmatch(text)
    if match is None or match.group(2):
        raise Refused("number", repr(text), "a number without its unit", "Write it as 2.5.")
    return float(match.group(1))


def _factor(quantity: str, unit: str, meant: str) -> float:
    return factor(quantity, unit or meant)[0] / factor(quantity, meant)[0]


class Value(ParamType):
    """A value read by `read`; what was read already passes as it is."""

    name = "value"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read the text of an option; a refusal names the option."""
        if not isinstance(value, str):
            return value
        try:
            return self.read(value)
        except Refused as refused:
            what = param.opts[0] if isinstance(param, click.Option) else refused.what
            if refused.what.startswith("unit of") and what != refused.what:
                what += ", unit"
            raise Refused(what, refused.value, refused.limit, refused.do) from None

    def read(self, text: str) -> Any:
        """Read a text, or raise `Refused`."""
        raise NotImplementedError


class Told(Value):
    """A text that `check` takes; it is kept as it was written."""

    def __init__(self, check: Callable[[str], object]) -> None:
        self._check = check

    def read(self, text: str) -> str:
        """Read a text by trying it."""
        self._check(text)
        return text


class Number(Value):
    """A number without a unit."""

    name = "number"

    def read(self, text: str) -> float:
        """Read "2.5"."""
        return _number(text)


class Whole(Value):
    """A whole number."""

    name = "number"

    def read(self, text: str) -> int:
        """Read "42"."""
        number = _number(text)
        if not number.is_integer():
            raise Refused("number", repr(text), "a whole number", "Leave the decimals out.")
        return int(number)


class Share(Value):
    """A share, as 0.3 or 30%."""

    name = "share"

    def read(self, text: str) -> float:
        """Read "0.3" or "30 %"."""
        percent = text.rstrip().endswith("%")
        number = _number(text.rstrip().removesuffix("%") if percent else text)
        return number / 100.0 if percent else number


class Quantity(Value):
    """A number in one of the units of a quantity; the unit used inside may be left out.

    Parameters
    ----------
    quantity : str
        A key of `advisor.units.CONVERSIONS`.
    unit : str
        The unit that is meant where none is written.
    """

    def __init__(self, quantity: str, unit: str) -> None:
        self.name = unit
        self.quantity, self.unit = quantity, unit

    def read(self, text: str) -> float:
        """Read "60", "60 mm" or "6 cm"."""
        match = _QUANTITY.fullmatch(text)
        if match is None:
            raise Refused("size", repr(text), f"a number in {self.unit}", "Write it as 60.")
        return float(match.group(1)) * _factor(self.quantity, match.group(2), self.unit)


class Sizes(Value):
    """Several lengths, as 350x250x60; a unit behind them counts for all."""

    name = "sizes"

    def __init__(self, count: int, unit: str = "mm") -> None:
        self.count, self.unit = count, unit

    def read(self, text: str) -> tuple[float, ...]:
        """Read "350x250x60", "35 x 25 x 6 cm"."""
        parts = re.split(r"\s*[x×*]\s*", text.strip(), flags=re.IGNORECASE)
        matches = [_QUANTITY.fullmatch(part) for part in parts]
        if len(parts) != self.count or not all(matches):
            raise Refused("size", repr(text), f"{self.count} numbers in {self.unit}",
                          "Write it as " + "x".join(("350", "250", "60")[:self.count]) + ".")
        found = [match for match in matches if match]
        units = {match.group(2) for match in found if match.group(2)} or {""}
        if len(units) > 1:
            raise Refused("size", repr(text), "one unit for all", "Write it once, at the end.")
        scale = _factor("length_mm", units.pop(), self.unit)
        return tuple(float(match.group(1)) * scale for match in found)


class Word(Value):
    """One of some words, in any case."""

    def __init__(self, what: str, words: Sequence[str]) -> None:
        self.name = "word"
        self.what, self.words = what, words

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        """Show the words in the help."""
        return "|".join(self.words)

    def read(self, text: str) -> str:
        """Read a word."""
        found = [word for word in self.words if fold(word) == fold(text)]
        if not found:
            meant = closest(text, self.words)
            do = f"Did you mean {meant!r}?" if meant else "Give one of these words."
            raise Refused(self.what, repr(text), ", ".join(self.words), do)
        return found[0]


class YesNo(Value):
    """Yes or no."""

    name = "yes|no"

    def read(self, text: str) -> bool:
        """Read "yes" or "no"."""
        if fold(text) not in ("yes", "y", "no", "n"):
            raise Refused("answer", repr(text), "yes or no", "Write yes or no.")
        return fold(text).startswith("y")


class Clock(Value):
    """A time of the clock, as 7:00."""

    name = "time"

    def read(self, text: str) -> str:
        """Read "7:00" as "07:00"."""
        if not _CLOCK.fullmatch(text.strip()):
            raise Refused("time of a round", repr(text), "00:00 to 23:59", "Write it as 07:00.")
        return text.strip().zfill(5)


class Hours(Value):
    """Hours of sun, as 6-20 or 6:30-20; `all day` takes them back."""

    name = "from-to"

    def read(self, text: str) -> tuple[float, float] | str:
        """Read "6-20"; "all day" stays as it is."""
        if fold(text) == ALL_DAY:
            return ALL_DAY
        parts = [_HOUR.fullmatch(part.strip()) for part in re.split(r"[-–]", text)]
        if len(parts) != 2 or not all(parts):
            raise Refused("hours of sun", repr(text), "from and to, hours of the clock",
                          "Write it as 9-17, or as 'all day'.")
        first, last = (int(part.group(1)) + int(part.group(2) or 0) / 60 for part in parts if part)
        return first, last


class Skyline(Value):
    """The skyline, as "90:20,180:5": compass direction and height, in degrees."""

    name = "skyline"

    def read(self, text: str) -> tuple[tuple[float, float], ...]:
        """Read "90:20,180:5"; "none" is a free one."""
        if fold(text) == "none":
            return ()
        try:
            pairs = [tuple(_number(part) for part in pair.split(":")) for pair in text.split(",")]
            return tuple((azimuth, height) for azimuth, height in pairs)
        except ValueError:
            raise Refused("skyline", repr(text), "pairs of compass direction and height, degrees",
                          "Write it as 90:20,180:5, or as none.") from None


class Part(Value):
    """A part of a mix, as akadama=40."""

    name = "material=part"

    def read(self, text: str) -> tuple[str, float]:
        """Read "akadama 2-5=40" or "akadama 2-5=40%"; the number as it is written."""
        material, _, part = text.rpartition("=")
        if not material.strip():
            raise Refused("part of a mix", repr(text), "a material and its part",
                          "Write it as akadama=40.")
        return material.strip(), _number(part.strip().removesuffix("%"))


class Day(Value):
    """A day, as 2026-07-11."""

    name = "date"

    def read(self, text: str) -> date:
        """Read "2026-07-11"."""
        try:
            return date.fromisoformat(text.strip())
        except ValueError:
            raise Refused("day", repr(text), "a day of the calendar", "Write it as 2026-07-11."
                          ) from None
