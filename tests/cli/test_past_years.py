"""Past years from archives: whole or not at all, asked once, from the second where needed."""

import json
import socket
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from pytest_httpserver import HTTPServer
from werkzeug import Request as Asked
from werkzeug import Response

from advisor.cli import past_years
from advisor.cli.past_years import Span, get_past, missing, spans
from advisor.errors import Refused
from advisor.garden import example
from advisor.garden.store import Garden
from advisor.weather.client import Fetched, StoredAnswer, fetch

NOW = datetime(2026, 6, 10, 6, 0, tzinfo=UTC)
#: one row of every quantity, and its unit, as the archive of the first service tells it
COLUMNS = {"temperature_2m": (18.0, "°C"), "relative_humidity_2m": (60, "%"),
           "dew_point_2m": (10.0, "°C"), "wind_speed_10m": (2.5, "m/s"),
           "shortwave_radiation": (100.0, "W/m²"), "cloud_cover": (20, "%"),
           "precipitation": (0.1, "mm"), "surface_pressure": (985.0, "hPa")}


def stamps(params, first="start_date", last="end_date", form="%Y-%m-%d"):
    start, end = (datetime.strptime(params[name], form).replace(tzinfo=UTC)
                  for name in (first, last))
    hours = (end - start).days * 24 + 24
    return [start + timedelta(hours=k) for k in range(hours)]


def archive(params, without=(), cut=0):
    """What the first service answers: stamps end their hour."""
    at = stamps(params)[:-cut or None]
    moving = [k % 24 / 10 for k in range(len(at))]
    hourly = {name: [value + more for more in moving] for name, (value, _) in COLUMNS.items()}
    hourly |= {name: [None] * len(at) for name in without}
    return json.dumps({
        "latitude": 36.1, "longitude": -79.95, "utc_offset_seconds": 0, "elevation": 273.0,
        "hourly_units": {"time": "iso8601", **{name: unit for name, (_, unit) in COLUMNS.items()}},
        "hourly": {"time": [f"{each:%Y-%m-%dT%H:%M}" for each in at], **hourly}}).encode()


def power(params):
    """What the second service answers: stamps start their hour."""
    keys = [f"{each:%Y%m%d%H}" for each in stamps(params, "start", "end", "%Y%m%d")]
    told = {"T2M": (16.0, "C"), "T2MDEW": (9.0, "C"), "RH2M": (60.0, "%"), "WS2M": (2.0, "m/s"),
            "ALLSKY_SFC_SW_DWN": (0.72, "MJ/hr"), "PRECTOTCORR": (0.2, "mm/hour"),
            "PS": (98.0, "kPa")}
    return json.dumps({
        "geometry": {"type": "Point", "coordinates": [-79.95, 36.1, 273.0]},
        "properties": {"parameter": {name: {key: value + k % 24 / 100 for k, key in
                                            enumerate(keys)} for name, (value, _) in told.items()}},
        "header": {"fill_value": -999.0, "time_standard": "UTC"}, "messages": [],
        "parameters": {name: {"units": unit} for name, (_, unit) in told.items()}}).encode()


class Archives:
    """Both services, each answering as told, and what they were asked."""

    def __init__(self, first=archive, second=power):
        self.answers = {"open-meteo": first, "power": second}
        self.asked = []

    def __call__(self, request, seconds):
        assert 0 < seconds <= past_years.YEAR_S
        year = request.params.get("start_date", request.params.get("start", ""))[:4]
        self.asked.append((request.service, int(year)))
        body = self.answers[request.service]
        if body is None:
            error = Refused(f"weather from {request.service}", "429", "an answer", "Later.")
            return Fetched("failed", StoredAnswer(None, NOW, NOW), 429, error=error)
        made = body(request.params)
        return Fetched("new", StoredAnswer(made, NOW, NOW + timedelta(days=1)), 200)


@pytest.fixture
def garden(tmp_path):
    with Garden.create(tmp_path / "garden.db", example.SITE, NOW - timedelta(days=30)) as garden:
        yield garden


