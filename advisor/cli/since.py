"""Instants that lie behind, as growers say them: "monday 08:00", "yesterday 18:30"."""

import re
from datetime import datetime, timedelta
from typing import Final

from advisor.cli import clock
from advisor.cli.session import Desk
from advisor.errors import Refused

_DAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_BACK: Final = {"today": 0, "yesterday": 1}
_SAID: Final = re.compile(r"([a-z]+)[ ,]+(\d{1,2}:\d{2})")


def since(text: str, desk: Desk) -> datetime:
    """Read an instant up to now.

    Parameters
    ----------
    text : str
        "monday 08:00" or "mon 08:00", the last one that was; "yesterday 18:30"; else as `--at`
        takes it.
    desk : Desk
        Gives now and the zone.

    Returns
    -------
    datetime
        On the garden's clock.

    Raises
    ------
    Refused
        Not an instant, or one to come.
    """
    said = _SAID.fullmatch(text.strip().lower())
    at = _on(said[1], said[2], text, desk) if said else clock.parse(text, desk.zone, desk.at)
    if at > desk.at:
        raise Refused("instant", repr(text), "one that has been",
                      f"It is {clock.instant_words(desk.at, desk.zone)} now.")
    return at.astimezone(desk.zone)


def _on(word: str, time: str, text: str, desk: Desk) -> datetime:
    """Give the last such day's time of the clock."""
    today = desk.at.astimezone(desk.zone).date()
    days = [day for day in _DAYS if len(word) >= 3 and day.startswith(word)]
    if word not in _BACK and not days:
        raise Refused("instant", repr(text), "a day and a time of the clock",
                      "Write it as 'monday 08:00', 'yesterday 08:00' or 2026-07-01T08:00.")
    back = _BACK[word] if word in _BACK else (today.weekday() - _DAYS.index(days[0])) % 7
    at = clock.parse(f"{today - timedelta(days=back)}T{time.zfill(5)}", desk.zone, desk.at)
    if days and at > desk.at:  # this weekday's hour is still to come
        at = clock.parse(f"{today - timedelta(days=back + 7)}T{time.zfill(5)}", desk.zone, desk.at)
    return at
