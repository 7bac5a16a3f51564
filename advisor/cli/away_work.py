"""Work an absence out from the garden's file, keep the plan, and go on with it."""

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any, Final

import click

from advisor.cli.aside import aside
from advisor.cli.choose import choose_trees
from advisor.cli.hours import read_hours
from advisor.cli.morning import say_when_preparing
from advisor.cli.progress import progress
from advisor.cli.working import beliefs, opened, work_round
from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Watering
from advisor.garden.store import Garden
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.away import remedies
from advisor.jobs.away.absence import Ask, Left, check, leave, leaving, points, span_of
from advisor.jobs.away.cover import Cover, judged, nothing_yet, of_the_rest, plans
from advisor.jobs.away.plan_case import Flags, Impossible, Limits, Plan
from advisor.jobs.away.sky import AwaySky, away_sky
from advisor.jobs.morning import potted
from advisor.show.away_document import away_document
from advisor.show.away_words import counted

__all__ = ["Made", "opened", "planned", "updated"]

Pots = tuple[datetime, Sequence[str]]  # when, and which are watered

REMEDIES_S: Final = 30.0  # of trying what would save visits
HASTE_S: Final = 1.0  # of planning for some of the trees, after Ctrl-C


@dataclass(frozen=True, eq=False)
class Made:
    """A plan made: what came of it, and how it follows on the one before."""

    cover: Cover
    now: datetime
    key: str
    sequence: int = 0
    gone: tuple[datetime, ...] = ()
    before: Mapping[str, Any] | None = None


def planned(garden: Garden, now: datetime, ask: Ask, without: Sequence[str] = ()) -> Made:
    """Plan an absence to come, and keep the plan."""
    zone = garden.site().zone
    check(ask, now.astimezone(zone).date())
    cover = _work(garden, now, ask, without)
    made = Made(cover, now, f"away-{ask.start:%Y%m%d}-{ask.until:%Y%m%d}")
    _keep(garden, made, without)
    return made


def updated(garden: Garden, now: datetime) -> Made:
    """Plan again what is left of the absence planned last, and keep the plan."""
    kept = garden.last_plan(now)
    if kept is None:
        raise Refused("--update", "no plan is kept", "a plan made before",
                      "Make one first (advisor away --from … --until …).")
    zone = garden.site().zone
    ask, document = _asked(kept["ask"]), kept["document"]
    today = now.astimezone(zone).date()
    if today >= ask.until:
        raise Refused("--update", f"the absence ended on {ask.until:%d %B %Y}",
                      "a plan for days to come", "Make a new one.")
    leaves = datetime.fromisoformat(kept["leaves"])
    rest = replace(ask, start=max(ask.start, today)) if now > leaves else ask
    before = [(leaves, kept.get("watered", [])), *_pots(document)]
    cover = _work(garden, now, rest, kept["without"], before)
    sequence = kept["sequence"] + 1
    coming = _visits(document)
    fresh = [] if isinstance(cover.plan, Impossible) else _visits(away_document(cover))
    gone = tuple(sorted(at for at in coming if at > now)[len(fresh):])
    made = Made(cover, now, kept["key"], sequence, gone, document)
    _keep(garden, made, kept["without"], ask, before[0])
    return made


def _visits(document: Mapping[str, Any]) -> list[datetime]:
    return [datetime.fromisoformat(each["at"]) for each in document["visits"]]


def _pots(document: Mapping[str, Any]) -> list[Pots]:
    return [(at, [pot["tree"] for pot in visit["pots"]])
            for at, visit in zip(_visits(document), document["visits"], strict=True)]


def _work(garden: Garden, now: datetime, ask: Ask, without: Sequence[str],
          before: Sequence[Pots] = ()) -> Cover:
    """Work an absence out; Ctrl-C gives what there is by then.

    `before` is a plan to stay near: what is watered on leaving, and the visits.
    """
    say_when_preparing()
    work_round(garden, now)
    knowledge = garden.knowledge(now)
    others = set(choose_trees(knowledge, without, (), now)) if without else set()
    gone = bool(before) and now > before[0][0]
    if gone:
        knowledge = _as_visited(knowledge, before, now)
    labels = [label for label in potted(knowledge, now) if label not in others]
    if not labels and others:
        raise Refused("--without", "every tree", "one to be looked after at least",
                      "Name fewer, or leave it out.")
    if not labels:
        raise Refused("trees", "none in a pot", "at least one", "Add one first: `advisor add`.")
    zone = knowledge.site.zone
    back = ask.visit_at(ask.end, zone) + timedelta(hours=2)
    leaves = now if gone else leaving(ask, knowledge, now)
    sky = away_sky(read_hours(garden, knowledge), knowledge.site.time_zone, now, leaves, back)
    told = Told(knowledge, Almanac(sky.sky, knowledge.site.latitude_deg), now)
    span = span_of(ask, told, now, waters=not gone)
    begun = points(told, labels, lambda label, before: beliefs(garden, label, before))
    left: Left | None = None
    try:
        with progress("How long each tree lasts") as done:
            for left in leave(ask, span, begun):
                done(len(left.kept), len(begun))
    except KeyboardInterrupt:
        if left is None:
            raise
        return _of_some(left, sky, labels)
    assert left is not None
    return _planned(garden, left, sky, begun, left.mask(before[1:]) if before else None)


