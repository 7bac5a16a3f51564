"""Where weather is wanted."""

from typing import Protocol


class Where(Protocol):
    """A point on the ground; a garden's site is one."""

    @property
    def latitude_deg(self) -> float:
        """Latitude, north positive [°]."""

    @property
    def longitude_deg(self) -> float:
        """Longitude, east positive [°]."""

    @property
    def elevation_m(self) -> float:
        """Elevation [m]."""
