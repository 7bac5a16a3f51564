"""Hourly weather written for a test: fair days near Berlin, every cell open to a change."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from math import cos, pi
from pathlib import Path

HEAD = ("hour [UTC],temp [C],dew point [C],wind 10m [m/s],radiation [W/m2],rain [mm]")
Change = Callable[[int], dict[str, str]]


def write(path: Path, first: str, days: int, *, head: str = HEAD, remarks: str = "",
          change: Change = lambda hour: {}) -> Path:
    """Write `days` days from midnight UTC; `change(n)` gives other cells of row n by column."""
    start = datetime.fromisoformat(first).replace(tzinfo=UTC)
    names = [each.split(" [")[0] for each in HEAD.split(",")]
    rows = []
    for n in range(24 * days):
        noon = cos(2.0 * pi * (n % 24 - 11.2) / 24.0)
        cells = {"hour": f"{start + timedelta(hours=n):%Y-%m-%d %H:%M}",
                 "temp": f"{18.0 + 6.0 * noon:.1f}", "dew point": "11", "wind 10m": "2.5",
                 "radiation": f"{max(620.0 * noon, 0.0):.0f}", "rain": "0", **change(n)}
        rows.append(",".join(cells[name] for name in names))
    path.write_text("\n".join([*remarks.splitlines(), head, *rows]) + "\n", encoding="utf-8")
    return path
