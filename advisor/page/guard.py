"""Who may look and who may change: the key, the Host, the pairing code, the token of a form."""

import hashlib
import hmac
import os
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from threading import Lock
from typing import Final

from advisor.errors import Refused

#: Letters of a pairing code: none that is taken for another.
LETTERS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
CODE_LENGTH: Final = 8
KEY_BYTES: Final = 32
PAIRED_DAYS: Final = 180
FREE_TRIES: Final = 3  # wrong codes before the first wait
LONGEST_WAIT: Final = timedelta(minutes=15)
MOST_TRIES: Final = 60  # of all phones together; then no code is taken until the next start


def key_file(garden: Path) -> Path:
    """Give where the key that signs cookies lies: beside the garden."""
    return garden.with_name(f"{garden.name}.page-key")


def read_key(path: Path) -> bytes:
    """Read the key, made at the first call; only its owner may read it.

    Raises
    ------
    Refused
        It cannot be made, or is damaged.
    """
    try:
        try:
            made = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            path.chmod(0o600)
        else:
            with os.fdopen(made, "wb") as file:
                file.write(secrets.token_bytes(KEY_BYTES))
        key = path.read_bytes()
    except OSError as error:
        raise Refused("key of the page", f"{path}, {error.strerror}",
                      "a folder that may be written", "Allow it to be written.") from error
    if len(key) != KEY_BYTES:
        raise Refused("key of the page", path, f"{KEY_BYTES} bytes",
                      "Make a new one: advisor page --forget-phones.")
    return key


def new_code() -> str:
    """Give a pairing code."""
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))


def token(key: bytes, session_id: str) -> str:
    """Give the token that every form of a session carries."""
    return hmac.new(key, f"form {session_id}".encode(), hashlib.sha256).hexdigest()


def holds(key: bytes, session_id: str, given: str) -> bool:
    """Whether a token is that of a session."""
    return bool(session_id) and hmac.compare_digest(
        token(key, session_id).encode(), given.encode())


@dataclass
class _Tries:
    wrong: int = 0
    closed_until: datetime | None = None


@dataclass
class Pairing:
    """The pairing code, and how long who wrote a wrong one must wait.

    Parameters
    ----------
    code : str
    clock : callable
        Gives now.
    """

    code: str
    clock: Callable[[], datetime]
    _tries: dict[str, _Tries] = field(default_factory=dict)
    _wrong: int = 0
    _lock: Lock = field(default_factory=Lock)

    def wait_s(self, who: str) -> int:
        """Give how long a phone must wait before its next code counts [s]."""
        with self._lock:
            return self._wait_s(who)

    def _wait_s(self, who: str) -> int:
        if self._wrong >= MOST_TRIES:
            return int(LONGEST_WAIT.total_seconds())
        until = self._tries.get(who, _Tries()).closed_until
        left = (until - self.clock()).total_seconds() if until else 0.0
        return max(0, round(left + 0.5)) if left > 0.0 else 0

    def take(self, who: str, written: str) -> bool:
        """Whether a code is right; a wrong one makes the next wait longer."""
        with self._lock:
            if self._wait_s(who):
                return False
            plain = "".join(written.split()).replace("-", "").upper()
            if hmac.compare_digest(plain.encode(), self.code.encode()):
                self._tries.pop(who, None)
                return True
            self._wrong += 1
            tries = self._tries.setdefault(who, _Tries())
            tries.wrong += 1
            if tries.wrong >= FREE_TRIES:
                wait = timedelta(seconds=2.0 ** (tries.wrong - FREE_TRIES + 1))
                tries.closed_until = self.clock() + min(wait, LONGEST_WAIT)
            return False
