"""Keep each place's hours in step with weather and place, and read them for a round."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final

import numpy as np

from advisor.errors import Refused
from advisor.garden.derived import SITE
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Place, Site
from advisor.jobs.describe import OPEN_PLACE, seed_of
from advisor.jobs.sky import Hours, Sky, sky_of

if TYPE_CHECKING:
    from advisor.garden.store import Garden

EVER: Final = (datetime(1850, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC))
AHEAD: Final = timedelta(days=12)  # of weather read for a round


def refresh(garden: "Garden", site: Site, places: Iterable[Place], at: datetime) -> None:
    """Work out the hours of every place that weather, site or its own record left behind.

    Weather issued later than `at` does not count, so that a day can be replayed.

    Raises
    ------
    Refused
        There is no weather at all.
    """
    revision = garden.weather_revision(at)
    if not revision:
        raise Refused("weather", "none in this garden yet", "a file of hourly weather",
                      "Get it (advisor weather get) or add a file (advisor weather add FILE).")
    wanted = {place: _digest(site, place, revision) for place in (*places, OPEN_PLACE)}
    stale = [place for place, digest in wanted.items()
             if garden.hours_digest(place.name) != digest]
    if not stale and garden.hours_digest(SITE) == _digest(site, None, revision):
        return
    from advisor.jobs import air  # loads pandas and pvlib

    weather = garden.weather(*EVER, at)
    worked = air.work_out(site, stale, air.table_of(weather), air.lead_of(weather))
    with garden.writing():
        garden.save_days(worked.days, revision)
        garden.save_hours(SITE, _digest(site, None, revision), worked.hour, worked.site)
        for place in stale:
            garden.save_hours(place.name, wanted[place], worked.hour, worked.places[place.name])


def _digest(site: Site, place: Place | None, revision: str) -> str:
    return f"{seed_of(repr(site), repr(place), revision):016x}"


def read_sky(garden: "Garden", knowledge: Knowledge, at: datetime) -> Sky:
    """Read the weather for a round at an instant.

    Raises
    ------
    Refused
        None reaches to about that instant.
    """
    shared = garden.hours(SITE)
    first, size = int(shared["hour"][0]), shared["hour"].size
    et0 = {}
    for name in (*knowledge.places, OPEN_PLACE.name):
        kept = garden.hours(name)
        column = np.full(size, np.nan)
        start = (int(kept["hour"][0]) - first) // 3600 if kept["hour"].size else 0
        column[start:start + kept["hour"].size] = kept.get("et0_mm", np.empty(0))
        et0[name] = column
    return sky_of(Hours(first, shared["temp_c"], shared["rain_mm"], et0, shared["lead_d"]),
                  knowledge.site.time_zone, at, at + AHEAD)
