"""One request on the wire: retries, redirects, time-outs, and what a reply means.

Too many calls and failing servers are met with a few patient retries (urllib3's); every step
has the time that is left. Redirects stay encrypted, bodies stay small, passwords stay at home.
"""

import json
import random
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from urllib.parse import urljoin, urlsplit

from advisor.weather.services import Request

if TYPE_CHECKING:
    import requests
    import urllib3

#: to be connected, and between two pieces of an answer [s], [J] 3 to 20
CONNECT_S, READ_S = 6.0, 10.0
#: tries after the first; first wait, doubling, and what chance adds [s], [J]
RETRIES, FIRST_WAIT_S, JITTER_S = 3, 0.5, 0.5
AGAIN = (429, 500, 502, 503, 504)
MOST_REDIRECTS = 3
#: a year of hours is a megabyte [B], [J]
MOST_BYTES, PIECE_BYTES = 20_000_000, 65_536
SAID = 200  # letters of a reason that are passed on

_LATER = "Try again later."
_ASKED = "Check what was asked for: place, days, names."
#: status -> what it means, what to do
STATUS: dict[int, tuple[str, str]] = {
    400: ("question not understood", _ASKED),
    403: (
        "caller turned away",
        "Set a contact that is true; more than four decimals are refused too.",
    ),
    404: ("nothing there", _ASKED),
    422: ("place or days not covered", _ASKED),
    429: ("asked too often", "Ask less often; the limit ends by itself."),
    499: ("question given up", _LATER),
    500: ("service failed", _LATER),
    502: ("service failed", _LATER),
    503: ("overloaded", _LATER),
    504: ("service failed", _LATER),
}


@dataclass(frozen=True)
class Means:
    """What a fetch leans on besides its arguments.

    Attributes
    ----------
    clock : callable
        Seconds that only grow.
    sleep : callable
        Waits so many seconds.
    draw : callable
        A number from 0 to 1 by chance.
    """

    clock: Callable[[], float] = time.monotonic
    sleep: Callable[[float], None] = time.sleep
    draw: Callable[[], float] = random.random


MEANS = Means()


@dataclass(frozen=True)
class Reply:
    """A reply that can be used: its status, headers, body, and what else to tell."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    notes: tuple[str, ...] = ()


class Failed(Exception):
    """An attempt that failed, and whether another may do better."""

    def __init__(
        self, happened: str, do: str = _LATER, *, status: int | None = None, again: bool = False
    ) -> None:
        super().__init__(happened)
        self.happened, self.do, self.status, self.again = happened, do, status, again
        self.wait_s = 0.0


def patiently(request: Request, modified: str, deadline: float, means: Means) -> Reply:
    """Ask again where that may help and there is time; raise `Failed` where it is over."""
    import requests
    from urllib3.exceptions import MaxRetryError
    from urllib3.util import Retry

    patience = Retry(RETRIES, backoff_factor=FIRST_WAIT_S, backoff_jitter=JITTER_S)
    while True:
        try:
            with requests.Session() as session:
                return _once(session, request, modified, deadline - means.clock(), means)
        except Failed as failed:
            if not failed.again:
                raise
            try:
                patience = patience.increment(request.method, request.url)
            except MaxRetryError:
                raise failed from None
            backoff = patience.get_backoff_time() or FIRST_WAIT_S + JITTER_S * means.draw()
            wait_s = max(failed.wait_s, backoff)
            if means.clock() + wait_s >= deadline:
                raise
            means.sleep(wait_s)


def _once(
    session: "requests.Session",
    request: Request,
    modified: str,
    left_s: float,
    means: Means,
) -> Reply:
    """Ask once, following redirects, and judge the reply."""
    import requests
    import urllib3

    deadline = means.clock() + left_s
    headers = dict(request.headers)
    if modified:
        headers["If-Modified-Since"] = modified
    try:
        response, notes = _followed(session, request, headers, (deadline, means.clock))
        with response:
            body = _body(response, deadline, means.clock)
    except (requests.Timeout, urllib3.exceptions.TimeoutError):
        raise Failed("no answer in time", again=True) from None
    except requests.exceptions.SSLError:
        raise Failed("a certificate that cannot be trusted") from None
    except requests.exceptions.InvalidURL:
        raise Failed("an address that cannot be asked", _ASKED) from None
    except requests.ConnectionError:
        raise Failed("no connection", "Check the network connection.", again=True) from None
    except (requests.RequestException, urllib3.exceptions.HTTPError):
        raise Failed("an answer cut off", again=True) from None
    if response.status_code == 304 and not modified:
        raise Failed("'not changed' (status 304), though nothing is stored", again=True)
    return _judged(Reply(response.status_code, response.headers, body, notes))


def _followed(
    session: "requests.Session",
    request: Request,
    headers: Mapping[str, str],
    until: tuple[float, Callable[[], float]],
) -> tuple["requests.Response", tuple[str, ...]]:
    """Go where the service sends, a few times; each step within the time left."""
    deadline, clock = until
    url, params = request.url, dict(request.params)
    notes: tuple[str, ...] = ()
    for _ in range(MOST_REDIRECTS + 1):
        left_s = max(deadline - clock(), 0.01)
        response = session.request(
            request.method,
            url,
            params=params,
            headers=dict(headers),
            timeout=(min(CONNECT_S, left_s), min(READ_S, left_s)),
            allow_redirects=False,
            stream=True,
            auth=_no_password,
        )
        if not response.is_redirect:
            return response, notes
        response.close()
        url, params = _next_url(response.url, response.headers["Location"]), {}
        notes = (f"{host(request.url)} sent on to {host(url)}.",)
    raise Failed("redirects without end")


def _no_password(prepared: "requests.PreparedRequest") -> "requests.PreparedRequest":
    """Keep the user's stored passwords out of it."""
    return prepared


