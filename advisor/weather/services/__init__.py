"""Open weather services: who they are, on what terms, and what is asked of them.

One module a service makes its requests and reads its answers; none of them opens a connection
(`advisor.weather.client` does). Terms as in the services' own documentation, read between
2023-03 and 2026-08.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal
from urllib.parse import urlencode

from advisor import __version__
from advisor.errors import Refused
from advisor.units import check
from advisor.weather.where import Where

Interface = Literal["forecast", "ensemble", "archive", "hourly", "daily"]


@dataclass(frozen=True)
class Service:
    """An open weather service and its terms.

    Attributes
    ----------
    name : str
        In origins and options ("met-norway").
    host : str
        Where it answers.
    attribution : str
        To be shown wherever its data is shown.
    link : str
        That goes with the attribution.
    licence : str
        Of the data.
    needs_contact : bool
        Refuses callers who do not say who they are.
    limits : str
        What may be asked, in words.
    """

    name: str
    host: str
    attribution: str
    link: str
    licence: str
    needs_contact: bool
    limits: str


SERVICES: dict[str, Service] = {
    each.name: each
    for each in (
        Service(
            "open-meteo",
            "api.open-meteo.com",
            "Weather data by Open-Meteo.com",
            "https://open-meteo.com/",
            "CC BY 4.0",
            False,
            "non-commercial; under 600 calls a minute, 5000 an hour, 10000 a day, a call of "
            "more than 14 days or 10 variables counting as several",
        ),
        Service(
            "met-norway",
            "api.met.no",
            "Data from MET Norway",
            "https://api.met.no/",
            "CC BY 4.0 and NLOD 2.0",
            True,
            "under 20 requests a second; nothing before the answer's Expires",
        ),
        Service(
            "bright-sky",
            "api.brightsky.dev",
            "Source: Deutscher Wetterdienst",
            "https://www.dwd.de/",
            "CC BY 4.0",
            False,
            "none stated",
        ),
        Service(
            "power",
            "power.larc.nasa.gov",
            "The data was obtained from the NASA Langley Research Center POWER Project",
            "https://power.larc.nasa.gov/",
            "free, acknowledgement asked",
            False,
            "20 daily or 15 hourly quantities a call",
        ),
    )
}


@dataclass(frozen=True)
class Request:
    """One question to a service.

    Attributes
    ----------
    service : str
        Key of `SERVICES`.
    interface : "forecast", "ensemble", "archive", "hourly" or "daily"
        Which of its interfaces.
    url : str
        Without the parameters.
    params, headers : mapping
        Parameters of the query; headers to send.
    method : str
        Always GET.
    key : str
        What is asked, in one line.
    """

    service: str
    interface: Interface
    url: str
    params: Mapping[str, str]
    headers: Mapping[str, str] = field(default_factory=dict)
    method: str = "GET"

    @property
    def key(self) -> str:
        """What is asked, in one line, whoever asks: answers are stored under it."""
        return f"{self.interface} {self.url}?{urlencode(sorted(self.params.items()))}"


def headers(service: Service, contact: str) -> dict[str, str]:
    """Say who asks, and that a compressed answer is welcome.

    Parameters
    ----------
    service : Service
        Who is asked.
    contact : str
        Mail address or web page of who asks; may be empty where none is needed.

    Raises
    ------
    Refused
        No contact for a service that needs one, or one that cannot stand in a header.
    """
    contact = contact.strip()
    if not contact.isascii() or not contact.isprintable():
        raise Refused("contact", repr(contact), "plain letters on one line", "Give a mail address.")
    if service.needs_contact and not ("@" in contact or "." in contact):
        raise Refused(
            f"contact for {service.host}",
            contact or "nothing",
            "a mail address or web page: the service turns away who does not say who asks",
            "Set a contact, or leave this service out.",
        )
    agent = f"advisor/{__version__} {contact}".strip()
    return {"User-Agent": agent, "Accept-Encoding": "gzip", "Accept": "application/json"}


def coordinates(site: Where) -> tuple[str, str]:
    """Write latitude and longitude with four decimals (11 m), the most that services take.

    Raises
    ------
    Refused
        Beyond the earth.
    """
    latitude = check("latitude_deg", site.latitude_deg)
    longitude = check("longitude_deg", site.longitude_deg)
    return f"{latitude:.4f}", f"{longitude:.4f}"


def refused(service: Service, happened: str, wanted: str, do: str) -> Refused:
    """Make the refusal of an answer: which host, what happened, what would do, what to do."""
    return Refused(f"answer of {service.host}", happened, wanted, do)
