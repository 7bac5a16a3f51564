"""Sites where the sun does not set or not rise, deep cold, thin air, the equator."""

import json
import math
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest
import sunny


@dataclass(frozen=True)
class Corner:
    """A site, a day, and what the hours of its weather are changed to."""

    latitude: str
    longitude: str
    elevation: str
    zone: str
    start: str
    now: datetime
    light: tuple[float, float]  # mean and swing of the sun over the day [W/m²], never below 0
    cells: dict[str, str]

    def hour(self, n: int) -> dict[str, str]:
        """Give the cells of hour n, the sun highest at its own noon."""
        noon = math.cos(2.0 * math.pi * (n + 0.5 + float(self.longitude) / 15.0 - 12.0) / 24.0)
        mean, swing = self.light
        return {"radiation": f"{max(mean + swing * noon, 0.0):.0f}", **self.cells}


def day(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


CORNERS = {
    "equator": Corner("0", "37", "10", "Africa/Nairobi", "2026-06-20", day("2026-07-01T04:00"),
                      (0.0, 700.0), {}),
    "midsummer": Corner("70", "20", "10", "Europe/Oslo", "2026-06-10", day("2026-06-21T05:00"),
                        (180.0, 200.0), {}),
    "midwinter": Corner("70", "20", "10", "Europe/Oslo", "2026-12-10", day("2026-12-21T06:00"),
                        (0.0, 0.0), {"temp": "-12", "dew point": "-15"}),
    "cold": Corner("62", "130", "200", "Asia/Yakutsk", "2026-01-10", day("2026-01-21T00:00"),
                   (-50.0, 90.0), {"temp": "-40", "dew point": "-44"}),
    "high": Corner("-16", "-68", "5000", "America/La_Paz", "2026-06-20", day("2026-07-01T11:00"),
                   (0.0, 700.0), {"temp": "8", "dew point": "-6"}),
}


def judged(grower, tmp_path, corner):
    grower.now = corner.now
    began = f"{corner.start}T12:00"
    grower.tell("start", f"--latitude={corner.latitude}", f"--longitude={corner.longitude}",
                "--elevation", corner.elevation, "--time-zone", corner.zone, "--at", began)
    grower.tell("add", "place", "bench", "--at", began)
    grower.tell("add", "mix", "half", "--part", "pumice=50", "--part", "lava=50", "--at", began)
    for label, group in (("1", "pine"), ("2", "maple")):
        grower.tell("add", "tree", label, "--group", group, "--place", "bench", "--mix", "half",
                    "--outside", "350x250x60", "--potted", began, "--at", began)
    path = sunny.write(tmp_path / "w.csv", corner.start, 16, change=corner.hour)
    grower.tell("weather", "add", str(path))
    told = json.loads(grower.tell("morning", "--json"))["trees"]
    shown = json.loads(grower.tell("weather", "show", "--json"))["days"]
    explained = json.loads(grower.tell("explain", "1", "--json"))["trees"][0]
    return told, shown, explained


def numbers(document):
    if isinstance(document, dict):
        return [n for value in document.values() for n in numbers(value)]
    if isinstance(document, list):
        return [n for value in document for n in numbers(value)]
    return [document] if isinstance(document, float) else []


@pytest.mark.parametrize("name", CORNERS)
def test_a_round_is_judged_anywhere(grower, tmp_path, name):
    told, shown, explained = judged(grower, tmp_path, CORNERS[name])
    assert [each["tree"] for each in told] == ["1", "2"]
    assert all(math.isfinite(n) for n in numbers([told, explained]))
    et0 = [each["et0_mm"] for each in shown if each["et0_mm"] is not None]
    assert all(0.0 <= each < 15.0 for each in et0)
    mean = sum(et0) / len(et0)
    if name in ("midwinter", "cold"):
        assert mean < 1.0
        assert [each["verdict"] for each in told] == ["leave", "leave"]
        assert all("frozen_leave" in [also["do"] for also in each["also"]] for each in told)
    else:  # eleven fair days without a drop
        assert mean > 1.0
        assert [each["verdict"] for each in told] == ["water_now", "water_now"]
        assert all(0.2 < each["litres"] < 2.0 for each in told)
    if name == "cold":  # nothing is poured on a frozen pot, and nothing was drunk
        assert all(each["litres"] == 0.0 for each in told)
        assert all("bring_in" in [also["do"] for also in each["also"]] for each in told)
        drunk = next(each for each in explained["parts"]["demand"] if each["key"] == "asked_l")
        assert drunk["value"] == 0.0


def test_thin_air_asks_more_of_the_same_weather(grower, tmp_path):
    """FAO-56 Eq. 7-8: at 5,000 m γ is little more than half of that at sea level."""
    asked = []
    for elevation in ("10", "5000"):
        corner = Corner("-16", "-68", elevation, "America/La_Paz", "2026-06-20",
                        day("2026-07-01T11:00"), (0.0, 700.0),
                        {"temp": "15", "dew point": "2"})
        folder = tmp_path / elevation
        folder.mkdir()
        grower.path = folder / "garden.db"
        _, shown, _ = judged(grower, folder, corner)
        asked.append(sum(each["et0_mm"] for each in shown if each["et0_mm"] is not None))
    assert 1.02 * asked[0] < asked[1] < 1.6 * asked[0]
