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

N_SPOTS = 33
"""Spots a side that the first way is looked for over; odd, so that one is no move."""
REACH = 0.6
"""Of the height: no piece is led farther, so that the raster stays fine enough to find the
way into a gap."""
WEIGHTS = (1e1, 1e2, 1e3, 1e4)
"""What being wrong costs beside a move, both in squared shares of the height: each solve
starts from the one before, so that the last hardly gives way and none is stiff."""
N_STEPS = 200
"""Of each solve."""


def lead_round(
    crowd: Crowd,
    clear: Sequence[Clearance],
    first: int,
    last: int,
    options: PathOptions,
    frames: int,
) -> Points:
    """Stage moves (n_frames, n_pieces, 2) that lead pieces round what they keep clear of.

    A piece leaves its ride at most `frames` before it would pass over the other, and is
    back as long after. Pieces that interact are led together: least cost of moves as in
    `Detours` plus squared penalties, by L-BFGS-B along their exact slope. Which side they
    pass is found before, one piece after the other, by the cheapest way over a raster.
    """
    n_pieces = crowd.placed.shape[1]
    out = np.zeros((len(crowd.outlines), n_pieces, 2))
    for cluster in _clusters(clear, n_pieces):
        crossed = np.flatnonzero(np.any([pair.crosses for pair in cluster], axis=0))
        if not len(crossed):
            continue
        start = max(first, int(crossed[0]) // PARTS - frames)
        stop = min(last, -(int(-crossed[-1]) // PARTS) + frames + 1)
        led = sorted({piece for pair in cluster for piece in pair.givers})
        wrong = penalties(crowd, cluster, led, moments_of(start, stop), options)
        moves = np.zeros((stop - start, len(led), 2))
        span = _span(crowd, cluster)
        for row in range(len(led)):
            moves[:, row] = _first_way(wrong, moves, row, span, crowd.height)
        out[start:stop, led] = _calmest(wrong, moves, crowd.height)
    return out


def _clusters(clear: Sequence[Clearance], n_pieces: int) -> list[list[Clearance]]:
    """Wishes with a piece in common that gives way in one of them."""
    levers = np.array([np.abs(pair.lever(n_pieces)) for pair in clear])
    for row, pair in enumerate(clear):
        if pair.other is not None:
            levers[row, pair.other] = 1.0
    gives = levers[:, sorted({piece for pair in clear for piece in pair.givers})]
    _, label = connected_components(csr_array(gives @ gives.T), directed=False)
    return [
        [clear[k] for k in np.flatnonzero(label == which).tolist()]
        for which in np.unique(label)
    ]


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

    In one frame it goes a few spots at most; cheapest by dynamic programming over frames,
    whose steps are priced by squares and so apart in x and in y.
    """
    spots = np.linspace(-span, span, N_SPOTS)
    across, down = np.meshgrid(spots, spots)
    raster = np.stack([across, down], axis=-1).reshape(-1, 2)  # (n_spots ** 2, 2)
    tried = np.repeat(_with_halves(moves)[:, :, None], len(raster), axis=2)
    tried[:, row] = raster
    bad = np.sum([penalty.at(tried)[0] for penalty in wrong], axis=0)
    home = TAUTNESS * (raster**2).sum(axis=-1)
    price = WEIGHTS[-2] * (bad[1:-1:2] + bad[:-2:2] + bad[2::2])
    price = (price / height**2).reshape(-1, N_SPOTS, N_SPOTS)
    home = (home / height**2).reshape(N_SPOTS, N_SPOTS)
    gap = np.abs(np.subtract.outer(np.arange(N_SPOTS), np.arange(N_SPOTS)))
    step = TAUTNESS * (gap * (spots[1] - spots[0]) / height) ** 2
    step[gap > N_SPOTS // 8] = np.inf
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
