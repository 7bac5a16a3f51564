"""When a process that stays looked a garden file through, so that it need not each time."""

import time
from collections.abc import Callable
from typing import Any, Final

LOOK_EVERY_S: Final = 600.0  # [J] after which a file that was looked through is so again

#: Device and inode: another file put in its place is another.
Identity = tuple[int, int] | None
#: The last rows of what was told; a later state of the same file holds them too, as they were.
Mark = tuple[tuple[Any, ...] | None, ...]


class Looked:
    """Which file was looked through for damage last, and when."""

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        self._seconds = seconds
        self._last: tuple[Identity, Mark, float] = (None, (), 0.0)

    def lately(self, file: Identity, follows: Callable[[Mark], bool]) -> bool:
        """Whether a file was looked through within `LOOK_EVERY_S`.

        Parameters
        ----------
        file : Identity
        follows : callable
            Whether the file is a later state of the one that bore a mark.
        """
        last, mark, when = self._last
        return (file is not None and file == last and self._seconds() - when < LOOK_EVERY_S
                and follows(mark))

    def now(self, file: Identity, mark: Mark) -> None:
        """Keep that a file was looked through just now."""
        self._last = file, mark, self._seconds()
