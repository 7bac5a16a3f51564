"""Work in a thread of its own, so that Ctrl-C is heard at once, whatever a solver is at."""

import os
import sys
from collections.abc import Iterable, Iterator
from queue import Empty, SimpleQueue
from threading import Thread
from time import monotonic
from typing import Final, TypeVar

T = TypeVar("T")

HEARD_S: Final = 0.1  # after which Ctrl-C is heard at the latest
_begun: Final[list[Thread]] = []


def aside(work: Iterable[T], seconds: float = float("inf")) -> Iterator[T]:
    """Give what a piece of work comes to, step by step, until it is done or time is up.

    Work that is not waited for any more goes on unheard until the process ends: see `end_at_once`.

    Parameters
    ----------
    work : iterable
    seconds : float
        How long it may take in all [s].

    Raises
    ------
    TimeoutError
        Time is up; what the work itself raises comes through.
    """
    handed: SimpleQueue[tuple[list[T], BaseException | None]] = SimpleQueue()

    def go() -> None:
        try:
            for step in work:
                handed.put(([step], None))
            handed.put(([], None))
        except BaseException as error:
            handed.put(([], error))

    until = monotonic() + seconds
    _begun.append(Thread(target=go, daemon=True))
    _begun[-1].start()
    while monotonic() < until:
        try:
            step, error = handed.get(timeout=HEARD_S)
        except Empty:
            continue
        if error is not None:
            raise error
        if not step:
            return
        yield step[0]
    raise TimeoutError


def end_at_once(code: int) -> None:
    """End the process where work still goes on: a solver's threads cannot be cleared away."""
    if any(each.is_alive() for each in _begun):
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
