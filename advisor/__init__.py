"""Which trees in shallow pots want water this morning, from weather, pot and tree."""

__version__ = "0.1.0"
