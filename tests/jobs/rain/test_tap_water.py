"""Hard water and feeding days."""

from datetime import date

import numpy as np
import pytest

from advisor.errors import Refused
from advisor.jobs.rain.tap_water import HARDNESS, NEVER_SOFTENED, feeding_days, hardness

DAYS = np.arange("2026-06-01", "2026-06-08", dtype="datetime64[D]")


def good(left=0.8, rain=0.0, growing=True, repotted=None):
    n = DAYS.size
    return feeding_days(DAYS, np.full(n, left), np.broadcast_to(rain, n).astype(float),
                        np.full(n, growing), repotted)


@pytest.mark.parametrize(("value", "unit", "mmol"), [
    (1.0, "°dH", 0.1783), (1.0, "°fH", 0.0999), (100.09, "mg/L CaCO3", 1.0), (1.0, "gpg", 0.171),
    (1.0, "°e", 0.1424)])
def test_units_of_hardness(value, unit, mmol) -> None:
    """Tables of conversion as printed by water suppliers (from memory)."""
    assert hardness(value, unit).mmol == pytest.approx(mmol, rel=1e-3)


@pytest.mark.parametrize(("dh", "word"), [(5.0, "soft"), (8.3, "soft"), (10.0, "middling"),
                                          (14.5, "hard"), (25.0, "hard")])
def test_classes_on_suppliers_sheets(dh, word) -> None:
    """Soft under 8.4, hard over 14 German degrees (WRMG 2007 §9)."""
    told = hardness(dh, "°dH")
    assert told.word == word
    assert ("azaleas" in told.note) == (word != "soft")
    assert "softener" in NEVER_SOFTENED


def test_impossible_hardness_is_refused() -> None:
    with pytest.raises(Refused, match="hardness of the tap water: 400 °dH"):
        hardness(400.0, "°dH")
    with pytest.raises(Refused, match="unit of hardness"):
        hardness(4.0, "grains")
    assert set(HARDNESS) >= {"°dH", "°fH", "mmol/L"}


def test_damp_grains_and_dry_days_ahead() -> None:
    assert [day.day for day in good()] == [1, 2, 3, 4, 5, 6]  # of the last the morrow is unknown
    assert good(left=0.3) == []
    assert good(growing=False) == []
    rain = np.array([0.0, 0.0, 0.0, 9.0, 0.0, 0.0, 0.0])
    assert [day.day for day in good(rain=rain)] == [1, 2, 5, 6]


def test_none_after_repotting() -> None:
    """None for 4-6 weeks: common practice."""
    assert good(repotted=date(2026, 5, 20)) == []
    assert [day.day for day in good(repotted=date(2026, 4, 22))] == [3, 4, 5, 6]
