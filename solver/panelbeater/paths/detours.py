"""The smoothest detours that pass where pieces have to be."""

from __future__ import annotations

import numpy as np
from scipy.optimize import nnls
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from panelbeater.terms.arrays import Floats, Ints, Points

FIRMNESS = 1e-6
"""How much a demand may give way, as a share of what one frame's move costs: two demands
that contradict each other meet half-way instead of growing without end."""


TAUTNESS = 2.0
"""What a squared step costs beside a squared change of step: without it, a piece that is
held off for long is thrown more than twice as far in between."""


class Detours:
    """Demands gathered so far, and the calmest moves that meet all of them.

    Least sum, over all pieces, of squared second and first differences, plus a little of
    the squared move so that it swells and ebbs within `reach` frames, such that at a frame
    a piece, or a piece against another, moves so far in a direction. A quadratic programme
    with few demands for all pieces that interact, solved through its dual by non-negative
    least squares (Lawson & Hanson 1974, chapter 23).

    levers : (n_rows, n_pieces), what demands are made of: a row of one 1 is a piece, a 1
        and a -1 two pieces against each other.
    """

    def __init__(
        self, n_frames: int, levers: Floats, first: int, last: int, reach: float
    ) -> None:
        self.cost = cost_of_moves(max(last - first, 1), reach)
        self._answer = np.asarray(np.linalg.inv(self.cost), dtype=np.float64)
        """(n, n), the move at every frame for a unit push at one frame."""
        self._first, self._last = first, first + len(self.cost)
        self._levers = levers
        self._frames: list[list[int]] = [[] for _ in levers]
        self._ways: list[list[Points]] = [[] for _ in levers]
        self._reaches: list[list[float]] = [[] for _ in levers]
        together = (levers != 0).astype(np.float64)
        _, label = connected_components(csr_array(together @ together.T), directed=False)
        self._clusters = [
            np.flatnonzero(label == k).tolist() for k in range(max(label) + 1)
        ]

    def through(self, moves: Points, needs: Points) -> Points:
        """Moves (n_frames, n_pieces, 2) that go on from `moves` as far as `needs`
        (n_frames, n_rows, 2) asks.
        """
        out = moves.copy()
        lengths = np.hypot(needs[..., 0], needs[..., 1])
        for rows in self._clusters:
            if not (lengths[:, rows] > 0).any():
                continue
            for row in rows:
                for frame in np.flatnonzero(lengths[:, row] > 0).tolist():
                    if not self._first <= frame < self._last:
                        continue
                    way = needs[frame, row] / lengths[frame, row]
                    self._frames[row].append(frame - self._first)
                    self._ways[row].append(way)
                    here = float(way @ (self._levers[row] @ moves[frame]))
                    self._reaches[row].append(here + float(lengths[frame, row]))
            led = np.flatnonzero(self._levers[rows].any(axis=0))
            out[self._first : self._last, led] = self._least(rows, led)
        return out

    def at_once(self, moves: Points, needs: Points) -> Points:
        """Moves that do what is asked for in each frame on its own, kink or not."""
        shares = self._levers / (self._levers**2).sum(axis=1, keepdims=True)
        out: Points = moves + np.einsum("rp,frd->fpd", shares, needs)
        return out

    def _least(self, rows: list[int], led: Ints) -> Points:
        """(n, n_led, 2), the cheapest moves that meet the demands on these rows."""
        at = np.array([frame for row in rows for frame in self._frames[row]])
        ways = np.array([way for row in rows for way in self._ways[row]]).reshape(-1, 2)
        wanted: Floats = np.array([reach for row in rows for reach in self._reaches[row]])
        of = np.repeat(rows, [len(self._frames[row]) for row in rows])
        levers = self._levers[np.ix_(of, led)]  # (n_demands, n_led)
        meets = self._answer[np.ix_(at, at)] * (ways @ ways.T) * (levers @ levers.T)
        meets += FIRMNESS * self._answer.max() * np.eye(len(at))
        root = np.linalg.cholesky(meets)
        push, _ = nnls(root.T, np.linalg.solve(root, wanted), maxiter=50 * len(at))
        pushes = push[:, None] * ways
        moved = [
            self._answer[:, at] @ (levers[:, k, None] * pushes) for k in range(len(led))
        ]
        return np.stack(moved, axis=1)


def cost_of_moves(n: int, reach: float) -> Floats:
    """(n, n), what moves of n frames on end cost: move @ cost @ move, in x and in y."""
    bend = np.diff(np.eye(n + 4), n=2, axis=0)[:, 2:-2]  # at rest outside the span
    step = np.diff(np.eye(n + 2), axis=0)[:, 1:-1]
    out: Floats = bend.T @ bend + TAUTNESS * (step.T @ step + np.eye(n) / reach**2)
    return out
