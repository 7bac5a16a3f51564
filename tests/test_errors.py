"""What is refused is said once, shortly, and in the reader's words."""

import pytest

from advisor.errors import ManyRefused, Refused


@pytest.mark.parametrize(("limit", "said"), [
    ("0 to 60 m/s", "wind: -5 m/s. Wanted: 0 to 60 m/s. Check it."),
    ("known: a, b", "wind: -5 m/s. Known: a, b. Check it."),
])
def test_a_refusal_says_what_value_limit_and_what_to_do(limit, said):
    assert str(Refused("wind", "-5 m/s", limit, "Check it.")) == said


def many(*cells):
    return str(ManyRefused("a.csv", [Refused(f"line {line}, wind", value, "a number", "Mend it.")
                                     for line, value in cells], "Again."))


@pytest.mark.parametrize(("cells", "count"), [
    ([(2, "x")], "1 row"), ([(2, "x"), (3, "y")], "2 rows"),
    ([(2, "x"), (2, "y"), (3, "z")], "3 cells in 2 rows"),
])
def test_cells_are_counted_in_their_rows(cells, count):
    assert many(*cells).startswith(f"a.csv: {count} refused, nothing written.\n")


def test_one_mistake_in_many_lines_is_shown_once():
    assert many(*((line, "x") for line in range(2, 294))) == (
        "a.csv: 292 rows refused, nothing written.\n"
        "  lines 2 to 293, wind: x. Wanted: a number. Mend it.\nAgain.")
    assert "  lines 2 to 293, wind: 20 and others. Wanted:" in many(
        *((line, 10 * line) for line in range(2, 294)))


def test_different_values_are_shown_one_by_one():
    said = many((2, "x"), (4, "x"), (3, "y"))
    assert "  lines 2, 4, wind: x. " in said
    assert "  line 3, wind: y. " in said
