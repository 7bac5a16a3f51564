"""The dry-down chart: what is drawn where, in which words, at which local time."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.image import imread

from advisor.errors import Refused
from advisor.show import charts
from advisor.show.time_axis import Clock, position

PAST, COMING = 72, 96
START = np.datetime64("2026-06-30T22", "h")  # local midnight in summer time, UTC+2


def data(hours=PAST + COMING, **changes):
    along = np.linspace(0, 1, hours)
    rain = np.zeros(hours)
    rain[[10, 11, min(100, hours - 1)]] = [2.0, 1.0, 6.0]
    times = START + np.arange(hours)
    base = charts.ChartData(
        times=times,
        zone="Europe/Amsterdam",
        available=charts.Spread(0.8 - 0.7 * along, 0.9 - 0.6 * along, 1.0 - 0.5 * along),
        dry=charts.Spread(20 * along, 40 * along, 60 * along),
        limit=0.4,
        harm=0.08,
        soil_depth_mm=70.0,
        rain_mm=rain,
        now=times[min(PAST, hours - 1)],
        title="11 Scots pine",
        target_mm=30.0,
        waterings=[START + 31, START - 5, START + 5000],
        note="Estimates, not orders.",
    )
    return replace(base, **changes)


def words(axes):
    return [text.get_text() for text in axes.texts]


def heights(axes):
    """Heights of the lines that run across the whole panel."""
    return [
        float(line.get_ydata()[0])
        for line in axes.lines
        if len(line.get_ydata()) == 2 and list(line.get_xdata()) == [0, 1]
    ]


def curves(axes):
    return [line for line in axes.lines if len(line.get_xdata()) > 2]


def test_share_left_is_drawn_in_percent_solid_then_broken():
    sample = data()
    past, coming = curves(charts.dry_down(sample).left)
    np.testing.assert_allclose(past.get_ydata(), 100 * sample.available.mid[: PAST + 1])
    np.testing.assert_allclose(coming.get_ydata(), 100 * sample.available.mid[PAST:])
    assert past.get_linestyle() == "-"
    assert coming.get_linestyle() == "--"
    assert past.get_xdata()[-1] == coming.get_xdata()[0] == position(sample.now)


def test_bands_span_the_quantiles_and_coming_is_hatched():
    sample = data()
    past, coming = charts.dry_down(sample).left.collections
    assert past.get_hatch() is None
    assert coming.get_hatch()
    box = coming.get_paths()[0].get_extents()
    assert box.y0 == pytest.approx(100 * sample.available.low[-1])
    assert box.y1 == pytest.approx(100 * sample.available.high[PAST])


def test_limits_are_lines_with_plain_words():
    left = charts.dry_down(data(limit=0.5, harm=0.15)).left
    assert heights(left) == pytest.approx([50.0, 15.0])
    assert words(left) == ["wants water\nbelow 50 %", "suffers\nbelow 15 %"]
    styles = {line.get_linestyle() for line in left.lines if len(line.get_xdata()) == 2}
    assert len(styles) > 1  # apart in grey


def test_the_limit_may_be_another_s():
    left = charts.dry_down(data(limit=0.15, limit_label="root soil: not below")).left
    assert "root soil: not\nbelow 15 %" in words(left)
    assert not any("wants water" in text for text in words(left))


def test_the_old_ball_is_a_dotted_line_named_beside_it():
    sample = data()
    left = charts.dry_down(replace(sample, ball=sample.available.mid - 0.1)).left
    (ball,) = [line for line in curves(left) if len(line.get_xdata()) == PAST + COMING]
    np.testing.assert_allclose(ball.get_ydata(), 100 * sample.available.mid - 10)
    assert ball.is_dashed()
    assert ball.get_linewidth() < min(
        line.get_linewidth() for line in curves(left) if line is not ball)
    (name,) = [text for text in left.texts if text.get_text() == "root soil"]
    x, y = name.xy
    assert y == pytest.approx(np.interp(x, ball.get_xdata(), ball.get_ydata()))
    assert name.get_verticalalignment() == "top"  # away from the line of the whole pot


def test_no_old_ball_no_line():
    left = charts.dry_down(data()).left
    assert len(curves(left)) == 2
    assert "root soil" not in words(left)


@pytest.mark.parametrize(("ahead", "named"), [(96, "coming, if nothing is poured"), (10, "coming")])
def test_what_is_coming_is_named_as_room_allows(ahead, named):
    panels = charts.dry_down(data(now=START + PAST + COMING - 1 - ahead))
    assert named in words(panels.rain)
    figure = panels.rain.figure
    figure.canvas.draw()
    right = max(text.get_window_extent().x1 for text in panels.rain.texts)
    assert right <= figure.canvas.get_width_height()[0]


def test_depth_runs_down_from_the_surface():
    sample = data()
    depth = charts.dry_down(sample).depth
    assert depth.get_ylim() == (70.0, 0.0)
    np.testing.assert_allclose(curves(depth)[0].get_ydata(), sample.dry.mid[: PAST + 1])
    assert heights(depth) == [30.0]
    assert "target\n30 mm" in words(depth)
    assert "base of the soil\n70 mm" in words(depth)


def test_no_target_no_line():
    depth = charts.dry_down(data(target_mm=None)).depth
    assert heights(depth) == []
    assert not any("target" in text for text in words(depth))


def test_a_target_near_the_base_takes_the_label():
    assert not any("base" in text for text in words(charts.dry_down(data(target_mm=65.0)).depth))


def test_rain_is_summed_over_three_hours_coming_hatched():
    rain = charts.dry_down(data()).rain
    bars = [bar for group in rain.containers for bar in group]
    assert sum(bar.get_height() for bar in bars) == pytest.approx(9.0)
    assert {round(bar.get_width() * 24, 6) for bar in bars} == {3.0}
    by_start = {round((bar.get_x() - position(START)) * 24): bar for bar in bars}
    assert by_start[9].get_height() == 3.0  # hours 10 and 11
    assert by_start[99].get_height() == 6.0
    assert not by_start[9].get_hatch()
    assert by_start[99].get_hatch()
    assert "rain\nmm in 3 h" in words(rain)


@pytest.mark.parametrize(("days", "label"), [(3, "mm/h"), (12, "3 h"), (20, "6 h"), (60, "24 h")])
def test_rain_step_follows_the_span(days, label):
    assert any(label in text for text in words(charts.dry_down(data(24 * days)).rain))


def test_only_waterings_within_the_hours_are_marked():
    rain = charts.dry_down(data()).rain
    (marks,) = [line for line in rain.lines if line.get_marker() == "v"]
    assert list(marks.get_xdata()) == [position(START + 31)]
    assert "watered" in words(rain)


def test_no_watering_no_word():
    assert "watered" not in words(charts.dry_down(data(waterings=())).rain)


def test_now_is_named_in_local_time():
    here = words(charts.dry_down(data()).rain)
    assert {"now, Sat 4, 00:00", "coming, if nothing is poured"} <= set(here)
    tokyo = words(charts.dry_down(data(zone="Asia/Tokyo")).rain)
    assert "now, Sat 4, 07:00" in tokyo


@pytest.mark.parametrize("shift", [-3, 10_000])
def test_now_outside_the_hours_is_not_named(shift):
    named = words(charts.dry_down(data(now=START + shift)).rain)
    assert not any(text.startswith(("now", "coming")) for text in named)


def test_all_to_come_is_all_hatched():
    (only,) = [
        line for line in curves(charts.dry_down(data(now=START - 3)).left) if len(line.get_xdata())
    ]
    assert only.get_linestyle() == "--"
    assert len(only.get_xdata()) == PAST + COMING


def test_days_are_named_below():
    panels = charts.dry_down(data())
    labels = [label.get_text() for label in panels.depth.get_xticklabels()]
    assert labels == ["Wed\n1 Jul", "Thu\n2", "Fri\n3", "Sat\n4", "Sun\n5", "Mon\n6", "Tue\n7"]


def test_hours_are_named_in_24_on_short_spans():
    depth = charts.dry_down(data(48)).depth
    hours = [label.get_text() for label in depth.get_xticklabels(minor=True)]
    assert hours == ["00", "06", "12", "18"] * 2


def test_many_days_are_thinned_and_name_each_new_month():
    labels = [text.get_text() for text in charts.dry_down(data(24 * 60)).depth.get_xticklabels()]
    assert len(labels) <= 18
    assert [text for text in labels if "Jul" in text] == [labels[0]]
    assert len([text for text in labels if "Aug" in text]) == 1


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-28T23", 23), ("2026-10-24T22", 25)], ids=["spring", "autumn"]
)
def test_days_of_23_and_25_hours(day, hours):
    times = np.datetime64(day, "h") + np.arange(60)
    clock = Clock(times, times[5], "Europe/Amsterdam")
    starts = clock.midnights()
    assert round((starts[1] - starts[0]) * 24) == hours
    assert all(clock.local(start).hour == 0 for start in starts)


def test_title_and_small_print():
    panels = charts.dry_down(data())
    assert panels.rain.get_title(loc="left") == "11 Scots pine"
    (small,) = [text for text in words(panels.depth) if text.startswith("Line:")]
    assert "nine chances in ten" in small
    assert small.endswith("Estimates, not orders.")


def test_given_axes_are_drawn_on_and_returned():
    figure = Figure()
    given = charts.Panels(*(figure.add_subplot(3, 1, row) for row in (1, 2, 3)))
    assert charts.dry_down(data(), given) is given
    assert len(curves(given.left)) == 2


def test_gaps_stay_gaps():
    sample = data()
    sample.available.mid[20:25] = np.nan
    past = curves(charts.dry_down(sample).left)[0]
    assert np.isnan(past.get_ydata()[20:25]).all()


def test_no_label_leaves_the_picture():
    panels = charts.dry_down(data())
    figure = panels.left.figure
    figure.canvas.draw()
    width, height = figure.canvas.get_width_height()
    for axes in panels:
        for text in [*axes.texts, *axes.get_yticklabels(), axes.yaxis.label]:
            box = text.get_window_extent()
            assert box.x0 >= 0, text.get_text()
            assert box.x1 <= width, text.get_text()
            assert box.y0 >= 0, text.get_text()
            assert box.y1 <= height, text.get_text()


def test_saved_picture_has_its_size(tmp_path):
    assert imread(_saved(tmp_path / "a.png")).shape[:2] == (960, 1500)


@pytest.mark.parametrize("suffix", charts.SUFFIXES)
def test_the_same_chart_gives_the_same_bytes(tmp_path, suffix):
    first, second = (_saved(tmp_path / f"{name}{suffix}") for name in "ab")
    assert first.read_bytes() == second.read_bytes()


def _saved(path):
    return charts.save(charts.dry_down(data()).left.figure, path)


@pytest.mark.parametrize(
    "colour", [charts.BLUE, charts.EARTH, charts.WARNING, charts.INK, charts.GREY]
)
def test_inks_stand_out_from_white(colour):
    # WCAG 2.1, 1.4.11: graphical objects at a contrast of 3:1 or more
    share = np.array(to_rgb(colour))
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    assert 1.05 / (linear @ [0.2126, 0.7152, 0.0722] + 0.05) >= 3.0


@pytest.mark.parametrize("name", ["a.gif", "a", "a.png.txt"])
def test_unknown_endings_are_refused(tmp_path, name):
    with pytest.raises(Refused, match=r"picture file: .*\. Wanted: ending \.png"):
        charts.save(Figure(), tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(Refused, match="Choose another place"):
        charts.save(Figure(), tmp_path / "none" / "a.png")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"rain_mm": np.zeros(5)}, "chart, rain: 5 values"),
        ({"dry": charts.Spread(*[np.zeros(9)] * 3)}, "chart, dry depth: 9 values"),
        ({"ball": np.zeros(5)}, "chart, root soil: 5 values"),
        ({"times": START + np.arange(1)}, "chart: 1 hours"),
    ],
)
def test_data_of_unlike_length_is_refused(changes, says):
    with pytest.raises(Refused, match=says):
        data(**changes)


def test_drawing_loads_no_global_state():
    code = "import sys, advisor.show.charts; sys.exit('matplotlib.pyplot' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
