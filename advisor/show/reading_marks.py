"""Readings as points on a chart: by skewer with how far off it may be, by weight, and by feel."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from matplotlib.axes import Axes

from advisor.jobs.followed import Mark
from advisor.show.charts import INK, WARNING
from advisor.show.time_axis import Clock

KEY: Final = ("Circle: skewer or finger, give or take. Diamond: weighed. Letter: how it felt there "
              "(d dry, m moist, w wet). Cross: too far off, not counted.")
SIZE: Final = 6.5


def draw_depths(axes: Axes, marks: Sequence[Mark], clock: Clock) -> None:
    """Draw what a skewer told and what was felt, on an axis of depths [mm]."""
    _points(axes, [each for each in marks if each.where == "dry depth"], clock, "o")
    for each in marks:
        x = clock.within([_utc(each)])
        if each.where == "feel" and x:
            axes.text(x[0], each.value, each.word[:1], ha="center", va="center", fontsize=8.5,
                      fontweight="bold", color=INK if each.used else WARNING, zorder=6,
                      bbox={"boxstyle": "round,pad=0.15", "facecolor": "white",
                            "edgecolor": INK, "linewidth": 0.6})


def draw_left(axes: Axes, marks: Sequence[Mark], clock: Clock) -> None:
    """Draw what the scale told, on an axis of water left [%]."""
    _points(axes, [each for each in marks if each.where == "left"], clock, "D", 100.0)


def _points(axes: Axes, marks: Sequence[Mark], clock: Clock, form: str,
            scale: float = 1.0) -> None:
    for each in marks:
        for x in clock.within([_utc(each)]):
            axes.errorbar(x, scale * each.value, yerr=scale * each.sd, color=INK, capsize=2.5,
                          fmt=form if each.used else "x", markersize=SIZE, zorder=6,
                          markerfacecolor="white", markeredgewidth=1.3, elinewidth=1.0)


def _utc(mark: Mark) -> np.datetime64:
    return np.datetime64(int(mark.at.timestamp()), "s")
