"""A tree's story as the drawing takes it, and the labels of lines that lie close together."""

from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from rounds_made import AT, TOMORROW, Told, sky, tree

from advisor.garden.records import Tree
from advisor.jobs.outlook import LEFT_HIGH, LEFT_LOW, LEFT_MID
from advisor.jobs.story import Story
from advisor.show.tree_chart import chart_data, drawing


def story(told=None, place="south bench", name="Old One"):
    outlook = tree("7", told or Told()).outlook
    outlook.rows[LEFT_LOW], outlook.rows[LEFT_MID], outlook.rows[LEFT_HIGH] = 0.3, 0.5, 0.7
    model = SimpleNamespace(tree=Tree("7", "pine", name))
    return Story(model, place, outlook, np.zeros(outlook.rows.shape[1]), (AT, TOMORROW), sky(), AT)


def test_the_hours_start_where_the_outlook_does():
    data = chart_data(story())
    assert data.times[0] == np.datetime64("2026-06-30T22:00:00")
    assert set(np.diff(data.times)) == {np.timedelta64(3600, "s")}
    assert (data.now, data.zone) == (np.datetime64("2026-07-01T05:00:00"), "Europe/Berlin")
    assert [str(each) for each in data.waterings] == ["2026-07-01T05:00:00", "2026-07-02T05:00:00"]


def test_the_spread_is_the_outlook_s():
    available = chart_data(story()).available
    assert (available.low[0], available.mid[0], available.high[0]) == pytest.approx((0.3, 0.5, 0.7))


def test_a_tree_is_judged_by_its_limit_or_by_its_target():
    plain = chart_data(story())
    assert (plain.limit, plain.target_mm) == (0.30, None)
    recovering = chart_data(story(Told(target_mm=32.0)))
    assert (recovering.limit, recovering.harm, recovering.target_mm) == (0.15, 0.08, 32.0)


def test_the_limit_of_a_recovering_tree_is_that_of_its_old_ball():
    assert chart_data(story()).limit_label == "wants water below"
    assert chart_data(story(Told(target_mm=32.0))).limit_label == "root soil: not below"


def test_the_old_ball_is_drawn_where_there_is_one():
    assert chart_data(story()).ball is None
    assert set(chart_data(story(Told(ball=0.375))).ball) == {0.375}


@pytest.mark.parametrize(("place", "name", "title"), [
    ("wall", "Old One", "7  Old One, wall"), ("", "Old One", "7  Old One"), ("", "", "7  pine")])
def test_the_title_says_which_tree(place, name, title):
    assert chart_data(story(place=place, name=name)).title == title


@pytest.mark.parametrize("target_mm", [float("nan"), 32.0])
def test_no_two_labels_in_the_margin_overlap(target_mm):
    figure = drawing(story(Told(target_mm=target_mm, ball=0.4)))
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    labels = [each for axes in figure.axes for each in axes.texts
              if each.xyann == (6, 0) and each.xy[0] == 1.0]
    spans = sorted((box.y0, box.y1) for box in
                   (each.get_window_extent(canvas.get_renderer()) for each in labels))
    assert len(spans) >= 4
    assert all(upper[0] >= lower[1] - 1.0 for lower, upper in zip(spans, spans[1:], strict=False))


def test_labels_that_have_room_stay_at_their_lines():
    left = drawing(story()).axes[1]
    shares = {each.get_text(): each.xy[1] for each in left.texts}
    assert shares["wants water\nbelow 30 %"] == pytest.approx(0.30 / 1.05)
    assert shares["suffers\nbelow 8 %"] == pytest.approx(0.08 / 1.05)
