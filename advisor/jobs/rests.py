"""What a belief or an outlook rests on, as a digest: it holds only while that is the same."""

from bisect import bisect_left
from datetime import datetime, timedelta
from typing import Final

from advisor import __version__
from advisor.jobs.almanac import FIRST_WEEK_DAYS, SEEN, Told
from advisor.jobs.named import OPEN_PLACE, seed_of
from advisor.jobs.recovery import ends_at

HORIZON_DAYS: Final = 9  # of the days after today that are foreseen [J]


def last_hour(told: Told) -> int:
    """Give the hour at which the coming days end."""
    midnight = told.sky.index(told.sky.midnight(told.at))
    return min(told.sky.hours, midnight + 24 * (HORIZON_DAYS + 1))


def first_hour(potting_at: datetime, told: Told) -> int:
    """Give the hour at which a tree's story starts: its potting, or where weather begins."""
    return max(told.sky.index(potting_at), 0)


def digest(label: str, potting_at: datetime, told: Told, before: datetime,
           weather_to: int | None = None) -> str:
    """Give the digest of everything that what is believed of a tree at an instant rests on.

    Parameters
    ----------
    label : str
    potting_at : datetime
        When its present potting began.
    told : Told
    before : datetime
        The first instant whose entries do not count.
    weather_to : int, optional
        The first hour whose weather does not count; that of `before` where None.
    """
    sky, knowledge = told.sky, told.knowledge
    first = sky.date(first_hour(potting_at, told))
    last = sky.date(sky.index(min(before, told.at)))
    recorded = told.recorded[bisect_left(told.recorded, first):bisect_left(told.recorded, last)]
    days = [day.isoformat() for day in recorded]
    end = sky.index(before) if weather_to is None else weather_to
    if potting_at < sky.instant(0):  # the first week stands for the days before
        end = max(end, 24 * (FIRST_WEEK_DAYS + 1))
    moves = knowledge.moves[label]
    places = {move.place for move in moves if move.at < before} | {m.place for m in moves[:1]}
    weather = [sky.digest(place, end).hex() for place in sorted(places or {OPEN_PLACE.name})]
    rests = [told.rounds_told, *_reaching_back(label, told, before)]
    known = knowledge.digest(label, before)
    return f"{seed_of(__version__, known, *rests, *weather, *days):016x}"


def _reaching_back(label: str, told: Told, before: datetime) -> list[str]:
    """Give what is told after an instant and yet changes what is known of the time before."""
    knowledge = told.knowledge
    seen = [repr(event) for event in knowledge.events[label]
            if event.kind in SEEN and before <= event.at <= told.at]
    first = [repr(knowledge.places[move.place]) for move in knowledge.moves[label][:1]
             if move.at >= before]
    gauges = [repr(each) for each in knowledge.readings[label]
              if each.since is not None and each.since < before <= each.at <= told.at]
    return seen + first + gauges


def outlook_digest(label: str, told: Told) -> str:
    """Give the digest of what the coming days of a tree rest on, now."""
    potting = told.knowledge.potting_of(label, told.at)
    assert potting is not None
    known = digest(label, potting.at, told, told.at + timedelta(seconds=1), last_hour(told))
    midnight = told.sky.midnight(told.at)
    recovering = told.at < ends_at(potting)
    return f"{known} {midnight:%Y%m%d%H} {recovering:d}"
