"""Choices of pot and mix, drawn as small multiples: the pot after a watering, and the year."""

from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from advisor.garden.instants import MONTHS
from advisor.jobs.potting.compare import Compared, Outcome
from advisor.show.charts import BLUE, DPI, EARTH, FAINT, GREY, INK, WARNING

CHOICE_IN: Final = 2.9  # width of one choice
HEIGHT_IN: Final = 6.4
LONGEST_D: Final = 14.0  # days between waterings that fit the panel
HEADROOM: Final = 1.04  # over the deepest soil
TITLE_LETTERS: Final = 30
NOTE: Final = ("Above: what the soil's volume is made of after a watering, by height. Below: days "
               "between waterings that begin in a month; dot: as likely longer as shorter, line "
               "down to: one in ten is shorter; shaded: the warmest month and that of repotting. "
               "Estimates, not orders.")


def drawing(title: str, compared: Compared) -> Figure:
    """Draw choices beside each other.

    Parameters
    ----------
    title : str
        Which tree.
    compared : Compared

    Returns
    -------
    Figure
        Two rows of panels, a column a choice.
    """
    outcomes = compared.outcomes
    figure = Figure(figsize=(max(CHOICE_IN * len(outcomes), 6.0), HEIGHT_IN), dpi=DPI,
                    layout="constrained")
    grid: Any = figure.subplots(2, len(outcomes), squeeze=False, sharex="row", sharey="row",
                                height_ratios=(1.2, 1.0))
    figure.suptitle(title, x=0.01, ha="left", fontsize=13, fontweight="bold", color=INK)
    figure.supxlabel(_wrapped(NOTE, max(len(outcomes), 2) * 45), x=0.01, ha="left", fontsize=8.5,
                     color=GREY)
    deepest = max(outcome.holds.soil_depth_mm for outcome in outcomes)
    grid[0][0].set_ylim(0.0, HEADROOM * deepest)
    for column, outcome in enumerate(outcomes):
        profile(grid[0][column], outcome, named=column == 0)
        intervals(grid[1][column], outcome, compared, named=column == 0)
        grid[0][column].set_title(_wrapped(f"{column + 1}  {outcome.choice.words}",
                                           TITLE_LETTERS), fontsize=9, loc="left", color=INK)
    return figure


def profile(axes: Axes, outcome: Outcome, named: bool = True) -> Axes:
    """Draw what the soil is made of after a watering, by height above its base.

    Parameters
    ----------
    axes : Axes
        Where.
    outcome : Outcome
    named : bool
        Whether the axes carry their names and the parts theirs.
    """
    height = np.concatenate([[outcome.holds.soil_depth_mm], outcome.height_mm, [0.0]])
    wet = 100.0 * np.concatenate([outcome.wet[:1], outcome.wet, outcome.wet[-1:]])
    held = np.minimum(wet, 100.0 * outcome.wilting)
    full = 100.0 * outcome.full
    parts = ((0.0, held, EARTH, "....", "held fast"), (held, wet, BLUE, "", "for the tree"),
             (wet, full, "#FFFFFF", "", "air"), (full, 100.0, FAINT, "", "grains"))
    for left, right, colour, hatch, name in parts:
        axes.fill_betweenx(height, left, right, facecolor=colour, edgecolor=GREY, linewidth=0.6,
                           hatch=hatch, alpha=0.85)
        if named:
            low, high = (float(np.broadcast_to(each, wet.shape)[len(wet) // 2])
                         for each in (left, right))
            dark = colour in (BLUE, EARTH)
            axes.annotate(name, ((low + high) / 2.0, float(height[0]) / 2.0), rotation=90,
                          ha="center", va="center", fontsize=8, color="#FFFFFF" if dark else INK,
                          bbox={"facecolor": colour, "edgecolor": "none", "pad": 1.0})
    base = outcome.holds.wet_base_mm
    if 0.0 < base < outcome.holds.soil_depth_mm:
        axes.axhline(base, color=WARNING, linewidth=1.4, linestyle=(0, (4, 2)))
        axes.annotate("too wet below", (98.0, base), ha="right", va="bottom", fontsize=7.5,
                      color=INK)
    axes.set_xlim(0.0, 100.0)
    if named:
        axes.set_ylabel("height above the base, mm", fontsize=9, color=INK)
        axes.set_xlabel("per cent of the volume", fontsize=9, color=INK)
    _plain(axes)
    return axes


def intervals(axes: Axes, outcome: Outcome, compared: Compared, named: bool = True) -> Axes:
    """Draw days between waterings, month by month.

    Parameters
    ----------
    axes : Axes
        Where.
    outcome : Outcome
    compared : Compared
        Names the warmest month and that of repotting.
    named : bool
        Whether the axes carry their names.
    """
    for month, told in enumerate(outcome.months, 1):
        strong = month in (compared.warm_month, compared.repot_month)
        if strong:
            axes.axvspan(month - 0.5, month + 0.5, color=FAINT, alpha=0.6, zorder=0, linewidth=0)
        if told is None or told.median_d > LONGEST_D:
            axes.annotate("rarely" if told else "none", (month, LONGEST_D), rotation=90, va="top",
                          ha="center", fontsize=7, color=GREY)
            continue
        axes.plot([month, month], [told.tenth_d, told.median_d], color=BLUE, linewidth=2.0)
        axes.plot(month, told.median_d, "o", color=BLUE, markersize=5)
    axes.set_xlim(0.5, 12.5)
    axes.set_ylim(0.0, LONGEST_D)
    axes.set_xticks(range(1, 13), [month[0] for month in MONTHS], fontsize=8)
    if named:
        axes.set_ylabel("days between waterings", fontsize=9, color=INK)
    _plain(axes)
    return axes


def _plain(axes: Axes) -> None:
    axes.tick_params(labelsize=8, colors=GREY)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _wrapped(text: str, width: int) -> str:
    from textwrap import fill

    return fill(text, width)
