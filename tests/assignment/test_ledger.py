"""The ledger tells what HiGHS tells once every placement is fixed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.assignment.assign import Pool, case_of, offer_placements
from panelbeater.assignment.greedy import greedy
from panelbeater.assignment.improve import improve
from panelbeater.assignment.ledger import BROKEN, Ledger
from panelbeater.assignment.nearby import Nearby
from panelbeater.assignment.rows import Rows, narrowed, rows_of, solve_rows
from panelbeater.assignment.solve import build
from panelbeater.assignment.table import Case
from panelbeater.effort import QUIET
from panelbeater.terms.arrays import Ints
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle

pytestmark = pytest.mark.solve


@pytest.fixture(scope="module")
def case() -> Case:
    vehicle, figure = small_vehicle(), small_figure()
    options = replace(COARSE, wanted_cover={"torso": 0.9})
    pool: Pool = offer_placements(vehicle, figure, ground=GROUND, options=options)
    return case_of(vehicle, figure, standing_fold(figure), pool)


@pytest.fixture(scope="module")
def rows(case: Case) -> Rows:
    model, table = build(case)
    return rows_of(model, len(table.chosen))


def _ledger(case: Case, rows: Rows) -> Ledger:
    return Ledger.of(rows, np.array([place.piece for place in case.placements]))


def _anyhow(ledger: Ledger, seed: int) -> Ints:
    rng = np.random.default_rng(seed)
    return np.array([rng.choice(mine) for mine in ledger.of_piece])


def test_it_adds_up_what_the_solver_adds_up(case: Case, rows: Rows) -> None:
    ledger, n = _ledger(case, rows), len(case.placements)
    n_allowed = 0
    for seed in range(20):
        chosen = _anyhow(ledger, seed)
        fixed = np.isin(np.arange(n), chosen)
        answer = solve_rows(narrowed(rows, fixed, fixed), gap=0.0, n_nodes=1)
        assert ledger.is_allowed(chosen) == (answer.values is not None)
        if answer.values is None:
            assert ledger.value(chosen) < ledger.value(greedy(case)) - 0.5 * BROKEN
        else:
            n_allowed += 1
            assert ledger.value(chosen) == pytest.approx(answer.value, abs=2)
    assert 0 < n_allowed < 20


def test_one_piece_more_is_what_the_whole_layout_is_worth(case: Case, rows: Rows) -> None:
    ledger = _ledger(case, rows)
    chosen = _anyhow(ledger, 3)
    rest, mine = chosen[1:], ledger.of_piece[0]
    load, worth = ledger.load(rest), float(ledger.worth[rest].sum())
    for value, j in zip(ledger.with_piece(load, worth, mine), mine, strict=True):
        assert value == pytest.approx(ledger.value(np.array([j, *rest])), abs=2)


def test_what_a_piece_wins_is_told_from_the_rows_it_touches(case: Case, rows: Rows) -> None:
    ledger = _ledger(case, rows)
    nearby = [Nearby.of(ledger, piece) for piece in range(len(ledger.of_piece))]
    assert all(len(few.rows) < len(ledger.load(ledger.of_piece[0])) for few in nearby)
    for seed in range(5):
        chosen = _anyhow(ledger, seed)
        load = ledger.load(chosen)
        reached = ledger.first.reached(load[None, : len(ledger.first.low)])[0]
        for piece, ways in enumerate(ledger.of_piece):
            here = int(np.searchsorted(ways, chosen[piece]))
            gains = nearby[piece].gains(load, reached, reached @ ledger.carried, here)
            worth = []
            for way in ways.tolist():
                moved = chosen.copy()
                moved[piece] = way
                worth.append(ledger.value(moved))
            assert gains == pytest.approx(np.array(worth) - worth[here], abs=8)


def test_goes_never_make_a_layout_worse(case: Case, rows: Rows) -> None:
    ledger = _ledger(case, rows)
    first = _anyhow(ledger, 3)
    values = [ledger.value(first)]
    for n_goes in (1, 30, 300):
        laid = improve(case, ledger, first, n_goes=n_goes,
                       rng=np.random.default_rng(1), effort=QUIET)  # fmt: skip
        assert [case.placements[j].piece for j in laid] == list(range(len(case.pieces)))
        values.append(ledger.value(laid))
    assert min(values) == values[0] < values[-1]
    model, table = build(case)
    best = solve_rows(rows_of(model, len(table.chosen)), gap=0.0, n_nodes=100)
    assert values[-1] >= 0.99 * best.value


def test_a_row_that_demands_a_least_is_refused(case: Case, rows: Rows) -> None:
    hard = np.flatnonzero(np.diff(rows.rows[:, len(case.placements) :].indptr) == 0)
    low = rows.low.copy()
    low[hard[-1]] = 0.5
    with pytest.raises(ValueError, match="cannot read"):
        _ledger(case, replace(rows, low=low))
