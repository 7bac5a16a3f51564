"""The helper's sheet: what it says. `advisor.show.sheet_pdf` puts it on paper."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from math import ceil, floor
from typing import Final
from zoneinfo import ZoneInfo

from advisor.show.moments import headline, litres, round_litres

A4: Final = "A4"
LETTER: Final = "Letter"
#: Of a pot's water, by which quarters of a can may miss it; beyond, only the litres are told.
NEAR_ENOUGH: Final = 0.2
_WHOLE: Final = 1e-9
MANY_IN_WORDS = 12
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
            "eleven", "twelve")
_QUARTERS = {1: "a quarter", 2: "a half", 3: "three quarters"}
_PARTS = {1: "a quarter of a can", 2: "half a can", 3: "three quarters of a can"}

ESTIMATES = "Estimates, not orders: the tree and the finger decide."
HOW = (
    "Pour gently along both long sides, working inward, until water runs out below.",
    "Wait until it has sunk in, then pour once more. The litres are for both together.",
    "Tick the box, and note anything odd beside it.",
)
HOW_SHORT = ("Along both long sides, working inward, until it runs out below. Wait. Once more. "
             "Then tick.")
DONT = (
    "Water only what is listed for the day, however dry the top of another pot looks.",
    "Do not feed, cut or repot anything.",
)
CAUTIONS = (
    "Wet pots are heavy: two people or a trolley.",
    "Water from the butt is not drinking water. Put the lid back; keep children away from it.",
    "Leave electric pumps to an electrician.",
    "Where watering is restricted, the local rules stand.",
)


@dataclass(frozen=True)
class SheetPot:
    """One pot of one visit.

    Attributes
    ----------
    label, name, place : str
    litres : float
        What it gets [L].
    only_if : str or None
        What the helper is to look at first, as "the top is dry to the second knuckle".
    mark : str
        Letters that a rule names, as "B".
    """

    label: str
    name: str
    place: str
    litres: float
    only_if: str | None = None
    mark: str = ""


@dataclass(frozen=True)
class SheetVisit:
    """One visit: when, the pots in walking order, how long it takes [min]."""

    at: datetime
    pots: tuple[SheetPot, ...]
    minutes: float | None = None

    @property
    def litres(self) -> float:
        """What is carried in all, as the pots' litres are told [L]."""
        return sum(round_litres(pot.litres) for pot in self.pots)


@dataclass(frozen=True)
class Sheet:
    """All that is on the sheet.

    Attributes
    ----------
    garden : str
        Its name, or "".
    start, until : datetime
        Of the absence.
    zone : ZoneInfo
    visits : tuple of SheetVisit
    can_l : float or None
        What the helper's can holds [L].
    hot_rule, rain_rule : str or None
        When to come unasked, and what the rain spares.
    recovering : tuple of SheetPot
        Trees that are not to be watered unless listed.
    phone : str or None
    us : bool
        US gallons.
    order : tuple of str
        Labels in the order in which they are walked; as they first come where empty.
    """

    garden: str
    start: datetime
    until: datetime
    zone: ZoneInfo
    visits: tuple[SheetVisit, ...]
    can_l: float | None = None
    hot_rule: str | None = None
    rain_rule: str | None = None
    recovering: tuple[SheetPot, ...] = ()
    phone: str | None = None
    us: bool = False
    order: tuple[str, ...] = ()


def in_cans(amount_l: float, can_l: float) -> str | None:
    """Say a pot's water in cans to the nearest quarter: "one and a half cans".

    Parameters
    ----------
    amount_l, can_l : float
        Of the water and of the can [L].

    Returns
    -------
    str or None
        None where quarters would say too little or too much.
    """
    quarters = floor(4.0 * amount_l / can_l + 0.5)
    if not quarters or abs(0.25 * quarters * can_l - amount_l) > NEAR_ENOUGH * amount_l:
        return None
    return _cans(quarters)


def to_fill(amount_l: float, can_l: float) -> str:
    """Say how many cans are to be filled for so much, by quarters, and not too few.

    Parameters
    ----------
    amount_l, can_l : float
        Of the water and of the can [L].
    """
    return _cans(max(ceil(4.0 * amount_l / can_l - _WHOLE), 1))


