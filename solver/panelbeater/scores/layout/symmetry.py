"""Do mirror pairs end up opposite each other?"""

from __future__ import annotations

import numpy as np

from panelbeater.scores.result import Score
from panelbeater.scores.tracks import Tracks


def score_symmetry(tracks: Tracks) -> tuple[Score, ...]:
    """Symmetry: worst mismatch of mirror pairs in the last frame, as a share of H.

    Mismatch: distance of one piece's centroid to the other's, mirrored at the upright line
    through the figure's centroid (metrics.md; the measure of a pair is the project's).
    """
    at_of = {name: at for at, name in enumerate(tracks.piece_ids)}
    pairs = sorted(
        (at, at_of[piece.mirror])
        for at, piece in enumerate(tracks.shot.pieces)
        if piece.mirror in at_of and piece.mirror != piece.id
    )
    pairs = [(i, j) for i, j in pairs if tracks.present[-1, i] and tracks.present[-1, j]]
    if not pairs:
        return ()
    one = tracks.centroid[-1, [i for i, _ in pairs]]  # (n_pairs, 2)
    other = tracks.centroid[-1, [j for _, j in pairs]]
    mirrored = other * (-1.0, 1.0) + (2.0 * tracks.figure.centroid.x, 0.0)
    miss = np.hypot(*(one - mirrored).T) / tracks.height
    worst = int(np.argmax(miss))
    names = " and ".join(tracks.piece_ids[at] for at in pairs[worst])
    return (Score("symmetry", float(miss[worst]), "of H", note=f"worst: {names}"),)