def got(garden, ask, years=2, **told):
    return list(get_past(garden, NOW, missing(garden, NOW, years), ask, **told))


def test_the_years_that_are_meant():
    assert spans(NOW, 2) == [Span(date(2026, 1, 1), date(2026, 6, 3), whole=False),
                             Span(date(2025, 1, 1), date(2025, 12, 31)),
                             Span(date(2024, 1, 1), date(2024, 12, 31))]
    assert spans(NOW.replace(month=1, day=5), 1) == [Span(date(2025, 1, 1), date(2025, 12, 31))]


def test_every_year_is_kept_and_asked_once(garden):
    ask = Archives()
    assert [(year.year, year.failed) for year in got(garden, ask)] == [
        (2026, False), (2025, False), (2024, False)]
    assert ask.asked == [("open-meteo", 2026), ("open-meteo", 2025), ("open-meteo", 2024)]
    series = garden.weather(datetime(2024, 1, 1, tzinfo=UTC), datetime(2026, 6, 3, tzinfo=UTC))
    assert len(series["hour"]) == 8784 + 8760 + 153 * 24
    assert not np.isnan(series["temp_c"]).any()
    assert set(series["temp_c_source"]) == {"open-meteo"}
    assert set(series["temp_c_kind"]) == {"analysis"}
    assert {each.attribution for each in garden.weather_sources()} == {
        "Weather data by Open-Meteo.com"}
    assert missing(garden, NOW + timedelta(days=5), 2) == []
    assert [span.first.year for span in missing(garden, NOW, 3)] == [2023]
    assert [each.body for each in map(garden.stored_answer, _asked(garden))] == [None] * 3


def _asked(garden):
    from advisor.weather.services import openmeteo

    return [openmeteo.archive_requests(garden.site(), "", span.first, span.last)[0]
            for span in spans(NOW, 2)]


def test_a_year_under_way_is_asked_again_when_it_has_grown(garden):
    got(garden, Archives(), 1)
    assert [span.first.year for span in missing(garden, NOW + timedelta(days=9), 1)] == [2026]


def test_the_second_source_stands_in(garden):
    ask = Archives(first=None)
    assert [year.words for year in got(garden, ask, 1)] == ["3696 hours from power",
                                                            "8760 hours from power"]
    assert ask.asked == [("open-meteo", 2026), ("power", 2026), ("power", 2025)]
    assert {each.name for each in garden.weather_sources()} == {"power"}


def test_radiation_comes_from_the_second_where_the_first_has_none(garden):
    def dark(params):
        return archive(params, without=("shortwave_radiation",))

    years = got(garden, Archives(first=dark), 1)
    assert [year.words for year in years][1].endswith("open-meteo, radiation from power")
    series = garden.weather(datetime(2025, 3, 1, tzinfo=UTC), datetime(2025, 3, 2, tzinfo=UTC))
    assert set(series["temp_c_source"]) == {"open-meteo"}
    assert set(series["ghi_wm2_source"]) == {"power"}
    assert series["ghi_wm2"][0] == pytest.approx(200.0)
    assert years[1].services == ("open-meteo", "power")


def test_a_year_without_any_radiation_is_kept_and_told(garden):
    def dark(params):
        return archive(params, without=("shortwave_radiation",))

    assert got(garden, Archives(dark, None), 1)[1].words.endswith("open-meteo, without radiation")


@pytest.mark.parametrize("first", [
    lambda params: archive(params, cut=24 * 9), lambda params: archive(params, ["precipitation"]),
    lambda params: b'{"error":true,"reason":"out of range"}', lambda params: b"<html>"])
def test_half_a_year_is_not_kept(garden, first):
    years = got(garden, Archives(first, None), 1)
    assert all(year.failed for year in years)
    assert garden.weather_sources() == []


def test_where_all_have_failed_no_further_year_is_asked(garden):
    ask = Archives(None, None)
    (year,) = got(garden, ask, 5)
    assert year.failed
    assert "open-meteo: 429" in year.words
    assert "power: 429" in year.words
    assert len(ask.asked) == 2
    assert len(garden.answers()) == 2


