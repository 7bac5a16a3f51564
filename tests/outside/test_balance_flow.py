"""The redistribution step against analytic solutions: layers of 10 mm, steps of .05 h."""

import numpy as np
import pytest
from flows import Bench
from soils import exponential

from advisor.balance.flow import SEALED

DT_H, WITHIN_CM = 0.05, 0.1
ALPHA_CM = 0.1  # with Ks 1 cm/h throughout

# Srivastava & Yeh 1991, Water Resources Research 27:753: the homogeneous column, 100 cm over
# a water table, flux .1 -> .9 cm/h. Pressure head [cm] at DEPTHS_CM; the surface at 10, 20 and
# 40 h agrees with a published independent code, the rest is computed from their solution.
DEPTHS_CM = (0, 10, 25, 50, 75)
WETTING = {
    1: (-7.259, -17.430, -22.922, -22.437, -17.494),
    2: (-5.267, -12.002, -21.451, -22.436, -17.494),
    5: (-3.066, -6.000, -12.802, -21.523, -17.489),
    10: (-1.913, -3.106, -6.179, -14.190, -16.499),
    20: (-1.286, -1.604, -2.489, -5.429, -8.849),
    40: (-1.081, -1.118, -1.230, -1.660, -2.244),
}


def heights_cm(count):
    return count - np.arange(count) - 0.5


def steady_cm(height_cm, down_cmh, table_cm=0.0):
    """Tension over a water table while a flux passes steadily downward (Gardner 1958)."""
    decay = np.exp(-ALPHA_CM * (height_cm - table_cm))
    return -np.log(down_cmh + (1.0 - down_cmh) * decay) / ALPHA_CM


@pytest.fixture(scope="module")
def wetted():
    """Pressure head at DEPTHS_CM by hour of the wetting column."""
    bench, heads = Bench(exponential(), steady_cm(heights_cm(100), 0.1)), {}
    depth = np.arange(100) + 0.5
    for hour in range(1, 41):
        for _ in range(round(1 / DT_H)):
            bench.step(0.9 * 10 * DT_H, DT_H)
        head = -bench.tension_cm
        surface = head[0] - 0.5 * (head[1] - head[0])  # half a layer on
        heads[hour] = np.append(surface, np.interp(DEPTHS_CM[1:], depth, head))
    return heads


@pytest.mark.parametrize("hour", WETTING)
def test_srivastava_and_yeh(wetted, hour):
    assert wetted[hour] == pytest.approx(WETTING[hour], abs=WITHIN_CM)


LIMITING_CMH = 1.0 / (np.exp(ALPHA_CM * 30) - 1.0)


def test_gardner_limiting_flux():
    # Gardner 1958, Soil Science 85:228: Ks/(exp(αL) - 1), a water table 30 cm down
    assert pytest.approx(0.052396, abs=5e-7) == LIMITING_CMH


@pytest.mark.parametrize("share", [0.25, 0.5, 0.7])
def test_gardner_profile(share):
    bench, height = Bench(exponential(), heights_cm(30)), heights_cm(30)
    for _ in range(6000):
        bench.step(-share * LIMITING_CMH * 10 * DT_H, DT_H)
    expected = steady_cm(height, -share * LIMITING_CMH)
    assert bench.tension_cm == pytest.approx(expected, abs=WITHIN_CM)


def test_gardner_profile_near_the_limit():
    # at .9 of the limiting flux tension rises 6 cm within the top layer: there the grid shows
    bench, height = Bench(exponential(), heights_cm(30)), heights_cm(30)
    for _ in range(8000):
        bench.step(-0.9 * LIMITING_CMH * 10 * DT_H, DT_H)
    apart = np.abs(bench.tension_cm - steady_cm(height, -0.9 * LIMITING_CMH))
    assert apart[2:].max() < WITHIN_CM
    assert apart[:2].max() < 0.5


@pytest.mark.parametrize(("top_cm", "within"), [(30, 0.005), (40, 0.01), (60, 0.02), (80, 0.05)])
def test_gardner_flux_to_a_dry_top(top_cm, within):
    # the flux that a top held at a tension draws; Gardner's limit as the top dries out
    height = heights_cm(30)
    bench = Bench(exponential(), np.append(float(top_cm), height[1:]))
    bench.hold_top()
    for _ in range(6000):
        bench.step(0.0, DT_H)
    decay = np.exp(-ALPHA_CM * height[0])
    expected = (decay - np.exp(-ALPHA_CM * top_cm)) / (1.0 - decay)
    assert bench.drawn_cmh(DT_H) == pytest.approx(expected, rel=within)


@pytest.mark.parametrize("base_cm", [0.0, 5.0, 20.0])
def test_a_profile_at_rest_over_a_held_base_stays(base_cm):
    bench = Bench(exponential(), base_cm + heights_cm(30))
    before = bench.theta
    for _ in range(200):
        bench.step(0.0, DT_H, base_cm)
    assert bench.theta == pytest.approx(before, abs=1e-12)


def test_what_enters_is_what_the_column_gains():
    bench = Bench(exponential(), heights_cm(20) + 30.0)
    before = bench.theta.sum()
    for _ in range(40):
        bench.step(0.2, DT_H, SEALED)
    assert (bench.theta.sum() - before) * 10 == pytest.approx(8.0, abs=1e-10)
