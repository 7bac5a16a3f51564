"""Get the weather of past years from archives, a year at a time, each kept whole or not at all."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Final

from advisor.cli.services import LEAST_S, Ask, keep
from advisor.garden.sources import covers
from advisor.garden.store import Garden

if TYPE_CHECKING:
    from advisor.weather.services import Request
    from advisor.weather.services.reply import Answer

BUDGET_S: Final = 600.0  # for all years together
YEAR_S: Final = 60.0  # for one answer: a year is half a megabyte
LAG_DAYS: Final = 7  # archives end so long ago at the latest [S: 5 and some]
ENDS: Final = timedelta(hours=2)  # of a year may be missing: its last hour is told by the next one
LEAST_SHARE: Final = 0.98  # of the hours told, or a year is not whole [J]
NEEDED: Final = ("temp_c", "rain_mm")
LIGHT: Final = "ghi_wm2"


@dataclass(frozen=True)
class Span:
    """Days of one calendar year, UTC."""

    first: date
    last: date
    whole: bool = True

    @property
    def start(self) -> datetime:
        """Start of its first hour."""
        return datetime(self.first.year, self.first.month, self.first.day, tzinfo=UTC)

    @property
    def end(self) -> datetime:
        """End of its last hour."""
        return datetime(self.last.year, self.last.month, self.last.day, tzinfo=UTC) + timedelta(1)


@dataclass(frozen=True)
class Year:
    """What came of asking for a year."""

    year: int
    failed: bool
    words: str
    services: tuple[str, ...] = ()


def spans(at: datetime, years: int) -> list[Span]:
    """Give the year under way as far as archives go, and the years before it, newest first."""
    this, last = at.year, at.date() - timedelta(days=LAG_DAYS)
    before = [Span(date(year, 1, 1), date(year, 12, 31)) for year in range(this - 1,
                                                                         this - 1 - years, -1)]
    under_way = [Span(date(this, 1, 1), last, whole=False)] if last.year == this else []
    return [*under_way, *before]


def missing(garden: Garden, at: datetime, years: int) -> list[Span]:
    """Give those of `spans` that no archive in store holds yet."""
    kept = garden.kept_sources()
    return [span for span in spans(at, years) if not covers(
        kept, "analysis", span.start, span.end,
        ENDS if span.whole else timedelta(days=LAG_DAYS))]


def get_past(garden: Garden, at: datetime, wanted: Sequence[Span], ask: Ask | None = None,
             budget_s: float = BUDGET_S) -> Iterator[Year]:
    """Ask for past years one by one; what came of each is given as soon as it is kept.

    A service that fails is not asked for further years; where all have failed, it ends.

    Parameters
    ----------
    garden : Garden
    at : datetime
        Now.
    wanted : sequence of Span
        In the order in which they are asked for.
    ask : callable, optional
        Puts one request, given the seconds left; the network where None.
    budget_s : float
        For all of them together [s].
    """
    from advisor.weather.wire import MEANS

    deadline = MEANS.clock() + budget_s
    asking = _Asking(garden, at, ask, lambda: deadline - MEANS.clock())
    for span in wanted:
        if asking.left() < LEAST_S or asking.all_failed:
            return
        yield asking.year(span)


class _Asking:
    """One run through the archives."""

    def __init__(self, garden: Garden, at: datetime, ask: Ask | None,
                 left: Callable[[], float]) -> None:
        from advisor.weather.client import fetch

        self.garden, self.at, self.left = garden, at, left
        self.ask = ask or (lambda each, seconds: fetch(
            each, garden.stored_answer(each), at, seconds))
        self.failed: dict[str, str] = {}

    @property
    def all_failed(self) -> bool:
        """Whether no service is left to ask."""
        return len(self.failed) == 2

    def year(self, span: Span) -> Year:
        """Get one year: from the first service, from the second where it falls short."""
        first, second = _requests(self.garden, span)
        answer = self._answer(first)
        lacking = _lacking(answer, span)
        if answer is not None and not lacking:
            return self._kept(span, first, answer)
        other = self._answer(second) if second else None
        if answer is not None and lacking == [LIGHT]:
            if other is None or LIGHT in _lacking(other, span):
                return self._kept(span, first, answer, note=", without radiation")
            assert second is not None
            with self.garden.writing():
                year = self._kept(span, first, answer, note=f", radiation from {second.service}")
                keep(self.garden, second, other, self.at, only=(LIGHT,))
            return Year(span.first.year, False, year.words, (first.service, second.service))
        if second and other is not None and not set(NEEDED) & set(_lacking(other, span)):
            return self._kept(span, second, other)
        why = " ".join(self.failed.values()) or "no archive holds the whole of it"
        return Year(span.first.year, True, f"not got; {why}")

    def _kept(self, span: Span, request: "Request", answer: "Answer", note: str = "") -> Year:
        with self.garden.writing():
            keep(self.garden, request, answer, self.at)
        hours = len(answer.series.hours)
        return Year(span.first.year, False, f"{hours} hours from {request.service}{note}",
                    (request.service,))

    def _answer(self, request: "Request") -> "Answer | None":
        """Ask a service unless it failed before; its answer without hours or in error is None."""
        from advisor.errors import Refused
        from advisor.weather.services.readers import read

        if request.service in self.failed or self.left() < LEAST_S:
            return None
        fetched = self.ask(request, min(self.left(), YEAR_S))
        with self.garden.writing():
            self.garden.save_fetched(request, fetched, self.at, keep_body=False)
        if fetched.error is not None or fetched.answer.body is None:
            self.failed[request.service] = str(fetched.error or "no answer.")
            return None
        try:
            answers = read(request, fetched.answer.body, issued_at=fetched.answer.fetched_at)
        except Refused as refused:
            self.failed[request.service] = str(refused)
            return None
        return next((each for each in answers if each.kind == "analysis"), None)


def _requests(garden: Garden, span: Span) -> "tuple[Request, Request | None]":
    """Give what the archive and the second source are asked; the second knows fewer years."""
    from advisor.weather.services import openmeteo, power

    site, contact = garden.site(), garden.setting("contact")
    (first,) = openmeteo.archive_requests(site, contact, span.first, span.last)
    known = span.first.year >= power.FIRST_YEAR["hourly"]
    return first, power.request(site, contact, span.first, span.last) if known else None


def _lacking(answer: "Answer | None", span: Span) -> list[str]:
    """Give which of the values that matter an answer does not tell for the whole span."""
    if answer is None:
        return [*NEEDED, LIGHT]
    hours = answer.series.hours
    inside = hours[(hours.index >= span.start) & (hours.index < span.end)]
    wanted = (span.end - span.start) / timedelta(hours=1)
    return [name for name in (*NEEDED, LIGHT)
            if inside[name].notna().sum() < LEAST_SHARE * wanted]
