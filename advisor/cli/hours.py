"""Keep each place's hours in step with weather and place, and read them for a round."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from advisor.cli import settled
from advisor.errors import Refused
from advisor.garden.derived import SITE
from advisor.garden.knowledge import Knowledge
from advisor.garden.lead import errors_by_lead
from advisor.garden.records import Place, Site
from advisor.jobs.named import OPEN_PLACE, seed_of
from advisor.jobs.sky import HOUR_S, Hours, Sky, sky_of
from advisor.jobs.ways import Foretold

if TYPE_CHECKING:
    from advisor.garden.store import Garden
    from advisor.jobs.air import Air

EVER: Final = (datetime(1850, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC))
FORM: Final = "2"  # of the hours kept: grows when what is kept of them changes
MANY: Final = "\0many forecasts"  # in place of a place's name
RECORD: Final = timedelta(days=120)  # of past forecasts compared with what came
LATELY: Final = timedelta(days=30)  # whose mean day shows what an error does to ET0
AHEAD: Final = timedelta(days=12)  # of weather read for a round


def refresh(garden: "Garden", site: Site, places: Iterable[Place], at: datetime) -> str:
    """Work out the hours of every place that weather, site or its own record left behind.

    Weather issued later than `at` does not count, so that a day can be replayed.

    Returns
    -------
    str
        The digest of all that they were worked out from.

    Raises
    ------
    Refused
        There is no weather at all.
    """
    revision = garden.weather_revision(at)
    if not revision:
        raise Refused("weather", "none in this garden yet", "a file of hourly weather",
                      "Get it (advisor weather get) or add a file (advisor weather add FILE).")
    spots = {place.name: place for place in (*places, OPEN_PLACE)}
    names = [SITE, *spots]
    wanted = {name: _digest(site, spots.get(name), revision) for name in names}
    stale = [name for name in names if _first_word(garden, name) != wanted[name]]
    if not stale:
        return " ".join(wanted.values())
    from advisor.jobs import air  # loads pandas and pvlib

    weather = garden.weather(*EVER, at)
    start = _settled(garden, site, {name: spots.get(name) for name in {SITE, *stale}}, weather)
    part = weather if start is None else settled.since(weather, start)
    stand = [spots[name] for name in stale if name != SITE]
    worked = air.work_out(site, stand, air.table_of(part), air.lead_of(part))
    worked.site["sd"], foretold = _foretold(garden, site, weather, worked, at)
    made = {SITE: worked.site, **worked.places}
    hour: NDArray[np.int64] = worked.hour
    days: Mapping[str, NDArray[Any]] = worked.days
    if start is not None:
        joined = settled.Joined.at(start, garden.hours(SITE)["hour"], worked.hour)
        hour, days = joined.hour, settled.days_joined(garden, site, start, worked)
        made = {name: joined.values(garden.hours(name), values) for name, values in made.items()}
    midnight = settled.midnight(site, at)
    so_far = settled.digest(weather, midnight)
    with garden.deriving():
        if foretold is not None:
            garden.save_hours(MANY, wanted[SITE], *_columns(foretold))
        garden.save_days(days, revision)
        for name, values in made.items():
            garden.save_hours(name, " ".join([wanted[name], str(int(midnight.timestamp())), _digest(
                site, spots.get(name), so_far)]), hour, values)
    return " ".join(wanted.values())


def _first_word(garden: "Garden", name: str) -> str:
    """Give the digest of what a place's hours were worked out from; "" where there are none."""
    return (garden.hours_digest(name) or "").split(" ")[0]


def _settled(garden: "Garden", site: Site, spots: Mapping[str, Place | None],
             weather: Mapping[str, NDArray[Any]]) -> datetime | None:
    """Give the midnight up to which what is kept of all these places still holds."""
    kept = {name: (garden.hours_digest(name) or "").split(" ") for name in spots}
    midnights = {words[1] if len(words) == 3 else "" for words in kept.values()}
    if len(midnights) != 1 or "" in midnights:
        return None
    start = datetime.fromtimestamp(int(midnights.pop()), UTC)
    stored = garden.hours(SITE)["hour"]
    if not stored.size or stored[0] != weather["hour"][0] or start.timestamp() > stored[-1]:
        return None
    so_far = settled.digest(weather, start)
    same = all(words[2] == _digest(site, spots[name], so_far) for name, words in kept.items())
    return start if same and int(start.timestamp()) > weather["hour"][0] else None


def _foretold(garden: "Garden", site: Site, weather: Mapping[str, NDArray[Any]], worked: "Air",
              at: datetime) -> tuple[NDArray[np.float64], Foretold | None]:
    """Give how far what was foretold may be off, hour by hour, and the many forecasts there are."""
    lead_d = worked.site["lead_d"]
    if not lead_d.any():
        return np.zeros(lead_d.size), None
    from advisor.demand.days import site_days
    from advisor.jobs import air, foretold

    layers = garden.layers(at - RECORD, at, at)[0]
    errors = {value: errors_by_lead(value, layers) for value in foretold.VALUES}
    since = weather["hour"] >= int((at - LATELY).timestamp())
    lately = air.table_of({name: column[since] for name, column in weather.items()})
    days = site_days(site, lately)
    many = (air.table_of(table) for table in garden.possible_futures(at).values())
    return (foretold.sd_of_hours(lead_d, foretold.sd_by_lead(site, lately, days, errors)),
            foretold.foretold_of(site, lately, many))


def _columns(foretold: Foretold) -> tuple[NDArray[np.int64], dict[str, NDArray[np.float64]]]:
    """Give many forecasts as hours to be kept."""
    hour = foretold.first + HOUR_S * np.arange(len(foretold.rain_mm), dtype=np.int64)
    return hour, {f"{name}_{i}": column for name, table in
                  (("rain_mm", foretold.rain_mm), ("factor", foretold.factor))
                  for i, column in enumerate(table.T)}


def _kept_foretold(garden: "Garden", digest: str | None) -> Foretold | None:
    """Read the many forecasts back, where they are those of the weather kept."""
    if digest is None or garden.hours_digest(MANY) != digest:
        return None
    kept = garden.hours(MANY)
    tables = [np.column_stack([column for key, column in kept.items() if key.startswith(name)])
              for name in ("rain_mm", "factor")]
    return Foretold(int(kept["hour"][0]), *tables)


def _digest(site: Site, place: Place | None, revision: str) -> str:
    return f"{seed_of(FORM, repr(site), repr(place), revision):016x}"


def read_sky(garden: "Garden", knowledge: Knowledge, at: datetime) -> Sky:
    """Read the weather for a round at an instant.

    Raises
    ------
    Refused
        None reaches to about that instant.
    """
    return sky_of(read_hours(garden, knowledge), knowledge.site.time_zone, at, at + AHEAD)


def read_hours(garden: "Garden", knowledge: Knowledge) -> Hours:
    """Read all hours that are kept, those of every place on one grid."""
    shared = garden.hours(SITE)
    first, size = int(shared["hour"][0]), shared["hour"].size
    et0 = {}
    for name in (*knowledge.places, OPEN_PLACE.name):
        kept = garden.hours(name)
        column = np.full(size, np.nan)
        start = (int(kept["hour"][0]) - first) // HOUR_S if kept["hour"].size else 0
        column[start:start + kept["hour"].size] = kept.get("et0_mm", np.empty(0))
        et0[name] = column
    many = _kept_foretold(garden, _first_word(garden, SITE))
    return Hours(first, shared["temp_c"], shared["rain_mm"], et0, shared["lead_d"],
                 shared["sd"], many)
