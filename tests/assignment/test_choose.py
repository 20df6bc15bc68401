"""The solver's choice against trying everything and against linear_sum_assignment."""

from __future__ import annotations

import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from shapely import box

from panelbeater.assignment.greedy import greedy
from panelbeater.assignment.solve import Choice, choose
from panelbeater.assignment.table import Case
from panelbeater.effort import QUIET, Effort
from panelbeater.terms.arrays import Floats
from tests.assignment.random_case import random_case
from tests.assignment.tiny import (
    case_of,
    every_layout,
    laid,
    one_cell_a_region,
    tile_figure,
    value_of,
)
from tests.vehicles import piece

pytestmark = pytest.mark.solve

N_CASES = 500 if os.environ.get("PANELBEATER_PROFILE") == "deep" else 6
ROUNDING = 2e-5  # whole units of a millionth, summed over a few dozen terms


def _choose(case: Case) -> Choice:
    return choose(case, seed=1, deterministic_time=5.0, effort=QUIET)


@pytest.mark.parametrize("seed", range(N_CASES))
def test_the_choice_is_the_best_of_all_layouts(seed: int) -> None:
    case = random_case(seed)
    values = [value_of(case, layout) for layout in every_layout(case)]
    choice = _choose(case)
    assert len(values) == 5**4
    assert choice.bound == pytest.approx(choice.value, abs=ROUNDING)
    assert value_of(case, choice.chosen.tolist()) == pytest.approx(
        max(values), abs=ROUNDING
    )
    # The model charges what is lacking; both sides must agree on the total as well.
    assert choice.value == pytest.approx(max(values), abs=ROUNDING)


@pytest.mark.parametrize("seed", range(6, 12))
def test_the_bound_lies_over_the_choice_and_the_choice_over_greedy(seed: int) -> None:
    case = random_case(seed)
    choice = _choose(case)
    assert choice.bound >= choice.value - ROUNDING
    assert value_of(case, greedy(case).tolist()) <= choice.value + ROUNDING


def test_the_choice_names_one_placement_of_each_piece_in_drawing_order() -> None:
    case = random_case(0)
    assert [case.placements[j].piece for j in _choose(case).chosen] == [0, 1, 2, 3]


def _planted(cost: Floats) -> Case:
    """N pieces that all fit n regions, each region worth far more than any price."""
    n = len(cost)
    pieces = [piece(f"p{i}", box(0, 2 * i, 1, 2 * i + 1), i) for i in range(n)]
    figure = tile_figure([box(10 * i, 0, 10 * i + 1, 1) for i in range(n)])
    placements = [laid(i, j, figure.bones[j].region) for i in range(n) for j in range(n)]
    cells = one_cell_a_region(n, 1.0)
    covers = np.array([cells.region == place.region for place in placements])
    return case_of(pieces, figure, placements, cells, covers, cost.reshape(-1))


def _cost_of(case: Case, choice: Choice) -> float:
    return float(case.price[choice.chosen].sum())


@pytest.mark.parametrize("n", [2, 4, 7])
def test_products_of_ranks_cost_the_known_sum(n: int) -> None:
    # Cost i * j is least when ranks run against each other: n (n + 1) (n + 2) / 6.
    ranks = np.arange(1, n + 1, dtype=np.float64)
    case = _planted(1e-3 * np.outer(ranks, ranks).astype(np.float64))
    choice = _choose(case)
    assert _cost_of(case, choice) == pytest.approx(1e-3 * n * (n + 1) * (n + 2) / 6)
    assert choice.value == pytest.approx(n - 1e-3 * n * (n + 1) * (n + 2) / 6, abs=ROUNDING)


@settings(max_examples=10)
@given(st.integers(0, 10_000))
def test_one_piece_a_region_is_the_linear_assignment(seed: int) -> None:
    cost = np.random.default_rng(seed).integers(0, 90_000, (6, 6)).astype(np.float64) * 1e-6
    rows, columns = linear_sum_assignment(cost)
    case = _planted(cost)
    choice = _choose(case)
    assert _cost_of(case, choice) == pytest.approx(cost[rows, columns].sum(), abs=1e-9)
    regions = [case.placements[j].region for j in choice.chosen]
    assert sorted(regions) == list(range(6))


def test_the_same_case_and_seed_give_the_same_choice() -> None:
    case = _planted(np.full((5, 5), 0.01, dtype=np.float64))  # every layout ties
    first, second = _choose(case), _choose(case)
    assert np.array_equal(first.chosen, second.chosen)
    assert (first.value, first.bound) == (second.value, second.bound)


def test_a_choice_without_any_effort_is_still_a_whole_layout_under_its_bound() -> None:
    case = random_case(3)
    choice = choose(case, seed=1, deterministic_time=0.0, effort=QUIET)
    assert [case.placements[j].piece for j in choice.chosen] == [0, 1, 2, 3]
    assert choice.bound >= choice.value - ROUNDING
    assert choice.value == pytest.approx(
        value_of(case, choice.chosen.tolist()), abs=ROUNDING
    )


def test_a_stopped_choice_is_still_a_whole_layout_under_its_bound() -> None:
    effort = Effort()
    effort.stop.set()
    case = random_case(4)
    choice = choose(case, seed=1, deterministic_time=5.0, effort=effort)
    assert [case.placements[j].piece for j in choice.chosen] == [0, 1, 2, 3]
    assert choice.bound >= choice.value - ROUNDING
