"""The chart of the weather: what is drawn is what was told, and it reads in grey."""

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb

from advisor.errors import Refused
from advisor.show.charts import Spread
from advisor.show.weather_chart import ORIGINS, Panels, WeatherData, drawing, runs, weather_chart

HOURS, DAYS = 24 * 6, 6
NOW = np.datetime64("2026-07-04T05:00:00")
FIRST = np.datetime64("2026-06-30T22:00:00")  # midnight in Berlin


def data(**told) -> WeatherData:
    k = np.arange(HOURS)
    times = FIRST + k * np.timedelta64(3600, "s")
    temp = 15.0 + 8.0 * np.sin(k / 24 * 2 * np.pi)
    sd = np.where(times > NOW, 2.0, 0.0)
    starts = FIRST + np.arange(DAYS) * np.timedelta64(86400, "s")
    et0 = np.array([3.0, 4.0, 5.0, 4.0, 3.0, 2.0])
    off = np.array([0.0, 0.0, 0.0, 0.5, 1.0, 1.5])
    origins = np.array(["station"] * 79 + ["forecast"] * 40 + ["carried on"] * 25, dtype=object)
    return WeatherData(**({
        "times": times, "zone": "Europe/Berlin", "now": NOW,
        "temp_c": Spread(temp - sd, temp, temp + sd),
        "rain_mm": np.where(k // 6 == 3, 1.5, 0.0),
        "days": np.column_stack([starts, starts + np.timedelta64(86400, "s")]),
        "et0_mm": Spread(et0 - off, et0, et0 + off),
        "origins": {"temperature": origins, "rain": np.full(HOURS, "unknown", dtype=object)},
        "note": "Weather data by Somebody"} | told))


@pytest.fixture
def panels() -> Panels:
    return weather_chart(data())


def words(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def test_rain_is_summed_over_six_hours(panels: Panels) -> None:
    heights = [patch.get_height() for patch in panels.rain.patches if patch.get_width() == 0.25]
    assert sorted(heights)[-1] == 9.0
    assert sum(heights) == 9.0


def test_days_have_their_et0_and_only_those_foretold_a_spread(panels: Panels) -> None:
    heights = [round(patch.get_height(), 6) for patch in panels.et0.patches
               if round(patch.get_width(), 6) == 0.8]
    assert sorted(heights) == [2.0, 3.0, 3.0, 4.0, 4.0, 5.0]
    (whiskers,) = [each for each in panels.et0.collections if len(each.get_segments()) == 3]
    assert sorted(float(np.ptp(each[:, 1])) for each in whiskers.get_segments()) == [1.0, 2.0, 3.0]


def test_the_line_is_whole_and_broken_after_now(panels: Panels) -> None:
    past, coming = panels.temp.get_lines()[:2]
    assert past.get_xdata()[-1] == coming.get_xdata()[0]
    assert (past.get_linestyle(), coming.get_linestyle()) == ("-", "--")
    assert len(past.get_xdata()) + len(coming.get_xdata()) == HOURS + 1


def test_the_strip_names_rows_and_origins(panels: Panels) -> None:
    assert [label.get_text() for label in panels.origin.get_yticklabels()] == [
        "temperature", "rain"]
    told = [text.get_text() for text in panels.origin.get_legend().get_texts()]
    assert told == ["station", "forecast", "earlier days stand in", "not known"]


def test_now_is_named_and_thanks_are_said(panels: Panels) -> None:
    assert words(panels.temp) == ["now, Sat 4 Jul, 07:00", "coming"]
    (below,) = words(panels.origin)
    assert below.endswith("Weather data by Somebody")


def test_origins_stand_apart_in_grey() -> None:
    def shade(colour: str) -> float:
        red, green, blue = to_rgb(colour)
        return 0.299 * red + 0.587 * green + 0.114 * blue  # luma of ITU-R BT.601

    looks = [(shade(colour), hatch) for _, colour, hatch in ORIGINS.values()]
    for i, (one, hatch) in enumerate(looks):
        assert all(hatch != other_hatch or abs(one - other) > 0.12
                   for other, other_hatch in looks[:i])


def test_runs_by_hand() -> None:
    assert runs(np.array(["a", "a", "b", "a"], dtype=object)) == [
        ("a", 0, 2), ("b", 2, 3), ("a", 3, 4)]


def test_frost_and_unknown_rain_are_drawn() -> None:
    cold = data(temp_c=Spread(*[np.full(HOURS, -3.0)] * 3), rain_mm=np.full(HOURS, np.nan))
    assert drawing(cold).axes[0].get_ylim()[0] < -3.0


def test_no_now_on_the_axis_and_nothing_coming() -> None:
    assert words(weather_chart(data(now=NOW + np.timedelta64(30, "D"))).temp)[0].startswith("now")


@pytest.mark.parametrize(("told", "said"), [
    ({"rain_mm": np.zeros(5)}, "different lengths"),
    ({"days": np.empty((0, 2), "datetime64[s]")}, "different lengths"),
    ({"times": np.array([FIRST])}, "1 hours")])
def test_what_cannot_be_drawn_is_refused(told: dict, said: str) -> None:
    with pytest.raises(Refused, match=said):
        data(**told)
