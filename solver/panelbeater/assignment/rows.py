"""The same model as plain linear rows, for a rival solver that checks CP-SAT's answer."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

from panelbeater.effort import QUIET, Effort
from panelbeater.terms.arrays import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """maximise worth @ x with low <= rows @ x <= high, x whole within bounds."""

    worth: Floats
    rows: csr_array
    low: Floats
    high: Floats
    lower: Floats
    upper: Floats
    whole: Ints
    """(n_variables,), 1 where a variable must be whole; the others follow from those."""


@dataclass(frozen=True, slots=True, eq=False)
class RowsAnswer:
    """Values of every variable, or None when the node limit came first."""

    values: Floats | None
    value: float
    bound: float
    feasible: bool


def rows_of(model: cp_model.CpModel, n_decisions: int) -> Rows:
    """Read linear, exactly-one and at-most-one constraints off a CP-SAT model.

    Only the first n_decisions variables must be whole. What the rules add (covered cells,
    shortfalls, bonuses) is whole by itself in a best answer, and far cheaper when free.

    Raises ValueError on any other constraint: the rules are kept linear on purpose.
    """
    proto = model.proto
    n = len(proto.variables)
    # The solver's own lists do not count from the end: copy before taking the last.
    domains = np.array([_ends(v.domain) for v in proto.variables])
    entries: list[NDArray[np.float64]] = []
    """(3, n) each: row, variable, coefficient."""
    low: list[float] = []
    high: list[float] = []
    for constraint in proto.constraints:
        row = len(low)
        if constraint.has_linear():
            part = constraint.linear
            entries.append(_entries(row, part.vars, part.coeffs))
            least, most = _ends(part.domain)
            low.append(least)
            high.append(most)
            continue
        if constraint.has_exactly_one():
            literals, least = constraint.exactly_one.literals, 1.0
        elif constraint.has_at_most_one():
            literals, least = constraint.at_most_one.literals, -np.inf
        else:
            raise ValueError(f"not a linear rule: {constraint}")
        if min(literals, default=0) < 0:
            raise ValueError("rules speak of placements, not of their absence")
        entries.append(_entries(row, literals, [1.0] * len(literals)))
        low.append(least)
        high.append(1.0)
    worth = np.zeros(n)
    # CP-SAT stores a maximisation as the minimisation of its negative.
    objective = proto.objective
    sign = objective.scaling_factor or 1.0
    for variable, coefficient in zip(objective.vars, objective.coeffs, strict=True):
        worth[variable] += sign * coefficient
    row_of, variable_of, values = np.concatenate([np.zeros((3, 0)), *entries], axis=1)
    at = (row_of.astype(np.int64), variable_of.astype(np.int64))
    matrix = csr_array((values, at), shape=(len(low), n))
    whole = (np.arange(n) < n_decisions).astype(np.int64)
    ends = (domains[:, 0], domains[:, 1])
    return Rows(worth, matrix, np.array(low), np.array(high), *ends, whole)


def narrowed(rows: Rows, free: np.ndarray, fixed: np.ndarray) -> Rows:
    """The same rows with some decisions made: `fixed` are taken, of the others only `free`
    may be. Both are (n_decisions,) flags over the first variables.
    """
    n = len(free)
    upper, lower = rows.upper.copy(), rows.lower.copy()
    upper[:n] = np.where(free | fixed, upper[:n], 0.0)
    lower[:n] = np.where(fixed, 1.0, lower[:n])
    return replace(rows, lower=lower, upper=upper)


def solve_rows(
    rows: Rows, *, gap: float, n_nodes: int, effort: Effort = QUIET
) -> RowsAnswer:
    """Solve with HiGHS, one thread, stopped by nodes and never by the clock."""
    limits = LinearConstraint(rows.rows, open_ended(rows.low), open_ended(rows.high))
    call = partial(
        milp,
        -rows.worth,
        constraints=[limits],
        integrality=rows.whole,
        bounds=Bounds(rows.lower, rows.upper),
        options={"mip_rel_gap": gap, "node_limit": n_nodes},
    )
    results: list[OptimizeResult] = []
    worker = threading.Thread(target=lambda: results.append(call()), daemon=True)
    with hushed():
        worker.start()
        while worker.is_alive() and not effort.is_stopped:
            worker.join(0.05)
    if not results:  # stopped: HiGHS cannot be asked to, so it is left behind
        return RowsAnswer(None, -np.inf, np.inf, feasible=True)
    answer = results[0]
    if answer.x is None:
        return RowsAnswer(None, -np.inf, np.inf, feasible=answer.status != 2)
    whole = np.round(answer.x)
    bound = np.inf if answer.mip_dual_bound is None else -answer.mip_dual_bound
    return RowsAnswer(whole, float(rows.worth @ whole), bound, feasible=True)


@contextlib.contextmanager
def hushed() -> Iterator[None]:
    """HiGHS now and then prints from C to standard output, which is the animator's JSON."""
    kept = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    sys.stdout.flush()
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _entries(
    row: int, variables: Sequence[int], coefficients: Sequence[float]
) -> NDArray[np.float64]:
    out = np.full((3, len(variables)), float(row))
    out[1], out[2] = list(variables), list(coefficients)
    return out


def _ends(domain: Iterable[int]) -> tuple[float, float]:
    values = list(domain)
    return float(values[0]), float(values[-1])


def open_ended(values: Floats) -> Floats:
    """CP-SAT's open ends are the largest whole numbers; HiGHS knows infinity."""
    return np.where(values > 1e15, np.inf, np.where(values < -1e15, -np.inf, values))
