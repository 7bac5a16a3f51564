"""Work in a thread of its own: in order, with its errors, and not longer than it may."""

import threading
from collections.abc import Iterator

import pytest

from advisor.cli.aside import aside, end_at_once
from advisor.errors import Refused


def test_steps_come_in_their_order_none_among_them() -> None:
    assert list(aside([1, None, "three"])) == [1, None, "three"]
    assert list(aside([])) == []


def test_what_the_work_refuses_comes_through() -> None:
    def work() -> Iterator[int]:
        yield 1
        raise Refused("trees", "none", "one", "Add one.")

    told = []
    with pytest.raises(Refused, match="trees: none"):
        told += aside(work())
    assert told == [1]


def test_work_that_takes_too_long_is_left() -> None:
    """It is heard up to then; what it would go on with is never waited for."""
    go_on = threading.Event()

    def work() -> Iterator[int]:
        yield 1
        go_on.wait()
        yield 2

    steps = aside(work(), 3.0)
    assert next(steps) == 1
    with pytest.raises(TimeoutError):
        next(steps)
    go_on.set()


def test_where_all_work_is_done_the_process_goes_on() -> None:
    assert list(aside([1])) == [1]
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and thread.daemon:
            thread.join(timeout=5.0)
    end_at_once(1)
