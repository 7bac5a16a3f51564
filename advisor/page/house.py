"""What the pages are made for: the garden, who may call them, the rounds worked out."""

from dataclasses import dataclass, field

from advisor.page.gardens import PageSession
from advisor.page.guard import Pairing
from advisor.page.round_view import Rounds


@dataclass(frozen=True)
class House:
    """What the pages are made for.

    Attributes
    ----------
    session : PageSession
        Which garden, and what the clock shows.
    key : bytes
        Signs cookies.
    hosts : frozenset of str
        Names by which the pages may be called, each with its port.
    pairing : Pairing or None
        None where the pages are for this computer only.
    secure : bool
        They come by https.
    """

    session: PageSession
    key: bytes
    hosts: frozenset[str]
    pairing: Pairing | None = None
    secure: bool = False
    rounds: Rounds = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "rounds", Rounds(self.session))
