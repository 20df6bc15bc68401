"""The layout with placements allowed by halves: its value and what each row is worth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array, vstack

from panelbeater.assignment.rows import Rows, hushed, open_ended
from panelbeater.terms.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """An optimum of the relaxed rows."""

    value: float
    x: Floats
    """(n_variables,)"""
    duals: Floats
    """(n_rows,), what one more unit on the right of each row would add to the value."""


def relax(rows: Rows) -> Relaxed:
    """Solve the rows with HiGHS as if nothing had to be whole.

    Raises ValueError where even that has no answer.
    """
    is_equal = rows.low == rows.high
    has_high = ~is_equal & np.isfinite(open_ended(rows.high))
    has_low = ~is_equal & np.isfinite(open_ended(rows.low))
    at_most = vstack([rows.rows[has_high], -rows.rows[has_low]], format="csr")
    with hushed():
        done = linprog(
            -rows.worth,
            A_ub=at_most, b_ub=np.concatenate([rows.high[has_high], -rows.low[has_low]]),
            A_eq=rows.rows[is_equal], b_eq=rows.high[is_equal],
            bounds=list(zip(rows.lower.tolist(), rows.upper.tolist(), strict=True)),
            method="highs",
        )  # fmt: skip
    if done.x is None or done.fun is None:
        raise ValueError(done.message)
    duals = np.zeros(len(rows.low))
    n_high = int(has_high.sum())
    duals[is_equal] = -done.eqlin.marginals
    duals[has_high] -= done.ineqlin.marginals[:n_high]
    duals[has_low] += done.ineqlin.marginals[n_high:]
    return Relaxed(-float(done.fun), done.x, duals)


def without_rows(rows: Rows, dropped: np.ndarray) -> Rows:
    """The same with some rows let go."""
    keep = ~dropped
    return Rows(rows.worth, csr_array(rows.rows[keep]), rows.low[keep], rows.high[keep],
                rows.lower, rows.upper, rows.whole)  # fmt: skip
