"""Which trees in shallow pots want water this morning, from weather, pot and tree.

For scripts: the names in `__all__`, loaded when first used; each has an example of its own.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.demand.et0 import daily_et0
    from advisor.errors import Refused
    from advisor.garden.records import Site
    from advisor.scripts import (
        fill_pot,
        hourly_et0,
        morning_round,
        open_garden,
        read_weather,
        run_pot,
        weather_hours,
    )

__version__ = "0.2.0"
__all__ = ["Refused", "Site", "daily_et0", "fill_pot", "hourly_et0", "morning_round",
           "open_garden", "read_weather", "run_pot", "weather_hours"]
_ELSEWHERE = {"Refused": "advisor.errors", "Site": "advisor.garden.records",
              "daily_et0": "advisor.demand.et0"}


def __getattr__(name: str) -> Any:
    """Load a name for scripts from the module that has it."""
    if name not in __all__:
        raise AttributeError(f"module 'advisor' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_ELSEWHERE.get(name, "advisor.scripts")), name)


def __dir__() -> list[str]:
    """Give what the package shows: its version and the names for scripts."""
    return sorted(["__version__", *__all__])
