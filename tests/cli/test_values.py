import pytest

from advisor.cli.values import (
    Hours,
    Number,
    Part,
    Quantity,
    Share,
    Sizes,
    Skyline,
    Whole,
    Word,
    YesNo,
)
from advisor.errors import Refused

MM = Quantity("length_mm", "mm")
OUTSIDE = Sizes(3)


@pytest.mark.parametrize(("value", "text", "read"), [
    (Number(), "-2.5", -2.5), (Whole(), "42", 42), (Share(), "0.3", 0.3), (Share(), "30%", 0.3),
    (Share(), "30 %", 0.3), (MM, "60", 60.0), (MM, "6cm", 60.0), (MM, "2 in", 50.8),
    (Quantity("litres", "L"), "750 mL", 0.75), (OUTSIDE, "350x250x60", (350.0, 250.0, 60.0)),
    (OUTSIDE, "35 × 25 X 6 cm", (350.0, 250.0, 60.0)), (Sizes(2, "cm"), "45x40", (45.0, 40.0)),
    (Sizes(2, "cm"), "450x400mm", (45.0, 40.0)), (Hours(), "6:30-20", (6.5, 20.0)),
    (Hours(), "All day", "all day"), (Skyline(), "90:20,180:5", ((90.0, 20.0), (180.0, 5.0))),
    (Skyline(), "none", ()), (Part(), "akadama 2-5=40", ("akadama 2-5", 40.0)),
    (Part(), "lava=30%", ("lava", 30.0)), (YesNo(), "Y", True), (YesNo(), "no", False),
    (Word("wind", ("open", "half")), "OPEN", "open"),
])
def test_a_value_is_read_as_growers_write_it(value, text, read):
    assert value.convert(text, None, None) == read


@pytest.mark.parametrize(("value", "text", "said"), [
    (Number(), "2,5", "Write it as 2.5."), (Number(), "5 mm", "without its unit"),
    (Whole(), "1.5", "a whole number"), (Share(), "a third", "Write it as 2.5."),
    (MM, "60 kg", "Known: mm, cm, in"), (MM, "deep", "Write it as 60."),
    (OUTSIDE, "350x250", "3 numbers in mm"), (OUTSIDE, "35cm x 250mm x 60", "one unit for all"),
    (OUTSIDE, "35x25x6kg", "Known: mm, cm, in"), (Hours(), "6", "Write it as 9-17"),
    (Hours(), "6-25", "hours of the clock"), (Skyline(), "90", "Write it as 90:20,180:5"),
    (Part(), "akadama", "Write it as akadama=40."), (YesNo(), "maybe", "yes or no"),
    (Word("wind", ("open", "half")), "opn", "Did you mean 'open'?"),
    (Word("wind", ("open", "half")), "storm", "Give one of these words."),
])
def test_what_cannot_be_read_is_refused_with_the_way_to_write_it(value, text, said):
    with pytest.raises(Refused) as refused:
        value.convert(text, None, None)
    assert said in str(refused.value)


def test_what_was_read_already_passes():
    assert MM.convert(60.0, None, None) == 60.0
