"""Several things in one line."""

from collections.abc import Iterable, Sequence
from typing import Final

#: How the names of rules end that hold for several values alike (`advisor.demand.ladder`).
ENDINGS: Final = (" spread from the day", " from part of the hours", " between neighbours")


def listed(words: Sequence[str]) -> str:
    """Give "3", "3 and 11", "3, 7 and 11"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def together(rules: Iterable[str]) -> list[str]:
    """Join rules that end alike: "temperature and wind spread from the day"."""
    joined: dict[str, list[str]] = {}
    for rule in rules:
        ending = next((each for each in ENDINGS if rule.endswith(each)), "")
        joined.setdefault(ending or rule, []).append(rule.removesuffix(ending))
    return [listed(values) + key if key in ENDINGS else key for key, values in joined.items()]
