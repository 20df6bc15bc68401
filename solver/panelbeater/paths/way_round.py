"""Pieces led round what they keep clear of: a way, then the calmest moves, all together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import minimize
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from panelbeater.paths.clear import Clearance
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.paths.detours import TAUTNESS, cost_of_moves
from panelbeater.paths.options import PathOptions
from panelbeater.paths.penalties import Penalty, moments_of, penalties
from panelbeater.terms.arrays import Floats, Points

SPOT = 0.02
"""Of the height: what lies between two spots of the raster a first way is looked for over,
about a third of a small piece."""
MOST_SPOTS = 16
"""To each side; where a way is longer, spots lie farther apart."""
REACH = 0.6
"""Of the height: no piece is led farther."""
QUICKEST = 0.08
"""Of the height: no piece goes farther on its first way from one frame to the next."""
WEIGHTS = (1e1, 1e2, 1e3, 1e4)
"""What being wrong costs beside a move, both in squared shares of the height: each solve
starts from the one before, so that the last hardly gives way and none is stiff."""
N_STEPS = 200
"""Of each solve."""


def clusters(clear: Sequence[Clearance], which: Sequence[int]) -> list[list[int]]:
    """Some of the wishes, those together that have a piece in common which gives way in
    one of them.
    """
    givers = sorted({piece for k in which for piece in clear[k].givers})
    members = np.array(
        [[g == clear[k].other or g in clear[k].givers for g in givers] for k in which],
        dtype=np.float64,
    )
    _, label = connected_components(csr_array(members @ members.T), directed=False)
    return [
        [which[k] for k in np.flatnonzero(label == n).tolist()] for n in np.unique(label)
    ]


def lead_round(
    crowd: Crowd,
    clear: Sequence[Clearance],
    first: int,
    last: int,
    options: PathOptions,
    frames: int,
) -> Points:
    """Stage moves (n_frames, n_pieces, 2) that lead a cluster round what it keeps clear of.

    A piece leaves its ride at most `frames` before any would pass over another, and is back
    as long after. All are led together: least cost of moves as in `Detours` plus squared
    penalties, by L-BFGS-B along their exact slope. Which side they pass is found before,
    one piece after the other, by the cheapest way over a raster.
    """
    out = np.zeros((len(crowd.outlines), crowd.placed.shape[1], 2))
    crossed = np.flatnonzero(np.any([pair.crosses for pair in clear], axis=0))
    if not len(crossed):
        return out
    start = max(first, int(crossed[0]) // PARTS - frames)
    stop = min(last, -(int(-crossed[-1]) // PARTS) + frames + 1)
    led = sorted({piece for pair in clear for piece in pair.givers})
    wrong = penalties(crowd, clear, led, moments_of(start, stop), options)
    moves = np.zeros((stop - start, len(led), 2))
    span = _span(crowd, clear)
    for row in range(len(led)):
        moves[:, row] = _first_way(wrong, moves, row, span, crowd.height)
    out[start:stop, led] = _calmest(wrong, moves, crowd.height)
    return out


def _span(crowd: Crowd, clear: Sequence[Clearance]) -> float:
    """How far a piece may be led: past what it goes round, and itself."""
    reach = 0.0
    for pair in clear:
        at = int(np.argmax(pair.barred))
        one, other = pair.two(crowd, at, np.zeros((crowd.placed.shape[1], 2)))
        sides = np.array([shape.bounds for shape in (one, other)])
        reach = max(reach, float(np.hypot(*(sides[:, 2:] - sides[:, :2]).T).sum()))
    return min(reach, REACH * crowd.height)


def _first_way(
    wrong: Sequence[Penalty],
    moves: Points,
    row: int,
    span: float,
    height: float,
) -> Points:
    """(n, 2), the cheapest moves of one led piece over a raster, the others as they are.

    Cheapest by dynamic programming over frames, whose steps are priced by squares and so
    apart in x and in y.
    """
    n_side = min(MOST_SPOTS, int(np.ceil(span / (SPOT * height))))
    spots = np.linspace(-span, span, 2 * n_side + 1)
    across, down = np.meshgrid(spots, spots)
    raster = np.stack([across, down], axis=-1).reshape(-1, 2)  # (n_spots ** 2, 2)
    tried = np.repeat(_with_halves(moves)[:, :, None], len(raster), axis=2)
    tried[:, row] = raster
    bad = np.sum([penalty.at(tried)[0] for penalty in wrong], axis=0)
    home = TAUTNESS * (raster**2).sum(axis=-1)
    price = WEIGHTS[-2] * (bad[1:-1:2] + bad[:-2:2] + bad[2::2])
    price = (price / height**2).reshape(-1, len(spots), len(spots))
    home = (home / height**2).reshape(len(spots), len(spots))
    gap = np.abs(np.subtract.outer(spots, spots)) / height
    step = np.where(gap <= QUICKEST, TAUTNESS * gap**2, np.inf)
    total, came = home + price[0], []
    for here in price[1:]:
        by_row = step[:, :, None] + total[None]  # to, from, column
        from_row = by_row.argmin(axis=1)
        by_column = step[None] + by_row.min(axis=1)[:, None]  # row, to, from
        from_column = by_column.argmin(axis=2)
        came.append((from_row, from_column))
        total = by_column.min(axis=2) + here
    at = np.unravel_index(int((total + home).argmin()), total.shape)
    way = [at]
    for from_row, from_column in reversed(came):
        column = from_column[at]
        at = (from_row[at[0], column], column)
        way.append(at)
    return np.array([(spots[column], spots[line]) for line, column in reversed(way)])


def _calmest(wrong: Sequence[Penalty], start: Points, height: float) -> Points:
    """(n, n_led, 2), the moves that cost least and are hardly wrong, all at once."""
    root = cholesky(cost_of_moves(len(start), np.inf), lower=True)
    calm = (root.T @ start.reshape(len(start), -1)).ravel() / height
    for weight in WEIGHTS:
        calm = minimize(
            price_of, calm, args=(wrong, root, height, weight), jac=True,
            method="L-BFGS-B", options={"maxiter": N_STEPS},
        ).x  # fmt: skip
    return height * _eased(root, calm, len(start))


def price_of(
    calm: Floats, wrong: Sequence[Penalty], root: Floats, height: float, weight: float
) -> tuple[float, Floats]:
    """What moves cost and how wrong they are, in squared shares of the height; and the
    slope. The unknowns are the moves as the square root of their cost sees them: of that
    many directions none is stiffer than another.
    """
    n = len(root)
    moves = height * _eased(root, calm, n)
    bad, slope = 0.0, np.zeros_like(moves)
    tried = _with_halves(moves)
    for penalty in wrong:
        price, lean = penalty.at(tried)
        bad += float(price.sum())
        slope += lean[1:-1:2] + (lean[:-2:2] + lean[2::2]) / 2
    share = weight / height**2
    back = solve_triangular(root, slope.reshape(n, -1), lower=True).ravel()
    return float(calm @ calm) + share * bad, 2 * calm + share * height * back


def _eased(root: Floats, calm: Floats, n: int) -> Points:
    out: Points = solve_triangular(root.T, calm.reshape(n, -1)).reshape(n, -1, 2)
    return out


def _with_halves(moves: Points) -> Points:
    """(2 n + 1, n_led, 2): moves at the half-way before each of n frames, at it, and at the
    half-way after the last; there is no move before or after.
    """
    still = np.zeros_like(moves[:1])
    padded = np.concatenate([still, moves, still])
    out = np.zeros((2 * len(moves) + 1, *moves.shape[1:]))
    out[1::2] = moves
    out[::2] = (padded[:-1] + padded[1:]) / 2
    return out