def _cans(quarters: int) -> str:
    whole, part = divmod(quarters, 4)
    if whole == 0:
        return _PARTS[part]
    number = _NUMBERS[whole] if whole <= MANY_IN_WORDS else str(whole)
    if part == 0:
        return f"{number} can" + ("s" if whole > 1 else "")
    return f"{number} and {_QUARTERS[part]} cans"


def benches(pots: Sequence[SheetPot]) -> Iterator[tuple[str, list[SheetPot]]]:
    """Give the pots by place, in the order in which they are walked."""
    for place, those in groupby(pots, key=lambda pot: pot.place):
        yield place or "no place told", list(those)


def amount(pots: Sequence[SheetPot], us: bool = False) -> str:
    """Say how many pots and how much: "5 pots, 6.2 L"."""
    total = litres(sum(round_litres(pot.litres) for pot in pots), us)
    return f"{len(pots)} pot{'s' if len(pots) != 1 else ''}, {total}"


def visit_amount(sheet: Sheet, visit: SheetVisit) -> str:
    """Say what a visit takes: "12 pots, 14 L, two cans, about 35 min"."""
    said = [amount(visit.pots, sheet.us)]
    if sheet.can_l:
        said.append(f"{to_fill(visit.litres, sheet.can_l)} of {litres(sheet.can_l, sheet.us)}")
    if visit.minutes is not None:
        said.append(f"about {max(round(visit.minutes), 1)} min")
    return ", ".join(said)


def span(sheet: Sheet) -> str:
    """Say from when until when."""
    start, until = (headline(at, sheet.zone).rsplit(",", 1)[0] for at in (sheet.start, sheet.until))
    return f"{start} to {until}"


def trouble(sheet: Sheet) -> tuple[str, ...]:
    """Say what to do where a tree looks wrong."""
    reach = f"call {phone(sheet)}" if sheet.phone else "tell the owner"
    return (
        f"A pot is light and its leaves hang: water it at once, then {reach}.",
        f"Leaves hang but the soil is wet: do not water. Shade the tree and {reach}.",
        f"Not sure, or a visit cannot be made: {reach}.",
    )


def phone(sheet: Sheet) -> str:
    """Give the number so that no line breaks within it."""
    return (sheet.phone or "").replace(" ", "\N{NO-BREAK SPACE}")


def left_alone(sheet: Sheet) -> tuple[str, ...]:
    """Say which trees are not to be watered unless listed, place by place; empty if there are none.

    Parameters
    ----------
    sheet : Sheet
    """
    if not sheet.recovering:
        return ()
    lines = [f"{place[:1].upper()}{place[1:]}: "
             + "; ".join(f"{pot.label} {pot.name}".strip() for pot in pots) + "."
             for place, pots in benches(sheet.recovering)]
    return ("New roots are growing in some pots. Never water these on a day they are not listed:",
            *lines)


def left_alone_short(sheet: Sheet) -> str | None:
    """Say the same in a line; None where there are no such trees."""
    if not sheet.recovering:
        return None
    labels = ", ".join(pot.label for pot in sheet.recovering)
    return f"Never water these on a day they are not listed: {labels}."


def visit_words(sheet: Sheet, visit: SheetVisit) -> str:
    """Say one visit as plain text, for a calendar or a message."""
    lines = [visit_amount(sheet, visit)]
    for place, pots in benches(visit.pots):
        lines += ["", f"{place[:1].upper()}{place[1:]} ({amount(pots, sheet.us)})"]
        lines += [f"- {pot_words(sheet, pot)}" for pot in pots]
    alone = left_alone_short(sheet)
    return "\n".join([*lines, "", HOW_SHORT, *([alone] if alone else []), ESTIMATES])


def pot_words(sheet: Sheet, pot: SheetPot) -> str:
    """Say one pot in a line: "3 black pine: 1.2 L, a quarter of a can; only if …"."""
    said = f"{pot.label} {pot.name}".strip() + f": {litres(pot.litres, sheet.us)}"
    cans = in_cans(pot.litres, sheet.can_l) if sheet.can_l else None
    if cans:
        said += f", {cans}"
    return said + (f"; only if {pot.only_if}" if pot.only_if else "")
