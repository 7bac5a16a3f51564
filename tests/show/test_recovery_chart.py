"""The dry-down of a recovery, a pot layer by layer, and readings as points: what is drawn."""

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from rounds_made import AT, SITE, Told, sky, tree

from advisor.garden.records import Tree
from advisor.jobs.followed import Mark
from advisor.jobs.outlook import DRY_HIGH, DRY_LOW, DRY_MID
from advisor.jobs.profile import Column, Profile
from advisor.jobs.recovery import Recovery
from advisor.jobs.story import Story
from advisor.show import profile_chart, recovery_chart, tree_chart
from advisor.show.reading_marks import KEY

HOUR = timedelta(hours=1)
RECOVERY = Recovery(AT - 100 * HOUR, AT + 48 * HOUR, 34.0, dry=True)
MARKS = (Mark(AT - 3 * HOUR, "dry depth", 20.0, 4.0),
         Mark(AT - 2 * HOUR, "dry depth", 50.0, 4.0, used=False),
         Mark(AT - HOUR, "feel", 30.0, word="moist"), Mark(AT - HOUR, "left", 0.55, 0.03),
         Mark(AT - 4000 * HOUR, "dry depth", 5.0, 4.0))


def story(marks=(), deep=25.0):
    outlook = tree("7", Told(target_mm=34.0)).outlook
    outlook.rows[DRY_LOW], outlook.rows[DRY_MID] = deep - 10.0, deep - 5.0
    outlook.rows[DRY_HIGH] = deep
    model = SimpleNamespace(tree=Tree("7", "pine", "Old One"))
    return Story(model, "wall", outlook, np.zeros(outlook.rows.shape[1]), (AT - HOUR,), sky(), AT,
                 marks)


def texts(axes):
    return [each.get_text() for each in axes.texts]


def points(axes):
    """Give x, y and marker of every point drawn."""
    return [(line.get_xdata()[0], line.get_ydata()[0], line.get_marker()) for line in axes.lines
            if line.get_marker() in ("o", "x", "D")]


def x_of(at):
    return at.timestamp() / 86400.0


def test_the_target_is_a_band_as_wide_as_a_skewer_tells():
    depth = recovery_chart.dry_depth(story(), RECOVERY).depth
    (band,) = [each for each in depth.patches if each.get_hatch() == "\\\\\\"]
    box = band.get_extents().transformed(depth.transData.inverted())
    assert sorted((box.y0, box.y1)) == pytest.approx([30.0, 38.0])
    assert "target\n34 mm" in texts(depth)


def test_depth_is_counted_downward_to_what_matters():
    shallow = recovery_chart.dry_depth(story(), RECOVERY).depth.get_ylim()
    assert shallow == pytest.approx((1.6 * 34.0 + 4.0, 0.0))
    whole = recovery_chart.dry_depth(story(deep=60.0), RECOVERY).depth
    assert whole.get_ylim() == pytest.approx((60.0, 0.0))
    assert "base of the soil\n60 mm" in texts(whole)


def test_without_a_target_there_is_no_band():
    depth = recovery_chart.dry_depth(story(), replace(RECOVERY, target_mm=None)).depth
    assert not [each for each in depth.patches if each.get_hatch() == "\\\\\\"]


def test_the_end_is_named_where_it_lies_in_the_days_shown():
    assert "recovery ends" in texts(recovery_chart.dry_depth(story(), RECOVERY).depth)
    later = replace(RECOVERY, ends=AT + timedelta(days=90))
    assert "recovery ends" not in texts(recovery_chart.dry_depth(story(), later).depth)


def test_readings_stand_at_their_time_and_depth():
    depth = recovery_chart.dry_depth(story(MARKS), RECOVERY).depth
    assert points(depth) == [(pytest.approx(x_of(AT - 3 * HOUR)), 20.0, "o"),
                             (pytest.approx(x_of(AT - 2 * HOUR)), 50.0, "x")]
    (felt,) = [each for each in depth.texts if each.get_text() == "m"]
    assert felt.get_position() == (pytest.approx(x_of(AT - HOUR)), 30.0)
    assert any(KEY in each for each in texts(depth))


