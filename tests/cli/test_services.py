"""Weather that arrives by itself: what came is kept, what failed is told, the round comes."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from advisor.cli import services
from advisor.errors import Refused
from advisor.garden import example
from advisor.garden.store import Garden
from advisor.weather.client import Fetched, StoredAnswer

NOW = datetime(2026, 6, 10, 6, 0, tzinfo=UTC)


def document(first, hours, warm=0.0):
    """An answer of the first service in its documented shape; stamps end their hour."""
    stamps = [first + timedelta(hours=k) for k in range(hours)]
    light = [max(0.0, 600.0 * (1 - abs(stamp.hour - 17) / 7)) for stamp in stamps]
    return json.dumps({
        "latitude": 36.1, "longitude": -79.95, "generationtime_ms": 0.2,
        "utc_offset_seconds": 0, "timezone": "GMT", "timezone_abbreviation": "GMT",
        "elevation": 273.0,
        "hourly_units": {"time": "iso8601", "temperature_2m": "°C", "dew_point_2m": "°C",
                         "relative_humidity_2m": "%", "surface_pressure": "hPa",
                         "wind_speed_10m": "m/s", "shortwave_radiation": "W/m²",
                         "precipitation": "mm", "cloud_cover": "%"},
        "hourly": {"time": [f"{stamp:%Y-%m-%dT%H:%M}" for stamp in stamps],
                   "temperature_2m": [18.0 + warm + stamp.hour % 7 for stamp in stamps],
                   "dew_point_2m": [12.0] * hours, "relative_humidity_2m": [60] * hours,
                   "surface_pressure": [985.0] * hours, "wind_speed_10m": [2.5] * hours,
                   "shortwave_radiation": light, "precipitation": [0.0] * hours,
                   "cloud_cover": [20] * hours},
    }).encode()


def answering(body, at=NOW):
    def ask(request, seconds):
        assert 0 < seconds <= services.BUDGET_S
        return Fetched("new", StoredAnswer(body, at, at + timedelta(hours=1)), 200)
    return ask


def failing(request, seconds):
    at = StoredAnswer(None, NOW, NOW + timedelta(minutes=5))
    return Fetched("failed", at, None, (), Refused(
        "api.open-meteo.com", "no answer within 30 s", "an answer", "Try again later."))


@pytest.fixture
def garden(tmp_path):
    with Garden.create(tmp_path / "garden.db", example.SITE, NOW - timedelta(days=30)) as garden:
        with garden.entry(NOW, "places") as entry:
            for place in example.PLACES:
                entry.add(place)
        yield garden


def test_what_came_is_kept_as_analysis_and_forecast(garden):
    body = document(NOW - timedelta(days=3), 24 * 8)
    got = services.get(garden, NOW, ["open-meteo"], answering(body))
    assert [(each.service, each.failed) for each in got] == [("open-meteo", False)]
    assert "Weather data by Open-Meteo.com" in got[0].words
    assert {source.kind for source in garden.weather_sources()} == {"analysis", "forecast"}
    assert {source.attribution for source in garden.weather_sources()} == {
        "Weather data by Open-Meteo.com"}
    assert garden.hours("south bench")["et0_mm"].size == garden.hours("")["temp_c"].size > 180


def test_a_later_issue_replaces_a_forecast_and_a_replay_knows_only_the_earlier(garden):
    first = NOW - timedelta(days=3)
    services.get(garden, NOW, ["open-meteo"], answering(document(first, 24 * 8)))
    before = garden.hours("")["temp_c"].copy()
    later = NOW + timedelta(hours=6)
    services.get(garden, later, ["open-meteo"], answering(document(first, 24 * 8, 5.0), later))
    after = garden.hours("")["temp_c"]
    assert after[-1] == pytest.approx(before[-1] + 5.0)
    from advisor.cli.hours import refresh

    refresh(garden, garden.site(), garden.knowledge(NOW).places.values(), NOW)
    assert garden.hours("")["temp_c"] == pytest.approx(before, nan_ok=True)


def test_a_service_that_fails_leaves_what_is_in_store(garden):
    services.get(garden, NOW, ["open-meteo"], answering(document(NOW - timedelta(days=3), 192)))
    kept = garden.hours("")["temp_c"].copy()
    got = services.get(garden, NOW + timedelta(hours=2), ["open-meteo"], failing)
    assert got[0].failed
    assert "api.open-meteo.com" in got[0].words
    assert "in store is used instead" in got[0].words
    assert garden.hours("")["temp_c"] == pytest.approx(kept, nan_ok=True)
    assert garden.answers()[0].error


def test_a_body_that_is_no_weather_is_told_and_not_kept(garden):
    got = services.get(garden, NOW, ["open-meteo"], answering(b'{"error":true,"reason":"no"}'))
    assert got[0].failed
    assert not garden.weather_sources()


def test_who_wants_a_contact_is_left_out_without_one(garden):
    asked = services.requests_to(garden, NOW)
    assert "advisor weather contact" in asked["met-norway"]
    with garden.entry(NOW, "contact") as entry:
        garden.add_setting(entry.id, "contact", "me@example.org")
    assert "me@example.org" in services.requests_to(garden, NOW)["met-norway"].headers["User-Agent"]


def spread(first, hours, members=3):
    """An answer with the ways the weather may go: one undisturbed, the others numbered."""
    told = json.loads(document(first, hours))
    for name in ("dew_point_2m", "surface_pressure", "cloud_cover"):
        del told["hourly"][name], told["hourly_units"][name]
    for name in list(told["hourly"])[1:]:
        for member in range(1, members):
            key = f"{name}_member{member:02d}"
            told["hourly"][key] = [value + member / 10 for value in told["hourly"][name]]
            told["hourly_units"][key] = told["hourly_units"][name]
    return json.dumps(told).encode()


def both(request, seconds):
    body = (spread(NOW, 24 * 5) if request.interface == "ensemble"
            else document(NOW - timedelta(days=3), 24 * 8))
    return answering(body)(request, seconds)


def test_the_ways_it_may_go_are_kept_beside_the_forecast_and_asked_once_a_day(garden):
    got = services.get(garden, NOW, ["open-meteo", services.MANY], both)
    assert [(each.service, each.failed) for each in got] == [
        ("open-meteo", False), ("open-meteo-spread", False)]
    assert got[1].words.startswith("3 ways the weather may go to 2026-06-15 ")
    ways = garden.possible_futures(NOW)
    assert sorted(ways) == [0, 1, 2]
    assert ways[2]["temp_c"][5] == pytest.approx(ways[0]["temp_c"][5] + 0.2)
    assert [each.digest != "" for each in garden.answers()] == [True, True]
    (again,) = services.get(garden, NOW + timedelta(hours=19), [services.MANY], failing)
    assert again.words == "not asked; it was asked less than 20 h ago"
    (later,) = services.get(garden, NOW + timedelta(hours=21), [services.MANY], failing)
    assert later.failed


def test_a_round_asks_for_them_with_the_forecast(garden, monkeypatch):
    services.get(garden, NOW, ["open-meteo"], both)
    asked = []
    monkeypatch.setattr(services, "get", lambda garden, at, only, **told: asked.append(only))
    services.renew(garden, NOW + timedelta(minutes=30))
    services.renew(garden, NOW + timedelta(hours=2))
    assert asked == [["open-meteo", "open-meteo-spread"]]


def test_an_unknown_service_is_refused(garden):
    with pytest.raises(Refused, match="open-meteo"):
        services.get(garden, NOW, ["the-frogs"], failing)