def test_the_time_is_bounded(garden):
    assert got(garden, Archives(), 3, budget_s=0.5) == []


def test_a_year_before_the_second_source_s_first_is_asked_of_the_first_only(garden):
    ask = Archives(first=None)
    span = Span(date(1999, 1, 1), date(1999, 12, 31))
    (year,) = get_past(garden, NOW, [span], ask)
    assert (year.failed, ask.asked) == (True, [("open-meteo", 1999)])


# --- over a connection, and as a command -------------------------------------------------------


@pytest.fixture
def loopback_only(monkeypatch):
    real = socket.socket.connect

    def connect(self, address):
        assert not isinstance(address, tuple) or address[0] in ("127.0.0.1", "::1", "localhost")
        return real(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)


@pytest.fixture
def served(httpserver: HTTPServer, monkeypatch, loopback_only):
    """Play both services on this computer; give what they were asked."""
    asked = []

    def answer(request: Asked) -> Response:
        asked.append(request.path)
        if request.path == "/v1/archive":
            return Response(archive(request.args), 200)
        return Response(power(request.args), 200)

    httpserver.expect_request("/v1/archive").respond_with_handler(answer)
    httpserver.expect_request("/api/temporal/hourly/point").respond_with_handler(answer)
    _redirect(monkeypatch, httpserver)
    return asked


def _redirect(monkeypatch, httpserver):
    """Send what is asked to the server on this computer."""
    from advisor.weather import client

    def here(request, *args, **told):
        path = "/" + request.url.split("/", 3)[3]
        return fetch(replace(request, url=httpserver.url_for(path)), *args, **told)

    monkeypatch.setattr(client, "fetch", here)


def test_the_command_tells_each_year_and_then_all(served, grower):
    grower.tell("start", "--latitude", "36.1", "--longitude", "-79.95", "--elevation", "273",
                "--time-zone", "America/New_York", "--at", "2026-03-01T09:00")
    result = grower.run("weather", "past", "--years", "1")
    assert result.exit_code == 0
    assert result.stderr.splitlines()[:2] == ["2026: 4200 hours from open-meteo",
                                              "2025: 8760 hours from open-meteo"]
    assert result.stdout == ("2 of 2 years kept. Weather data by Open-Meteo.com "
                             "(https://open-meteo.com/)\n")
    assert served == ["/v1/archive"] * 2
    assert grower.tell("weather", "past", "--years", "1") == (
        "All is in store, from 2025 on.\n")
    assert served == ["/v1/archive"] * 2
    checked = json.loads(grower.tell("weather", "check", "--json"))["services"]
    assert [(row["service"], row["what"]) for row in checked] == [("open-meteo", "past years")]
    assert checked[0]["answered"] == "2026-07-01T01:00:00-04:00"
    with Garden.open(grower.path, readonly=True) as garden:
        assert garden.hours("")["temp_c"].size > 12_000


def test_no_network_is_told_and_nothing_is_kept(httpserver, monkeypatch, loopback_only, grower):
    grower.tell("start", "--latitude", "36.1", "--longitude", "-79.95", "--elevation", "273",
                "--time-zone", "America/New_York", "--at", "2026-03-01T09:00")
    httpserver.expect_request("/v1/archive").respond_with_data("no", status=404)
    httpserver.expect_request("/api/temporal/hourly/point").respond_with_data("no", status=404)
    _redirect(monkeypatch, httpserver)
    result = grower.run("weather", "past", "--years", "3")
    assert result.exit_code == 1
    assert result.stdout == "No year was got; what is in store is used. Ask again later.\n"
    assert result.stderr.startswith("2026: not got; weather from ")
    with Garden.open(grower.path, readonly=True) as garden:
        assert garden.weather_sources() == []


def test_a_round_does_not_ask_archives_again(garden):
    from advisor.cli import services

    got(garden, Archives(), 1)
    assert services.renew(garden, NOW + timedelta(days=30)) == []
