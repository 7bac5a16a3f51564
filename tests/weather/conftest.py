"""Files to read: made here, or packaged with pvlib."""

from collections.abc import Callable
from pathlib import Path

import pvlib
import pytest

PVLIB_DATA = Path(pvlib.__file__).parent / "data"


@pytest.fixture(scope="session")
def greensboro() -> Path:
    """TMY3: rain in tenths of a millimetre."""
    return PVLIB_DATA / "723170TYA.CSV"


@pytest.fixture(scope="session")
def sand_point() -> Path:
    """TMY3: -9900 where not known, overlapping rain totals, rain in millimetres."""
    return PVLIB_DATA / "703165TY.csv"


@pytest.fixture
def written(tmp_path: Path) -> Callable[[str], Path]:
    """Write a text to a file and give its path."""

    def write(text: str) -> Path:
        path = tmp_path / "weather.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
EPW_HEAD = """LOCATION,Somewhere,-,XXX,made up,000000,52.0,5.0,1.0,10.0
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,made for a test
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday,1/1,12/31
"""


def epw_row(year: int, month: int, day: int, hour: int, values: dict[str, str]) -> str:
    """One row of 35 fields; midday is sunny."""
    cell = {
        "temp": "10.0",
        "dew": "5.0",
        "humidity": "71",
        "pressure": "101300",
        "ghi": "400" if hour == 12 else "0",
        "wind": "3.0",
        "cloud": "5",
        "rain": "999",
        **values,
    }
    fields = [
        str(year),
        str(month),
        str(day),
        str(hour),
        "60",
        "?9",
        cell["temp"],
        cell["dew"],
        cell["humidity"],
        cell["pressure"],
        "0",
        "0",
        "300",
        cell["ghi"],
        "0",
        "0",
        "0",
        "0",
        "0",
        "0",
        "180",
        cell["wind"],
        cell["cloud"],
        "5",
        "20.0",
        "77777",
        "9",
        "999999999",
        "10",
        "0.1",
        "0",
        "88",
        "0.2",
        cell["rain"],
        "99.0",
    ]
    return ",".join(fields)


@pytest.fixture
def epw(tmp_path: Path) -> Callable[..., Path]:
    """Write a made-up EPW; `change(n, month, day, hour)` gives cells of row n."""

    def write(
        change: Callable[..., dict[str, str]] = lambda *_: {}, years: tuple[int, ...] = (2003,)
    ) -> Path:
        rows, n = [], 0
        for month, days in enumerate(DAYS, start=1):
            for day in range(1, days + 1):
                for hour in range(1, 25):
                    year = years[month % len(years)]
                    rows.append(epw_row(year, month, day, hour, change(n, month, day, hour)))
                    n += 1
        path = tmp_path / "made.epw"
        path.write_text(EPW_HEAD + "\n".join(rows) + "\n", encoding="utf-8")
        return path

    return write
