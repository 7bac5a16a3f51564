"""How the kernels are compiled: numba, free of the interpreter's lock, kept on disk."""

import sys
from collections.abc import Callable
from importlib import import_module
from typing import Any

from advisor.balance.cache import folder

folder()  # numba reads its cache folder from the environment when it is imported

import numba  # noqa: E402


def _load_arrays() -> None:
    """Load numba's arrays without scipy's linear algebra, which the kernels never use.

    It would cost a quarter of a second each morning; numba does without where it is missing.
    """
    absent = "scipy.linalg" not in sys.modules
    if absent:
        sys.modules["scipy.linalg"] = None  # type: ignore[assignment]
    try:
        import_module("numba.np.arraymath")
    finally:
        if absent:
            del sys.modules["scipy.linalg"]


_load_arrays()

OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"nsz"},
}


def compiled(function: Callable[..., Any]) -> Any:
    """Compile `function`, cached on disk; in memory where no folder can be written."""
    try:
        return numba.njit(cache=True, **OPTIONS)(function)
    except RuntimeError:  # numba found no folder for its cache
        return numba.njit(**OPTIONS)(function)
