"""Charts: arrays in, axes out; no clock, no files but where `save` is told, no global state.

A chart reads in grey: line styles and hatches say what colours only support.
"""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill
from typing import Any, Final, NamedTuple, TypeAlias

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter
from numpy.typing import NDArray

from advisor.errors import Refused
from advisor.show.time_axis import Clock, name_days, name_now

Floats: TypeAlias = NDArray[np.float64]
Times: TypeAlias = NDArray[np.datetime64]

#: Safe for colour-blind readers (Okabe and Ito 2008), and apart in grey.
BLUE: Final = "#0072B2"
EARTH: Final = "#8A4B08"
WARNING: Final = "#D55E00"
INK: Final = "#222222"
GREY: Final = "#6B6B6B"
FAINT: Final = "#D9D9D9"
PALE: Final = "#F5F5F5"

SIZE_IN: Final = (10.0, 6.4)
DPI: Final = 150
HEIGHTS: Final = (0.75, 3.0, 2.2)
SUFFIXES: Final = (".png", ".svg", ".pdf")
#: Rain is summed over so many hours where the chart spans up to so many days.
RAIN_STEPS: Final = ((4.0, 1), (12.0, 3), (32.0, 6), (np.inf, 24))
RAIN_AXIS_MM: Final = 4.0  # at least this much fits the strip
RAIN_HEADROOM: Final = 1.6  # room for the triangles above the bars
RAIN_TICKS_MM: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500)
WATERED_AT: Final = 0.86  # share of the strip's height
LABEL_PT: Final = 24.0  # height of a label of two lines, with a little air
LIMIT_LABEL: Final = "wants water below"
LABEL_WIDTH: Final = 14  # letters of a line in the margin
BALL_WITHIN: Final = (0.05, 0.8)  # shares of the span between which the old ball is named
BASE_AT: Final = 0.07  # share of the panel's height
BASE_CROWDED: Final = 0.8  # a target deeper than that takes the label's room

Dashes: TypeAlias = tuple[int, tuple[float, ...]]
DASHED: Final[Dashes] = (0, (6, 3))
DOTTED: Final[Dashes] = (0, (1, 1.5))
BROKEN: Final[Dashes] = (0, (4, 1.5))
KEY: Final = (
    "Line: as likely above as below. Band: nine chances in ten. "
    "Broken line and hatching: as it may come."
)


class Spread(NamedTuple):
    """The 5, 50 and 95 % quantiles of something, hour by hour."""

    low: Floats
    mid: Floats
    high: Floats


class Panels(NamedTuple):
    """The axes of a dry-down chart, from top to bottom."""

    rain: Axes
    left: Axes
    depth: Axes


@dataclass(frozen=True)
class ChartData:
    """What a dry-down chart shows of one tree.

    Attributes
    ----------
    times : array of datetime64, shape (n,)
        Starts of successive hours, UTC.
    zone : str
        Time zone of the labels.
    available : Spread
        Share of available water left [-], each of shape (n,).
    dry : Spread
        Dry depth [mm], each of shape (n,).
    limit, harm : float
        Shares of available water left at which it wants water and suffers [-].
    limit_label : str
        What the limit is, before its number.
    soil_depth_mm : float
        Depth of the soil [mm].
    rain_mm : array, shape (n,)
        Rain of each hour at the place [mm].
    now : datetime64
        What lies after it is coming, UTC.
    title : str
        One line.
    target_mm : float or None
        Dry depth to be reached in recovery [mm].
    waterings : sequence of datetime64
        Instants, UTC; those outside the hours shown are left out.
    ball : array, shape (n,), or None
        Share of available water left in the old root ball, as likely above as below [-].
    note : str
        Small print below.
    """

    times: Times
    zone: str
    available: Spread
    dry: Spread
    limit: float
    harm: float
    soil_depth_mm: float
    rain_mm: Floats
    now: np.datetime64
    title: str
    target_mm: float | None = None
    waterings: Sequence[np.datetime64] = ()
    limit_label: str = LIMIT_LABEL
    ball: Floats | None = None
    note: str = ""

    def __post_init__(self) -> None:
        count = len(self.times)
        if count < 2:
            raise Refused("chart", f"{count} hours", "at least 2 hours", "Choose a longer span.")
        for name, series in (
            ("water left", self.available),
            ("dry depth", self.dry),
            ("rain", (self.rain_mm,)),
            ("root soil", () if self.ball is None else (self.ball,)),
        ):
            for values in series:
                if len(values) != count:
                    raise Refused(f"chart, {name}", f"{len(values)} values",
                                  f"one for each of {count} hours", "Give all for the same hours.")


