"""What readings told of the trees, in words and for scripts."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from statistics import median
from typing import Any, Final
from zoneinfo import ZoneInfo

from advisor.garden.records import Reading
from advisor.jobs.habits import Foreseen, Habits
from advisor.jobs.judge import Spread
from advisor.show.moments import dated, percent

CAUTION: Final = "Estimates, not orders: the tree and the finger decide."
NONE: Final = "No tree stands in a pot yet (advisor add tree)."
KEY: Final = ("Shares are of what is assumed of its kind, crown and pot; in brackets where it lies "
              "nine times in ten.")
HEADER: Final = ("tree", "name", "place", "readings", "readings_before", "doubted", "drinks_low",
                 "drinks_mid", "drinks_high", "holds_low", "holds_mid", "holds_high", "holds_l",
                 "last", "last_within")
#: How soil feels, by how wet it is over what reads dry: up to, word (half-way between what the
#: words stand for).
FELT: Final = ((0.10, "dry"), (0.275, "moist"), (9.9, "wet"))


def list_text(found: Sequence[Habits]) -> str:
    """Say of each tree how much it drinks and holds; of those that nothing was read of, only so."""
    if not found:
        return NONE
    read = [each for each in found if each.readings + each.readings_before]
    lines = [line for each in read for line in (_name(each), *(f"    {said}"
                                                               for said in sentences(each)))]
    rest = [each.tree.label for each in found if each not in read]
    if rest:
        lines.append(f"Nothing read of {', '.join(rest)}: each drinks and holds as assumed of its "
                     "kind and pot (advisor reading).")
    return "\n".join([*lines, "", KEY, CAUTION] if read else [*lines, "", CAUTION])


def tree_text(each: Habits, at: datetime, zone: ZoneInfo) -> str:
    """Say what is known of one tree, with its last readings beside what was foreseen."""
    lines = [_name(each), *(f"  {said}" for said in sentences(each))]
    if each.last:
        lines += ["", "Its last readings, and what was foreseen of them:"]
        lines += [f"  {dated(one.reading.at, at, zone)}  {foreseen(one)}" for one in each.last]
    return "\n".join([*lines, "", KEY, CAUTION])


def _name(each: Habits) -> str:
    where = f", {each.place.name}" if each.place else ""
    return f"{each.tree.label}  {each.tree.name or each.tree.group}{where}"


def sentences(each: Habits) -> list[str]:
    """Give what is known of one tree, in sentences: the same in the text and the JSON."""
    holds, litres = each.holds, each.holds_l
    return [
        f"drinks {_shares(each.drinks)} of what is assumed"
        + (f"; before anything was read, {_between(each.drinks_assumed)}"
           if each.readings + each.readings_before else ""),
        f"holds {_shares(holds)} of what is assumed: {litres.mid:.2f} L for the tree "
        f"({litres.low:.2f} to {litres.high:.2f} L)",
        _rests_on(each), *_how_well(each.last)]


def _rests_on(each: Habits) -> str:
    before = (f", and {_count(each.readings_before)} of earlier pots for what it drinks"
              if each.readings_before else "")
    doubted = (f"; {each.doubted} lie too far off and wait for another that agrees"
               if each.doubted else "")
    return f"rests on {_count(each.readings)} in this pot{before}{doubted}"


def _count(readings: int) -> str:
    return {0: "no reading", 1: "1 reading"}.get(readings, f"{readings} readings")


def _how_well(last: Sequence[Foreseen]) -> list[str]:
    """Say how well the last readings were foreseen."""
    if not last:
        return []
    within = sum(one.within for one in last)
    says = f"of the last {len(last)}, {within} lay where nine in ten should"
    depths = [abs(one.value - one.foreseen.mid) for one in last if one.reading.kind == "dry depth"]
    grams = [1000.0 * abs(one.value - one.foreseen.mid) for one in last
             if one.reading.kind == "weight"]
    off = ([f"skewers by {median(depths):.0f} mm"] if depths else []) + (
        [f"weights by {median(grams):.0f} g"] if grams else [])
    return [says + (f"; off in the middle: {', '.join(off)}" if off else "")]


def foreseen(one: Foreseen) -> str:
    """Say one reading beside what was foreseen of it."""
    says = f"{_read(one)}; foreseen {_expected(one)}"
    if not one.used:
        return f"{says}: too far off, not counted until another agrees"
    return says if one.within else f"{says}: a surprise"


def _read(one: Foreseen) -> str:
    """Say a reading as it was entered."""
    reading: Reading = one.reading
    value = reading.value if reading.value is not None else 0.0
    return {
        "dry depth": f"dry to {value:g} mm",
        "weight": f"{value:g} kg, {one.value:.2f} L below full",
        "run-off": f"{reading.word} after {value:g} L",
        "feel": f"{reading.word} at {reading.depth_mm or 0.0:g} mm",
        "lift": f"{reading.word} to lift",
    }[reading.kind]


def _expected(one: Foreseen) -> str:
    """Say what was foreseen, in the words in which it was read."""
    spread, kind = one.foreseen, one.reading.kind
    if kind == "dry depth":
        return f"{spread.mid:.0f} mm ({spread.low:.0f} to {spread.high:.0f} mm)"
    if kind == "feel":
        low, mid, high = (_felt(each) for each in (spread.low, spread.mid, spread.high))
        return mid if low == high else f"{mid} ({low} to {high})"
    if kind == "lift":
        return (f"{percent(spread.mid)} of its water left ({percent(spread.low)} to "
                f"{percent(spread.high)})")
    return f"{spread.mid:.2f} L lacking ({spread.low:.2f} to {spread.high:.2f} L)"


def _felt(wetness: float) -> str:
    return next(word for most, word in FELT if wetness <= most)


def _shares(spread: Spread) -> str:
    return f"{percent(spread.mid)} ({_between(spread)})"


def _between(spread: Spread) -> str:
    return f"{100 * spread.low:.0f} to {percent(spread.high)}"


# --- scripts -----------------------------------------------------------------------------------


def document(found: Iterable[Habits], zone: ZoneInfo) -> dict[str, Any]:
    """Give what is known of trees for scripts."""
    return {"trees": [{
        "tree": each.tree.label, "name": each.tree.name or None,
        "place": each.place.name if each.place else None,
        "readings": each.readings, "readings_before": each.readings_before,
        "doubted": each.doubted,
        "drinks": _spread(each.drinks), "drinks_assumed": _spread(each.drinks_assumed),
        "holds": _spread(each.holds), "holds_assumed": _spread(each.holds_assumed),
        "holds_l": _spread(each.holds_l), "why": sentences(each),
        "last": [{
            "at": one.reading.at.astimezone(zone).isoformat(timespec="seconds"),
            "kind": one.reading.kind, "value": round(one.value, 4),
            "foreseen": _spread(one.foreseen, 4), "sd_off": round(one.sd_off, 2),
            "within": one.within, "counts": one.used, "why": foreseen(one)}
            for one in each.last],
    } for each in found]}


def rows(found: Iterable[Habits]) -> list[list[Any]]:
    """Give what is known of trees as rows of a spreadsheet, in the order of HEADER."""
    return [[each.tree.label, each.tree.name or None, each.place.name if each.place else None,
             each.readings, each.readings_before, each.doubted,
             *_spread(each.drinks).values(), *_spread(each.holds).values(),
             round(each.holds_l.mid, 3), len(each.last), sum(one.within for one in each.last)]
            for each in found]


def _spread(spread: Spread, digits: int = 3) -> dict[str, float]:
    return {"low": round(spread.low, digits), "mid": round(spread.mid, digits),
            "high": round(spread.high, digits)}
