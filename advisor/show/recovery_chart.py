"""The dry-down of a recovering tree: dry depth against time, with what was read and watered."""

from datetime import datetime
from typing import Final, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from advisor.garden.readings import SPREADS
from advisor.jobs.recovery import Recovery
from advisor.jobs.story import Story
from advisor.show.charts import (
    EARTH,
    GREY,
    INK,
    SIZE_IN,
    WARNING,
    ChartData,
    draw_rain,
    draw_spread,
    draw_time,
    draw_waterings,
    write_below,
    write_label,
)
from advisor.show.reading_marks import KEY, draw_depths
from advisor.show.time_axis import Clock, name_days, name_now
from advisor.show.tree_chart import NOTE, chart_data

HEIGHTS: Final = (0.8, 4.2)
BAND_MM: Final = SPREADS["skewer"].fixed  # half of the target band: as near as a skewer tells
BELOW: Final = 1.6  # of the target, the least depth that is shown
ENDS: Final = "recovery ends"


class Panels(NamedTuple):
    """The axes of the chart, from top to bottom."""

    rain: Axes
    depth: Axes


def drawing(story: Story, recovery: Recovery) -> Figure:
    """Draw the dry-down of a recovering tree.

    Parameters
    ----------
    story : Story
        Since its repotting.
    recovery : Recovery

    Returns
    -------
    Figure
    """
    figure = dry_depth(story, recovery).depth.figure
    assert isinstance(figure, Figure)
    return figure


def dry_depth(story: Story, recovery: Recovery, axes: Panels | None = None) -> Panels:
    """Draw rain and waterings, and dry depth with target, spread and readings.

    Parameters
    ----------
    story : Story
    recovery : Recovery
    axes : Panels, optional
        Where to draw; a new figure otherwise.

    Returns
    -------
    Panels
        The axes drawn on.
    """
    panels = _panels() if axes is None else axes
    data = chart_data(story)
    clock = Clock(data.times, data.now, data.zone)
    waterings = clock.within(data.waterings)
    draw_rain(panels.rain, data, clock)
    draw_waterings(panels.rain, waterings)
    _draw_depth(panels.depth, data, clock, recovery.target_mm)
    draw_depths(panels.depth, story.marks, clock)
    for each in panels:
        draw_time(each, waterings, clock)
    _draw_end(panels.depth, recovery.ends, clock)
    name_days(panels.depth, clock)
    name_now(panels.rain, clock)
    panels.rain.set_title(f"{data.title}: after repotting", loc="left", fontsize=13,
                          fontweight="bold", color=INK, pad=24)
    write_below(panels.depth, f"{KEY}\n{NOTE}" if story.marks else NOTE)
    return panels


def _panels() -> Panels:
    figure = Figure(figsize=SIZE_IN)
    FigureCanvasAgg(figure)
    grid = figure.add_gridspec(2, 1, height_ratios=HEIGHTS, hspace=0.08, left=0.075, right=0.875,
                               top=0.875, bottom=0.17)
    rain = figure.add_subplot(grid[0])
    return Panels(rain, figure.add_subplot(grid[1], sharex=rain))


def _draw_depth(axes: Axes, data: ChartData, clock: Clock, target_mm: float | None) -> None:
    """Dry depth downward from the surface, with the target as near as a skewer tells."""
    draw_spread(axes, data.dry, clock, EARTH)
    deepest = data.soil_depth_mm
    if target_mm is not None:
        most = max(float(np.nanmax(data.dry.high)), BELOW * target_mm)
        deepest = min(deepest, most + BAND_MM)
        axes.axhspan(target_mm - BAND_MM, target_mm + BAND_MM, facecolor="none", hatch="\\\\\\",
                     edgecolor=WARNING, alpha=0.45, linewidth=0.0, zorder=0.5)
        axes.axhline(target_mm, color=WARNING, linewidth=1.4, zorder=0.6)
        write_label(axes, 1.0 - target_mm / deepest, f"target\n{target_mm:.0f} mm", WARNING)
    axes.set_ylim(deepest, 0.0)
    axes.set_ylabel("dry from the top, mm", fontsize=9)
    if deepest >= data.soil_depth_mm:
        write_label(axes, 0.03, f"base of the soil\n{data.soil_depth_mm:.0f} mm", GREY)


def _draw_end(axes: Axes, ends: datetime, clock: Clock) -> None:
    """The end of recovery, where it lies in the days shown."""
    for x in clock.within([np.datetime64(int(ends.timestamp()), "s")]):
        axes.axvline(x, color=GREY, linewidth=1.4, linestyle=(0, (4, 2)))
        axes.annotate(ENDS, (x, 0.02), xycoords=("data", "axes fraction"), xytext=(-4, 0),
                      textcoords="offset points", ha="right", fontsize=9, color=GREY)
