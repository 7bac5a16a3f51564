"""What the tool refuses, and how it says so.

Refused          one thing is wrong: what, value, limit, what to do
└── ManyRefused  several rows of one file are wrong; nothing was written
"""

from collections.abc import Sequence

#: Rows shown of a refused file; `ManyRefused.refusals` has them all.
MOST_SHOWN = 40


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
    """

    def __init__(self, what: str, value: object, limit: str, do: str) -> None:
        self.what, self.value, self.limit, self.do = what, value, limit, do
        super().__init__(f"{what}: {value} is not usable ({limit}). {do}")


class ManyRefused(Refused):
    """Every refused row of one file, so that all can be mended in one go."""

    def __init__(self, what: str, refusals: Sequence[Refused], do: str) -> None:
        self.refusals = list(refusals)
        super().__init__(what, f"{len(self.refusals)} rows", "every row must pass", do)

    def __str__(self) -> str:
        rows = [f"  {refusal}" for refusal in self.refusals[:MOST_SHOWN]]
        if len(self.refusals) > MOST_SHOWN:
            rows.append(f"  … and {len(self.refusals) - MOST_SHOWN} more")
        shown = "\n".join(rows)
        return f"{self.what}: {self.value} refused, nothing written.\n{shown}\n{self.do}"
