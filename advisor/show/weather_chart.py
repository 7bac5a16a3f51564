"""The chart of the weather: temperature, rain and ET0, past and coming, and where it comes from.

Arrays in, axes out. Every hour of every value stands in a strip below with its origin, told
apart in grey by shade and hatching.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.show.charts import BLUE, BROKEN, EARTH, FAINT, GREY, INK, PALE, Floats, Spread, Times
from advisor.show.time_axis import DAY_S, Clock, day_name, name_days

Words = NDArray[np.object_]

SIZE_IN: Final = (11.0, 7.4)
HEIGHTS: Final = (2.6, 1.3, 1.7, 1.25)
RAIN_STEP_H: Final = 6
RAIN_AXIS_MM: Final = 4.0  # at least this much fits
HEADROOM: Final = 1.15
BAR: Final = 0.8  # of a day, the width of its ET0
ROW: Final = 0.8  # of a row of the strip, what is filled
KEY: Final = ("Band and whiskers: nine chances in ten. Hatching and broken line: as it may come. "
              "ET0: what short grass in the open would use.")
#: kind of origin -> its name, colour and hatching; from dark, nearest to the pot, to light
ORIGINS: Final[Mapping[str, tuple[str, str, str]]] = {
    "instrument": ("own instrument", "#12304F", ""),
    "station": ("station", "#3F79A8", ""),
    "file": ("file", "#7FA9C9", "...."),
    "analysis": ("analysis", "#BDD5E6", ""),
    "forecast": ("forecast", "#FFFFFF", "////"),
    "worked out": ("worked out from the rest", "#FFFFFF", "...."),
    "carried on": ("earlier days stand in", "#FFFFFF", "xxxx"),
    "unknown": ("not known", "#FFFFFF", ""),
}
EDGE: Final = "#5B7C97"


class Panels(NamedTuple):
    """The axes of a weather chart, from top to bottom."""

    temp: Axes
    rain: Axes
    et0: Axes
    origin: Axes


@dataclass(frozen=True)
class WeatherData:
    """What a weather chart shows.

    Attributes
    ----------
    times : array of datetime64, shape (n,)
        Starts of successive hours, UTC.
    zone : str
        Time zone of the labels.
    now : datetime64
        What lies after it is coming, UTC.
    temp_c : Spread
        Air temperature [°C], each of shape (n,).
    rain_mm : array, shape (n,)
        Rain of each hour [mm]; NaN where not known.
    days : array of datetime64, shape (d, 2)
        Start and end of each local day with an ET0, UTC.
    et0_mm : Spread
        Reference evapotranspiration of those days [mm], each of shape (d,).
    origins : mapping of str to array of str, shape (n,)
        A row of the strip each: keys of `ORIGINS` by hour.
    title : str
        One line.
    note : str
        Small print below: whom to thank.
    """

    times: Times
    zone: str
    now: np.datetime64
    temp_c: Spread
    rain_mm: Floats
    days: Times
    et0_mm: Spread
    origins: Mapping[str, Words]
    title: str = "Weather in the garden"
    note: str = ""

    def __post_init__(self) -> None:
        count = len(self.times)
        if count < 2:
            raise Refused("chart", f"{count} hours", "at least 2 hours", "Get more weather.")
        hourly = (*self.temp_c, self.rain_mm, *self.origins.values())
        daily = self.et0_mm
        if any(len(column) != count for column in hourly) or any(
                len(column) != len(self.days) for column in daily):
            raise Refused("chart", "columns of different lengths", "one value for each hour or day",
                          "Give all for the same hours and days.")


def weather_chart(data: WeatherData, axes: Panels | None = None) -> Panels:
    """Draw the weather.

    Parameters
    ----------
    data : WeatherData
        What to show.
    axes : Panels, optional
        Where to draw; a new figure otherwise (`panels.temp.figure`).

    Returns
    -------
    Panels
        The axes drawn on.
    """
    panels = _panels() if axes is None else axes
    clock = Clock(data.times, data.now, data.zone)
    _draw_temperature(panels.temp, data.temp_c, clock)
    _draw_rain(panels.rain, data.rain_mm, clock)
    _draw_et0(panels.et0, data, clock)
    _draw_origins(panels.origin, data.origins, clock)
    for each in panels:
        _draw_time(each, clock)
    name_days(panels.origin, clock)
    panels.origin.tick_params(axis="y", labelsize=8.5, colors=INK, length=0)
    _name_now(panels.temp, clock)
    panels.temp.set_title(data.title, loc="left", fontsize=13, fontweight="bold", color=INK, pad=24)
    _write_below(panels.origin, data)
    return panels


def drawing(data: WeatherData) -> Figure:
    """Draw the weather as a figure."""
    figure = weather_chart(data).temp.figure
    assert isinstance(figure, Figure)
    return figure


def _panels() -> Panels:
    figure = Figure(figsize=SIZE_IN)
    FigureCanvasAgg(figure)
    grid = figure.add_gridspec(4, 1, height_ratios=HEIGHTS, hspace=0.14, left=0.09, right=0.975,
                               top=0.895, bottom=0.185)
    first = figure.add_subplot(grid[0])
    return Panels(first, *(figure.add_subplot(grid[k], sharex=first) for k in (1, 2, 3)))


def _draw_temperature(axes: Axes, temp: Spread, clock: Clock) -> None:
    coming = clock.coming
    axes.fill_between(clock.x, temp.low, temp.high, where=coming, facecolor=EARTH, alpha=0.18,
                      linewidth=0)
    axes.plot(clock.x[clock.past], temp.mid[clock.past], color=EARTH, linewidth=1.7)
    axes.plot(clock.x[coming], temp.mid[coming], color=EARTH, linewidth=1.7, linestyle=BROKEN)
    if np.nanmin(temp.low) < 0.0:
        axes.axhline(0.0, color=GREY, linewidth=0.9)
    axes.set_ylabel("temperature, °C", fontsize=9)


def _draw_rain(axes: Axes, rain_mm: Floats, clock: Clock) -> None:
    starts = np.arange(0, len(rain_mm), RAIN_STEP_H)
    sums = np.add.reduceat(np.nan_to_num(rain_mm), starts)
    came = clock.past[starts]
    for part, face, hatch in ((came, BLUE, ""), (~came, "white", "////")):
        axes.bar(clock.x[starts][part], sums[part], width=RAIN_STEP_H / 24, align="edge",
                 linewidth=0.6, edgecolor=BLUE, facecolor=face, hatch=hatch)
    axes.set_ylim(0.0, HEADROOM * max(RAIN_AXIS_MM, float(sums.max())))
    axes.set_ylabel(f"rain,\nmm in {RAIN_STEP_H} h", fontsize=9)


def _draw_et0(axes: Axes, data: WeatherData, clock: Clock) -> None:
    """A bar for each local day; whiskers on those that are foretold."""
    start, end = data.days.astype("datetime64[s]").astype(np.int64).T / DAY_S
    middle, width = (start + end) / 2, BAR * (end - start)
    low, mid, high = data.et0_mm
    came = end <= clock.now
    for part, face, hatch in ((came, "#A9A9A9", ""), (~came, "white", "////")):
        axes.bar(middle[part], mid[part], width=width[part], linewidth=0.7, edgecolor=GREY,
                 facecolor=face, hatch=hatch)
    open_ = high > low
    off = np.array([mid - low, high - mid])[:, open_]
    axes.errorbar(middle[open_], mid[open_], yerr=off, fmt="none", ecolor=INK, elinewidth=1.1,
                  capsize=2.5)
    axes.set_ylim(0.0, HEADROOM * float(np.nanmax(high, initial=1.0)))
    axes.set_ylabel("ET0,\nmm a day", fontsize=9)


def _draw_origins(axes: Axes, origins: Mapping[str, Words], clock: Clock) -> None:
    """A row for each value, a bar for each run of hours of one origin."""
    hour = clock.x[1] - clock.x[0]
    for row, words in enumerate(origins.values()):
        for kind, start, stop in runs(words):
            _, colour, hatch = ORIGINS[kind]
            axes.broken_barh([(clock.x[start], (stop - start) * hour)], (row - ROW / 2, ROW),
                             facecolor=colour, edgecolor=EDGE, hatch=hatch, linewidth=0.5)
    axes.set_ylim(len(origins) - 0.4, -0.6)
    axes.set_yticks(range(len(origins)), list(origins))


def runs(words: Words) -> list[tuple[str, int, int]]:
    """Give word, start and stop of each run of one word."""
    edges = np.flatnonzero(words[1:] != words[:-1]) + 1
    starts, stops = [0, *edges.tolist()], [*edges.tolist(), len(words)]
    return [(str(words[start]), start, stop) for start, stop in zip(starts, stops, strict=True)]


def _draw_time(axes: Axes, clock: Clock) -> None:
    """Local midnights, now, and what is coming, on one panel."""
    for midnight in clock.midnights():
        axes.axvline(midnight, color=FAINT, linewidth=0.6, zorder=0)
    axes.axvline(clock.now, color=INK, linewidth=1.3)
    axes.axvspan(clock.now, max(clock.now, clock.ends[1]), color=PALE, zorder=-1, linewidth=0)
    axes.set_xlim(clock.ends[0], clock.ends[1] + (clock.x[1] - clock.x[0]))
    axes.tick_params(axis="x", which="both", length=0, labelbottom=False)
    axes.tick_params(axis="y", labelsize=9, colors=GREY)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _name_now(axes: Axes, clock: Clock) -> None:
    here = clock.local(clock.now)
    words = [(f"now, {day_name(here, ' ', month=True)}, {here:%H:%M}", -4, "right")]
    if clock.now < clock.ends[1]:
        words.append(("coming", 6, "left"))
    for text, shift, side in words:
        axes.annotate(text, (clock.now, 1.0), xycoords=("data", "axes fraction"),
                      xytext=(shift, 5), textcoords="offset points", ha=side, fontsize=9, color=INK)


def _write_below(axes: Axes, data: WeatherData) -> None:
    """Name the origins there are, say what the marks mean, and whom to thank."""
    there: dict[str, Any] = {}
    found = {word for words in data.origins.values() for word in words.tolist()}
    for kind, (name, colour, hatch) in ORIGINS.items():
        if kind in found:
            there[name] = Patch(facecolor=colour, edgecolor=EDGE, hatch=hatch, linewidth=0.6)
    axes.legend(there.values(), there.keys(), loc="upper left", bbox_to_anchor=(0.0, -0.5),
                ncols=len(there), frameon=False, fontsize=8.5, handlelength=1.8, columnspacing=1.4,
                borderpad=0.0, borderaxespad=0.0)
    axes.annotate(f"{KEY}\n{data.note}".rstrip(), (0, 0), xytext=(0, -62),
                  xycoords="axes fraction", textcoords="offset points", fontsize=8.5, color=GREY,
                  va="top", annotation_clip=False)
