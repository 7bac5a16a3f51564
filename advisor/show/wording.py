"""The round in words: place by place in walking order, by exception where most are due."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from advisor.jobs.judge import LEAVE, LOOK_FIRST, WATER_LATER, WATER_NOW, Spread
from advisor.jobs.morning import Round, TreeVerdict
from advisor.show.moments import age, dated, headline, litres, moment, round_litres
from advisor.show.reasons import Words, beside_words, foreseen, reasons

FRESH = timedelta(hours=12)
MOST_DUE = 0.5  # share of a bench from which the exceptions are named instead


@dataclass(frozen=True)
class Leaning:
    """What the advice leans on beside measured weather: sentences, and how old it is."""

    newest: datetime
    sentences: tuple[str, ...]
    credits: tuple[str, ...] = ()


def round_text(told: Round, leaning: Leaning, us: bool = False, every: bool = False) -> str:
    """Say the round as text.

    Parameters
    ----------
    told : Round
    leaning : Leaning
    us : bool
        Inches and US gallons.
    every : bool
        Give every tree its own line.
    """
    words = Words(told, us)
    lines = [headline(told.at, words.zone), *weather_lines(told, leaning, words)]
    if not told.trees:
        return "\n".join([*lines, "", "No tree stands in a pot yet (advisor add tree)."])
    for place, trees in groupby(told.trees, key=lambda tree: tree.place):
        name = place.name if place else "no place told"
        lines += ["", *_bench(name, list(trees), words, every)]
    lines += ["", summary(told, words)]
    return "\n".join(lines)


def weather_lines(told: Round, leaning: Leaning, words: Words) -> list[str]:
    """Say how far the weather is known, from whom, and what else the round leans on."""
    newest = dated(leaning.newest, told.at, words.zone)
    credit = f" {', '.join(leaning.credits)}." if leaning.credits else ""
    lines = [f"Weather known to {newest}.{credit}"]
    if leaning.newest < told.at - FRESH:
        lines = [f"Weather known only to {newest}, {age(told.at - leaning.newest)} ago: the "
                 "figures are wide. Look before you water."]
    return lines + [f"Leans on: {sentence}." for sentence in leaning.sentences]


def _bench(name: str, trees: Sequence[TreeVerdict], words: Words, every: bool) -> list[str]:
    """Say one bench: what to do in a line, then the trees that need words of their own."""
    now = [tree for tree in trees if tree.verdict == WATER_NOW]
    lines = [bench_words(name, trees, now, words)]
    by_exception = len(now) > MOST_DUE * len(trees) and len(trees) > 2
    rest = []
    for tree in trees:
        own = (every or tree.also or tree.recovery or tree.outlook.standing.hanging
               or tree.verdict in (LOOK_FIRST, WATER_LATER))
        if own or (tree.verdict == WATER_NOW) != by_exception:
            lines += _tree_lines(tree, words)
        else:
            rest.append(tree)
    if by_exception and rest:
        lines.append("    litres each: " + ", ".join(
            f"{tree.label} {litres(tree.call.litres, words.us)}" for tree in rest))
    elif rest:
        lines += _left_alone(rest, words)
    return lines


def bench_words(name: str, trees: Sequence[TreeVerdict], now: Sequence[TreeVerdict],
                words: Words) -> str:
    """Say what to do on a bench in a line, the exceptions named where most are due."""
    amount = litres(sum(round_litres(tree.call.litres) for tree in now), words.us)
    title = name[:1].upper() + name[1:]
    if not now:
        return f"{title}: nothing to water now"
    if len(now) == len(trees):
        return f"{title}: water everything, {amount}"
    others = [tree.label for tree in trees if tree.verdict != WATER_NOW]
    if len(now) > MOST_DUE * len(trees) and len(trees) > 2:
        return f"{title}: water everything but {_listed(others)}, {amount}"
    return f"{title}: water {_listed([tree.label for tree in now])} and nothing else, {amount}"


def _listed(labels: Sequence[str]) -> str:
    if len(labels) < 2:
        return "".join(labels)
    return f"{', '.join(labels[:-1])} and {labels[-1]}"


def _tree_lines(tree: TreeVerdict, words: Words) -> list[str]:
    """Say one tree: verdict and litres, then why, then what else it asks for."""
    lines = [f"  {tree.label}  {tree.name}: {verdict_words(tree, words)}"]
    lines += [f"      {sentence}" for sentence in reasons(tree, words)]
    lines += [f"      {beside_words(each, words)}" for each in tree.also]
    return lines


def verdict_words(tree: TreeVerdict, words: Words) -> str:
    """Say a verdict with its litres, and when the tree comes up next."""
    amount = litres(tree.call.litres, words.us)
    if tree.verdict == WATER_NOW:
        return f"water now, {amount}{_then(tree, words)}"
    if tree.verdict == WATER_LATER:
        later = moment(words.round.rounds[0], words.round.at, words.zone)
        return f"water {later}, {amount}"
    if tree.verdict == LOOK_FIRST:
        return f"look first; if it wants water, {amount}"
    return f"leave{_then(tree, words)}"


def _then(tree: TreeVerdict, words: Words) -> str:
    """Say when it comes up next."""
    call, at = tree.call, words.round.at
    if call.next is None:
        return f"; not in the {foreseen(tree, words)} foreseen"
    says = f"; next: {moment(call.next, at, words.zone)}"
    if call.perhaps and call.perhaps < call.next:
        says += f", perhaps {moment(call.perhaps, at, words.zone)}"
    return says


def _left_alone(trees: Sequence[TreeVerdict], words: Words) -> list[str]:
    """List trees to be left by when they come up: one line a moment."""
    by_next: dict[datetime | None, list[str]] = {}
    for tree in trees:
        by_next.setdefault(tree.call.next, []).append(tree.label)
    order = sorted(by_next, key=lambda at: (at is None, at or words.round.at))
    days = max((foreseen(tree, words) for tree in trees), key=lambda said: int(said.split()[0]))
    return [f"    leave {_listed(by_next[at])}; "
            + (f"next: {moment(at, words.round.at, words.zone)}" if at
               else f"not in the {days} foreseen") for at in order]


def summary(told: Round, words: Words) -> str:
    """Say how many trees want what, in a line."""
    counts = {verdict: sum(tree.verdict == verdict for tree in told.trees)
              for verdict in (WATER_NOW, WATER_LATER, LOOK_FIRST, LEAVE)}
    total = sum(round_litres(tree.call.litres) for tree in told.trees
                if tree.verdict == WATER_NOW)
    said = [f"{counts[WATER_NOW]} to water now ({litres(total, words.us)})"
            if counts[WATER_NOW] else "Nothing to water now"]
    for verdict, word in ((WATER_LATER, "later today"), (LOOK_FIRST, "to look at first"),
                          (LEAVE, "to leave")):
        if counts[verdict]:
            said.append(f"{counts[verdict]} {word}")
    return ", ".join(said) + "."


def round_document(told: Round, leaning: Leaning) -> dict[str, Any]:
    """Give the round as a document for scripts; the keys stand in README.md."""
    words = Words(told)
    site, zone = told.knowledge.site, words.zone
    return {
        "at": _iso(told.at, zone),
        "site": {"latitude_deg": site.latitude_deg, "longitude_deg": site.longitude_deg,
                 "elevation_m": site.elevation_m, "time_zone": site.time_zone},
        "weather": {"newest": _iso(leaning.newest, zone),
                    "age_h": round(max(told.at - leaning.newest, timedelta())
                                   .total_seconds() / 3600.0, 2),
                    "leans_on": list(leaning.sentences)},
        "trees": [_tree_document(tree, words) for tree in told.trees],
    }


def _tree_document(tree: TreeVerdict, words: Words) -> dict[str, Any]:
    call, zone = tree.call, words.zone
    return {
        "tree": tree.label,
        "place": tree.place.name if tree.place else None,
        "verdict": tree.verdict,
        "available_left": _spread(call.left, 3),
        "dry_depth_mm": _spread(call.dry_mm, 1),
        "chance_past_limit": round(call.chance_past_limit, 3),
        "litres": round_litres(call.litres),
        "next": _iso(call.next, zone),
        "why": reasons(tree, words),
        "also": also_document(tree, words),
        "recovery": _recovery(tree, words),
    }


def also_document(tree: TreeVerdict, words: Words) -> list[dict[str, Any]]:
    """Give what a tree asks for besides water, for scripts."""
    return [{"do": each.do, "from": _iso(each.start, words.zone),
             "until": _iso(each.end, words.zone), "why": beside_words(each, words)}
            for each in tree.also]


def _spread(spread: Spread, digits: int) -> dict[str, float]:
    return {"low": round(spread.low, digits), "mid": round(spread.mid, digits),
            "high": round(spread.high, digits)}


def _recovery(tree: TreeVerdict, words: Words) -> dict[str, Any] | None:
    recovery, reached = tree.recovery, tree.call.reaches_target
    if recovery is None:
        return None
    moments = None
    if reached is not None:
        moments = {"low": _iso(reached.low, words.zone), "mid": _iso(reached.mid, words.zone),
                   "high": _iso(reached.high, words.zone)}
    return {"day": recovery.day(words.round.at, words.zone), "target_mm": recovery.target_mm,
            "reaches_target": moments, "ends": _iso(recovery.ends, words.zone)}


def _iso(at: datetime | None, zone: Any) -> str | None:
    return None if at is None else at.astimezone(zone).isoformat(timespec="seconds")
