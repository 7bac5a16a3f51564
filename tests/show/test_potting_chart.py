"""The drawing of choices: what is shown of each."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from advisor.garden.records import DEFAULT_ROUNDS, Mix, Potting, Rounds
from advisor.jobs.potting.choices import NEVER, Choice
from advisor.jobs.potting.compare import Compared, Holds, Interval, Moves, Outcome
from advisor.show.potting_chart import LONGEST_D, drawing, intervals, profile
from advisor.show.potting_words import compared_document, compared_text


def outcome(words="as now", months=None, wet_base_mm=12.0, target=(4.0, 6.0, float("inf"))):
    holds = Holds(2.9, 40.0, 1.3, 1.0, 0.2, wet_base_mm, 2.0, 3.3, None)
    choice = Choice(words, Potting("", NEVER, "m"), Mix("m", (("pumice", 1.0),)))
    return Outcome(choice, holds, months or (Interval(2.0, 1.0),) * 12, 100.0, 400.0, 0.1, 0.2,
                   2.0, target, 25.0 if target else None, np.arange(37.5, 0.0, -5.0),
                   np.linspace(0.35, 0.6, 8), 0.65, 0.1)


def compared(*outcomes):
    return Compared(outcomes, (Moves("how much this tree drinks", 1.0, 3.0),), 7, 9, 10.0,
                    DEFAULT_ROUNDS, own_rounds=False)


@pytest.fixture
def drawn():
    def draw(*outcomes):
        figure = drawing("7 pine, wall", compared(*outcomes))
        FigureCanvasAgg(figure).draw()
        return figure
    return draw


def test_two_panels_a_choice(drawn):
    figure = drawn(outcome("one"), outcome("two"), outcome("three"))
    assert len(figure.axes) == 6
    assert [axes.get_title(loc="left") for axes in figure.axes[:3]] == [
        "1  one", "2  two", "3  three"]
    assert figure._suptitle.get_text() == "7 pine, wall"


def test_the_deepest_pot_is_seen_to_its_top(drawn):
    shallow = outcome()
    deep = replace(shallow, holds=replace(shallow.holds, soil_depth_mm=120.0))
    for order in ((shallow, deep), (deep, shallow)):
        tops = [axes.get_ylim()[1] for axes in drawn(*order).axes[:2]]
        assert tops == pytest.approx([124.8, 124.8])


def test_it_says_whose_rounds_they_are():
    usual = compared(outcome())
    said = compared_text("7", usual)
    assert ("those of a garden that tells no others (advisor rounds): spring 07:00; summer 07:00, "
            "19:00; autumn 07:00; winter 10:00 on sat.") in said
    own = replace(usual, rounds=(Rounds("summer", ("06:00",)),), own_rounds=True)
    assert "your own: summer 06:00." in compared_text("7", own)
    told = compared_document("7", None, own)
    assert (told["own_rounds"], told["rounds"][0]["times"]) == (True, ["06:00"])


def test_days_between_waterings_stand_at_their_months(drawn):
    months = (None, *(Interval(3.0, 2.0),) * 9, Interval(LONGEST_D + 1, 2.0), None)
    axes = drawn(outcome(months=months)).axes[1]
    dots = [line for line in axes.lines if line.get_marker() == "o"]
    assert [float(line.get_xdata()[0]) for line in dots] == list(range(2, 11))
    assert {float(line.get_ydata()[0]) for line in dots} == {3.0}
    assert sorted(text.get_text() for text in axes.texts) == ["none", "none", "rarely"]


def test_the_wet_base_is_drawn_where_there_is_one(drawn):
    wet, dry = drawn(outcome()).axes[0], drawn(outcome(wet_base_mm=0.0)).axes[0]
    assert [float(line.get_ydata()[0]) for line in wet.lines] == [12.0]
    assert "too wet below" in {text.get_text() for text in wet.texts}
    assert len(dry.lines) == 0


def test_it_draws_where_it_is_told(drawn):
    axes = drawn(outcome()).axes
    assert profile(axes[0], outcome()) is axes[0]
    assert intervals(axes[1], outcome(), compared(outcome())) is axes[1]


def test_words_and_numbers_agree():
    made = compared(outcome(), outcome("other", target=None))
    text = compared_text("7 pine, wall", made)
    assert "over 10 years of weather" in text
    assert "2.0 (1.0)" in text
    assert "6 (4 to never)" in text
    assert "no target" in text
    told = compared_document("7", "wall", made)["choices"]
    assert told[0]["days_to_target"] == {"low": 4.0, "mid": 6.0, "high": None}
    assert told[1]["days_to_target"] is None
