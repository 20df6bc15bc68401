"""The fold's cost: its slope against finite differences, and what does not change it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelbeater.fold.energy import FoldOptions, energy, limits, sample_body, unpack
from panelbeater.geometry.distance import DistanceGrid, distance_grid
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.arrays import Floats
from tests.figures import capsule_figure
from tests.fold.containers import VAN

FIGURE = capsule_figure(100)
BODY = sample_body(skeleton_of(FIGURE), FIGURE.height)
OPTIONS = FoldOptions()
LOW, HIGH = limits(OPTIONS)


def _ramp() -> DistanceGrid:
    """A slope without corners, as wide as any limb can reach."""
    values = np.add.outer(np.arange(120) * 1.5, np.arange(120) * -0.7) + 3
    return DistanceGrid(values, np.array([-200.0, -200.0]), 4.0)


def _bent(n: int = 3, seed: int = 2) -> Floats:
    """(n, n_unknowns): roots in the van, joints half-way to their limits."""
    rng = np.random.default_rng(seed)
    x = rng.uniform(-0.4, 0.4, (n, LOW.size)) * np.where(np.isfinite(HIGH), HIGH, 0.0)
    x[:, :2] = rng.uniform(0.2, 0.8, (n, 2))
    x[:, -12:] = rng.uniform(0.6, 0.95, (n, 12))
    return x


@pytest.mark.parametrize("grid", [_ramp(), distance_grid(VAN)], ids=["ramp", "van"])
def test_the_slope_of_the_cost_matches_finite_differences(grid: DistanceGrid) -> None:
    x, h = _bent(), 1e-6
    _, slope = energy(BODY, grid, x, OPTIONS, firmness=10.0)
    for unknown in range(LOW.size):
        step = h * np.eye(LOW.size)[unknown]
        above, _ = energy(BODY, grid, x + step, OPTIONS, firmness=10.0)
        below, _ = energy(BODY, grid, x - step, OPTIONS, firmness=10.0)
        found = (above - below) / (2 * h)
        off = np.abs(found - slope[:, unknown]) / np.linalg.norm(slope, axis=1)
        assert off.max() < 1e-6, f"unknown {unknown}"


@given(st.floats(-300, 300), st.floats(-300, 300))
def test_moving_the_whole_stage_leaves_the_cost_alone(dx: float, dy: float) -> None:
    grid = _ramp()
    moved_grid = DistanceGrid(grid.values, grid.origin + np.array([dx, dy]), grid.cell)
    x = _bent()
    there = x.copy()
    there[:, :2] += np.array([dx, dy]) / FIGURE.height
    cost, slope = energy(BODY, grid, x, OPTIONS, firmness=1.0)
    moved_cost, moved_slope = energy(BODY, moved_grid, there, OPTIONS, firmness=1.0)
    # Low feet are paid for by stage height, the same for every fold on one stage.
    paid = OPTIONS.low_feet_weight * 2 * dy / FIGURE.height
    assert moved_cost + paid == pytest.approx(cost, rel=1e-9, abs=1e-7)
    assert moved_slope == pytest.approx(slope, rel=1e-6, abs=1e-6)


def test_a_body_deep_inside_costs_less_than_one_that_sticks_out() -> None:
    x = _bent(1)
    inside, outside = x.copy(), x.copy()
    inside[:, :2], outside[:, :2] = (0.6, 0.4), (3.0, 0.4)
    grid = distance_grid(VAN)
    assert (
        energy(BODY, grid, inside, OPTIONS, firmness=1.0)[0][0]
        < energy(BODY, grid, outside, OPTIONS, firmness=1.0)[0][0]
    )


def test_unknowns_at_rest_are_the_standing_pose() -> None:
    x = np.zeros(LOW.size)
    x[-12:] = 1.0
    pose = unpack(BODY, x)
    assert np.array_equal(pose.turns, BODY.skeleton.rest.turns)
    assert np.array_equal(pose.scales, np.ones((15, 2)))