def _next_url(url: str, location: str) -> str:
    """Give the address sent on to; refuse to leave an encrypted connection."""
    try:
        target = urljoin(url, location)
        scheme = urlsplit(target).scheme
    except ValueError:
        raise Failed("a redirect to an address that cannot be asked") from None
    if scheme not in ("http", "https") or (urlsplit(url).scheme == "https" and scheme != "https"):
        raise Failed("a redirect to an address that is not encrypted")
    return target


def _body(response: "requests.Response", deadline: float, clock: Callable[[], float]) -> bytes:
    """Read a body piece by piece, as long as there is time and it stays of a sane size."""
    raw: urllib3.BaseHTTPResponse = response.raw
    pieces, size = [], 0
    while piece := raw.read1(PIECE_BYTES, decode_content=True):
        pieces.append(piece)
        size += len(piece)
        if size > MOST_BYTES:
            raise Failed(f"an answer of more than {MOST_BYTES // 1_000_000} MB")
        if clock() >= deadline:
            raise Failed("an answer that comes too slowly")
    return b"".join(pieces)


def _judged(reply: Reply) -> Reply:
    """Pass on a reply that can be used; raise `Failed` for any other."""
    if reply.status == 304:
        return reply
    if reply.status not in (200, 203):
        means, do = STATUS.get(reply.status, ("not expected", _LATER))
        reason = _reason(reply.body)
        said = f", saying '{reason}'" if reason else ""
        failed = Failed(
            f"status {reply.status} ({means}{said})",
            do,
            status=reply.status,
            again=reply.status in AGAIN,
        )
        failed.wait_s = _retry_after_s(reply.headers.get("Retry-After"))
        raise failed
    if _document(reply.body) is None:
        page = reply.body.lstrip()[:1] == b"<"
        found = "a web page instead of data" if page else "data that cannot be read"
        raise Failed(found, status=reply.status, again=not page)
    if reply.status == 203:
        note = "The service calls this interface new or soon to end (status 203)."
        return replace(reply, notes=(*reply.notes, note))
    return reply


def _retry_after_s(told: str | None) -> float:
    """Read `Retry-After`: seconds, or an instant; 0 where it says nothing readable."""
    from urllib3.exceptions import InvalidHeader
    from urllib3.util import Retry

    try:
        return float(Retry().parse_retry_after(told)) if told else 0.0
    except (InvalidHeader, ValueError, OverflowError):
        return 0.0


def _document(body: bytes) -> object:
    try:
        found: object = json.loads(body)
    except (ValueError, RecursionError):
        return None
    return found


def _reason(body: bytes) -> str:
    """Give what the service says of its refusal, in its own words, on one line."""
    found = _document(body)
    if not isinstance(found, dict):
        return ""
    for key in ("reason", "detail", "message", "messages", "errors"):
        said = found.get(key)
        if said:
            words = said if isinstance(said, str) else json.dumps(said, ensure_ascii=False)
            plain = "".join(letter if letter.isprintable() else " " for letter in words)
            return " ".join(plain.split())[:SAID]
    return ""


def host(url: str) -> str:
    """Give the host of an address, for messages."""
    return urlsplit(url).hostname or url
