"""`advisor weather chart`: the weather, drawn."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from advisor.cli.session import Session, at_option, pass_session

if TYPE_CHECKING:
    from advisor.garden.store import Garden
    from advisor.jobs.sky import Sky
    from advisor.show.charts import Spread, Times
    from advisor.show.weather_chart import WeatherData, Words

BACK_DAYS: Final = 14
AHEAD_DAYS: Final = 10
Z_90: Final = 1.645  # standard deviations from the middle to the 95 % quantile [S]
#: rows of the strip
ROWS: Final = {"temp_c": "temperature", "vapour_kpa": "humidity", "wind_ms": "wind",
               "ghi_wm2": "radiation", "rain_mm": "rain"}


@click.command()
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Where to draw it: .png, .svg or .pdf; else weather.png here.")
@at_option
@pass_session
def chart(session: Session, out: Path | None, at: str | None) -> None:
    """Draw two weeks past and ten days coming: temperature, rain, ET0, and where they come from."""
    from advisor.cli.hours import read_sky, refresh
    from advisor.cli.working import opened
    from advisor.show.charts import save
    from advisor.show.weather_chart import drawing

    with opened(session.path) as garden:
        site = garden.site()
        now = session.now(at, site.zone)
        knowledge = garden.knowledge(now)
        refresh(garden, site, knowledge.places.values(), now)
        data = chart_data(garden, read_sky(garden, knowledge, now), now)
    path = out or Path("weather.png")
    save(drawing(data), path)
    click.echo(f"Drawn: {path}" + (f"\n{data.note}" if data.note else ""))


def chart_data(garden: "Garden", sky: "Sky", now: datetime) -> "WeatherData":
    """Give the weather around an instant as the arrays of a chart, whole local days."""
    import numpy as np

    from advisor.show.weather_chart import WeatherData

    first, last = _window(sky, now)
    start, end = sky.instant(first), sky.instant(last)
    part = slice(first, last)
    series = garden.weather(start, end, now)
    hour = np.timedelta64(3600, "s")
    times = np.datetime64(start.replace(tzinfo=None), "s") + hour * np.arange(last - first)
    days, et0 = _et0(sky, part)
    names = {name for value in ROWS for name in series[f"{value}_source"].tolist()}
    thanks = sorted({each.attribution or each.licence for each in garden.weather_sources()
                     if each.name in names} - {""})
    return WeatherData(
        times=times, zone=sky.zone.key, now=np.datetime64(now.astimezone(UTC).replace(tzinfo=None),
                                                          "s"),
        temp_c=_temperature(garden, sky, part, now), rain_mm=np.where(
            sky.rain_unknown[part] & ~sky.guessed[part], np.nan, sky.rain_mm[part]),
        days=days, et0_mm=et0, origins=_origins(series, sky, part), note=". ".join(thanks))


def _window(sky: "Sky", now: datetime) -> tuple[int, int]:
    """Give first and last hour of the whole local days around now."""
    first = max(sky.index(sky.midnight(now - timedelta(days=BACK_DAYS))), 0)
    last = min(sky.index(sky.midnight(now + timedelta(days=AHEAD_DAYS + 1))), sky.hours)
    return first, last


def _temperature(garden: "Garden", sky: "Sky", part: slice, now: datetime) -> "Spread":
    """Give temperature with its spread: none where known, by days ahead where foretold."""
    import numpy as np

    from advisor.garden.derived import SITE
    from advisor.show.charts import Spread

    kept = garden.hours(SITE)
    lead_d = np.zeros(sky.hours)
    begins = (sky.first - int(kept["hour"][0])) // 3600
    told = kept["lead_d"][begins:begins + sky.hours]
    lead_d[:told.size] = told
    by_day = np.array([error.spread for error in garden.errors_by_lead("temp_c", now)])
    sd = np.where(lead_d > 0.0, by_day[np.minimum(lead_d.astype(int), by_day.size - 1)], 0.0)
    sd = np.where(sky.guessed, by_day[-1], sd)[part]
    mid = sky.temp_c[part]
    return Spread(mid - Z_90 * sd, mid, mid + Z_90 * sd)


def _et0(sky: "Sky", part: slice) -> tuple["Times", "Spread"]:
    """Give start and end of each local day, and its ET0 in the open with its spread."""
    import numpy as np

    from advisor.jobs.named import OPEN_PLACE
    from advisor.show.charts import Spread

    day = sky.day[part]
    starts = np.flatnonzero(np.diff(day, prepend=day[0] - 1))
    sums = np.add.reduceat(sky.et0_mm[OPEN_PLACE.name][part], starts)
    sd = np.maximum.reduceat(sky.sd[part], starts)
    edges = np.append(starts, len(day)) + part.start
    at = (sky.first + 3600 * edges).astype("datetime64[s]")
    days = np.column_stack([at[:-1], at[1:]])
    return days, Spread(sums * np.exp(-Z_90 * sd), sums, sums * np.exp(Z_90 * sd))


def _origins(series: dict[str, "Words"], sky: "Sky", part: slice) -> dict[str, "Words"]:
    """Give for each row of the strip what kind of source knew the hour, or what stands in."""
    import numpy as np

    hours = part.stop - part.start
    first = sky.first + 3600 * part.start
    row = (series["hour"].astype(np.int64) - first) // 3600
    guessed = sky.guessed[part]
    made: dict[str, Words] = {}
    for value, name in ROWS.items():
        missing = "unknown" if value == "rain_mm" else "worked out"
        column = np.full(hours, missing, dtype=object)
        known = series[f"{value}_kind"] != ""
        column[row[known]] = series[f"{value}_kind"][known]
        stands_in = guessed & (column == missing)
        column[stands_in] = "carried on"
        made[name] = column
    return made
