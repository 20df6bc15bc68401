"""The separate moves of each piece, from rest to rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.scores.motion.drawings import Drawings
from panelbeater.terms.arrays import Points


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One move of one piece."""

    piece: int
    start: int
    """First step of the move."""
    path: Points
    """(n_steps_of_move + 1, 2), the centroid at every drawing, from rest to rest."""


def spans(flags: Flags) -> list[tuple[int, int]]:
    """Half-open spans of True in a (n,) array."""
    edges = np.flatnonzero(
        np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8))
    )
    return [(int(low), int(high)) for low, high in edges.reshape(-1, 2)]


def find_runs(drawings: Drawings) -> list[Run]:
    """Moves of at least four steps, by piece and then by time.

    A move holds at least one step in which the piece moves, and reaches out over its slow
    beginning and end to where the piece rests (less than 1e-5 W a step).
    """
    tracks, limits = drawings.tracks, drawings.tracks.limits
    out = []
    for piece in range(len(tracks.piece_ids)):
        going = drawings.length[:, piece] > limits.at_rest * tracks.width
        for low, high in spans(going):
            long = high - low >= limits.shortest_move
            if long and drawings.moving[low:high, piece].any():
                path = tracks.centroid[drawings.rows[low : high + 1], piece]
                out.append(Run(piece, low, path))
    return out
