"""The drawing of a year: litres and dry days."""

from datetime import date

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg

from advisor.jobs.year import Dry, Learned, TreeYear
from advisor.show.year_chart import drawing
from advisor.show.year_words import HEADER, year_document, year_rows, year_text

DRIEST = (Dry(date(2026, 7, 9), 0.18),)
NAMES = {"1": "1 pine", "2": "2 maple"}


def tree(label, litres=10.0, learned=None, driest=DRIEST):
    months = np.zeros(12)
    months[6] = litres
    return TreeYear(label, "bench", 200, 30, 2 * litres, litres, 3.0, 150, driest, 12, 2, learned,
                    months)


def test_a_row_a_tree_a_dot_a_month():
    figure = drawing(2026, [tree("1"), tree("2", 5.0)], NAMES)
    FigureCanvasAgg(figure).draw()
    dots, days = figure.axes
    assert [label.get_text() for label in dots.get_yticklabels()] == ["1 pine  10 L",
                                                                      "2 maple  5 L"]
    sizes = dots.collections[0].get_sizes().reshape(2, 12)
    assert sizes[0, 6] == 2 * sizes[1, 6] > 0
    assert sizes[:, :6].max() == 0
    assert [bar.get_width() for bar in days.patches] == [12, 12, 2, 2]


def test_what_was_learned_is_said():
    said = year_text(2026, [tree("1", learned=Learned(1.1, 1.2, 1.3)), tree("2")], NAMES)
    assert "1 pine: 20 % more than its kind (110 % to 130 % of it)" in said
    assert "18 % on 9 Jul" in said
    none = year_text(2026, [tree("1", driest=())], NAMES)
    assert "Nothing was read of any tree" in none


def test_rows_have_the_columns_they_say():
    trees = [tree("1", learned=Learned(0.8, 0.9, 1.0)), tree("2", driest=())]
    rows = [dict(zip(HEADER, row, strict=True)) for row in year_rows(trees)]
    assert rows[0]["thirst_mid"] == 0.9
    assert (rows[0]["driest_day"], rows[0]["driest_left"]) == ("2026-07-09", 0.18)
    assert rows[1]["driest_day"] is None
    assert year_document(2026, trees)["trees"][0]["thirst"]["low"] == 0.8
