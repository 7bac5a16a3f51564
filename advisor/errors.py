"""What the tool refuses, and how it says so.

Refused          one thing is wrong: what, value, limit, what to do
└── ManyRefused  several cells of one file are wrong; nothing was written
"""

import re
from collections.abc import Sequence

#: Cells shown of a refused file; `ManyRefused.refusals` has them all.
MOST_SHOWN = 40
#: Cells refused by one and the same rule that are still shown one by one.
MOST_ALIKE = 10
_LINE = re.compile(r"\bline (\d+)\b")
_SPAN = "line(s)"  # stands in a text for the lines it is true of


class Refused(ValueError):
    """Input that cannot be used; the message stands alone and is never empty.

    Parameters
    ----------
    what : str
        The thing refused, in the reader's words ("wind, 2026-07-01 13:00").
    value : object
        What was given, with its unit.
    limit : str
        What would have been accepted.
    do : str
        The next step.

    Examples
    --------
    >>> import advisor
    >>> try:
    ...     advisor.fill_pot({"pumice": 0.9}, outside_mm=(350, 250, 60))
    ... except advisor.Refused as refused:
    ...     print(refused)
    shares of a mix: 0.9 in all. Wanted: 1 in all. Shares of the volume, such as 0.5 and 0.5.
    """

    def __init__(self, what: str, value: object, limit: str, do: str) -> None:
        self.what, self.value, self.limit, self.do = what, value, limit, do
        wanted = f"K{limit[1:]}" if limit.startswith("known: ") else f"Wanted: {limit}"
        super().__init__(f"{what}: {value}. {wanted}. {do}")


class ManyRefused(Refused):
    """Every refused cell of one file, so that all can be mended in one go."""

    def __init__(self, what: str, refusals: Sequence[Refused], do: str) -> None:
        self.refusals = list(refusals)
        super().__init__(what, _count(self.refusals), "every cell must pass", do)

    def __str__(self) -> str:
        rows = [f"  {text}" for text in _grouped(self.refusals)]
        if len(rows) > MOST_SHOWN:
            rows[MOST_SHOWN:] = [f"  … and {len(rows) - MOST_SHOWN} more"]
        shown = "\n".join(rows)
        return f"{self.what}: {self.value} refused, nothing written.\n{shown}\n{self.do}"


def _count(refusals: Sequence[Refused]) -> str:
    """Give "8 cells in 5 rows", "1 row", or how many where no lines are told."""
    lines = {line for each in refusals if (line := _line(each)) is not None}
    if not lines:
        return _counted(len(refusals), "value")
    cells = f"{len(refusals)} cells in " if len(refusals) > len(lines) else ""
    return cells + _counted(len(lines), "row")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" + ("s" if count != 1 else "")


def _line(refusal: Refused) -> int | None:
    match = _LINE.search(refusal.what)
    return int(match.group(1)) if match else None


def _grouped(refusals: Sequence[Refused]) -> list[str]:
    """Give the messages, those alike but for their lines in one."""
    alike: dict[tuple[str, str, str], list[Refused]] = {}
    for each in refusals:
        alike.setdefault((_LINE.sub(_SPAN, each.what), each.limit, each.do), []).append(each)
    texts: list[str] = []
    for rule, group in alike.items():
        same: dict[str, list[Refused]] = {}
        for each in group:
            same.setdefault(str(each.value), []).append(each)
        if len(same) > MOST_ALIKE:
            texts.append(_together(rule, f"{group[0].value} and others", group))
        else:
            texts += [_together(rule, value, those) for value, those in same.items()]
    return texts


def _together(rule: tuple[str, str, str], value: str, group: Sequence[Refused]) -> str:
    lines = [line for each in group if (line := _line(each)) is not None]
    what, limit, do = rule
    return str(Refused(what.replace(_SPAN, _lines(lines)), value, limit, do))


def _lines(lines: Sequence[int]) -> str:
    """Give "line 3", "lines 2 to 293", or "lines 2, 5, …"."""
    if len(lines) <= 1:
        return f"line {lines[0]}" if lines else ""
    if lines[-1] - lines[0] == len(lines) - 1:
        return f"lines {lines[0]} to {lines[-1]}"
    return f"lines {', '.join(map(str, lines[:MOST_ALIKE]))}" + (
        f" and {len(lines) - MOST_ALIKE} more" if len(lines) > MOST_ALIKE else "")
