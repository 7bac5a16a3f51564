"""Asking a service: once in a while, politely, never for longer than the time allowed.

The stored answer is used while it is fresh; then the service is asked whether it has changed.
Whatever goes wrong on the way ends in words (`advisor.weather.wire`). Nothing is stored here;
"now" is an argument.
"""

import queue
import threading
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import Literal

from advisor.errors import Refused
from advisor.weather.services import Request
from advisor.weather.wire import MEANS, Failed, Means, Reply, host, patiently

Outcome = Literal["fresh", "new", "unchanged", "failed"]

#: time for everything of one request [s], [J] 10 to 60
BUDGET_S = 30.0
#: what the hard end comes after the soft one [s], [J]
GRACE_S = 0.5
#: how long an answer counts as fresh where the service does not say [h], by interface, [J]:
#: models run every 1 to 6 hours, archives grow by the day
FRESH_H = {"forecast": 1.0, "ensemble": 3.0, "archive": 24.0, "hourly": 24.0, "daily": 24.0}
#: no `Expires` is believed beyond this [h], [J]
LONGEST_FRESH_H = 48.0
#: chance adds up to so many minutes to an `Expires`, so that callers do not come all at once;
#: the duty is MET Norway's [S], the number [J] 1 to 10
SPREAD_MIN = 5.0
#: nothing is asked for this long after 429 without a word on how long [min], [J] 1 to 60
HOLD_OFF_MIN = 10.0


@dataclass(frozen=True)
class StoredAnswer:
    """What is kept of the last answer to a request.

    Attributes
    ----------
    body : bytes or None
        The answer; None where there was none yet.
    fetched_at, fresh_until : datetime
        When the body came; nothing is asked before the second.
    expires, last_modified : str
        Headers, as they stood there.
    """

    body: bytes | None
    fetched_at: datetime
    fresh_until: datetime
    expires: str = ""
    last_modified: str = ""


@dataclass(frozen=True)
class Fetched:
    """What came of a request, to be kept.

    Attributes
    ----------
    outcome : "fresh", "new", "unchanged" or "failed"
        Stored answer used without asking; new body; asked and not changed; asked in vain.
    answer : StoredAnswer
        To be kept; after a failure the old body, if any, and when to ask again.
    status : int or None
        Of the last reply.
    notes : tuple of str
        What the service said beside its answer.
    error : Refused or None
        Why it failed: host, what happened, what to do.
    """

    outcome: Outcome
    answer: StoredAnswer
    status: int | None = None
    notes: tuple[str, ...] = ()
    error: Refused | None = None


def fetch(
    request: Request,
    stored: StoredAnswer | None,
    now: datetime,
    budget_s: float = BUDGET_S,
    means: Means = MEANS,
) -> Fetched:
    """Get the answer to a request: the stored one while it is fresh, else the service's.

    Parameters
    ----------
    request : Request
        What to ask.
    stored : StoredAnswer or None
        The last answer to the same request.
    now : datetime
        The time of day.
    budget_s : float
        Time for all of it [s], retries and redirects included; it never takes longer.
    means : Means
        Clock, sleep and chance.

    Returns
    -------
    Fetched
        Never raises for what a network or a service can do.
    """
    longest = now + timedelta(hours=LONGEST_FRESH_H)  # beyond it the clock was wrong once
    if stored is not None and now < stored.fresh_until <= longest:
        return _not_asked(request, stored)
    modified = stored.last_modified if stored is not None and stored.body is not None else ""
    box: queue.SimpleQueue[Reply | Failed] = queue.SimpleQueue()
    deadline = means.clock() + budget_s

    def ask() -> None:
        try:
            box.put(patiently(request, modified, deadline, means))
        except Failed as failed:
            box.put(failed)
        except Exception as error:
            box.put(Failed(f"a question that failed ({type(error).__name__})"))

    # Looking up a name and reading headers know no deadline: this thread is left behind then.
    threading.Thread(target=ask, name=f"fetch {host(request.url)}", daemon=True).start()
    try:
        came = box.get(timeout=budget_s + GRACE_S)
    except queue.Empty:
        came = Failed(f"no answer within {budget_s:g} s")
    if isinstance(came, Failed):
        return _failed(request, stored, now, came)
    return _kept(request, stored, now, came, means.draw())


def _not_asked(request: Request, stored: StoredAnswer) -> Fetched:
    if stored.body is not None:
        return Fetched("fresh", stored)
    until = f"{stored.fresh_until.astimezone(UTC):%Y-%m-%d %H:%MZ}"
    error = _error(request, Failed("a wait it asked for, not over yet", f"Ask after {until}."))
    return Fetched("failed", stored, error=error)


def _failed(
    request: Request, stored: StoredAnswer | None, now: datetime, failed: Failed
) -> Fetched:
    """Keep what there was, and hold off where the service asks for it."""
    hold = timedelta(seconds=min(failed.wait_s, LONGEST_FRESH_H * 3600.0))
    if failed.status == 429 and not failed.wait_s:
        hold = timedelta(minutes=HOLD_OFF_MIN)
    until = now + hold
    kept = replace(stored, fresh_until=until) if stored else StoredAnswer(None, now, until)
    return Fetched("failed", kept, failed.status, error=_error(request, failed))


def _error(request: Request, failed: Failed) -> Refused:
    return Refused(
        f"weather from {host(request.url)}",
        failed.happened,
        "an answer with weather in it",
        failed.do,
    )


def _kept(
    request: Request, stored: StoredAnswer | None, now: datetime, reply: Reply, draw: float
) -> Fetched:
    """Keep a good reply: its body, else the stored one where nothing has changed."""
    expires = reply.headers.get("Expires", "")
    until = _fresh_until(request, expires, now, draw)
    modified = reply.headers.get("Last-Modified", "")
    if reply.status == 304 and stored is not None:
        modified = modified or stored.last_modified
        same = replace(stored, fresh_until=until, expires=expires, last_modified=modified)
        return Fetched("unchanged", same, reply.status, reply.notes)
    new = StoredAnswer(reply.body, now, until, expires, modified)
    return Fetched("new", new, reply.status, reply.notes)


def _fresh_until(request: Request, expires: str, now: datetime, draw: float) -> datetime:
    """Until the service's own `Expires` and a little by chance, else by the table."""
    own = now + timedelta(hours=FRESH_H[request.interface])
    try:
        told = parsedate_to_datetime(expires)
    except (ValueError, OverflowError):
        return own
    told = told if told.tzinfo else told.replace(tzinfo=UTC)
    if told <= now:
        return own
    longest = now + timedelta(hours=LONGEST_FRESH_H)
    return min(min(told, longest) + timedelta(minutes=SPREAD_MIN * draw), longest)
