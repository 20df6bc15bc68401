"""Smoothness of the moves against the smoothest one there is."""

from __future__ import annotations

import numpy as np

from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.motion.runs import find_runs
from panelbeater.scores.result import Score
from panelbeater.terms.arrays import Points

MINIMUM_JERK = 720.0
"""Integral of squared jerk of a unit move in unit time: Flash & Hogan 1985, Hogan & Sternad
2009 (dimensionless squared jerk)."""


def dimensionless_jerk(path: Points) -> float:
    """T^5 / L^2 * integral of |jerk|^2 over a (n, 2) path that rests before and after.

    Jerk by third differences, so a path of few drawings reads a little low; L is the
    length of the path. No unit.
    """
    n_steps = len(path) - 1
    length = float(np.hypot(*np.diff(path, axis=0).T).sum())
    rested = np.concatenate([path[:1], path[:1], path, path[-1:], path[-1:]])
    third = np.diff(rested, n=3, axis=0)  # (n_steps + 2, 2), drawing units per step^3
    return float(n_steps**5 * (third * third).sum() / length**2)


def score_jerk(drawings: Drawings) -> tuple[Score, ...]:
    """Dimensionless jerk / 720, median over moves: 1 is the minimum-jerk move.

    metrics.md, motion scores; Hogan & Sternad 2009. No unit.
    """
    runs = find_runs(drawings)
    if not runs:
        return ()
    values = [dimensionless_jerk(run.path) / MINIMUM_JERK for run in runs]
    worst = int(np.argmax(values))
    name = drawings.tracks.piece_ids[runs[worst].piece]
    note = f"minimum jerk is 1; worst {values[worst]:.3g}, {name}"
    return (Score("jerk", float(np.median(values)), "of minimum jerk", note=note),)
