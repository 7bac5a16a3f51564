"""Small pieces of the sentences that answer an entry."""

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from advisor.cli.clock import instant_words
from advisor.garden.records import Place, Potting, Tree
from advisor.show.lists import listed

SHOWN = 20  # labels in a line


def labels_words(labels: Sequence[str]) -> str:
    """Give labels in a line, with their count where they are many."""
    if len(labels) <= SHOWN:
        return listed(labels)
    return f"{', '.join(labels[:SHOWN])} and {len(labels) - SHOWN} more"


def litres_words(litres: float) -> str:
    """Give litres as they are measured out: "2.9 L", "0.35 L"."""
    return f"{litres:.1f} L" if litres >= 1.0 else f"{litres:.2g} L"


def tree_words(tree: Tree) -> str:
    """Give a tree as it is called: label, then name or group."""
    return f"{tree.label} {tree.name or tree.group}"


def size_words(potting: Potting) -> str:
    """Give the size of a pot as it was told."""
    if potting.outside_mm:
        return " × ".join(f"{size:g}" for size in potting.outside_mm) + " mm outside"
    if potting.inside_mm:
        return " × ".join(f"{size:g}" for size in potting.inside_mm) + " mm inside"
    return f"{potting.litres:g} L"


def pot_words(potting: Potting) -> str:
    """Give a pot in a line: "oval pot, 350 × 250 × 60 mm outside"."""
    outline = "" if potting.outline == "rectangle" else f"{potting.outline} "
    return f"{outline}{potting.form}, {size_words(potting)}"


def hours_words(hours: tuple[float, float] | None) -> str:
    """Give hours of sun: "from 6:30 to 20", or "all day" where none are told."""
    if hours is None:
        return "all day"
    first, last = (f"{int(h)}:{round(h % 1 * 60):02d}" if h % 1 else f"{h:g}" for h in hours)
    return f"from {first} to {last}"


def place_words(place: Place | None) -> str:
    """Give the name of a place, or that there is none."""
    return place.name if place else "no place told"


def entered(what: str, labels: Sequence[str], how: str, at: datetime, zone: ZoneInfo) -> str:
    """Give the line that says what was entered."""
    count = f" ({len(labels)} trees)" if len(labels) > 1 else ""
    return f"{what} {labels_words(labels)}{count}{how}, {instant_words(at, zone)}."
