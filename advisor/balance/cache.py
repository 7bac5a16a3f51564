"""Where compiled kernels are kept; nothing here loads numba.

A compiled copy is good only for the sources it was made from, all of them: the folder
carries their digest, so a changed kernel never meets an old copy of its parts.
"""

import hashlib
import os
from pathlib import Path

import platformdirs

#: What the kernels are made from: compiled functions, and the numbers compiled into them.
SOURCES = ("balance/column.py", "balance/compiled.py", "balance/flow.py", "balance/layout.py",
           "balance/lines.py", "balance/look.py", "balance/pot_weather.py", "balance/processes.py",
           "demand/surface.py")


def _folder() -> Path:
    digest = hashlib.blake2b(digest_size=8)
    for source in SOURCES:
        digest.update((Path(__file__).parents[1] / source).read_bytes())
    caches = Path(platformdirs.user_cache_dir("advisor", appauthor=False))
    return caches / "compiled" / digest.hexdigest()


def folder() -> Path:
    """Give the folder of compiled copies; the user's NUMBA_CACHE_DIR where that is set."""
    return Path(os.environ.setdefault("NUMBA_CACHE_DIR", str(_folder())))


def prepared() -> bool:
    """Whether a compiled copy of the kernels is at hand; preparing one takes half a minute."""
    return any(folder().glob("**/*.nbi"))
