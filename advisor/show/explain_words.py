"""A verdict explained, in a table for readers and a document for scripts."""

import re
from collections.abc import Mapping
from typing import Any, Final

from advisor.jobs.explain.changing import RAIN_HOURS, Change
from advisor.jobs.explain.explained import Explained
from advisor.jobs.explain.numbers import Number
from advisor.jobs.judge import LEAVE, WATER_LATER, WATER_NOW
from advisor.jobs.morning import Round
from advisor.show.moments import dated, day, percent, round_litres
from advisor.show.reasons import Words, reasons
from advisor.show.wording import also_document, verdict_words

CAUTION: Final = "Estimates, not orders: the tree and the finger decide."
HEADINGS: Final[Mapping[str, str]] = {
    "weather": "The weather of {day}, and what of it comes to where the tree stands",
    "demand": "What it asked of the pot that day",
    "pot": "The pot", "balance": "What went in and out {since} (means; they add up but for "
                                 "rounding)",
    "state": "Now"}
LABELS: Final[Mapping[str, str]] = {
    "temp_mean_c": "air, mean", "temp_low_c": "air, lowest hour",
    "temp_high_c": "air, highest hour", "vapour_kpa": "vapour pressure, mean",
    "wind_ms": "wind at 2 m, mean", "light_mj": "light, the day's sum", "rain_mm": "rain",
    "et0_site_mm": "ET0 at the site, open", "wind_share": "wind that comes there",
    "shade": "light that shade takes there", "skyline": "skyline there",
    "rain_share": "rain that comes there",
    "et0_place_mm": "ET0 where it stands", "et0_awake_mm": "  of it in hours above 0 °C",
    "kcb_height": "× Kcb at its height of the year", "season": "× season",
    "cold": "× cold of the last week", "recovery": "× roots recovered",
    "foliage": "× foliage left", "crown_m2": "× crown that drinks", "oasis": "× what stands around",
    "thirst": "× its own thirst", "asked_l": "= asked",
    "surface_factor": "ET0 × what its soil gives off, wet",
    "surface_asked_l": "= given off at most",
    "soil_l": "soil", "soil_depth_mm": "depth", "surface_m2": "surface", "mix": "mix",
    "condition": "state of the mix", "ball_mix": "old soil amid it",
    "ball_share": "its share of the area", "tip_deg": "tipped by",
    "holds_tipped_l": "holds so", "holds_l": "holds after draining",
    "available_l": "of it for the tree",
    "held_then_l": "held then", "came_in_l": "came in", "ran_out_l": "ran out below",
    "evaporated_l": "evaporated", "drunk_l": "drunk by the tree",
    "readings_l": "set right by readings", "held_now_l": "holds now",
    "left": "left for the tree", "dry_depth_mm": "dry from the top to", "limit": "wants water at",
    "target_mm": "kept dry to", "chance_at_target": "chance that it is so dry",
    "target_called_at": "called at a chance of that of", "ball_left": "left where its roots are",
    "floor": "never below, where its roots are",
    "called_at": "called at a chance of", "chance_past_limit": "chance of it by the next round",
    "full_from": "full from: more would run through", "doubt": "so far apart, so looked at first",
    "doubt_mm": "so far apart, so looked at first", "pot_c": "the pot itself",
    "frozen_below_c": "frozen below"}
SHARES: Final = ("left", "limit", "called_at", "chance_past_limit", "chance_at_target",
                 "target_called_at", "ball_left", "floor", "full_from", "doubt", "ball_share",
                 "wind_share", "shade", "rain_share")
DIGITS: Final[Mapping[str, int]] = {"°C": 1, "kPa": 2, "m/s": 1, "MJ/m²": 1, "mm": 1, "m²": 3,
                                    "L": 2, "L/day": 2, "°": 0, "-": 2}
FINER: Final = ("et0_site_mm", "et0_place_mm", "et0_awake_mm")  # factors, shown to .01
VERDICTS: Final[Mapping[str, str]] = {WATER_NOW: "water now", WATER_LATER: "water later today",
                                      LEAVE: "leave"}
SMALL_L: Final = 0.1  # under which litres are shown to .001
SHORT: Final = 40  # letters of a source shown in the table; all of it is in the document
_BRACKET: Final = re.compile(r"\[([^\[\]]*)\]")


