"""Dry depth and water left, against a plain reading of their rules."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soils import Floats, dry_days, members, pot_of, quiet, task

from advisor.balance import layout
from advisor.balance.look import SKIN_MM
from advisor.balance.members import THRESHOLD
from advisor.balance.run import run
from advisor.pot.materials import table

NAMES = [row.name for row in table()]


def seen(pot, theta: Floats, threshold=THRESHOLD, capacity=1.0):
    """Dry depth and water left of one profile, as the kernel reads them."""
    state = np.ascontiguousarray(theta[None, :, None])
    path = run(task(pot, quiet(1), members(capacity=capacity, threshold=threshold), state))
    return float(path.dry_mm[0, 0]), float(path.left[0, 0])


def reads(pot, relative: Floats, threshold=THRESHOLD) -> Floats:
    """A profile whose layers lie so far from "dry": 0 at wilting, 1 at the threshold."""
    wilting, per_wp20 = pot.soil[0, layout.WP], pot.soil[0, layout.PER_WP20]
    return wilting + np.asarray(relative) * threshold / per_wp20


def plain_depth(pot, theta: Floats, threshold: float) -> float:
    """Dry depth in the words of the rule."""
    centre, thickness = pot.layers[:, layout.CENTRE], pot.layers[:, layout.DZ]
    over = (theta - pot.soil[0, layout.WP]) - threshold / pot.soil[0, layout.PER_WP20]
    wet = over >= 0.0

    def below(first: int) -> float:
        """Depth of the first wet layer from a layer on, which is dry."""
        for k in range(first + 1, len(theta)):
            if wet[k]:
                part = over[k - 1] / (over[k - 1] - over[k])
                return float(centre[k - 1] + part * (centre[k] - centre[k - 1]))
        return float(thickness.sum())

    if not wet[0]:
        return below(0)
    skin = 1 if not wet[1] else 2 if len(theta) > 2 and not wet[2] else 0
    thin = skin and (over * thickness)[:skin].sum() < SKIN_MM
    return below(skin) if thin and len(theta) > 2 else 0.0


@settings(max_examples=100, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    relative=st.lists(
        st.floats(0.0, 3.0).filter(lambda at: abs(at - 1.0) > 1e-6), min_size=16, max_size=16
    ),
    threshold=st.floats(0.1, 0.6),
)
def test_dry_depth_of_any_profile(name, relative, threshold):
    pot = pot_of(name)
    theta = reads(pot, relative, threshold)
    depth, _ = seen(pot, theta, threshold)
    assert depth == pytest.approx(plain_depth(pot, theta, threshold), abs=1e-3)


@pytest.mark.parametrize("depth_mm", [12.0, 30.0, 80.0, 150.0])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_dry_at_capacity_and_everything_at_wilting(name, depth_mm):
    pot = pot_of(name, depth_mm)
    assert seen(pot, pot.rest[0, 0]) == pytest.approx((0.0, 1.0), abs=1e-6)
    wilted = np.full(pot.layers.shape[0], pot.soil[0, layout.WP])
    assert seen(pot, wilted) == pytest.approx((pot.depth_mm, 0.0), abs=1e-4)


@pytest.mark.parametrize("dry_layers", [1, 2, 3, 8, 15])
def test_depth_of_a_dry_top(dry_layers):
    # as far under the threshold above as over it below: the front lies on the layers' border
    pot = pot_of("akadama")
    relative = np.where(np.arange(16) < dry_layers, 0.5, 1.5)
    assert seen(pot, reads(pot, relative))[0] == pytest.approx(5.0 * dry_layers, abs=1e-3)


def skin(pot, layers_wet, held_mm):
    """A re-wetted top holding so much above "dry", the same in each layer, over 40 dry mm."""
    relative = np.where(np.arange(16) < 8, 0.5, 1.5)
    theta = reads(pot, relative)
    theta[:layers_wet] = reads(pot, np.ones(16))[0] + held_mm / (5.0 * layers_wet)
    return theta


@pytest.mark.parametrize(
    ("layers_wet", "held_mm", "depth"),
    [
        (1, 0.3, 40.0),
        (1, 1.45, 40.0),
        (2, 1.45, 40.0),
        (1, 1.55, 0.0),
        (2, 1.55, 0.0),
        (3, 1.0, 0.0),
    ],
)
def test_a_thin_rewetted_skin_is_looked_through(layers_wet, held_mm, depth):
    pot = pot_of("akadama")
    assert seen(pot, skin(pot, layers_wet, held_mm))[0] == pytest.approx(depth, abs=1e-3)


def test_a_wet_top_over_wet_layers_is_no_skin():
    pot = pot_of("akadama")
    assert seen(pot, reads(pot, np.full(16, 1.01)))[0] == 0.0


@settings(max_examples=60, deadline=None)
@given(
    relative=st.lists(st.floats(0.0, 0.99), min_size=3, max_size=15),
    less=st.floats(0.0, 1.0),
    threshold=st.floats(0.1, 0.5),
)
def test_a_drier_profile_reads_no_less_deep(relative, less, threshold):
    pot = pot_of("akadama")
    profile = np.append(relative, np.full(16 - len(relative), 1.6))
    profile[len(relative) :] -= less * 0.5
    wetter, drier = reads(pot, profile, threshold), reads(pot, profile - 0.3 * less, threshold)
    assert seen(pot, drier, threshold)[0] >= seen(pot, wetter, threshold)[0] - 1e-3


@settings(max_examples=60, deadline=None)
@given(low=st.floats(0.1, 0.6), more=st.floats(0.0, 0.4))
def test_a_stricter_threshold_reads_deeper(low, more):
    pot = pot_of("pumice")
    theta = run(task(pot, dry_days(3, 1.2, 1.8))).state[0, :, 0]
    assert seen(pot, theta, low + more)[0] >= seen(pot, theta, low)[0] - 1e-3


def test_threshold_and_grain_contacts_each_move_the_depth():
    # an autumn week in a 80 mm pot: the least sure numbers of all
    pot, hours = pot_of("akadama"), dry_days(7, 1.2, 1.8)
    by_threshold = run(task(pot, hours, members(threshold=np.array([0.25, 0.35, 0.45]))))
    by_k_c = run(task(pot, hours, members(k_c_cmh=np.array([1e-6, 1e-5, 1e-4]))))
    deep = by_threshold.dry_mm[-1]
    assert deep[0] < deep[1] < deep[2]
    assert deep[2] / deep[0] > 1.5
    assert np.ptp(by_k_c.dry_mm[-1]) > 3.0


@pytest.mark.parametrize("capacity", [0.6, 1.0, 1.5])
def test_a_capacity_factor_does_not_change_what_a_profile_reads(capacity):
    pot = pot_of("lava")
    theta = run(task(pot, dry_days(2, 2.0, 5.0))).state[0, :, 0]
    assert seen(pot, theta, capacity=capacity) == pytest.approx(seen(pot, theta), abs=1e-6)
