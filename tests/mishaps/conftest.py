"""The same grower and garden as the tests of the commands."""

from cli.conftest import garden, grower, nobody_there

__all__ = ["garden", "grower", "nobody_there"]
