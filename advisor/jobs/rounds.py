"""When the grower walks the round."""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from advisor.garden.records import SEASONS, WEEKDAYS, Rounds, Site

#: A round asked for so shortly before its time is that round [J].
EARLY = timedelta(minutes=90)


def season_of(day: date, latitude_deg: float) -> str:
    """Give the season of a local day: by calendar quarters from March, south from September."""
    northern = (day.month - 3) % 12 // 3
    return SEASONS[northern if latitude_deg >= 0.0 else (northern + 2) % 4]


def rounds_between(rounds: Mapping[str, Rounds], site: Site, start: datetime,
                   end: datetime) -> list[datetime]:
    """Give the instants of all rounds after `start` and up to `end`, in order.

    Parameters
    ----------
    rounds : mapping of season to Rounds
    site : Site
        Its zone says what the clock shows, its latitude when the seasons are.
    start, end : datetime
    """
    found = sorted(_instants(rounds, site, start, end))
    return [at for at in found if start < at <= end]


def next_rounds(rounds: Mapping[str, Rounds], site: Site, at: datetime,
                end: datetime) -> list[datetime]:
    """Give the rounds to come: one that is less than EARLY ahead counts as the present one."""
    return rounds_between(rounds, site, at + EARLY, end)


def _instants(rounds: Mapping[str, Rounds], site: Site, start: datetime,
              end: datetime) -> Iterator[datetime]:
    zone = ZoneInfo(site.time_zone)
    day = start.astimezone(zone).date() - timedelta(days=1)
    last = end.astimezone(zone).date() + timedelta(days=1)
    while day <= last:
        told = rounds[season_of(day, site.latitude_deg)]
        if WEEKDAYS[day.weekday()] in told.weekdays:
            for clock in told.times:
                yield datetime.combine(day, time.fromisoformat(clock), zone).astimezone(UTC)
        day += timedelta(days=1)
