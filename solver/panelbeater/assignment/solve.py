"""Chooses one placement per piece: two solvers on one model, the better answer kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.greedy import greedy, worth
from panelbeater.assignment.improve import dive, improve
from panelbeater.assignment.ledger import Ledger
from panelbeater.assignment.relax import relax
from panelbeater.assignment.rows import Rows, rows_of, solve_rows
from panelbeater.assignment.rules import ALL_RULES, differ_from
from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.effort import Effort, run_solver
from panelbeater.terms.arrays import Ints

Better: TypeAlias = Callable[[Case, Ints, float], None]
"""Is told a case, a better layout (n_pieces,) of it, and what that is worth."""


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """The chosen placement of every piece, its worth and a proven bound."""

    chosen: Ints
    """(n_pieces,), index into `Case.placements`."""
    value: float
    bound: float
    proof: str
    ledger: Ledger | None = None
    """The model that was solved, to ask what else could have been."""
    case: Case | None = None
    """The case that `chosen` speaks of, where placements were found on the way."""


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
    grown: Callable[[Case, Ints], Case] | None = None,
    better: Better | None = None,
    start: Sequence[int] = (),
) -> Choice:
    """Solve the weighted set cover with HiGHS and have CP-SAT check the answer.

    A small case goes to HiGHS whole, and CP-SAT goes on from its answer where a gap is
    left. A large one is relaxed, made whole, and improved a few pieces at a time, which is
    better and many times faster than one long search; CP-SAT then checks the layout
    against its own copy of the rules, and searches on from there only when there is none.
    Always returns a complete layout. Same input and seed give the same answer: every search
    stops by nodes, goes or deterministic time.

    earlier : layouts (region id by piece id); at least n_different pieces differ from each.
    grown : the case with placements that a layout (n_pieces,) of it lacks; searched on.
    start : placements that go together, of some pieces, to search on from.
    """
    options = case.options
    stated = _stated(case, earlier, n_different)
    first = greedy(case, start)
    goes = round(options.n_goes * deterministic_time / options.deterministic_time)
    rng = np.random.default_rng(seed)
    rival = _rival(stated, first, goes, rng, effort)
    if not rival.feasible:
        return Choice(first, worth(case, first), np.inf, "infeasible")
    if better and rival.chosen is not None:
        better(case, rival.chosen, rival.value / UNIT)
    if grown is not None and goes and len(case.placements) > options.small_pool:
        stated, rival = _searched_on(stated, rival, grown, goes, rng, effort, better)
    return _checked(stated, rival, first, seed, deterministic_time, effort)


def _searched_on(
    stated: _Stated,
    rival: _Rival,
    grown: Callable[[Case, Ints], Case],
    n_goes: int,
    rng: np.random.Generator,
    effort: Effort,
    better: Better | None,
) -> tuple[_Stated, _Rival]:
    """Rounds of placements that the layout so far lacks, and goes with those as well."""
    for _ in range(stated.case.options.n_more_rounds):
        if rival.chosen is None or effort.is_stopped:
            break
        case = grown(stated.case, rival.chosen)
        stated = _stated(case, stated.earlier, stated.n_different)
        rival = _improved(stated, rival.chosen, np.inf, n_goes // 3, rng, effort)
        if better and rival.chosen is not None:
            better(case, rival.chosen, rival.value / UNIT)
    if not np.isfinite(rival.bound):
        rival = replace(rival, bound=relax(stated.rows).value)
    return stated, rival


def _checked(
    stated: _Stated,
    rival: _Rival,
    first: Ints,
    seed: int,
    deterministic_time: float,
    effort: Effort,
) -> Choice:
    """The layout as CP-SAT sees it, which searches on where there is none yet."""
    case, model, table = stated.case, stated.model, stated.table
    options, found = case.options, rival.chosen is not None
    is_small = len(case.placements) <= options.small_pool
    near = options.gap_limit * abs(rival.value) + 1
    is_settled = found and (not is_small or rival.bound - rival.value <= near)
    laid = set((first if rival.chosen is None else rival.chosen).tolist())
    for j, variable in enumerate(table.chosen):
        model.add_hint(variable, j in laid)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1 if is_settled else 8
    solver.parameters.interleave_search = not is_settled
    solver.parameters.fix_variables_to_their_hinted_value = is_settled
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = seed
    solver.parameters.relative_gap_limit = options.gap_limit
    solver.parameters.max_deterministic_time = deterministic_time
    status = run_solver(solver, model, effort, keep := _Keep(table))
    if keep.best is None and status == cp_model.INFEASIBLE and not found:
        return Choice(first, worth(case, first), np.inf, "infeasible")
    bound = rival.bound
    if not is_settled:
        bound = min(bound, solver.best_objective_bound)
    # Both count in whole units, the ledger in single precision.
    if keep.best is not None and keep.best_value >= rival.value - 10:
        chosen, value = np.flatnonzero(keep.best), keep.best_value / UNIT
    elif rival.chosen is not None:
        chosen, value = rival.chosen, rival.value / UNIT
    else:
        chosen, value = first, worth(case, first)
    bound = max(min(bound, _most(case, stated.rows)), value * UNIT) / UNIT
    gap = (bound - value) / max(abs(bound), 1 / UNIT)
    proof = f"within {gap:.1%} of the best over this pool"
    chosen = chosen[np.argsort([case.placements[j].piece for j in chosen], kind="stable")]
    return Choice(chosen, value, bound, proof, stated.ledger, case)


@dataclass(frozen=True, slots=True, eq=False)
class _Stated:
    """A case put as a model, as rows and as a formula."""

    case: Case
    model: cp_model.CpModel
    table: Table
    rows: Rows
    ledger: Ledger
    earlier: Sequence[Mapping[str, str]]
    n_different: int


def _stated(case: Case, earlier: Sequence[Mapping[str, str]], n_different: int) -> _Stated:
    model, table = build(case)
    for layout in earlier:
        differ_from(model, table, case, layout, n_different)
    rows = rows_of(model, len(table.chosen))
    ledger = Ledger.of(rows, np.array([place.piece for place in case.placements]))
    return _Stated(case, model, table, rows, ledger, earlier, n_different)


@dataclass(frozen=True, slots=True, eq=False)
class _Rival:
    """The layout that CP-SAT is to check, in units, and a bound on the whole pool."""

    chosen: Ints | None
    value: float
    bound: float
    feasible: bool = True


def _rival(
    stated: _Stated,
    first: Ints,
    n_goes: int,
    rng: np.random.Generator,
    effort: Effort,
) -> _Rival:
    """Small pools go to HiGHS whole; others are relaxed, made whole and improved."""
    rows, options, ledger = stated.rows, stated.case.options, stated.ledger
    piece = np.array([place.piece for place in stated.case.placements])
    if len(piece) <= options.small_pool:
        answer = solve_rows(
            rows, gap=options.gap_limit, n_nodes=options.n_nodes, effort=effort
        )
        if answer.values is None:
            return _Rival(None, -np.inf, answer.bound, answer.feasible)
        chosen = np.flatnonzero(answer.values[: len(piece)] > 0.5)
        chosen = chosen[np.argsort(piece[chosen], kind="stable")]
        return _Rival(chosen, answer.value, answer.bound)
    try:
        relaxed = relax(rows)
    except ValueError:
        return _Rival(None, -np.inf, np.inf, feasible=False)
    dived = dive(rows, relaxed, piece, effort)
    # A jigsaw's gaps are smaller than a cell: where one cell decides, it is the better one.
    cell = UNIT * float(stated.case.cells.weight.max())
    if dived is None or ledger.value(first) > ledger.value(dived) - cell:
        dived = first
    return _improved(stated, dived, relaxed.value, n_goes, rng, effort)


def _improved(
    stated: _Stated,
    start: Ints,
    bound: float,
    n_goes: int,
    rng: np.random.Generator,
    effort: Effort,
) -> _Rival:
    ledger = stated.ledger
    laid = improve(stated.case, ledger, start, n_goes=n_goes, rng=rng, effort=effort)
    if not ledger.is_allowed(laid):
        return _Rival(None, -np.inf, bound)
    return _Rival(laid, ledger.value(laid), bound)


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
