"""The smoothest way past what a piece would float beside."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, minimize

from panelbeater.paths.detours import TAUTNESS, Detours
from panelbeater.terms.arrays import Points

N, FIRST, LAST = 40, 5, 35
ONE = np.eye(1)


def _through(*demands: tuple[int, float, float]) -> Points:
    needs = np.zeros((N, 1, 2))
    for frame, x, y in demands:
        needs[frame, 0] = x, y
    return Detours(N, ONE, FIRST, LAST, 5.0).through(np.zeros((N, 1, 2)), needs)[:, 0]


def test_a_detour_reaches_as_far_as_it_must_and_no_further() -> None:
    way = _through((20, 3.0, 0.0))
    assert way[20, 0] == pytest.approx(3.0, rel=1e-4)
    assert way[:, 0].argmax() == 20
    assert np.abs(way[:, 1]).max() < 1e-12
    assert not way[:FIRST].any()
    assert not way[LAST:].any()


def test_a_piece_that_is_held_off_for_long_is_not_thrown_further() -> None:
    way = _through(*((frame, 3.0, 0.0) for frame in range(FIRST, LAST)))
    assert way[FIRST:LAST, 0].min() >= 3.0 - 1e-3
    assert way[:, 0].max() < 1.2 * 3.0


def test_what_asks_for_less_than_the_rest_costs_nothing() -> None:
    assert _through((20, 3.0, 0.0), (21, 0.5, 0.0)) == pytest.approx(
        _through((20, 3.0, 0.0))
    )


def test_it_is_the_calmest_of_all_moves_that_reach() -> None:
    # Against the same programme solved by a general method (SciPy's SLSQP).
    way = _through((15, 2.0, 0.0), (24, 1.0, 0.0))[FIRST:LAST, 0]

    def cost(x: Points) -> float:
        still = np.concatenate([[0, 0], x, [0, 0]])
        bend = np.diff(still, n=2)
        step = np.diff(still[1:-1])
        return float(bend @ bend + TAUTNESS * (step @ step + (x @ x) / 25.0))

    reach = np.zeros((2, LAST - FIRST))
    reach[0, 15 - FIRST] = reach[1, 24 - FIRST] = 1.0
    demands = LinearConstraint(reach, [2.0, 1.0], np.inf)
    best = minimize(cost, way * 0.0, method="SLSQP", constraints=demands)
    assert cost(way) == pytest.approx(best.fun, rel=1e-3)


def test_demands_that_contradict_each_other_meet_half_way() -> None:
    way = _through((20, 1.0, 0.0))
    detours = Detours(N, ONE, FIRST, LAST, 5.0)
    left, right = np.zeros((N, 1, 2)), np.zeros((N, 1, 2))
    left[20, 0], right[20, 0] = (-1.0, 0.0), (1.0, 0.0)
    once = detours.through(np.zeros((N, 1, 2)), left)
    both = detours.through(np.zeros((N, 1, 2)), right)
    assert once[20, 0, 0] == pytest.approx(-way[20, 0])
    assert both[20, 0, 0] == pytest.approx(0.0, abs=1e-6)
