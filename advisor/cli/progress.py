"""How far a long piece of work has come, told only where it takes long and someone watches."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import Any, Final

import click

SOON_S: Final = 2.0  # work that is over by then needs no bar [J]


@contextmanager
def progress(label: str) -> Iterator[Callable[[int, int], None]]:
    """Give what is to be called with how much is done and how much there is.

    Parameters
    ----------
    label : str
        What is being done, as shown before the bar on stderr.
    """
    began = monotonic()
    shown: list[Any] = []

    def done(count: int, of: int) -> None:
        if not shown and monotonic() - began > SOON_S and sys.stderr.isatty():
            shown.append(click.progressbar(length=of, label=label, file=sys.stderr))
            shown[0].render_progress()
        for bar in shown:
            bar.update(count - bar.pos)

    try:
        yield done
    finally:
        for bar in shown:
            bar.render_finish()
