"""An absence for scripts, and what changed between two of them."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from advisor.jobs.away.cover import Cover
from advisor.jobs.away.plan_case import Impossible
from advisor.show.away_words import counted, named, sheet_of
from advisor.show.moments import dated, day, litres, round_litres
from advisor.show.sheet import SheetVisit

DIGITS = 3


def away_document(cover: Cover) -> dict[str, Any]:
    """Give an absence as one JSON document."""
    left = cover.left
    ask, zone = left.ask, left.span.told.sky.zone
    return {
        "from": ask.start.isoformat(), "until": ask.until.isoformat(),
        "safety": {"wanted": ask.safety, "reached": round(cover.reached, DIGITS)},
        "visits": [] if isinstance(cover.plan, Impossible) else [
            _visit(each, zone) for each in sheet_of(cover).visits],
        "at_risk": _at_risk(cover),
        "saves": [{"remedy": each.remedy, "trees": list(each.trees), "visits_saved": each.saved}
                  for each in cover.saves],
    }


def _visit(visit: SheetVisit, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "at": visit.at.astimezone(zone).isoformat(timespec="seconds"),
        "pots": [{"tree": pot.label, "place": pot.place, "litres": round_litres(pot.litres),
                  "only_if": pot.only_if} for pot in visit.pots],
        "litres": round(visit.litres, 2), "minutes": max(round(visit.minutes or 0.0), 1),
    }


def _at_risk(cover: Cover) -> list[dict[str, Any]]:
    """Give trees at risk; a chance is null of those that an early stop left unknown."""
    plan = cover.plan
    unknown = [_risk(label, None, None) for label in cover.unknown]
    if isinstance(plan, Impossible):
        worst = cover.left.ask.date(plan.day)
        return [*(_risk(cover.left.kept[i].label, 1.0, worst) for i in plan.trees), *unknown]
    return [*(_risk(each.label, max(each.chance, each.years_harm), each.worst)
              for each in cover.risks if each.chance or each.years_harm), *unknown]


def _risk(label: str, chance: float | None, worst: date | None) -> dict[str, Any]:
    return {"tree": label, "chance": None if chance is None else round(chance, DIGITS),
            "worst_day": worst.isoformat() if worst else None}


def change_text(before: Mapping[str, Any], after: Mapping[str, Any], now: datetime,
                zone: ZoneInfo) -> str:
    """Say what changed between two plans, in a text short enough for a message.

    Parameters
    ----------
    before, after : mapping
        As `away_document` gives them.
    now : datetime
        Visits before it are left aside.
    zone : ZoneInfo
    """
    old, new = (_coming(each, now) for each in (before, after))
    moved = _moved([at for at in old if at not in new], [at for at in new if at not in old])
    said = [f"{_name(at, now, zone)}'s visit moves to {_name(to, now, zone)}: {_what(new[to])}."
            for at, to in sorted(moved.items())]
    said += [f"{_name(at, now, zone)}'s visit is not needed."
             for at in old if at not in new and at not in moved]
    said += [f"One more visit, {dated(at, now, zone)}: {_what(new[at])}."
             for at in new if at not in old and at not in moved.values()]
    for at in sorted(set(old) & set(new)):
        told = _pots(old[at], new[at])
        if told:
            said.append(f"{_name(at, now, zone)}: {told}.")
    if said:
        return "\n".join(said)
    following = min(new, default=None)
    if following is None:
        return "Nothing changed: no visit is left."
    return f"Nothing changed. Next visit {dated(following, now, zone)}: {_what(new[following])}."


def _moved(gone: Sequence[datetime], come: Sequence[datetime]) -> dict[datetime, datetime]:
    """Pair visits that are gone with visits that come in, the nearest first."""
    moved: dict[datetime, datetime] = {}
    for _, at, to in sorted((abs(to - at), at, to) for at in gone for to in come):
        if at not in moved and to not in moved.values():
            moved[at] = to
    return moved


def _coming(document: Mapping[str, Any], now: datetime) -> dict[datetime, Mapping[str, Any]]:
    visits = {datetime.fromisoformat(each["at"]): each for each in document["visits"]}
    return {at: each for at, each in sorted(visits.items()) if at > now}


def _name(at: datetime, now: datetime, zone: ZoneInfo) -> str:
    here, today = at.astimezone(zone), now.astimezone(zone)
    near = 0 <= (here.date() - today.date()).days < 7
    return f"{here:%A}" if near else day(at, now, zone)


def _what(visit: Mapping[str, Any]) -> str:
    return f"{counted(len(visit['pots']), 'pot')}, {litres(visit['litres'])}"


def _pots(old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    before, after = ([pot["tree"] for pot in each["pots"]] for each in (old, new))
    told: list[Sequence[str]] = [[each for each in after if each not in before],
                                 [each for each in before if each not in after]]
    words = [f"{word} {named(labels)}" for word, labels in zip(("also", "not"), told, strict=True)
             if labels]
    return ", ".join(words)
