"""Several faults of one file, raised together so that all can be mended in one go."""

from collections.abc import Sequence

from advisor.errors import ManyRefused, Refused


def raise_all(name: str, refusals: Sequence[Refused], do: str) -> None:
    """Raise what was refused in the file of that name; do nothing where nothing was.

    Raises
    ------
    Refused
        One value was refused; the message names file, line and column.
    ManyRefused
        More than one was.
    """
    if len(refusals) == 1:
        one = refusals[0]
        raise Refused(f"{name}, {one.what}", one.value, one.limit, one.do)
    if refusals:
        raise ManyRefused(name, refusals, do)
