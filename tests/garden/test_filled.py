"""What hours rest on: a source, the line between neighbours, a rule, or nothing."""

from datetime import timedelta

import numpy as np
from garden.told import NOW, start

from advisor.demand.ladder import RULES as LADDER
from advisor.garden.filled import RULES, UNKNOWN, filled, shares
from advisor.garden.instants import from_seconds, to_seconds
from advisor.garden.store import Source

FIRST = to_seconds(NOW.replace(minute=0))
NAN = np.nan
DAYS = {"first_hour": np.array([FIRST + 3600]), "n_hours": np.array([3]), "rules": np.array(
    ["radiation from cloud cover;wind height 10 m;wind 2 m/s"], dtype=object)}
NO_DAYS = {"first_hour": np.empty(0, int), "n_hours": np.empty(0, int),
           "rules": np.empty(0, object)}


def test_every_hour_says_what_it_rests_on(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        between = np.array(["measured", "between neighbours (x)", "measured"], dtype=object)
        hour = FIRST + 3600 * np.arange(3)
        garden.save_weather(Source("shed", kind="instrument", issued_at=NOW), {
            "hour": hour, "temp_c": [1.0, 2.0, 3.0], "temp_c_from": between}, NOW)
        garden.save_weather(Source("s", kind="forecast", issued_at=NOW), {
            "hour": hour, "temp_c": [9.0] * 3, "rain_mm": [0.0, 1.0, NAN]}, NOW)
        series = garden.weather(from_seconds(FIRST), from_seconds(FIRST) + timedelta(hours=9))
    found = filled(series, DAYS, FIRST, FIRST + 5 * 3600)
    assert found["temp_c"].tolist() == ["shed", "between neighbours", "shed", UNKNOWN, UNKNOWN]
    assert found["rain_mm"].tolist() == ["s, forecast"] * 2 + [UNKNOWN] * 3
    rule = "radiation from cloud cover"
    assert found["ghi_wm2"].tolist() == [UNKNOWN, rule, rule, rule, UNKNOWN]
    assert found["wind_ms"].tolist() == [UNKNOWN, *["wind 2 m/s"] * 3, UNKNOWN]
    assert shares(found)["temp_c"] == {"shed": 0.4, UNKNOWN: 0.4, "between neighbours": 0.2}


def test_without_weather_nothing_is_known(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        series = garden.weather(NOW, NOW + timedelta(hours=2))
    found = filled(series, NO_DAYS, FIRST, FIRST + 2 * 3600)
    assert {name: set(words) for name, words in found.items()} == {
        name: {UNKNOWN} for name in RULES}
    assert shares(filled(series, NO_DAYS, FIRST, FIRST)) == {name: {} for name in RULES}


def test_the_rules_are_those_of_the_ladder():
    for begins in RULES.values():
        assert all(any(rule.startswith(begin) for rule in LADDER) for begin in begins)
