"""A file that is being made: in a folder of its own beside its place, until it is whole."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

_BEGINS: Final = ".new-"
_LEFT_S: Final = 3600.0  # a folder older than this was left by a process that was ended


@contextmanager
def making(where: Path) -> Iterator[Path]:
    """Give a path on the same disk to make a file at; what is not put in its place is thrown away.

    What a process that was killed has left of its own making is cleared away an hour later.

    Parameters
    ----------
    where : Path
        Where the file shall stand in the end; missing folders are made.

    Yields
    ------
    Path
        The same name in a folder that is there for this block only.
    """
    where.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=where.parent, prefix=_BEGINS) as folder:
        _clear(where.parent, Path(folder).stat().st_mtime)
        yield Path(folder) / where.name


def _clear(folder: Path, now_s: float) -> None:
    for left in folder.glob(f"{_BEGINS}*"):
        with suppress(OSError):
            if now_s - left.stat().st_mtime > _LEFT_S:
                shutil.rmtree(left)


def put(made: Path, where: Path) -> None:
    """Give a finished file its name, only where none is yet.

    Raises
    ------
    FileExistsError
        There is one.
    """
    with suppress(PermissionError, NotImplementedError):
        os.link(made, where)
        return
    with where.open("xb") as file:  # a disk without hard links
        file.write(made.read_bytes())
