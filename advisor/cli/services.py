"""Ask the open weather services, and keep what they answer, whole or not at all."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from advisor.cli.hours import refresh
from advisor.errors import Refused
from advisor.garden.records import Site
from advisor.garden.store import Garden, Source

if TYPE_CHECKING:
    from advisor.weather.client import Fetched
    from advisor.weather.services import Request
    from advisor.weather.services.reply import Answer

BUDGET_S: Final = 30.0  # for all services together
RENEW_S: Final = 10.0  # for those asked by the round itself
LEAST_S: Final = 1.0  # left, or the next one is not asked
MANY: Final = "open-meteo-spread"  # the many ways the coming days may go
MANY_H: Final = 20  # between questions for it: forty series, for one morning a day [J]
FORECAST: Final = "forecast "  # how what is asked for coming weather begins
PAST_DAYS: Final = 14
AHEAD_DAYS: Final = 10

Ask = Callable[["Request", float], "Fetched"]


@dataclass(frozen=True)
class Got:
    """What came of asking one service."""

    service: str
    failed: bool
    words: str


def requests_to(garden: Garden, at: datetime) -> "dict[str, Request | str]":
    """Give what each service is asked, in the order of choice, or why it is not asked."""
    from advisor.weather.services import brightsky, metno, openmeteo

    site, contact = garden.site(), garden.setting("contact")
    start, end = at - timedelta(days=PAST_DAYS), at + timedelta(days=AHEAD_DAYS)
    asked: dict[str, Request | str] = {
        "open-meteo": openmeteo.request(site, contact, past_days=PAST_DAYS,
                                        forecast_days=AHEAD_DAYS),
        "met-norway": "it wants to know who asks: advisor weather contact ADDRESS",
        "bright-sky": "it knows Germany and its neighbours only",
    }
    if contact:
        asked["met-norway"] = metno.request(site, contact)
    if _near_germany(site):
        asked["bright-sky"] = brightsky.request(site, contact, start, end)
    return {**asked, MANY: _many(garden, at)}


def _many(garden: Garden, at: datetime) -> "Request | str":
    """Give the question for the ways the coming days may go, or when it was answered."""
    from advisor.weather.services import openmeteo

    request = openmeteo.ensemble_request(garden.site(), garden.setting("contact"),
                                         forecast_days=AHEAD_DAYS)
    kept = garden.stored_answer(request)
    if kept is not None and at - kept.fetched_at < timedelta(hours=MANY_H):
        return f"it was asked less than {MANY_H} h ago"
    return request


def _near_germany(site: Site) -> bool:
    return 46.0 <= site.latitude_deg <= 56.0 and 4.0 <= site.longitude_deg <= 16.5


def get(garden: Garden, at: datetime, only: Sequence[str] = (),
        ask: Ask | None = None, budget_s: float = BUDGET_S) -> list[Got]:
    """Ask services for past and coming weather, keep it, and work out the places' hours.

    Parameters
    ----------
    garden : Garden
    at : datetime
        Now.
    only : sequence of str
        Services to ask; all where empty.
    ask : callable, optional
        Puts one request, given the seconds left; the network where None.
    budget_s : float
        For all of them together [s].

    Raises
    ------
    Refused
        A service that is not known.
    """
    asked = requests_to(garden, at)
    for name in only:
        if name not in asked:
            raise Refused("weather service", name, "known: " + ", ".join(asked),
                          "Give one of these.")
    from advisor.weather.wire import MEANS

    deadline = MEANS.clock() + budget_s
    found = []
    for name in only or asked:
        request, left = asked[name], deadline - MEANS.clock()
        if isinstance(request, str):
            found.append(Got(name, bool(only), f"not asked; {request}"))
        elif left < LEAST_S:
            found.append(Got(name, True, f"not asked; the {budget_s:.0f} s were over"))
        else:
            found.append(_one(garden, name, request, at, left, ask))
    if garden.weather_revision():
        refresh(garden, garden.site(), garden.knowledge(at, since=at).places.values(), at)
    return found


def renew(garden: Garden, at: datetime) -> list[Got]:
    """Ask again those services whose stored answer is no longer fresh; waits but shortly."""
    stale = {each.service for each in garden.answers() if each.fresh_until <= at
             and each.request.startswith(FORECAST)}
    if stale and not isinstance(_many(garden, at), str):
        stale.add(MANY)  # sorted behind the forecast, which it goes with
    return get(garden, at, sorted(stale), budget_s=RENEW_S) if stale else []


def _one(garden: Garden, name: str, request: "Request", at: datetime, left: float,
         ask: Ask | None) -> Got:
    """Ask one service and keep its answer in one transaction."""
    from advisor.weather.client import fetch
    from advisor.weather.services.readers import read

    put = ask or (lambda each, seconds: fetch(each, garden.stored_answer(each), at, seconds))
    fetched = put(request, left)
    if fetched.outcome in ("fresh", "unchanged") and fetched.error is None:
        with garden.writing():
            garden.save_fetched(request, fetched, at)
        return Got(name, False, f"nothing newer than {_age(fetched, at)}")
    if fetched.error is not None or fetched.answer.body is None:
        with garden.writing():
            garden.save_fetched(request, fetched, at)
        return Got(name, True, f"{fetched.error} What is in store is used instead.")
    try:
        answers = read(request, fetched.answer.body, issued_at=fetched.answer.fetched_at)
    except Refused as refused:
        return Got(name, True, f"{refused} What is in store is used instead.")
    with garden.writing():
        garden.save_fetched(request, fetched, at, keep_body=name != MANY)
        for answer in answers:
            keep(garden, request, answer, at)
    return Got(name, False, _words(garden, request, answers))


def keep(garden: Garden, request: "Request", answer: "Answer", at: datetime,
         only: Sequence[str] = ()) -> None:
    """Keep the hours of one answer, doubtful ones set aside.

    Parameters
    ----------
    garden : Garden
    request : Request
        What was asked.
    answer : Answer
        What came.
    at : datetime
        Now.
    only : sequence of str
        Values that are kept, others left out; all where empty.
    """
    from advisor.jobs import air
    from advisor.weather import quality
    from advisor.weather.services import SERVICES

    service, series, site = SERVICES[request.service], answer.series, garden.site()
    hours = quality.set_aside(air.arrays_of(series.hours), site.latitude_deg,
                              sensor=answer.kind == "station")
    if only:
        names = {"hour", *only, *(f"{name}_from" for name in only)}
        hours = {name: column for name, column in hours.items() if name in names}
    source = Source(service.name, series.source, service.licence, "", answer.issued_at,
                    series.latitude_deg, series.longitude_deg, series.elevation_m,
                    kind=answer.kind, member=answer.member, attribution=service.attribution)
    garden.save_weather(source, hours, at)


def _age(fetched: "Fetched", at: datetime) -> str:
    hours = (at - fetched.answer.fetched_at).total_seconds() / 3600.0
    return f"{hours:.1f} h ago"


def _words(garden: Garden, request: "Request", answers: "Sequence[Answer]") -> str:
    from advisor.weather.services import SERVICES

    service = SERVICES[request.service]
    ends = [each.series.hours.index[-1] for each in answers]
    if not ends:
        return "an answer without hours"
    last = max(ends).to_pydatetime().astimezone(garden.site().zone)
    what = f"{len(answers)} ways the weather may go" if answers[0].kind == "ensemble" else "weather"
    return f"{what} to {last:%Y-%m-%d %H:%M}. {service.attribution} ({service.link})"
