"""Nothing here talks to anything but this computer, unless asked to with --live."""

import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest

LOOPBACK = ("127.0.0.1", "::1", "localhost")


@dataclass(frozen=True)
class Spot:
    """Where weather is wanted."""

    latitude_deg: float = 52.1
    longitude_deg: float = 5.18
    elevation_m: float = 2.0


@pytest.fixture
def site() -> Spot:
    return Spot()


@pytest.fixture(autouse=True)
def _loopback_only(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that opens a connection to anything else."""
    if request.node.get_closest_marker("live"):
        yield
        return
    strayed: list[Any] = []
    with pytest.MonkeyPatch.context() as patch:
        for name in ("connect", "connect_ex"):
            patch.setattr(socket.socket, name, _guarded(name, strayed))
        yield
    assert strayed == [], "a connection beyond this computer was tried"


def _guarded(name: str, strayed: list[Any]) -> Callable[..., Any]:
    real = getattr(socket.socket, name)

    def connect(self: socket.socket, address: Any) -> Any:
        if isinstance(address, tuple) and address[0] not in LOOPBACK:
            strayed.append(address)
            raise OSError("beyond this computer")
        return real(self, address)

    return connect
