"""An answer of any service into hours, by who was asked what."""

from collections.abc import Callable
from datetime import datetime

from advisor.weather.services import Request, brightsky, metno, openmeteo, power
from advisor.weather.services.reply import Answer


def read(request: Request, body: bytes, *, issued_at: datetime) -> list[Answer]:
    """Read the answer to a request.

    Parameters
    ----------
    request : Request
        What was asked.
    body : bytes
        The answer.
    issued_at : datetime
        When it was given.

    Raises
    ------
    Refused
        The answer cannot be used; the message names the host.
    """
    if request.service == openmeteo.SERVICE.name:
        return openmeteo.read(body, issued_at=issued_at, interface=request.interface)
    readers: dict[str, Callable[..., list[Answer]]] = {
        each.SERVICE.name: each.read for each in (metno, brightsky, power)
    }
    return readers[request.service](body, issued_at=issued_at)
