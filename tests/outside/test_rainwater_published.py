"""Rain from roofs and hardness of water against published figures, all from memory.

DIN 1989-1:2002 Table 3 (run-off coefficients) and its yield, area · coefficient · rain;
BS 8515:2009 (ranges); Farreny et al. 2011, Water Research 45:3245 (flat gravel roof .62);
conversions of hardness as on suppliers' sheets.
"""

import numpy as np
import pytest

from advisor.jobs.rain.butts import COVERINGS, Roof, caught_l
from advisor.jobs.rain.tap_water import hardness


@pytest.mark.parametrize(("covering", "din"), [
    ("tiles", 0.8), ("slate", 0.8), ("bitumen", 0.8), ("gravel", 0.6), ("green, thin", 0.5),
    ("green, deep", 0.3)])
def test_coefficients_of_the_standard(covering: str, din: float) -> None:
    assert COVERINGS[covering].value == din


def test_measured_gravel_roof_lies_in_the_range() -> None:
    gravel = COVERINGS["gravel"]
    assert gravel.low <= 0.62 <= gravel.high


def test_yield_of_a_year() -> None:
    """120 m² of tiles under 800 mm: 120 · 0.8 · 800 = 76 800 L, spread over any days."""
    rain = np.random.default_rng(1).exponential(1.0, 365)
    assert caught_l([Roof(120.0, "tiles")], rain / rain.sum() * 800.0).sum() == pytest.approx(
        76_800.0)


@pytest.mark.parametrize(("value", "unit", "german"), [
    (1.0, "mmol/L", 5.6), (1.0, "°fH", 0.56), (1.0, "°e", 0.80), (17.85, "mg/L CaCO3", 1.0)])
def test_degrees_of_hardness(value: float, unit: str, german: float) -> None:
    in_german = hardness(value, unit).mmol / hardness(1.0, "°dH").mmol
    assert in_german == pytest.approx(german, rel=5e-3)
