"""Chooses one placement per piece with CP-SAT, from a greedy first layout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.rules import ALL_RULES
from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.effort import Effort, run_solver
from panelbeater.terms.arrays import Ints


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """The chosen placement of every piece, its worth and a proven bound."""

    chosen: Ints
    """(n_pieces,), index into `Case.placements`."""
    value: float
    bound: float
    proof: str


class _Keep(cp_model.CpSolverSolutionCallback):
    """Our own copy of the best layout: a stopped solver may come back empty-handed."""

    def __init__(self, table: Table) -> None:
        super().__init__()
        self._table = table
        self.best: list[bool] | None = None
        self.value = -np.inf

    def on_solution_callback(self) -> None:
        if self.objective_value > self.value:
            self.value = self.objective_value
            self.best = [self.boolean_value(x) for x in self._table.chosen]


def choose(case: Case, *, seed: int, deterministic_time: float, effort: Effort) -> Choice:
    """Solve the weighted set cover; always returns a complete layout.

    Same input and seed give the same answer: eight searches take turns in a fixed order and
    stop by deterministic time, whatever the machine's speed or number of cores.
    """
    model = cp_model.CpModel()
    table = Table(model, case)
    for rule in ALL_RULES:
        rule(model, table, case)
    for j, price in enumerate(case.price):
        table.terms.append((table.chosen[j], -round(float(price) * UNIT)))
    model.maximize(sum(units * variable for variable, units in table.terms))
    first = greedy(case)
    for j, variable in enumerate(table.chosen):
        model.add_hint(variable, j in set(first.tolist()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 8
    solver.parameters.interleave_search = True
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = seed
    solver.parameters.relative_gap_limit = case.options.gap_limit
    solver.parameters.max_deterministic_time = deterministic_time
    keep = _Keep(table)
    status = run_solver(solver, model, effort, keep)
    if status == cp_model.INFEASIBLE:
        return Choice(first, worth(case, first), np.inf, "infeasible")
    chosen = first if keep.best is None else np.flatnonzero(keep.best)
    by_piece = np.array([case.placements[j].piece for j in chosen])
    chosen = chosen[np.argsort(by_piece, kind="stable")]
    value = keep.value / UNIT if keep.best is not None else worth(case, first)
    proof = "bounded over this pool"
    if status == cp_model.OPTIMAL:
        proof = f"within {case.options.gap_limit:.1%} of the best over this pool"
    return Choice(chosen, value, solver.best_objective_bound / UNIT, proof)


def greedy(case: Case) -> Ints:
    """(n_pieces,): largest pieces first, each where it adds most at its price."""
    bare = case.cells.weight.copy()
    chosen = np.zeros(len(case.pieces), dtype=np.int64)
    pool: dict[int, list[int]] = {}
    for j, place in enumerate(case.placements):
        pool.setdefault(place.piece, []).append(j)
    order = sorted(pool, key=lambda i: (-case.pieces[i].outline.area, i))
    for piece in order:
        mine = np.array(pool[piece])
        gain = case.covers[mine] @ bare - case.price[mine]
        chosen[piece] = mine[int(gain.argmax())]
        bare[case.covers[chosen[piece]]] = 0.0
    return chosen


def worth(case: Case, chosen: Sequence[int] | Ints) -> float:
    """Covered share less prices, without the soft extras of the model."""
    covered = case.covers[np.asarray(chosen)].any(axis=0)
    return float(case.cells.weight[covered].sum() - case.price[np.asarray(chosen)].sum())
