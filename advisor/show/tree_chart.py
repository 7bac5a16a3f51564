"""The chart of one tree: its story as the drawing takes it."""

from textwrap import fill
from typing import Final

import numpy as np
from matplotlib.figure import Figure

from advisor.jobs.outlook import BALL_MID, DRY_HIGH, DRY_LOW, LEFT_HIGH, LEFT_LOW, Singles
from advisor.jobs.recovery import FLOOR
from advisor.jobs.story import Story
from advisor.show.charts import LIMIT_LABEL, ChartData, Spread, dry_down
from advisor.show.reading_marks import KEY, draw_depths, draw_left
from advisor.show.time_axis import Clock

LIFTED: Final = 0.03  # share of the picture's height
UPRIGHT_IN: Final = (5.4, 6.6)
UPRIGHT_ACROSS: Final = (0.145, 0.785)  # shares of the width between which lines are drawn
UPRIGHT_BELOW: Final = 0.08  # share of the height that the longer small print takes
UPRIGHT_LETTERS: Final = 66  # of a line
FLOOR_LABEL: Final = "root soil: not below"
NOTE: Final = "Estimates, not orders: the tree and the finger decide."


def chart_data(story: Story) -> ChartData:
    """Give a tree's story as the arrays of a dry-down chart."""
    rows, sky, standing = story.outlook.rows, story.sky, story.outlook.standing
    tree, place = story.model.tree, story.place
    start = np.datetime64(sky.instant(story.outlook.first).replace(tzinfo=None), "s")
    ball = rows[BALL_MID].astype(np.float64)
    name = f"{tree.label}  {tree.name or tree.group}" + (f", {place}" if place else "")
    return ChartData(
        times=start + np.arange(rows.shape[1]) * np.timedelta64(3600, "s"),
        zone=sky.zone.key,
        available=_spread(rows[LEFT_LOW:LEFT_HIGH + 1]),
        dry=_spread(rows[DRY_LOW:DRY_HIGH + 1]),
        limit=FLOOR if standing.to_target else standing.limit,
        limit_label=FLOOR_LABEL if standing.to_target else LIMIT_LABEL,
        ball=None if np.isnan(ball).all() else ball,
        harm=standing.harm,
        soil_depth_mm=standing.soil_depth_mm,
        rain_mm=story.rain_mm,
        now=np.datetime64(story.at.replace(tzinfo=None), "s"),
        title=name,
        target_mm=standing.target_mm if standing.to_target else None,
        waterings=[np.datetime64(at.replace(tzinfo=None), "s") for at in story.waterings],
        note=f"{KEY}\n{NOTE}" if story.marks else NOTE,
    )


def drawing(story: Story) -> Figure:
    """Draw a tree's story, with what was read of it."""
    data = chart_data(story)
    panels, clock = dry_down(data), Clock(data.times, data.now, data.zone)
    draw_left(panels.left, story.marks, clock)
    draw_depths(panels.depth, story.marks, clock)
    figure = panels.left.figure
    assert isinstance(figure, Figure)
    if story.marks:
        _lift(figure)
    return figure


def upright(figure: Figure) -> Figure:
    """Give a drawing the shape of a phone: its letters larger beside the lines."""
    figure.set_size_inches(*UPRIGHT_IN)
    for axes in figure.axes:
        box = axes.get_position()
        axes.set_position((UPRIGHT_ACROSS[0], UPRIGHT_BELOW + (1.0 - UPRIGHT_BELOW) * box.y0,
                           UPRIGHT_ACROSS[1] - UPRIGHT_ACROSS[0],
                           (1.0 - UPRIGHT_BELOW) * box.height))
        for each in axes.texts:
            each.set_text("\n".join(fill(line, UPRIGHT_LETTERS)
                                    for line in each.get_text().split("\n")))
    return figure


def _lift(figure: Figure) -> None:
    """Make room below for one line more."""
    for axes in figure.axes:
        box = axes.get_position()
        axes.set_position((box.x0, LIFTED + (1.0 - LIFTED) * box.y0, box.width,
                           (1.0 - LIFTED) * box.height))


def _spread(rows: Singles) -> Spread:
    low, mid, high = rows.astype(np.float64)
    return Spread(low, mid, high)
