"""`advisor weather chart`: what is in store, as the drawing takes it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import sunny

from advisor.cli import hours
from advisor.cli.weather_chart import chart_data
from advisor.garden.store import Garden, Source

NOW = datetime(2026, 7, 1, 5, 0, tzinfo=UTC)


@pytest.fixture
def fair(garden, tmp_path):
    """Fair weather from 20 June to 3 July, without wind on one day."""
    path = sunny.write(tmp_path / "w.csv", "2026-06-20", 13, change=lambda n: {
        "wind 10m": "" if n // 24 == 5 else "2.5"})
    garden.tell("weather", "add", str(path))
    return garden


def told(grower, now=NOW):
    with Garden.open(grower.path) as garden:
        known = garden.knowledge(now)
        hours.refresh(garden, known.site, known.places.values(), now)
        return chart_data(garden, hours.read_sky(garden, known, now), now)


def test_a_picture_is_drawn_and_its_place_told(fair, tmp_path):
    out = tmp_path / "here.png"
    assert fair.tell("weather", "chart", "--out", str(out)).splitlines()[0] == f"Drawn: {out}"
    assert out.read_bytes().startswith(b"\x89PNG")
    once = out.read_bytes()
    fair.tell("weather", "chart", "--out", str(out))
    assert out.read_bytes() == once


def test_days_are_whole_and_start_at_local_midnight(fair):
    data = told(fair)
    assert data.times[0] == np.datetime64("2026-06-20T00:00:00")  # the first hour there is
    assert str(data.days[1, 0]) == "2026-06-20T22:00:00"
    assert set(np.diff(data.days[1:]).ravel().astype(int)) == {86400}
    assert str(data.days[-1, 1]) == str(data.times[-1] + np.timedelta64(3600, "s"))


def test_origins_tell_file_rule_and_what_stands_in(fair):
    data = told(fair)
    assert list(data.origins) == ["temperature", "humidity", "wind", "radiation", "rain"]
    wind, temp = data.origins["wind"], data.origins["temperature"]
    assert set(temp[:24]) == {"file"}
    assert temp[-1] == "carried on"
    assert wind.tolist().count("worked out") == 24
    assert set(wind) == {"file", "worked out", "carried on"}


def test_what_stands_in_has_a_spread_and_what_is_known_has_none(fair):
    data = told(fair)
    known = data.origins["temperature"] == "file"
    assert (data.temp_c.high[known] == data.temp_c.low[known]).all()
    assert (data.temp_c.high[~known] - data.temp_c.low[~known] > 5.0).all()
    assert data.et0_mm.high[2] == data.et0_mm.low[2]
    assert data.et0_mm.high[-1] > 1.3 * data.et0_mm.low[-1]


def test_a_forecast_is_less_sure_the_farther_it_looks(fair):
    count = 24 * 10
    with Garden.open(fair.path) as garden:
        garden.save_weather(Source("s", kind="forecast", issued_at=NOW, attribution="By S"), {
            "hour": int(NOW.timestamp()) + 3600 * np.arange(count),
            "temp_c": 15.0 + np.arange(count) % 24 / 3, "vapour_kpa": np.full(count, 1.2),
            "wind_ms": np.full(count, 2.0), "wind_height_m": np.full(count, 10.0),
            "ghi_wm2": np.full(count, 200.0), "rain_mm": np.zeros(count)}, NOW)
    data = told(fair)
    width = (data.temp_c.high - data.temp_c.low)[data.origins["temperature"] == "forecast"]
    assert (np.diff(width) >= -1e-9).all()
    assert width[-1] > 1.5 * width[0] > 0.0
    assert data.note == "By S"
    assert fair.tell("weather", "chart", "--out", str(fair.path.parent / "a.svg")).endswith(
        "By S\n")


def test_weather_that_ended_long_ago_is_refused(fair):
    later = replace(fair, now=NOW + timedelta(days=100))
    assert "Wanted: at most 60 days before" in later.run("weather", "chart").stderr


def test_no_weather_is_refused(garden, tmp_path):
    out = tmp_path / "w.png"
    assert "none in this garden yet" in garden.refused("weather", "chart", "--out", str(out))
    assert not out.exists()


def test_an_ending_that_is_none_is_refused(fair):
    result = fair.run("weather", "chart", "--out", str(fair.path.parent / "w.gif"))
    assert (result.exit_code, result.stdout) == (1, "")
    assert "ending .png, .svg, .pdf" in result.stderr
