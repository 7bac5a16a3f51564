"""How the kernels are compiled: numba, free of the interpreter's lock, kept on disk.

A compiled copy is good only for the sources it was made from, all of them: the folder
carries their digest, so a changed kernel never meets an old copy of its parts.
"""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import platformdirs


def _cache_folder() -> Path:
    digest = hashlib.blake2b(digest_size=8)
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.read_bytes())
    return Path(platformdirs.user_cache_dir("advisor")) / "compiled" / digest.hexdigest()


FOLDER = Path(os.environ.setdefault("NUMBA_CACHE_DIR", str(_cache_folder())))

import numba  # noqa: E402  (reads its cache folder from the environment when imported)

OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nsz", "arcp"},
}


def compiled(function: Callable[..., Any]) -> Any:
    """Compile `function`, cached on disk; in memory where no folder can be written."""
    try:
        return numba.njit(cache=True, **OPTIONS)(function)
    except RuntimeError:  # numba found no folder for its cache
        return numba.njit(**OPTIONS)(function)


def prepared() -> bool:
    """Whether a compiled copy of these kernels is at hand; preparing one takes half a minute."""
    return any(FOLDER.glob("**/*.nbi"))