def _of_some(left: Left, sky: AwaySky, labels: Sequence[str]) -> Cover:
    """Plan in haste for the trees of which it is known how long they last."""
    found = [nothing_yet(left, sky)]
    with _quiet(), suppress(TimeoutError):
        for cover in aside(plans(left, sky, HASTE_S), HASTE_S):
            found.append(cover)
    return replace(found[-1], unknown=tuple(labels[len(left.kept):]))


def _planned(garden: Garden, left: Left, sky: AwaySky, begun: remedies.Begun,
             before: Flags | None) -> Cover:
    """Plan, judge and try remedies, as far as Ctrl-C lets it."""
    found, saves = [nothing_yet(left, sky)], []
    whole = False
    with _quiet(), suppress(KeyboardInterrupt, TimeoutError):
        for cover in aside(plans(left, sky, before=before)):
            found.append(cover)
            _say(_found(cover.plan))
        for cover in aside(of_the_rest(found[-1])):
            found.append(cover)
        found.append(judged(found[-1], begun))
        from advisor.cli.away_net import net_et0

        tries = remedies.Tries(left, begun, found[-1].plan, net_et0(garden, left))
        for saved in aside(remedies.remedies(tries), REMEDIES_S):
            saves.append(saved)
            _say(f"What would save visits: {counted(len(saves), 'way')} found …")
        whole = True
    _say("")
    return replace(found[-1].with_saves(saves), whole=whole)


@contextmanager
def _quiet() -> Iterator[None]:
    """Let nothing that a solver prints reach standard output."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # there is none
        yield
        return
    os.dup2(2, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def _found(plan: Plan | Impossible) -> str:
    if isinstance(plan, Impossible):
        return "No plan keeps every tree: what can be done …"
    more = "" if plan.proven else f", at most {plan.at_most_more} more than the fewest"
    return f"{counted(len(plan.visits), 'visit')}{more}: looking for better …"


def _say(what: str) -> None:
    """Say what is being done, where somebody watches, in place of what was said before."""
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[K{what}\r", nl=False, err=True)


def _as_visited(knowledge: Knowledge, before: Sequence[Pots], now: datetime) -> Knowledge:
    """Take for granted that all were watered as planned where nothing was entered."""
    zone, left_at = knowledge.site.zone, before[0][0]
    added: dict[str, list[Watering]] = {}
    for at, labels in before:
        for label in labels if at <= now else ():
            told = knowledge.waterings.get(label)
            if told is not None and not any(each.at.astimezone(zone).date() == at.astimezone(
                    zone).date() for each in told):
                added.setdefault(label, []).append(Watering(label, at))
    days = (now - left_at).days + 1
    told_days = [left_at + timedelta(days=i) for i in range(days + 1)
                 if left_at + timedelta(days=i) <= now]
    waterings = {label: tuple(sorted([*each, *added.get(label, [])], key=lambda w: w.at))
                 for label, each in knowledge.waterings.items()}
    times = tuple(sorted({*knowledge.entry_times, *told_days,
                          *(each.at for those in added.values() for each in those)}))
    return replace(knowledge, waterings=waterings, entry_times=times)


# --- kept -----------------------------------------------------------------------------------


def _keep(garden: Garden, made: Made, without: Sequence[str], ask: Ask | None = None,
          departure: Pots | None = None) -> None:
    """Keep a plan to go on with; a garden that may not be written goes without."""
    cover = made.cover
    if garden.readonly or cover.plan_missing:
        return
    left, span = cover.left, cover.left.span
    ask = ask or left.ask
    if span.waters or departure is None:
        departure = (span.told.sky.instant(int(span.at_h[0])),
                    [each.label for each in left.kept if each.watered])
    document = away_document(cover)
    if made.before is not None:
        past = [each for each in made.before["visits"]
                if datetime.fromisoformat(each["at"]) <= made.now]
        document["visits"] = [*past, *document["visits"]]
    kept = {"ask": _told(ask), "document": document, "key": made.key, "sequence": made.sequence,
            "leaves": departure[0].isoformat(), "watered": departure[1], "without": list(without)}
    with garden.entry(made.now, f"planned visits, {ask.start} to {ask.until}") as entry:
        garden.add_plan(entry.id, made.now, kept)


def _told(ask: Ask) -> dict[str, Any]:
    """Give what is asked as JSON can hold it."""
    return {**asdict(ask), "start": ask.start.isoformat(), "until": ask.until.isoformat(),
            "not_on": [each.isoformat() for each in ask.not_on],
            "visit_time": f"{ask.visit_time:%H:%M}"}


def _asked(told: Mapping[str, Any]) -> Ask:
    return Ask(date.fromisoformat(told["start"]), date.fromisoformat(told["until"]),
               tuple(told["weekdays"]), tuple(map(date.fromisoformat, told["not_on"])),
               time.fromisoformat(told["visit_time"]), Limits(**told["limits"]), told["can_l"],
               told["safety"])
