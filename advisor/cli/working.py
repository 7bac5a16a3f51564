"""Work a round out from the garden's file, and keep what saves work next time."""

import os
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any, Final

import numpy as np

from advisor import __version__
from advisor.cli.hours import read_sky, refresh
from advisor.cli.progress import progress
from advisor.cli.shelf import Shelf
from advisor.errors import Refused
from advisor.garden.derived import Belief, Projection
from advisor.garden.knowledge import Knowledge
from advisor.garden.store import Garden
from advisor.jobs.later import later
from advisor.jobs.morning import Round, Worked, morning, morning_again
from advisor.jobs.named import seed_of
from advisor.jobs.outlook import Outlook, stored_outlook
from advisor.jobs.recovery import ends_at
from advisor.jobs.rounds import rounds_between
from advisor.jobs.sky import Sky
from advisor.show.lists import together
from advisor.show.moments import clock
from advisor.show.wording import Leaning

SINCE: Final = timedelta(days=9)  # waterings read where nothing has changed
LEANS_DAYS: Final = 7
KNOWN_UNTIL: Final = "known until, made by"
MADE_BY: Final = seed_of(__version__)


@contextmanager
def opened(path: Path) -> Iterator[Garden]:
    """Open a garden to read a round; one that may not be written is read all the same."""
    with Garden.open(path, readonly=unwritable(path)) as garden:
        yield garden


def unwritable(path: Path) -> bool:
    """Tell whether a garden is there that may only be read."""
    return path.exists() and not os.access(path, os.W_OK)


def work_round(garden: Garden, at: datetime, shelf: Shelf | None = None) -> tuple[Round, Leaning]:
    """Work out the round at an instant, and keep what was worked out anew.

    Parameters
    ----------
    garden : Garden
    at : datetime
    shelf : Shelf, optional
        What the calling process keeps of its last round.
    """
    shelf = shelf or Shelf()
    with garden.snapshot():
        shelf.begin(garden)
        revision = garden.revision()
        knowledge = (garden.knowledge(at, since=at - SINCE) if shelf.round is None
                     else garden.knowledge(at, memory=shelf.rows))
    weather = refresh(garden, knowledge.site, knowledge.places.values(), at)
    if before := shelf.later(weather, knowledge.rounds, at):
        garden.refuse_damaged()
        worked = morning_again(before, knowledge, partial(beliefs, garden))
        shelf.owe(worked, revision)
        leans = shelf.leaning if _leans_alike(shelf.round or before, knowledge, at) else None
    else:
        with suppress(Refused):  # it spares work only
            settle(garden, shelf)
        shelf.owed = None
        sky = read_sky(garden, knowledge, at)
        worked = _anew(garden, knowledge, sky, at, revision, shelf)
        _keep(garden, worked, revision)
        leans = None
    leans = leans or leaning(garden, worked.round)
    shelf.put(weather, worked.round, leans)
    return worked.round, leans


def settle(garden: Garden, shelf: Shelf) -> None:
    """Store what was worked out for rounds of the same hour and is only on the shelf."""
    shelf.begin(garden)
    if owed := shelf.owed:
        _keep(garden, owed.worked, owed.revision)
        shelf.owed = None


def _anew(garden: Garden, knowledge: Knowledge, sky: Sky, at: datetime, revision: int,
          shelf: Shelf) -> Worked:
    """Work out a round from what is stored, as far as that still holds."""
    kept = garden.projections(list(knowledge.trees))
    stored = {label: (projection.digest, stored_outlook(
        sky.index(projection.start_hour), projection.numbers, sky.first))
        for label, projection in kept.items()}
    unchanged = _unchanged(knowledge, kept, revision, sky, at)
    if not unchanged:
        garden.refuse_damaged()
        if knowledge.since:
            knowledge = garden.knowledge(at, memory=shelf.rows)
    with progress("Following the trees") as done:
        return morning(
            knowledge, sky, at, stored, partial(beliefs, garden),
            whole=(lambda: garden.knowledge(at)) if unchanged else None, done=done)


def work_later(told: Round, leans: Leaning, at: datetime) -> tuple[Round, Leaning] | None:
    """Give a round worked out before as it stands later, the garden being the same.

    None where it must be worked out anew. Whether the garden is the same is the caller's to know:
    its revision, and `Garden.next_to_count`.
    """
    moved = later(told, at)
    return (moved, leans) if moved and _leans_alike(told, told.knowledge, at) else None


