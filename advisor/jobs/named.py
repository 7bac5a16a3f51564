"""What a round needs to name even where nothing changed: seeds, the unnamed place, small pots."""

import hashlib
from typing import Final

from advisor.garden.records import Place, Potting

#: Where a tree stands whose place nobody told.
OPEN_PLACE: Final = Place("(no place told)")
#: Less soil than this counts as a small pot, whatever it is called [L] [J; .5-1].
SMALL_POT_L: Final = 0.7


def seed_of(*words: str) -> int:
    """Give a seed that is always the same for the same words."""
    digest = hashlib.blake2b("\x1f".join(words).encode(), digest_size=8).digest()
    return int.from_bytes(digest, "big") >> 1


def is_small(potting: Potting, soil_l: float) -> bool:
    """Whether a pot counts as small: by its form, or by its soil [L]."""
    return potting.form == "small pot" or soil_l < SMALL_POT_L
