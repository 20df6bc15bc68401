"""Finds a good layout fast: the relaxed answer made whole, then a few pieces laid anew at a
time.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.sparse import csc_array, csr_array

from panelbeater.assignment.relax import Relaxed, relax
from panelbeater.assignment.rows import Rows, solve_rows
from panelbeater.effort import Effort
from panelbeater.terms.arrays import Floats, Ints

SURE = 0.8
"""A placement that the relaxed model takes by so much is taken for good."""
N_FREE = 4
"""Pieces laid anew together: few enough that HiGHS needs a fraction of a second."""
N_NODES = 1
"""Branching nodes for one go; nearly all close at the first."""
GO_GAP = 5e-4
"""A go may stop so close to its best."""
NEAR = 0.03
"""Placements that lose more than this share in the relaxed model are not tried."""


def dive(rows: Rows, first: Relaxed, piece: Ints, effort: Effort) -> Floats | None:
    """Solve, take what is nearly whole for good, and again, until every piece lies.

    piece : (n_placements,), the piece of each of the first variables. None at a dead end.
    """
    n = len(piece)
    lower, upper = rows.lower.copy(), rows.upper.copy()
    answer = first
    while not effort.is_stopped:
        x = answer.x[:n]
        if (np.abs(x - np.round(x)) < 1e-6).all():
            return answer.x
        still = np.flatnonzero((lower[:n] < 1) & (x > 1e-6))
        sure = still[x[still] > SURE]
        # At least a quarter of what is open is settled at each step.
        order = still[np.argsort(-x[still], kind="stable")]
        n_open = len(np.unique(piece[still]))
        for j in dict.fromkeys([*sure.tolist(), *order[: max(1, n_open // 4)].tolist()]):
            if _is_laid(lower, piece, j):
                continue
            upper[np.flatnonzero(piece == piece[j])] = 0.0
            lower[j] = upper[j] = 1.0
        try:
            answer = relax(_within(rows, lower, upper))
        except ValueError:
            return None
    return None


def _is_laid(lower: Floats, piece: Ints, j: int) -> bool:
    return bool(lower[np.flatnonzero(piece == piece[j])].max() > 0.5)


def _within(rows: Rows, lower: Floats, upper: Floats) -> Rows:
    return Rows(rows.worth, rows.rows, rows.low, rows.high, lower, upper, rows.whole)


def improve(
    rows: Rows,
    values: Floats,
    relaxed: Relaxed,
    piece: Ints,
    region: Ints,
    *,
    n_goes: int,
    rng: np.random.Generator,
    effort: Effort,
) -> Floats:
    """Lay a few pieces anew, all others as they are, as often as `n_goes`; never worse.

    piece, region : (n_placements,).
    """
    n = len(piece)
    net = (rows.worth - relaxed.duals @ rows.rows)[:n]
    tried = net >= -NEAR * abs(relaxed.value)
    matrix = csc_array(rows.rows)
    for pieces in _groups(values, piece, region, rng, n_goes):
        if effort.is_stopped:
            break
        mine = np.isin(piece, pieces)
        free = np.flatnonzero(mine & (tried | (values[:n] > 0.5)))
        values = _laid_anew(rows, matrix, values, n, free)
    return values


def _groups(
    values: Floats, piece: Ints, region: Ints, rng: np.random.Generator, n_goes: int
) -> Iterator[Ints]:
    """Pieces that lie on two regions, filled up with any others."""
    n_pieces = int(piece.max()) + 1
    where = np.zeros(n_pieces, dtype=np.int64)
    n = len(piece)
    for _ in range(n_goes):
        laid = np.flatnonzero(values[:n] > 0.5)
        where[piece[laid]] = region[laid]
        two = rng.choice(np.unique(where), size=2, replace=len(np.unique(where)) < 2)
        near = np.flatnonzero(np.isin(where, two))
        others = rng.permutation(np.setdiff1d(np.arange(n_pieces), near))
        yield np.concatenate([rng.permutation(near), others])[:N_FREE]


def _laid_anew(rows: Rows, matrix: csc_array, values: Floats, n: int, free: Ints) -> Floats:
    """The best layout that differs only in the free placements."""
    columns = np.concatenate([free, np.arange(n, len(values))])
    fixed = np.setdiff1d(np.flatnonzero(values[:n] > 0.5), free)
    have = matrix[:, fixed].sum(axis=1)
    part = Rows(
        rows.worth[columns], csr_array(matrix[:, columns]),
        rows.low - have, rows.high - have, rows.lower[columns], rows.upper[columns],
        rows.whole[columns],
    )  # fmt: skip
    answer = solve_rows(part, gap=GO_GAP, n_nodes=N_NODES)
    value = float(rows.worth @ values)
    if answer.values is None or answer.value + rows.worth[fixed].sum() <= value + 0.5:
        return values
    out = np.zeros(len(values))
    out[fixed] = 1.0
    out[columns] = answer.values
    return out