def explain_text(found: Explained, told: Round) -> str:
    """Say the chain from weather to verdict, a number a line, and what would change it."""
    words = Words(told)
    tree = found.tree
    where = f", {tree.place.name}" if tree.place else ""
    lines = [f"{tree.label}  {tree.name}{where}: {verdict_words(tree, words)}",
             *(f"    {sentence}" for sentence in reasons(tree, words)),
             *(f"    {each['why']}" for each in also_document(tree, words))]
    for part, numbers in found.parts.items():
        lines += ["", _heading(part, found, words)]
        lines += [_line(number) for number in numbers]
    lines += ["", "What would change it", *(f"  {said}" for said in changed(found)), "", CAUTION]
    return "\n".join(lines)


def _heading(part: str, found: Explained, words: Words) -> str:
    at = dated(found.since, words.round.at, words.zone)
    return HEADINGS[part].format(
        day=day(_noon(found, words), words.round.at, words.zone),
        since=f"since it was watered, {at}" if found.watered else f"since {at}")


def _noon(found: Explained, words: Words) -> Any:
    sky = words.round.sky
    index = int((sky.dates[sky.day] == found.day).argmax())
    return sky.instant(index + 12)


def _line(number: Number) -> str:
    basis = number.origin
    if short := short_source(number.source):
        basis = f"{basis}; {short}"
    return f"  {LABELS[number.key]:<35} {_value(number):<26} {basis}".rstrip()


def short_source(source: str) -> str:
    """Give what stands in a source's first brackets: "judgement; ± .2"."""
    match = _BRACKET.search(source)
    found = match.group(1) if match else source
    return found if len(found) <= SHORT else found.split(";")[0]


def _value(number: Number) -> str:
    """Give "0.41 L (0.35 to 0.48)"; a word as it is."""
    if not isinstance(number.value, float):
        return str(number.value)
    if number.key in SHARES:
        says = percent(number.value)
        return says + (f" ({100 * number.spread[0]:.0f} to {percent(number.spread[1])})"
                       if number.spread else "")
    small = number.unit.startswith("L") and 0.0 < abs(number.value) < SMALL_L
    digits = DIGITS[number.unit] + (number.key in FINER or small)
    unit = "" if number.unit == "-" else f" {number.unit}"
    says = f"{round(number.value, digits) + 0.0:.{digits}f}{unit}"  # never "-0.00"
    if number.spread:
        says += " ({:.{d}f} to {:.{d}f})".format(*number.spread, d=digits)
    return says


def changed(found: Explained) -> list[str]:
    """Say what would give another verdict, a sentence each."""
    if found.frozen:
        return ["The thaw: until then it is left, whatever else."]
    return [f"{_if(each, found)}: {VERDICTS[each.verdict]}." for each in found.changes] or [
        "Nothing that was tried: other weather, water or limit."]


def _if(change: Change, found: Explained) -> str:
    since = "since it was watered" if found.watered else "these last days"
    match change.what:
        case "less demand" | "more demand":
            how = change.what.split(" ")[0]
            return f"Had the air asked {change.amount:.0f} % {how} {since}, and went on so"
        case "rain":
            return f"Had {change.amount:.0f} mm of rain fallen in the last {RAIN_HOURS} hours"
        case "water":
            return f"Were {change.amount:.2f} L poured now"
    limit = next(each.value for each in found.parts["state"] if each.key == "limit")
    assert isinstance(limit, float)
    return f"Were its limit {percent(change.amount)} instead of {percent(limit)}"


UNITS: Final[Mapping[str, str]] = {"less demand": "%", "more demand": "%", "rain": "mm",
                                   "water": "L", "lower limit": "-", "higher limit": "-"}


def explain_document(found: Explained, told: Round) -> dict[str, Any]:
    """Give the chain for scripts, with the sources in full."""
    words, tree = Words(told), found.tree
    return {"trees": [{
        "tree": tree.label, "name": tree.name, "place": tree.place.name if tree.place else None,
        "verdict": tree.verdict, "litres": round_litres(tree.call.litres),
        "day": str(found.day),
        "since": found.since.astimezone(words.zone).isoformat(timespec="seconds"),
        "parts": {part: [_row(number) for number in numbers]
                  for part, numbers in found.parts.items()},
        "would_change": [{
            "what": each.what, "amount": round(each.amount, 3), "unit": UNITS[each.what],
            "verdict": each.verdict, "why": said}
            for each, said in zip(found.changes, changed(found), strict=False)],
        "why": reasons(tree, words), "also": also_document(tree, words),
    }]}


def _row(number: Number) -> dict[str, Any]:
    value = round(number.value, 5) if isinstance(number.value, float) else number.value
    low, high = number.spread or (None, None)
    return {"key": number.key, "value": value, "unit": number.unit,
            "low": None if low is None else round(low, 5),
            "high": None if high is None else round(high, 5),
            "origin": number.origin, "source": number.source}
