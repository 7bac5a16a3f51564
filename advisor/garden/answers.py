"""The last answer to each question put to an open service, so that nothing is asked twice.

An answer replaces the one before it, in the same transaction as the weather read from it where
the caller wants that; a failure leaves the body as it is and says what went wrong.
"""

import hashlib
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from advisor.garden.file import GardenFile, whole
from advisor.garden.instants import from_seconds, to_seconds

if TYPE_CHECKING:
    from advisor.weather.client import Fetched, StoredAnswer
    from advisor.weather.services import Request

_TOLD = ("service", "request", "tried_at", "fetched_at", "fresh_until", "status", "error", "note",
         "digest")
_COLUMNS = ("service", "request", "tried_at", "fetched_at", "fresh_until", "expires",
            "last_modified", "status", "error", "note", "digest", "body")
_SAVE = (f"INSERT OR REPLACE INTO answer ({', '.join(_COLUMNS)}) "
         f"VALUES ({', '.join('?' * len(_COLUMNS))})")
_OF = "FROM answer WHERE service = ? AND request = ?"


@dataclass(frozen=True)
class KeptAnswer:
    """What a service answered last, and how the last try went.

    Parameters
    ----------
    service, request : str
        Which service, and what it was asked.
    tried_at : datetime
        When it was asked last.
    fetched_at : datetime, optional
        When it answered last; None where it never did.
    fresh_until : datetime
        Until when it need not be asked again.
    status : int, optional
        Of the last reply.
    error, note : str
        Of the last try; "" where there is nothing to say.
    digest : str
        Of the body; "" where there is none.
    """

    service: str
    request: str
    tried_at: datetime
    fetched_at: datetime | None
    fresh_until: datetime
    status: int | None = None
    error: str = ""
    note: str = ""
    digest: str = ""


def key_of(request: "Request") -> str:
    """Give what tells a question from every other to the same service; no contact is in it."""
    params: Mapping[str, str] = request.params
    asked = "&".join(f"{name}={value}" for name, value in sorted(params.items()))
    return f"{request.interface} {request.url}?{asked}"


class AnswerStore(GardenFile):
    """The part of a garden file that remembers what services answered."""

    def stored_answer(self, request: "Request") -> "StoredAnswer | None":
        """Give what is kept of the last answer to a request, as `client.fetch` takes it."""
        from advisor.weather.client import StoredAnswer

        row = self._row("SELECT body, fetched_at, tried_at, fresh_until, expires, last_modified "
                        f"{_OF}", (request.service, key_of(request)))
        if row is None:
            return None
        body, fetched, tried, fresh, *headers = row
        with whole(self.path):
            at = from_seconds(tried if fetched is None else fetched)
            return StoredAnswer(_unpacked(body), at, from_seconds(fresh), *headers)

    def save_fetched(self, request: "Request", fetched: "Fetched", at: datetime, *,
                     keep_body: bool = True) -> None:
        """Keep what came of asking a service; nothing where it was not asked.

        Parameters
        ----------
        request : Request
            What it was asked.
        fetched : Fetched
            What came of it.
        at : datetime
            Now.
        keep_body : bool
            Not where it will not be asked again, and its hours are kept.
        """
        if fetched.outcome == "fresh":
            return
        answer = fetched.answer
        body = answer.body
        row: dict[str, Any] = {
            "service": request.service, "request": key_of(request), "tried_at": to_seconds(at),
            "fetched_at": None if body is None else to_seconds(answer.fetched_at),
            "fresh_until": to_seconds(answer.fresh_until), "expires": answer.expires,
            "last_modified": answer.last_modified, "status": fetched.status,
            "error": str(fetched.error or ""), "note": " ".join(fetched.notes),
            "digest": "" if body is None else hashlib.sha256(body).hexdigest(),
            "body": zlib.compress(body) if body is not None and keep_body else None,
        }
        with self.writing():
            self._connection.execute(_SAVE, tuple(row[name] for name in _COLUMNS))

    def answers(self) -> list[KeptAnswer]:
        """Give what is kept of every request, by service, then by request."""
        rows = self._rows(f"SELECT {', '.join(_TOLD)} FROM answer ORDER BY service, request")
        with whole(self.path):
            return [KeptAnswer(service, request, from_seconds(tried),
                               None if fetched is None else from_seconds(fetched),
                               from_seconds(fresh), *told)
                    for service, request, tried, fetched, fresh, *told in rows]


def _unpacked(body: bytes | None) -> bytes | None:
    try:
        return None if body is None else zlib.decompress(body)
    except zlib.error as error:
        raise ValueError("a body that is not whole") from error
