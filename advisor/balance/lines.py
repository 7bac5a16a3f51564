"""Where the lines of the kernels' workspace start; its rows are named in layout.py."""

from typing import Any

from advisor.balance.compiled import compiled
from advisor.balance.layout import LANES, MAX_LAYERS


@compiled
def row(what: Any, layer: Any) -> Any:
    """Where a layer's line of a row starts."""
    return (what * MAX_LAYERS + layer) * LANES


@compiled
def lane_row(what: Any) -> Any:
    """Where a row with one value a lane starts."""
    return what * LANES
