"""The smoothest detours that pass where pieces have to be."""

from __future__ import annotations

import numpy as np
from scipy.optimize import nnls

from panelbeater.terms.arrays import Floats, Points

FIRMNESS = 1e-6
"""How much a demand may give way, as a share of what one frame's move costs: two demands
that contradict each other meet half-way instead of growing without end."""


TAUTNESS = 2.0
"""What a squared step costs beside a squared change of step: without it, a piece that is
held off for long is thrown more than twice as far in between."""


class Detours:
    """Demands gathered so far, and the calmest moves that meet all of them.

    For each piece: least sum of squared second and first differences, plus a little of the
    squared move so that it swells and ebbs within `reach` frames, such that the move at a
    frame reaches so far in a direction. A quadratic programme with few demands, solved
    through its dual by non-negative least squares (Lawson & Hanson 1974, chapter 23).
    """

    def __init__(
        self, n_frames: int, n_pieces: int, first: int, last: int, reach: float
    ) -> None:
        n = max(last - first, 1)
        bend = np.diff(np.eye(n + 4), n=2, axis=0)[:, 2:-2]  # at rest outside the span
        step = np.diff(np.eye(n + 2), axis=0)[:, 1:-1]
        cost = bend.T @ bend + TAUTNESS * (step.T @ step + np.eye(n) / reach**2)
        self._answer = np.asarray(np.linalg.inv(cost), dtype=np.float64)
        """(n, n), the move at every frame for a unit push at one frame."""
        self._first, self._last = first, first + n
        self._frames: list[list[int]] = [[] for _ in range(n_pieces)]
        self._ways: list[list[Points]] = [[] for _ in range(n_pieces)]
        self._reaches: list[list[float]] = [[] for _ in range(n_pieces)]

    def through(self, moves: Points, needs: Points) -> Points:
        """Moves (n_frames, n_pieces, 2) that go on from `moves` as far as `needs` asks."""
        out = moves.copy()
        lengths = np.hypot(needs[..., 0], needs[..., 1])
        for piece in np.flatnonzero(lengths.max(axis=0) > 0).tolist():
            for frame in np.flatnonzero(lengths[:, piece] > 0).tolist():
                if not self._first <= frame < self._last:
                    continue
                way = needs[frame, piece] / lengths[frame, piece]
                self._frames[piece].append(frame - self._first)
                self._ways[piece].append(way)
                here = float(way @ moves[frame, piece])
                self._reaches[piece].append(here + float(lengths[frame, piece]))
            out[self._first : self._last, piece] = self._least(piece)
        return out

    def _least(self, piece: int) -> Points:
        """(n, 2), the cheapest move that meets the demands on one piece."""
        at, ways = np.array(self._frames[piece]), np.array(self._ways[piece])
        wanted: Floats = np.array(self._reaches[piece])
        meets = self._answer[np.ix_(at, at)] * (ways @ ways.T)
        meets += FIRMNESS * self._answer.max() * np.eye(len(at))
        root = np.linalg.cholesky(meets)
        push, _ = nnls(root.T, np.linalg.solve(root, wanted), maxiter=50 * len(at))
        moved: Points = self._answer[:, at] @ (push[:, None] * ways)
        return moved
