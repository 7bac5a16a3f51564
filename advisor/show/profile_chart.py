"""How wet a pot is from its surface down: now, and when it has dried to what is waited for."""

from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from advisor.jobs.profile import Column, Floats, Profile
from advisor.show.charts import BLUE, BROKEN, DASHED, DOTTED, EARTH, GREY, INK, PALE, WARNING
from advisor.show.moments import dated
from advisor.show.tree_chart import NOTE

COLUMN_IN: Final = 4.6  # width of one column
HEIGHT_IN: Final = 6.4
NAMES: Final = ("new mix", "old root ball")
DASH_DOT: Final = (0, (8, 2, 1.5, 2))
KEY: Final = "Line: as likely wetter as drier. Band: nine chances in ten."


def drawing(title: str, found: Profile, now: datetime, zone: ZoneInfo) -> Figure:
    """Draw a pot layer by layer.

    Parameters
    ----------
    title : str
        Which tree.
    found : Profile
    now : datetime
    zone : ZoneInfo
        Whose clock shows on the wall.

    Returns
    -------
    Figure
        A panel for the new mix, and one for the old root ball where there is one.
    """
    count = len(found.columns)
    figure = Figure(figsize=(COLUMN_IN * count + 1.4, HEIGHT_IN), layout="constrained")
    FigureCanvasAgg(figure)
    panels: Any = figure.subplots(1, count, squeeze=False, sharey=True, sharex=True)[0]
    figure.suptitle(title, x=0.01, ha="left", fontsize=13, fontweight="bold", color=INK)
    waited_for = "dry to its depth" if found.target_mm else "wants water"
    likely = f": likely {waited_for}" if found.already else ""
    names = (f"now, {dated(now, now, zone)}{likely}", "" if found.then_at is None else
             f"{waited_for}, likely {dated(found.then_at, now, zone)}")
    for axes, part, name in zip(panels, found.columns, NAMES, strict=False):
        layers(axes, part, found, names)
        axes.set_xlabel("water, per cent of the soil's volume", fontsize=9, color=GREY)
        if count > 1:
            axes.set_title(name, fontsize=10, loc="left", color=INK)
    panels[0].set_ylabel("below the surface, mm", fontsize=9)
    figure.legend(*panels[0].get_legend_handles_labels(), loc="outside lower left", ncols=2,
                  fontsize=9, frameon=False, title=f"{KEY}\n{NOTE}", title_fontsize=8.5,
                  alignment="left")
    return figure


def layers(axes: Axes, part: Column, found: Profile, names: tuple[str, str]) -> Axes:
    """Draw one column of a pot, surface above.

    Parameters
    ----------
    axes : Axes
        Where.
    part : Column
    found : Profile
        Of which it is part.
    names : (str, str)
        Of the moment now, and of the one to come.
    """
    edge, now, to_come = found.edge_mm, *names
    axes.axvspan(0.0, 100.0 * part.reads_dry, color=PALE, linewidth=0, label="feels dry")
    _band(axes, edge, part.now, (BLUE, "", "solid"), now)
    if part.then is not None:
        _band(axes, edge, part.then, (EARTH, "////", BROKEN), to_come)
    axes.plot(100.0 * _stepped(part.full), _depths(edge), color=INK, linewidth=1.2,
              linestyle=DOTTED, label="full, after it drained")
    axes.axvline(100.0 * part.wilting, color=GREY, linewidth=1.2, linestyle=DASHED,
                 label="roots get no more")
    if found.target_mm is not None:
        axes.axhline(found.target_mm, color=WARNING, linewidth=1.4, linestyle=DASH_DOT,
                     label=f"dry depth waited for, {found.target_mm:.0f} mm")
    axes.set_ylim(float(edge[-1]), 0.0)
    axes.set_xlim(left=0.0)
    axes.tick_params(labelsize=9, colors=GREY)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return axes


def _band(axes: Axes, edge: Floats, spread: Floats, style: tuple[Any, str, Any],
          name: str) -> None:
    colour, hatch, line = style
    low, mid, high = (100.0 * _stepped(row) for row in spread)
    axes.fill_betweenx(_depths(edge), low, high, facecolor="none" if hatch else colour,
                       edgecolor=colour, hatch=hatch, alpha=0.35, linewidth=0.6)
    axes.plot(mid, _depths(edge), color=colour, linewidth=2.2, linestyle=line, label=name)


def _stepped(layers_: Floats) -> Floats:
    """Give each layer's value at both of its edges."""
    return np.repeat(layers_, 2)


def _depths(edge: Floats) -> Floats:
    """Give both edges of each layer [mm]."""
    return np.repeat(edge, 2)[1:-1]