def dry_down(data: ChartData, axes: Panels | None = None) -> Panels:
    """Draw how a pot dries: rain and waterings, share of water left, dry depth.

    Parameters
    ----------
    data : ChartData
        What to show.
    axes : Panels, optional
        Where to draw; a new figure otherwise (`panels.left.figure`).

    Returns
    -------
    Panels
        The axes drawn on.
    """
    panels = _panels() if axes is None else axes
    clock = Clock(data.times, data.now, data.zone)
    waterings = clock.within(data.waterings)
    draw_rain(panels.rain, data, clock)
    draw_waterings(panels.rain, waterings)
    _draw_left(panels.left, data, clock)
    draw_depth(panels.depth, data, clock)
    for axes_ in panels:
        draw_time(axes_, waterings, clock)
    name_days(panels.depth, clock)
    name_now(panels.rain, clock)
    panels.rain.set_title(data.title, loc="left", fontsize=13, fontweight="bold", color=INK, pad=24)
    write_below(panels.depth, data.note)
    return panels


def save(figure: Figure, path: Path) -> Path:
    """Write a figure to a file, the same bytes for the same figure.

    Parameters
    ----------
    figure : Figure
        What to write.
    path : Path
        Where; its ending says how (`SUFFIXES`).

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    Refused
        An ending that cannot be written, or a folder that cannot be written to.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise Refused(
            "picture file",
            path.name,
            "ending " + ", ".join(SUFFIXES),
            "Give the file one of these endings.",
        )
    dated: dict[str, Any] = {
        ".png": {"Software": None},
        ".svg": {"Date": None},
        ".pdf": {"CreationDate": None},
    }
    try:
        with rc_context({"svg.hashsalt": "advisor"}), warnings.catch_warnings():
            warnings.filterwarnings("ignore", "Glyph")  # a label in letters that the font lacks
            figure.savefig(path, dpi=DPI, metadata=dated[path.suffix.lower()])
    except OSError as error:
        raise Refused(
            "picture file",
            str(path),
            error.strerror or "a folder that can be written",
            "Choose another place.",
        ) from error
    return path


def _panels() -> Panels:
    figure = Figure(figsize=SIZE_IN)
    FigureCanvasAgg(figure)
    grid = figure.add_gridspec(
        3, 1, height_ratios=HEIGHTS, hspace=0.1, left=0.075, right=0.875, top=0.875, bottom=0.14
    )
    rain = figure.add_subplot(grid[0])
    return Panels(
        rain, figure.add_subplot(grid[1], sharex=rain), figure.add_subplot(grid[2], sharex=rain)
    )


def draw_rain(axes: Axes, data: ChartData, clock: Clock) -> None:
    """Bars of rain, and a triangle for each watering."""
    step = next(hours for days, hours in RAIN_STEPS if clock.days <= days)
    starts = np.arange(0, len(data.rain_mm), step)
    sums = np.add.reduceat(np.nan_to_num(data.rain_mm), starts)
    came = clock.past[starts]
    for part, colour, hatch in ((came, BLUE, ""), (~came, "white", "////")):
        axes.bar(
            clock.x[starts][part],
            sums[part],
            width=step / 24,
            align="edge",
            linewidth=0.6,
            edgecolor=BLUE,
            facecolor=colour,
            hatch=hatch,
        )
    peak = max(RAIN_AXIS_MM, float(sums.max()))
    axes.set_ylim(0, RAIN_HEADROOM * peak)
    axes.set_yticks([0, max(tick for tick in RAIN_TICKS_MM if tick <= peak)])
    write_label(axes, 0.25, "rain\n" + (f"mm in {step} h" if step > 1 else "mm/h"), BLUE)


def draw_waterings(axes: Axes, waterings: list[float]) -> None:
    """A triangle for each watering, named in the margin."""
    if waterings:
        heights = [WATERED_AT] * len(waterings)
        across = axes.get_xaxis_transform()
        axes.plot(waterings, heights, "v", color=BLUE, markersize=7, transform=across)
        write_label(axes, WATERED_AT, "watered", BLUE)


def _draw_left(axes: Axes, data: ChartData, clock: Clock) -> None:
    """Share of available water left, and the shares at which it wants water and suffers."""
    percent = Spread(*(100.0 * np.asarray(part) for part in data.available))
    draw_spread(axes, percent, clock, BLUE)
    axes.set_ylim(0, max(105.0, float(np.nanmax(percent.high)) + 5.0))
    axes.set_yticks(range(0, 101, 20))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:.0f} %"))
    axes.set_ylabel("available water left", fontsize=9)
    if data.ball is not None:
        _draw_ball(axes, 100.0 * data.ball, percent.mid, clock)
    limit, harm = 100.0 * data.limit, 100.0 * data.harm
    up, down = _apart(axes, limit, harm)
    words = fill(f"{data.limit_label} {limit:.0f} %", LABEL_WIDTH)
    _draw_line(axes, limit, words, WARNING, DASHED, up)
    _draw_line(axes, harm, f"suffers\nbelow {harm:.0f} %", INK, DOTTED, down)


def _draw_ball(axes: Axes, ball: Floats, whole: Floats, clock: Clock) -> None:
    """The old root ball, named where it lies farthest from the whole pot."""
    axes.plot(clock.x, ball, color=INK, linewidth=1.1, linestyle=DOTTED)
    first, last = (int(share * len(ball)) for share in BALL_WITHIN)
    apart = np.nan_to_num((ball - whole)[first : last + 1])
    at = first + int(np.abs(apart).argmax())
    above = ball[at] > whole[at]
    axes.annotate(
        "root soil",
        (clock.x[at], ball[at]),
        xytext=(0, 4 if above else -4),
        textcoords="offset points",
        ha="center",
        va="bottom" if above else "top",
        fontsize=9,
        color=INK,
    )


def draw_depth(axes: Axes, data: ChartData, clock: Clock) -> None:
    """Dry depth, counted downward from the surface to the base of the pot."""
    draw_spread(axes, data.dry, clock, EARTH)
    axes.set_ylim(data.soil_depth_mm, 0)
    axes.set_ylabel("dry from the top, mm", fontsize=9)
    base = f"base of the soil\n{data.soil_depth_mm:.0f} mm"
    if data.target_mm is not None:
        _draw_line(axes, data.target_mm, f"target\n{data.target_mm:.0f} mm", WARNING, DASHED)
        if data.target_mm > BASE_CROWDED * data.soil_depth_mm:
            return
    write_label(axes, BASE_AT, base, GREY)


def draw_spread(axes: Axes, spread: Spread, clock: Clock, colour: str) -> None:
    """Line and band, broken and hatched where they lie ahead."""
    coming = clock.coming
    axes.fill_between(
        clock.x, spread.low, spread.high, where=clock.past, color=colour, alpha=0.30, linewidth=0
    )
    axes.fill_between(
        clock.x,
        spread.low,
        spread.high,
        where=coming,
        facecolor="none",
        edgecolor=colour,
        alpha=0.35,
        hatch="////",
        linewidth=0.6,
    )
    axes.plot(clock.x[clock.past], spread.mid[clock.past], color=colour, linewidth=2.2)
    axes.plot(clock.x[coming], spread.mid[coming], color=colour, linewidth=2.0, linestyle=BROKEN)


def draw_time(axes: Axes, waterings: list[float], clock: Clock) -> None:
    """Local midnights, waterings and now, on one panel."""
    for midnight in clock.midnights():
        axes.axvline(midnight, color=FAINT, linewidth=0.7, zorder=0)
    for watering in waterings:
        axes.axvline(watering, color=BLUE, linewidth=0.9, linestyle=DOTTED)
    axes.axvline(clock.now, color=INK, linewidth=1.3)
    axes.axvspan(clock.now, max(clock.now, clock.ends[1]), color=PALE, zorder=-1, linewidth=0)
    axes.set_xlim(*clock.ends)
    axes.tick_params(axis="x", which="both", length=0, labelbottom=False)
    axes.tick_params(axis="y", labelsize=9, colors=GREY)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _apart(axes: Axes, first: float, second: float) -> tuple[float, float]:
    """Give the shares of the panel by which two lines' labels must move to stand apart."""
    low, high = axes.get_ylim()
    inch = axes.figure.dpi_scale_trans
    panel_pt = 72.0 * axes.bbox.transformed(inch.inverted()).height
    missing = LABEL_PT / panel_pt - abs(first - second) / abs(high - low)
    shift = max(missing, 0.0) / 2.0
    return (shift, -shift) if first >= second else (-shift, shift)


def _draw_line(
    axes: Axes, height: float, words: str, colour: str, style: Dashes, shift: float = 0.0
) -> None:
    """Draw a line over the whole span, its label in the margin moved by a share of the panel."""
    axes.axhline(height, color=colour, linewidth=1.4, linestyle=style)
    low, high = axes.get_ylim()
    write_label(axes, (height - low) / (high - low) + shift, words, colour)


def write_label(axes: Axes, share: float, words: str, colour: str) -> None:
    """Write into the right margin, at a share of the panel's height."""
    axes.annotate(
        words,
        (1.0, share),
        xycoords="axes fraction",
        xytext=(6, 0),
        textcoords="offset points",
        va="center",
        fontsize=9,
        color=colour,
        annotation_clip=False,
    )


def write_below(axes: Axes, note: str) -> None:
    """Say what line and band are, and the small print of the caller."""
    axes.annotate(
        f"{KEY}\n{note}" if note else KEY,
        (0, 0),
        xytext=(0, -42),
        xycoords="axes fraction",
        textcoords="offset points",
        fontsize=8.5,
        color=GREY,
        va="top",
        annotation_clip=False,
    )
