"""The year's water, drawn: a row a tree, litres by month, and the days it stood dry."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
from matplotlib.figure import Figure

from advisor.garden.instants import MONTHS
from advisor.jobs.year import TreeYear
from advisor.show.charts import BLUE, DPI, GREY, INK, WARNING

WIDTH_IN: Final = 10.0
ROW_IN: Final = 0.32
FRAME_IN: Final = 2.2
LARGEST_PT2: Final = 420.0  # area of the largest dot
NOTE: Final = ("Dots: litres drunk in a month, by area. Right: bar, days on which it likely wanted "
               "water; hatched part, on which it suffered. Estimates, not orders.")


def drawing(year: int, trees: Sequence[TreeYear], names: Mapping[str, str]) -> Figure:
    """Draw a year: litres drunk by tree and month, and days past the limit.

    Parameters
    ----------
    year : int
    trees : sequence of TreeYear
        In walking order, the first on top.
    names : mapping
        How each tree is called, by label.
    """
    figure = Figure(figsize=(WIDTH_IN, FRAME_IN + ROW_IN * len(trees)), dpi=DPI,
                    layout="constrained")
    axes: Any = figure.subplots(1, 2, sharey=True, width_ratios=(3.2, 1.0))
    litres = np.array([each.month_l for each in trees])
    most = max(float(litres.max()), 1e-9)
    rows = np.arange(len(trees))
    month, row = np.meshgrid(np.arange(1, 13), rows)
    dots, days = axes
    dots.scatter(month, row, s=LARGEST_PT2 * litres / most, color=BLUE, alpha=0.85, linewidth=0)
    for i, each in enumerate(trees):
        for j in np.flatnonzero(each.month_l >= 0.3 * most):
            dots.annotate(f"{each.month_l[j]:.0f}", (j + 1, i), ha="center", va="center",
                          fontsize=7, color="#FFFFFF")
    dots.set_xticks(range(1, 13), [name[:3] for name in MONTHS], fontsize=8)
    dots.set_xlim(0.4, 12.6)
    labels = [f"{names[each.label]}  {each.drunk_l:.0f} L" for each in trees]
    dots.set_yticks(rows, labels, fontsize=8)
    dots.set_ylim(len(trees) - 0.4, -0.6)
    dots.set_title(f"{year}: litres drunk", loc="left", fontsize=13, fontweight="bold", color=INK)
    limit = np.array([each.days_past_limit for each in trees])
    harm = np.array([each.days_past_harm for each in trees])
    days.barh(rows, limit, color="#FFFFFF", edgecolor=GREY, height=0.55)
    days.barh(rows, harm, color=WARNING, edgecolor=INK, hatch="////", height=0.55, linewidth=0.6)
    days.set_xlim(0.0, max(float(limit.max()) * 1.15, 10.0))
    days.set_title("days dry", loc="left", fontsize=10, color=INK)
    for panel in axes:
        panel.tick_params(axis="x", labelsize=8, colors=GREY)
        panel.tick_params(axis="y", length=0)
        for side in ("top", "right", "left"):
            panel.spines[side].set_visible(False)
    figure.supxlabel(NOTE, x=0.01, ha="left", fontsize=8, color=GREY)
    return figure