def _leans_alike(told: Round, knowledge: Knowledge, at: datetime) -> bool:
    """Whether what a round leans on is what it leaned on before, in the same hour."""
    back = timedelta(days=LEANS_DAYS)
    lost = rounds_between(knowledge.rounds, knowledge.site, told.at - back, at - back)
    return not lost and knowledge.past_days_told == told.knowledge.past_days_told  # silent


def _unchanged(knowledge: Knowledge, kept: Mapping[str, Projection], revision: int, sky: Sky,
               at: datetime) -> bool:
    """Whether every stored outlook was made today at this revision, with nothing told since."""
    midnight = sky.midnight(at)
    for label in knowledge.trees:
        potting = knowledge.potting_of(label, at)
        if potting is None or knowledge.is_gone(label, at):
            continue
        projection = kept.get(label)
        if (projection is None or projection.revision != revision
                or KNOWN_UNTIL not in projection.numbers):
            return False
        known, made_by = (int(number) for number in projection.numbers[KNOWN_UNTIL])
        if made_by != MADE_BY:
            return False
        if sky.midnight(projection.start_hour) != midnight or known > at.timestamp():
            return False
        if knowledge.entry_times and known < knowledge.entry_times[-1].timestamp():
            return False
        if known < ends_at(potting).timestamp() <= at.timestamp():
            return False
    return True


def beliefs(garden: Garden, label: str, before: datetime) -> Iterator[Belief]:
    """Give stored beliefs of a tree, the newest first."""
    while (belief := garden.belief(label, before)) is not None:
        yield belief
        before = belief.midnight - timedelta(seconds=1)


def _keep(garden: Garden, worked: Worked, revision: int) -> None:
    """Store what was worked out anew; a garden that may not be written goes without."""
    if garden.readonly or not worked.outlooks:
        return
    sky, at = worked.round.sky, worked.round.at
    with garden.deriving():
        garden.save_beliefs(worked.beliefs)
        garden.save_projections(_projection(label, digest, outlook, sky, at, revision)
                                for label, (digest, outlook) in worked.outlooks.items())
        if worked.beliefs:
            garden.thin_beliefs(at)


def _projection(label: str, digest: str, outlook: Outlook, sky: Sky, at: datetime,
                revision: int) -> Projection:
    numbers: dict[str, Any] = dict(outlook.numbers(sky.first))
    numbers[KNOWN_UNTIL] = np.array([int(at.timestamp()), MADE_BY])
    return Projection(label, sky.instant(outlook.first), outlook.rows.shape[1], digest, revision,
                      numbers)


def leaning(garden: Garden, told: Round) -> Leaning:
    """Say what the advice leans on beside measured weather, from the last week."""
    knowledge, sky, at = told.knowledge, told.sky, told.at
    today = at.astimezone(sky.zone).date()
    days = garden.days(today - timedelta(days=LEANS_DAYS - 1), today)
    counts = Counter(rule for rules in days["rules"] for rule in str(rules).split(";")
                     if rule and rule != "part of a day")
    said = [f"{words} on {count} of the last {LEANS_DAYS} days"
            for count in sorted(set(counts.values()), reverse=True)
            for words in together(sorted(rule for rule in counts if counts[rule] == count))]
    start, now = max(sky.index(at) - 24 * LEANS_DAYS, 0), sky.index(at)
    no_rain = int((sky.rain_unknown & ~sky.guessed)[start:now].sum())
    if no_rain > 24:
        said.append(f"no rain known for {no_rain} of the last {24 * LEANS_DAYS} hours: none is "
                    "counted")
    if silent := _silent_days(knowledge, sky, at):
        rounds = "1 day" if silent == 1 else f"{silent} days"
        said.append(f"{rounds} of the last {LEANS_DAYS} with a round and no entry: a tree that was "
                    "dry then may or may not have been watered")
    if sky.many:
        said.append(f"{sky.many} forecasts of one service side by side, for what is to come")
    if sky.newest < at:
        like = (f"days of past years around this date ({sky.past} times)" if sky.past
                else "the week before, carried on")
        said.append(f"{like}, since {clock(sky.newest, at, sky.zone)}")
    credits = sorted({each.attribution for each in garden.weather_sources() if each.attribution})
    return Leaning(sky.newest, tuple(said), tuple(credits))


def _silent_days(knowledge: Knowledge, sky: Sky, at: datetime) -> int:
    """Count the days of the last week with a round of which nothing was told."""
    today = at.astimezone(sky.zone).date()
    walked = {each.astimezone(sky.zone).date() for each in rounds_between(
        knowledge.rounds, knowledge.site, at - timedelta(days=LEANS_DAYS), at)} - {today}
    return len(walked - {*knowledge.days_told})
