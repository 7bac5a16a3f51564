"""A round a little later: what stands in it rests on the hour and the day, not on the minute."""

from dataclasses import replace
from datetime import datetime, timedelta

from advisor.jobs.morning import ROUNDS_DAYS, Round, TreeVerdict
from advisor.jobs.recovery import ends_at
from advisor.jobs.rounds import next_rounds


def later(told: Round, at: datetime) -> Round | None:
    """Give a round as it stands at a later instant; None where it must be worked out anew.

    It holds within an hour of the weather and a local day, as long as no round comes or goes
    and no recovery ends. Whether something else began to count since, only the garden knows.

    Parameters
    ----------
    told : Round
    at : datetime
        Not before the round's own instant.
    """
    if at == told.at:
        return told
    known, until = told.knowledge, at + timedelta(days=ROUNDS_DAYS)
    if (told.at >= at or not told.sky.same_hour(told.at, at)
            or next_rounds(known.rounds, known.site, at, until) != list(told.rounds)
            or any(told.at < ends_at(potting) <= at
                   for pottings in known.pottings.values() for potting in pottings)):
        return None
    return replace(told, at=at, trees=tuple(_later(tree, told.at, at) for tree in told.trees))


def _later(tree: TreeVerdict, before: datetime, at: datetime) -> TreeVerdict:
    """Let what begins now begin at the later instant."""
    if not any(each.start == before for each in tree.also):
        return tree
    return replace(tree, also=tuple(
        replace(each, start=at) if each.start == before else each for each in tree.also))
