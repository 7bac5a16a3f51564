"""How the kernels are compiled: numba, free of the interpreter's lock, kept on disk."""

from collections.abc import Callable
from typing import Any

from advisor.balance.cache import folder

folder()  # numba reads its cache folder from the environment when it is imported

import numba  # noqa: E402

OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"nsz"},
}


def compiled(function: Callable[..., Any]) -> Any:
    """Compile `function`, cached on disk; in memory where no folder can be written."""
    try:
        made = numba.njit(cache=True, **OPTIONS)(function)
    except RuntimeError:  # numba found no folder for its cache
        return numba.njit(**OPTIONS)(function)
    _load_lightly(made)
    return made


def _load_lightly(made: Any) -> None:
    """Have a compiled copy loaded without what only compiling needs.

    Before it looks for a copy numba loads all that it could compile a call to, for a third of a
    second each morning. Where there is no copy it does so again before it compiles. A version
    of numba that is built otherwise is left as it is.
    """
    cache = getattr(made, "_cache", None)
    look, guard = (getattr(cache, name, None)
                   for name in ("_load_overload", "_guard_against_spurious_io_errors"))
    if look is None or guard is None:
        return
    from numba.core.runtime.nrt import rtsys

    def load_overload(signature: Any, context: Any) -> Any:
        rtsys.initialize(context)
        with guard():
            return look(signature, context)

    cache.load_overload = load_overload  # type: ignore[union-attr]
