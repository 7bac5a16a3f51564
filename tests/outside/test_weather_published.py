"""Weather against published values: FAO-56 (1998), worked examples 3 and 10.

Examples and their figures as quoted in the public test suites of pyeto and pyet; tolerance
half the last digit printed, unless a line says otherwise.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from advisor.weather import files, spread
from advisor.weather.vapour import saturation_kpa


@pytest.mark.parametrize(("temp_c", "expected_kpa"), [(24.5, 3.075), (15.0, 1.705)])
def test_saturation_example_3(temp_c: float, expected_kpa: float) -> None:
    assert saturation_kpa(temp_c) == pytest.approx(expected_kpa, abs=5e-4)


def test_mean_saturation_example_3() -> None:
    assert saturation_kpa([24.5, 15.0]).mean() == pytest.approx(2.39, abs=5e-3)


@pytest.mark.parametrize(("temp_c", "expected_kpa"), [(25.0, 3.168), (18.0, 2.064)])
def test_saturation_example_5(temp_c: float, expected_kpa: float) -> None:
    assert saturation_kpa(temp_c) == pytest.approx(expected_kpa, abs=5e-4)


def test_radiation_from_sunshine_example_10() -> None:
    """Rio de Janeiro, May: n 220/31 h, N 10.9 h (10.895), Ra 25.1 (25.111) give 14.5 MJ/m²."""
    found = spread.radiation_from_sunshine_mjm2(
        np.array([220 / 31]), np.array([10.895]), np.array([25.111])
    )
    assert found[0] == pytest.approx(14.5, abs=0.05)


def test_sun_of_example_10() -> None:
    """22.9° S, 15 May: Ra 25.1 MJ/m², N 10.9 h.

    The sun of pvlib every five minutes: Ra within 1 %, N within a tenth of an hour.
    """
    hours = pd.date_range("2026-05-15T03:00Z", periods=24, freq="h")
    sun = spread.sun(hours, -22.9, -43.2)
    assert sun.above.sum() * 0.0036 == pytest.approx(25.1, rel=0.01)
    assert sun.up.sum() == pytest.approx(10.9, abs=0.1)


def test_a_sunny_day_of_example_18(tmp_path: Path) -> None:
    """Uccle, 6 July: 9.25 h of sun give Rs 22.07 MJ/m²; within 1 % by pvlib's sun."""
    path = tmp_path / "uccle.csv"
    path.write_text(
        "# latitude: 50.8\n# longitude: 4.35\n"
        "day [Europe/Brussels],tmax [C],tmin [C],humidity max [%],humidity min [%],"
        "sunshine [h]\n2026-07-06,21.5,12.3,84,63,9.25\n"
    )
    hours = files.read(path).hours
    assert hours["ghi_wm2"].sum() * 0.0036 == pytest.approx(22.07, rel=0.01)
    assert hours["vapour_kpa"].mean() == pytest.approx(1.409, abs=5e-4)
