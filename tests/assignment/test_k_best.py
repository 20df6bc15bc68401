"""The best layouts one after another, what else a piece could do, and two solvers that
agree: all against trying everything.
"""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.assignment.reasons import next_best
from panelbeater.assignment.rows import rows_of, solve_rows
from panelbeater.assignment.rules.mirror import mirror_region
from panelbeater.assignment.solve import build, choose
from panelbeater.assignment.table import UNIT, Case
from panelbeater.effort import QUIET
from panelbeater.terms.figure import BONE_IDS
from tests.assignment.random_case import random_case
from tests.assignment.tiny import every_layout, value_of

pytestmark = pytest.mark.solve

ROUNDING = 2e-5


def _regions(case: Case, layout: tuple[int, ...]) -> tuple[int, ...]:
    """Where each piece lies, left and right taken together."""
    regions = [case.placements[j].region for j in layout]
    return tuple(min(region, mirror_region(region)) for region in regions)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_the_k_best_layouts_are_those_that_trying_everything_finds(seed: int) -> None:
    case, k, n_different = random_case(seed), 5, 2
    ranked = sorted(every_layout(case), key=lambda layout: -value_of(case, layout))
    wanted: list[tuple[int, ...]] = []
    for layout in ranked:
        here = _regions(case, layout)
        apart = [
            sum(a != b for a, b in zip(here, _regions(case, done), strict=True))
            for done in wanted
        ]
        if min(apart, default=n_different) >= n_different:
            wanted.append(layout)
        if len(wanted) == k:
            break
    earlier: list[dict[str, str]] = []
    for expected in wanted:
        choice = choose(
            case, seed=1, deterministic_time=5.0, effort=QUIET, earlier=earlier,
            n_different=n_different,
        )  # fmt: skip
        assert choice.value == pytest.approx(value_of(case, expected), abs=ROUNDING)
        earlier.append(
            {
                piece.id: BONE_IDS[case.placements[j].region]
                for piece, j in zip(case.pieces, choice.chosen, strict=True)
            }
        )


@pytest.mark.parametrize("seed", range(6))
def test_highs_agrees_with_trying_everything(seed: int) -> None:
    case = random_case(seed)
    model, table = build(case)
    answer = solve_rows(rows_of(model, len(table.chosen)), gap=0.0, n_nodes=10_000)
    best = max(value_of(case, layout) for layout in every_layout(case))
    assert answer.value / UNIT == pytest.approx(best, abs=ROUNDING)
    assert answer.bound / UNIT == pytest.approx(best, abs=ROUNDING)


@pytest.mark.parametrize("seed", range(4))
def test_the_cost_of_the_next_best_lies_between_all_free_and_all_else_still(
    seed: int,
) -> None:
    case = random_case(seed)
    choice = choose(case, seed=1, deterministic_time=5.0, effort=QUIET)
    chosen = choice.chosen.tolist()
    for piece in range(len(case.pieces)):
        here = case.placements[chosen[piece]].region
        away = [
            layout
            for layout in every_layout(case)
            if case.placements[layout[piece]].region != here
        ]
        still = [
            layout
            for layout in away
            if all(layout[i] == chosen[i] for i in range(len(chosen)) if i != piece)
        ]
        least, most = (
            choice.value - max(value_of(case, layout) for layout in layouts)
            for layouts in (away, still)
        )
        other = next_best(case, choice, piece)
        assert other is not None
        assert other.region != here
        assert least - ROUNDING <= other.cost <= most + ROUNDING


def test_a_piece_with_one_region_has_no_next_best() -> None:
    case = random_case(0)
    places = case.placements
    keep = np.array(
        [place.piece != 0 or place.region == places[0].region for place in places]
    )
    only = type(case)(
        case.pieces, case.figure, tuple(p for p, k in zip(places, keep, strict=True) if k),
        case.cells, case.covers[keep], case.price[keep], case.options,
    )  # fmt: skip
    choice = choose(only, seed=1, deterministic_time=5.0, effort=QUIET)
    assert next_best(only, choice, 0) is None
