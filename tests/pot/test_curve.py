import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.pot.curve import (
    N_ROWS,
    Curve,
    Traits,
    coarse_pores,
    curve_from,
    mualem,
    saturation,
    with_table,
)
from advisor.pot.materials import table
from advisor.pot.mix import blend

CURVES = [pytest.param(blend([(row.name, 1.0)]), id=row.name) for row in table()]
every_curve = pytest.mark.parametrize("curve", CURVES)


@every_curve
def test_content_is_the_exact_inverse_of_tension(curve):
    theta = np.linspace(0.0, curve.theta_s, 7919)
    assert np.abs(curve.content(curve.tension_cm(theta)) - theta).max() < 1e-12


@every_curve
def test_table_is_laid_out_for_the_kernel(curve):
    assert curve.table.shape == (N_ROWS + 1, 4)
    assert curve.table.flags.c_contiguous
    assert not curve.table.flags.writeable
    assert curve.table[0, 0] == pytest.approx(10**6.8)
    assert curve.table[-1, 0] == 0.0
    assert not curve.table[:, 3].any()
    row = 1234
    assert curve.tension_cm(row * curve.theta_s / N_ROWS) == pytest.approx(
        curve.table[row, 0], rel=1e-12
    )


@every_curve
def test_wetter_is_looser_and_faster(curve):
    assert (np.diff(curve.table[:, 0]) < 0).all()
    assert (np.diff(curve.table[:, 1]) >= 0).all()
    assert (np.diff(curve.table[:, 2]) >= 0).all()
    assert 0 < curve.theta_ad < curve.theta_wp < curve.theta_20 < curve.theta_s < 1
    assert curve.table[-1, 1] in (pytest.approx(1.0), 0.0)
    assert curve.table[-1, 2] == pytest.approx(curve.ks_cmh)


@every_curve
def test_dry_end_is_linear_in_pf(curve):
    wilted, row = curve.content(10**4.2), curve.theta_s / N_ROWS
    pf = np.array([4.85, 5.5, 6.15, 6.8])
    assert curve.content(10**pf) == pytest.approx(wilted * (6.8 - pf) / 2.6, abs=row / 2)
    assert curve.theta_ad == pytest.approx(wilted * 0.8 / 2.6, abs=row / 2)


def test_out_of_reach_stays_at_the_ends():
    curve = blend([("pumice", 1.0)])
    assert curve.content([-3.0, 0.0, 1e9]).tolist() == [curve.theta_s, curve.theta_s, 0.0]
    assert curve.tension_cm([curve.theta_s + 0.1, -0.1]) == pytest.approx([0.0, 10**6.8])


@settings(max_examples=50, deadline=None)
@given(alpha=st.floats(0.01, 2.0), n=st.floats(1.1, 5.0), theta_r=st.floats(0.01, 0.2))
def test_table_follows_the_function_it_was_made_from(alpha, n, theta_r):
    def content(tension):
        return theta_r + 0.4 * saturation(tension, alpha, n)

    curve = curve_from(content, lambda tension: 5.0 * mualem(tension, alpha, n))
    tension = np.geomspace(0.5, 15_000, 200)
    assert curve.content(tension) == pytest.approx(content(tension), abs=3e-4)
    theta = curve.content(tension)
    assert np.abs(curve.content(curve.tension_cm(theta)) - theta).max() < 1e-12


def test_exponential_soil_for_the_checks_of_the_kernel():
    alpha, theta_r, theta_s = 0.1, 0.06, 0.40
    curve = curve_from(
        lambda tension: theta_r + (theta_s - theta_r) * np.exp(-alpha * tension),
        lambda tension: np.exp(-alpha * tension),
        Traits(ks_cmh=1.0, granular=False),
    )
    assert isinstance(curve, Curve)
    tension = np.linspace(0.0, 25.0, 251)
    theta = theta_r + (theta_s - theta_r) * np.exp(-alpha * tension)
    assert curve.tension_cm(theta) == pytest.approx(tension, abs=1e-3)
    looked_up = np.interp(theta, np.linspace(0, theta_s, N_ROWS + 1), curve.table[:, 2])
    assert looked_up == pytest.approx(np.exp(-alpha * tension), abs=1e-6)
    assert not curve.granular
    assert curve.ks_cmh == 1.0


def test_conductivity_shapes_at_known_points():
    # alpha·h = 1 and n = 2: Se = 2^-1/2, Mualem with m = 1/2, worked by hand.
    se = 2**-0.5
    assert saturation(np.array([10.0]), 0.1, 2.0) == pytest.approx([se])
    assert mualem(np.array([10.0]), 0.1, 2.0) == pytest.approx([se**0.5 * (1 - se) ** 2])
    assert coarse_pores(np.array([10.0]), 0.1, 2.0) == pytest.approx([se**5])


def test_a_table_that_does_not_fall_is_a_mistake():
    flat = np.ones((N_ROWS + 1, 4))
    with pytest.raises(ValueError, match="must fall"):
        with_table(Traits(), 0.5, flat)
