"""Chooses one placement per piece: two solvers on one model, the better answer kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.improve import dive, improve
from panelbeater.assignment.relax import relax
from panelbeater.assignment.rows import Rows, RowsAnswer, rows_of, solve_rows
from panelbeater.assignment.rules import ALL_RULES, differ_from
from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.effort import Effort, run_solver
from panelbeater.terms.arrays import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """The chosen placement of every piece, its worth and a proven bound."""

    chosen: Ints
    """(n_pieces,), index into `Case.placements`."""
    value: float
    bound: float
    proof: str
    rows: Rows | None = None
    """The model that was solved, to ask what else could have been."""


class _Keep(cp_model.CpSolverSolutionCallback):
    """Our own copy of the best layout: a stopped solver may come back empty-handed."""

    def __init__(self, table: Table) -> None:
        super().__init__()
        self._table = table
        self.best: list[bool] | None = None
        self.best_value = -np.inf

    def on_solution_callback(self) -> None:
        if self.objective_value > self.best_value:
            self.best_value = self.objective_value
            self.best = [self.boolean_value(x) for x in self._table.chosen]


def choose(
    case: Case,
    *,
    seed: int,
    deterministic_time: float,
    effort: Effort,
    earlier: Sequence[Mapping[str, str]] = (),
    n_different: int = 0,
) -> Choice:
    """Solve the weighted set cover with HiGHS and have CP-SAT check the answer.

    A small case goes to HiGHS whole, and CP-SAT goes on from its answer where a gap is
    left. A large one is relaxed, made whole, and improved a few
    pieces at a time, which is better and many times faster than one long search; CP-SAT
    then checks the layout against its own copy of the rules, and searches on from there
    only when there is none. Always returns a complete layout. Same input and seed give the
    same answer: every search stops by nodes or by deterministic time.

    earlier : layouts (region id by piece id); at least n_different pieces differ from each.
    """
    model, table = build(case)
    for layout in earlier:
        differ_from(model, table, case, layout, n_different)
    options = case.options
    rows = rows_of(model, len(table.chosen))
    first = greedy(case)
    share = deterministic_time / options.deterministic_time
    rival = _rival(case, rows, round(options.n_goes * share), seed, effort)
    if not rival.feasible:
        return Choice(first, worth(case, first), np.inf, "infeasible")
    found = rival.values is not None
    is_small = len(case.placements) <= options.small_pool
    near = options.gap_limit * abs(rival.value) + 1
    is_settled = found and (not is_small or rival.bound - rival.value <= near)
    _hint(model, table, rival.values, first)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1 if is_settled else 8
    solver.parameters.interleave_search = not is_settled
    solver.parameters.fix_variables_to_their_hinted_value = is_settled
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = seed
    solver.parameters.relative_gap_limit = options.gap_limit
    solver.parameters.max_deterministic_time = deterministic_time
    keep = _Keep(table)
    status = run_solver(solver, model, effort, keep)
    if keep.best is None and status == cp_model.INFEASIBLE and not found:
        return Choice(first, worth(case, first), np.inf, "infeasible")
    bound = rival.bound
    if not is_settled:
        bound = min(bound, solver.best_objective_bound)
    if keep.best is not None and keep.best_value >= rival.value:
        chosen, value = np.flatnonzero(keep.best), keep.best_value / UNIT
    elif rival.values is not None:
        chosen = np.flatnonzero(rival.values[: len(table.chosen)] > 0.5)
        value = rival.value / UNIT
    else:
        chosen, value = first, worth(case, first)
    bound = max(min(bound, _most(case, rows)), value * UNIT) / UNIT
    by_piece = np.array([case.placements[j].piece for j in chosen])
    gap = (bound - value) / max(abs(bound), 1 / UNIT)
    proof = f"within {gap:.1%} of the best over this pool"
    chosen = chosen[np.argsort(by_piece, kind="stable")]
    return Choice(chosen, value, bound, proof, rows)


def _rival(case: Case, rows: Rows, n_goes: int, seed: int, effort: Effort) -> RowsAnswer:
    """The answer of HiGHS, with a bound on the whole pool."""
    options = case.options
    if len(case.placements) <= options.small_pool:
        gap, n_nodes = options.gap_limit, options.n_nodes
        return solve_rows(rows, gap=gap, n_nodes=n_nodes, effort=effort)
    try:
        relaxed = relax(rows)
    except ValueError:
        return RowsAnswer(None, -np.inf, np.inf, feasible=False)
    piece = np.array([place.piece for place in case.placements])
    region = np.array([place.region for place in case.placements])
    values = dive(rows, relaxed, piece, effort)
    if values is None:
        return RowsAnswer(None, -np.inf, relaxed.value, feasible=True)
    values = improve(
        rows, values, relaxed, piece, region, n_goes=n_goes,
        rng=np.random.default_rng(seed), effort=effort,
    )  # fmt: skip
    whole = np.round(values)
    return RowsAnswer(whole, float(rows.worth @ whole), relaxed.value, feasible=True)


def _most(case: Case, rows: Rows) -> float:
    """A bound that needs no solver: all cells, all bonuses, each piece at its cheapest."""
    n = len(case.placements)
    best: dict[int, float] = {}
    for j, place in enumerate(case.placements):
        best[place.piece] = max(best.get(place.piece, -np.inf), float(rows.worth[j]))
    others = np.maximum(rows.worth[n:] * rows.upper[n:], rows.worth[n:] * rows.lower[n:])
    return float(others.sum() + sum(best.values()))


def build(case: Case) -> tuple[cp_model.CpModel, Table]:
    """The model with every rule in force."""
    model = cp_model.CpModel()
    table = Table(model, case)
    for rule in ALL_RULES:
        rule(model, table, case)
    for j, price in enumerate(case.price):
        table.terms.append((table.chosen[j], -round(float(price) * UNIT)))
    model.maximize(sum(units * variable for variable, units in table.terms))
    return model, table


def _hint(
    model: cp_model.CpModel, table: Table, values: Floats | None, first: Ints
) -> None:
    """Start from the rival's full answer, or else from the greedy layout."""
    if values is None:
        laid = set(first.tolist())
        for j, variable in enumerate(table.chosen):
            model.add_hint(variable, j in laid)
        return
    for index, value in enumerate(values):
        model.add_hint(model.get_int_var_from_proto_index(index), int(value))


