"""Spacing of the moves: how much faster the middle is than the mean."""

from __future__ import annotations

import numpy as np

from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.motion.runs import find_runs
from panelbeater.scores.result import Score
from panelbeater.terms.arrays import Points


def peak_over_mean(path: Points) -> float:
    """Peak over mean speed of a path sampled at equal times, (n, 2); no unit."""
    lengths = np.hypot(*np.diff(path, axis=0).T)
    return float(lengths.max() / lengths.mean())


def score_ease(drawings: Drawings) -> tuple[Score, ...]:
    """Ease: peak / mean speed of each move, median over moves (metrics.md).

    Constants to read it by: linear 1, smoothstep 1.5, half cosine pi/2, minimum jerk 1.875
    (Flash & Hogan 1985).
    """
    runs = find_runs(drawings)
    if not runs:
        return ()
    ratios = [peak_over_mean(run.path) for run in runs]
    sharpest = int(np.argmax(ratios))
    name = drawings.tracks.piece_ids[runs[sharpest].piece]
    note = f"linear 1, minimum jerk 1.875; sharpest {ratios[sharpest]:.3g}, {name}"
    return (Score("ease", float(np.median(ratios)), "peak over mean speed", note=note),)
