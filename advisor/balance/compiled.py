"""How the kernels are compiled: numba, free of the interpreter's lock, kept on disk."""

from collections.abc import Callable
from typing import Any

from advisor.balance.cache import folder

folder()  # numba reads its cache folder from the environment when it is imported

import numba  # noqa: E402

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
