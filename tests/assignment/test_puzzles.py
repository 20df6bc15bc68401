"""Published puzzles and coverings, solved through the rules of the layout."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from ortools.sat.python import cp_model

from panelbeater.assignment.solve import Choice, build, choose
from panelbeater.assignment.table import Case
from panelbeater.effort import QUIET
from tests.assignment.puzzles import (
    TANS,
    convex_figures,
    cover_case,
    pentomino_case,
    tangram_case,
)

pytestmark = pytest.mark.solve


def _choose(case: Case) -> Choice:
    return choose(case, seed=1, deterministic_time=5.0, effort=QUIET)


def test_thirteen_of_the_twenty_convex_figures_are_tangrams() -> None:
    # Wang & Hsiung, A theorem on the tangram, Amer. Math. Monthly 49 (1942): sixteen half
    # squares make twenty convex figures, and the seven tans make thirteen of those.
    figures = convex_figures()
    assert len(figures) == 20
    assert {len(figure) for figure in figures} == {32}
    made = 0
    for figure in figures:
        case = tangram_case(figure)
        if len({place.piece for place in case.placements}) == len(TANS):
            made += _choose(case).value == pytest.approx(0.01 * len(figure))
    assert made == 13


def test_the_twelve_pentominoes_fill_three_by_twenty_in_two_ways() -> None:
    # Apart from turns and flips: Golomb, Polyominoes (Princeton, 2nd ed. 1994).
    columns, rows = 20, 3
    case = pentomino_case(columns, rows)
    model, table = build(case)
    for cell, covered in table.covered.items():  # covered, and by one piece alone
        model.add(covered == 1)
        model.add_exactly_one(table.covering(cell))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    found: set[bytes] = set()
    while solver.solve(model) == cp_model.OPTIMAL:
        laid = [j for j, x in enumerate(table.chosen) if solver.boolean_value(x)]
        model.add_bool_or(~table.chosen[j] for j in laid)
        board = np.zeros((columns, rows), dtype=np.int64)
        for j in laid:
            board[case.covers[j].reshape(columns, rows)] = case.placements[j].piece
        found.add(min(seen.tobytes() for seen in (board, board[:, ::-1])))
    assert len(found) == 2


@pytest.mark.parametrize(
    ("n", "fewest"), [(2, 5), pytest.param(3, 18, marks=pytest.mark.slow)]
)
def test_points_that_meet_every_line_of_a_ternary_space(n: int, fewest: int) -> None:
    # Fulkerson, Nemhauser & Trotter (1974): A9 and A27, the lines of AG(2, 3) and AG(3, 3),
    # need 5 and 18 points. The rest is a largest cap: 4 and 9 (OEIS A090245).
    points = list(itertools.product(range(3), repeat=n))
    lines = sorted(
        {
            tuple(sorted((a, b, tuple((-x - y) % 3 for x, y in zip(a, b, strict=True)))))
            for a, b in itertools.combinations(points, 2)
        }
    )
    assert len(lines) == 3 ** (n - 1) * (3**n - 1) // 2
    ways = {
        "".join(map(str, point)): [
            frozenset(line for line in lines if point in line), frozenset()
        ]
        for point in points
    }  # fmt: skip
    case = cover_case(lines, ways)
    # A point costs less than one line is worth, so that every line is met in the end.
    price = np.array([0.008 * covers.any() for covers in case.covers])
    case = Case(case.pieces, case.figure, case.placements, case.cells, case.covers, price,
                case.options)  # fmt: skip
    choice = _choose(case)
    assert case.covers[choice.chosen].any(axis=0).all()
    assert int(case.covers[choice.chosen].any(axis=1).sum()) == fewest
    assert choice.bound == pytest.approx(choice.value, abs=1e-6)
