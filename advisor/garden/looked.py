"""When a process that stays looked a garden file through, so that it need not each time."""

import time
from collections.abc import Callable
from typing import Final

LOOK_EVERY_S: Final = 600.0  # [J] after which a file that was looked through is so again

#: Device and inode: another file put in its place is another.
Identity = tuple[int, int] | None


class Looked:
    """Which file was looked through for damage last, and when."""

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        self._seconds = seconds
        self._last: tuple[Identity, float] = (None, 0.0)

    def lately(self, file: Identity) -> bool:
        """Whether a file was looked through within `LOOK_EVERY_S`."""
        last, when = self._last
        return file is not None and file == last and self._seconds() - when < LOOK_EVERY_S

    def now(self, file: Identity) -> None:
        """Keep that a file was looked through just now."""
        self._last = file, self._seconds()
