"""What holds of every service: terms, names, shapes that are not theirs, real calls on request."""

import contextlib
import copy
import json
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any, get_args

import pytest
import services_made as made

from advisor.errors import Refused
from advisor.weather import client, series
from advisor.weather.services import (
    SERVICES,
    Interface,
    Request,
    brightsky,
    coordinates,
    headers,
    metno,
    openmeteo,
    power,
    readers,
)

LATER = made.START + timedelta(days=9)
BROKEN: tuple[Any, ...] = (None, "x", {}, [], -1e300)
SHORT = made.Truth([12.0, 13.0, 14.0], [2.0] * 3, [0.5] * 3, [400.0] * 2, [0.0, 1.2])
DOCUMENTS: dict[str, Callable[..., Any]] = {
    "open-meteo": made.open_meteo,
    "met-norway": made.met_norway,
    "bright-sky": made.bright_sky,
    "power": made.power_hours,
}


def question(name: str) -> Request:
    interface = "hourly" if name == "power" else "forecast"
    return Request(name, interface, f"https://{SERVICES[name].host}/", {})


def read(name: str, document: Any) -> list[Any]:
    return readers.read(question(name), made.body(document), issued_at=LATER)


@pytest.mark.parametrize("name", SERVICES)
def test_terms_are_told(name: str) -> None:
    service = SERVICES[name]
    assert service.attribution
    assert service.licence
    assert service.link.startswith("https://")
    assert service.limits
    for answer in read(name, DOCUMENTS[name]()):
        assert service.attribution in answer.series.licence
        assert answer.issued_at == LATER


@pytest.mark.parametrize("name", SERVICES)
def test_the_table_has_its_columns_in_order(name: str) -> None:
    for answer in read(name, DOCUMENTS[name]()):
        assert tuple(answer.series.hours.columns) == series.TABLE


def test_who_asks_is_said_to_every_service() -> None:
    for service in SERVICES.values():
        assert headers(service, "me@example.org")["User-Agent"].endswith(" me@example.org")


def test_every_interface_has_a_freshness() -> None:
    assert set(client.FRESH_H) == set(get_args(Interface))


def test_only_one_needs_a_contact() -> None:
    assert [each.name for each in SERVICES.values() if each.needs_contact] == ["met-norway"]


@pytest.mark.parametrize(("latitude", "longitude"), [(91.0, 0.0), (0.0, 181.0), (float("nan"), 0)])
def test_nowhere_on_earth(latitude: float, longitude: float) -> None:
    class Nowhere:
        latitude_deg, longitude_deg, elevation_m = latitude, longitude, 0.0

    with pytest.raises(Refused):
        coordinates(Nowhere())


@pytest.mark.parametrize("name", SERVICES)
@pytest.mark.parametrize(
    "body", [b"", b"<html>", b"{", b"null", b"[]", b"[1]", b"{}", b'"x"', b"1", b"[" * 100_000]
)
def test_a_body_of_another_shape(name: str, body: bytes) -> None:
    with pytest.raises(Refused) as caught:
        readers.read(question(name), body, issued_at=LATER)
    assert SERVICES[name].host in str(caught.value)


def paths(document: Any, so_far: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Give the way to everything in a document."""
    inside = (
        document.items()
        if isinstance(document, dict)
        else (enumerate(document) if isinstance(document, list) else ())
    )
    return [so_far, *(path for key, each in inside for path in paths(each, (*so_far, key)))]


@pytest.mark.parametrize("name", SERVICES)
@pytest.mark.parametrize("turn", [0, 2])
def test_a_document_broken_anywhere_is_read_or_refused(name: str, turn: int) -> None:
    """A wrong thing at any one place ends in hours or in a refusal, in no other error."""
    whole = DOCUMENTS[name](SHORT)
    for i, path in enumerate(paths(whole)[1:]):
        document = copy.deepcopy(whole)
        place = document
        for key in path[:-1]:
            place = place[key]
        place[path[-1]] = BROKEN[(i + turn) % len(BROKEN)]
        with contextlib.suppress(Refused):
            assert all(len(answer.series.hours) for answer in read(name, document))


@pytest.mark.parametrize("name", SERVICES)
def test_the_order_of_the_document_does_not_matter(name: str) -> None:
    shuffled = json.loads(json.dumps(DOCUMENTS[name](), sort_keys=True))
    for one, other in zip(read(name, DOCUMENTS[name]()), read(name, shuffled), strict=True):
        assert one.series.hours.equals(other.series.hours)


def test_a_request_has_one_key_whoever_asks() -> None:
    class Here:
        latitude_deg, longitude_deg, elevation_m = 52.1, 5.18, 2.0

    one, other = openmeteo.request(Here(), "a@b.org"), openmeteo.request(Here(), "")
    assert one.key == other.key
    assert one.key != openmeteo.request(Here(), "", past_days=3).key
    assert "b.org" not in one.key


def test_the_client_loads_nothing_heavy() -> None:
    code = (
        "import sys\nimport advisor.weather.client\n"
        "print([n for n in ('numpy', 'pandas', 'pvlib', 'requests', 'urllib3') "
        "if n in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


@pytest.mark.live
@pytest.mark.parametrize("name", SERVICES)
def test_a_real_answer(name: str, site, request: pytest.FixtureRequest) -> None:
    contact = request.config.getoption("--live")
    now = datetime.now(UTC)
    asked = {
        "open-meteo": lambda: openmeteo.request(site, contact, past_days=1, forecast_days=2),
        "met-norway": lambda: metno.request(site, contact),
        "bright-sky": lambda: brightsky.request(site, contact, now, now),
        "power": lambda: power.request(
            site, contact, now.date() - timedelta(days=20), now.date() - timedelta(days=15)
        ),
    }[name]()
    got = client.fetch(asked, None, now)
    assert got.error is None
    answers = readers.read(asked, got.answer.body or b"", issued_at=now)
    assert all(answer.series.hours["temp_c"].notna().any() for answer in answers)