def greedy(case: Case) -> Ints:
    """(n_pieces,): largest pieces first, each where it adds most at its price."""
    bare = case.cells.weight.copy()
    sight = case.sight
    room = sight.room.copy()
    chosen = np.zeros(len(case.pieces), dtype=np.int64)
    pool: dict[int, list[int]] = {}
    for j, place in enumerate(case.placements):
        pool.setdefault(place.piece, []).append(j)
    order = sorted(pool, key=lambda i: (-case.pieces[i].outline.area, i))
    for piece in order:
        mine = np.array(pool[piece])
        gain = case.covers[mine] @ bare - case.price[mine]
        if len(sight.off):
            seen = np.minimum(sight.shows[mine], room).sum(axis=1) + sight.off[mine]
            gain += sight.worth * seen
        chosen[piece] = mine[int(gain.argmax())]
        bare[case.covers[chosen[piece]]] = 0.0
        if len(sight.off):
            room = np.maximum(0, room - sight.shows[chosen[piece]])
    return chosen


def worth(case: Case, chosen: Sequence[int] | Ints) -> float:
    """Covered share and kept vehicle less prices, without the soft extras of the model."""
    which = np.asarray(chosen)
    covered = case.covers[which].any(axis=0)
    return float(
        case.cells.weight[covered].sum() - case.price[which].sum() + kept(case, which)
    )


def kept(case: Case, which: Ints) -> float:
    """What the chosen placements are paid for showing the vehicle unchanged."""
    sight = case.sight
    if len(sight.off) == 0:
        return 0.0
    seen = np.minimum(sight.shows[which].sum(axis=0), sight.room).sum()
    return float(sight.worth * (seen + sight.off[which].sum()))