def test_the_spread_of_a_reading_is_drawn():
    depth = recovery_chart.dry_depth(story(MARKS[:1]), RECOVERY).depth
    (bar,) = [each for container in depth.containers for each in container[2]]
    assert bar.get_segments()[0][:, 1] == pytest.approx([16.0, 24.0])


def test_the_chart_of_a_tree_shows_them_too_and_weights_as_water_left():
    figure = tree_chart.drawing(story(MARKS))
    _, left, depth = figure.axes
    assert points(left) == [(pytest.approx(x_of(AT - HOUR)), pytest.approx(55.0), "D")]
    assert [each[1] for each in points(depth)] == [20.0, 50.0]
    assert not points(tree_chart.drawing(story()).axes[1])


@pytest.mark.parametrize("make", [lambda: tree_chart.drawing(story(MARKS)),
                                  lambda: recovery_chart.drawing(story(MARKS), RECOVERY)])
def test_the_small_print_lies_on_the_picture(make):
    figure = make()
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    (print_,) = [each for axes in figure.axes for each in axes.texts if KEY in each.get_text()]
    box = print_.get_window_extent(canvas.get_renderer())
    assert box.y0 >= 0.0
    assert box.x1 <= figure.bbox.x1


# --- layer by layer --------------------------------------------------------------------------

LAYERS = np.array([0.3, 0.31, 0.35, 0.5])
EDGE = np.array([0.0, 10.0, 20.0, 30.0, 40.0])


def column(then=True):
    now = np.stack([LAYERS - 0.1, LAYERS - 0.06, LAYERS - 0.02])
    return Column(LAYERS, 0.09, 0.16, now, now - 0.05 if then else None)


def drawn(columns=1, then=True, **told):
    found = Profile(EDGE, tuple(column(then) for _ in range(columns)), 25.0,
                    AT + timedelta(days=2) if then else None, **told)
    return profile_chart.drawing("7  Old One", found, AT, SITE.zone)


def lines(axes):
    return {line.get_label(): line for line in axes.lines}


def test_each_layer_stands_at_its_depth_with_its_water():
    (axes,) = drawn().axes
    now = lines(axes)["now, Wed 1 Jul 07:00"]
    assert list(now.get_ydata()) == [0.0, 10.0, 10.0, 20.0, 20.0, 30.0, 30.0, 40.0]
    assert list(now.get_xdata()) == pytest.approx(list(np.repeat(100.0 * (LAYERS - 0.06), 2)))
    assert axes.get_ylim() == (40.0, 0.0)


def test_what_is_to_come_and_what_is_waited_for_are_named():
    said = lines(drawn().axes[0])
    assert {"dry to its depth, likely Fri 3 Jul 07:00", "dry depth waited for, 25 mm",
            "full, after it drained", "roots get no more"} <= said.keys()
    assert list(said["dry depth waited for, 25 mm"].get_ydata()) == [25.0, 25.0]
    assert list(said["roots get no more"].get_xdata()) == pytest.approx([9.0, 9.0])


def test_dry_already_it_says_so():
    said = lines(drawn(then=False, already=True).axes[0])
    assert "now, Wed 1 Jul 07:00: likely dry to its depth" in said
    assert not [name for name in said if name.startswith("dry to its depth")]


def test_an_old_root_ball_has_a_panel_of_its_own():
    figure = drawn(columns=2)
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["new mix", "old root ball"]


def test_the_lines_differ_without_their_colours():
    styles = [(line.get_linewidth(), str(line._dash_pattern))
              for line in lines(drawn().axes[0]).values()]
    assert len(set(styles)) == len(styles)


@pytest.mark.parametrize("columns", [1, 2])
def test_the_legend_lies_on_the_picture(columns):
    figure = drawn(columns=columns)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    (legend,) = figure.legends
    box = legend.get_window_extent(canvas.get_renderer())
    assert box.x0 >= 0.0
    assert box.y0 >= 0.0
    assert box.x1 <= figure.bbox.x1
