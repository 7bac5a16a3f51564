"""The server of the pages: which address, who may reach it, and how it ends."""

import logging
import os
import signal
import socket
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from threading import Event, Thread
from typing import Any, Final

from advisor.errors import Refused

LOOPBACK: Final = "127.0.0.1"
EVERYWHERE: Final = "0.0.0.0"
THREADS: Final = 4
MOST_CONNECTIONS: Final = 100
SLOWEST_S: Final = 30  # until a client that says nothing more is left
MOST_HEADER: Final = 16 * 1024
WEATHER_EVERY_S: Final = 900.0
ROUND_EVERY_S: Final = 60.0  # worked out before anybody asks: the hour, the day, the weather change
REST_EVERY_S: Final = 1.0
PLAIN_PORTS: Final = (80, 443)


def bound(port: int, lan: bool) -> socket.socket:
    """Take a port, on this computer only or on the house network.

    Raises
    ------
    Refused
        The port is taken, or not for this user.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((EVERYWHERE if lan else LOOPBACK, port))
        listening.listen()
    except OSError as error:
        listening.close()
        raise Refused("--port", f"{port}, {error.strerror}", "a port that is free",
                      "Name another, or end the page that is open already.") from error
    return listening


def house_address() -> str:
    """Give this computer's address on the house network.

    Raises
    ------
    Refused
        It is on none.
    """
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.connect(("192.0.2.1", 9))  # RFC 5737; nothing is sent
        return str(asking.getsockname()[0])
    raise Refused("--lan", "this computer is on no network", "a house network",
                  "Connect it, or open the page here without --lan.")


def hosts(addresses: Iterable[str], port: int) -> frozenset[str]:
    """Give the names by which the pages may be called."""
    return frozenset(name for address in addresses for name in (
        f"{address}:{port}", *((address,) if port in PLAIN_PORTS else ())))


def run(app: Any, listening: socket.socket) -> None:
    """Serve until the keyboard ends it."""
    from waitress import create_server

    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a wait of a moment is no fault
    server = create_server(
        app, sockets=[listening], threads=THREADS, connection_limit=MOST_CONNECTIONS,
        channel_timeout=SLOWEST_S, max_request_header_size=MOST_HEADER,
        max_request_body_size=app.config["MAX_CONTENT_LENGTH"], ident=None)
    server.run()


def beside(work: Callable[[], object], every_s: float | None = None) -> Event:
    """Do something beside the server, once or again and again; give what ends it.

    What goes wrong once is told in the terminal, and it is done again all the same.
    """
    ended = Event()

    def loop() -> None:
        while not ended.is_set():
            try:
                work()
            except Refused:
                pass
            except Exception:
                logging.getLogger(__name__).exception("Beside the page:")
            if every_s is None or ended.wait(every_s):
                return

    Thread(target=loop, daemon=True).start()
    return ended


def end_when_told() -> None:
    """Let the system end the server as the keyboard does, so that the garden's file is closed."""
    with suppress(ValueError):  # in a thread there is nobody to tell
        signal.signal(signal.SIGTERM, signal.default_int_handler)


def ask_nobody() -> None:
    """Let no command that a form stands for ask at the terminal of the server."""
    sys.stdin = Path(os.devnull).open(encoding="utf-8")  # noqa: SIM115 - while it serves
