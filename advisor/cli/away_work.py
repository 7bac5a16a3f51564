"""Work an absence out from the garden's file, keep the plan, and go on with it."""

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, time, timedelta
from time import monotonic
from typing import Any, Final

import click

from advisor.cli.choose import choose_trees
from advisor.cli.hours import read_hours
from advisor.cli.morning import say_when_preparing
from advisor.cli.working import beliefs, opened, work_round
from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Watering
from advisor.garden.store import Garden
from advisor.jobs import remedies
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.away import Ask, Left, check, leave, leaving, points, span_of
from advisor.jobs.away_sky import AwaySky, away_sky
from advisor.jobs.cover import Cover, judged, of_the_rest, plans
from advisor.jobs.morning import potted
from advisor.jobs.plan_case import Impossible, Limits
from advisor.show.away_document import away_document

__all__ = ["Made", "opened", "planned", "updated"]

REMEDIES_S: Final = 30.0  # of trying what would save visits
MANY: Final = 40  # trees from which progress is told even where nobody watches


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
    cover = _work(garden, now, rest, kept["without"], document if now > leaves else None, leaves)
    sequence = kept["sequence"] + 1
    coming = _visits(document)
    fresh = [] if isinstance(cover.plan, Impossible) else _visits(away_document(cover))
    gone = tuple(sorted(at for at in coming if at > now)[len(fresh):])
    made = Made(cover, now, kept["key"], sequence, gone, document)
    _keep(garden, made, kept["without"], ask, leaves)
    return made


def _visits(document: Mapping[str, Any]) -> list[datetime]:
    return [datetime.fromisoformat(each["at"]) for each in document["visits"]]


def _work(garden: Garden, now: datetime, ask: Ask, without: Sequence[str],
          document: Mapping[str, Any] | None = None, left_at: datetime | None = None) -> Cover:
    """Work an absence out; Ctrl-C gives what there is by then."""
    say_when_preparing()
    work_round(garden, now)
    knowledge = garden.knowledge(now)
    others = set(choose_trees(knowledge, without, (), now)) if without else set()
    if document is not None and left_at is not None:
        knowledge = _as_visited(knowledge, document, left_at, now)
    labels = [label for label in potted(knowledge, now) if label not in others]
    if not labels:
        raise Refused("trees", "none in a pot", "at least one", "Add one first: `advisor add`.")
    zone = knowledge.site.zone
    back = ask.visit_at(ask.end, zone) + timedelta(hours=2)
    leaves = now if document is not None else leaving(ask, knowledge, now)
    sky = away_sky(read_hours(garden, knowledge), knowledge.site.time_zone, now, leaves, back)
    told = Told(knowledge, Almanac(sky.sky, knowledge.site.latitude_deg), now)
    span = span_of(ask, told, now, waters=document is None)
    begun = points(told, labels, lambda label, before: beliefs(garden, label, before))
    left = None
    for step in leave(ask, span, begun):
        if isinstance(step, Left):
            left = step
        else:
            _progress("How long each tree lasts", step, len(labels))
    assert left is not None
    return _planned(garden, left, sky, begun)


def _planned(garden: Garden, left: Left, sky: AwaySky, begun: remedies.Begun) -> Cover:
    """Plan, judge and try remedies, as far as Ctrl-C lets it."""
    cover: Cover | None = None
    saves: list[remedies.Saved] = []
    try:
        with _quiet():
            for better in plans(left, sky):
                cover = better
                _progress("Plans", None, 0)
            assert cover is not None
            cover = judged(of_the_rest(cover), begun)
            from advisor.cli.away_net import net_et0

            tries = remedies.Tries(left, begun, cover.plan, net_et0(garden, left))
            until = monotonic() + REMEDIES_S
            for saved in remedies.remedies(tries):
                saves.append(saved)
                _progress("What would save visits", None, 0)
                if monotonic() > until:
                    break
            return replace(cover.with_saves(saves), whole=True)
    except KeyboardInterrupt:
        if cover is None:
            raise
        return replace(cover.with_saves(saves), whole=False)


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


def _progress(what: str, done: int | None, of: int) -> None:
    """Say how far it is, where somebody watches."""
    if sys.stderr.isatty():
        share = f": {done} of {of}" if done is not None else " …"
        click.echo(f"\r\x1b[K{what}{share}\r", nl=False, err=True)
    elif done is not None and of >= MANY and done % MANY == 0:
        click.echo(f"{what}: {done} of {of}", err=True)


def _as_visited(knowledge: Knowledge, document: Mapping[str, Any], left_at: datetime,
                now: datetime) -> Knowledge:
    """Take for granted that the helper came as planned where nothing was entered."""
    zone = knowledge.site.zone
    added: dict[str, list[Watering]] = {}
    for visit in document["visits"]:
        at = datetime.fromisoformat(visit["at"])
        for pot in visit["pots"] if at <= now else ():
            told = knowledge.waterings.get(pot["tree"])
            if told is not None and not any(each.at.astimezone(zone).date() == at.astimezone(
                    zone).date() for each in told):
                added.setdefault(pot["tree"], []).append(Watering(pot["tree"], at))
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
          leaves: datetime | None = None) -> None:
    """Keep a plan to go on with; a garden that may not be written goes without."""
    cover = made.cover
    if garden.readonly or isinstance(cover.plan, Impossible) or not cover.whole:
        return
    ask = ask or cover.left.ask
    span = cover.left.span
    left_at = leaves or span.told.sky.instant(int(span.at_h[0]))
    document = away_document(cover)
    if made.before is not None:
        past = [each for each in made.before["visits"]
                if datetime.fromisoformat(each["at"]) <= made.now]
        document["visits"] = [*past, *document["visits"]]
    kept = {"ask": _told(ask), "document": document, "key": made.key, "sequence": made.sequence,
            "leaves": left_at.isoformat(), "without": list(without)}
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
