"""Do pieces travel on arcs, without kinks?"""

from __future__ import annotations

import numpy as np

from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.motion.runs import find_runs
from panelbeater.scores.result import Score, Target
from panelbeater.terms.arrays import Floats, Points


def path_over_chord(path: Points) -> float:
    """Length of a (n, 2) path over the distance of its ends; inf for a closed path."""
    length = float(np.hypot(*np.diff(path, axis=0).T).sum())
    chord = float(np.hypot(*(path[-1] - path[0])))
    return length / chord if chord > 0 else np.inf


def turns(drawings: Drawings) -> Floats:
    """(n_steps - 1, n_pieces), turn between two steps of a mover, radians; else 0."""
    one, other = drawings.step[:-1], drawings.step[1:]
    cross = one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
    turn = np.abs(np.arctan2(cross, (one * other).sum(axis=-1)))  # (n_steps - 1, n_pieces)
    out: Floats = turn * (drawings.moving[:-1] & drawings.moving[1:])
    return out


def score_arc(drawings: Drawings) -> tuple[Score, ...]:
    """Arc: path length / chord, median over moves; and the largest kink, degrees.

    Wanted: 1.02 to 1.6, no kink above 30 degrees per drawing (metrics.md; the project's).
    A move that ends where it began has no chord and is left out.
    """
    tracks, limits = drawings.tracks, drawings.tracks.limits
    found = [path_over_chord(run.path) for run in find_runs(drawings)]
    ratios = [ratio for ratio in found if np.isfinite(ratio)]
    if not ratios:
        return ()
    inside = [limits.arc_low <= ratio <= limits.arc_high for ratio in ratios]
    turn = np.degrees(turns(drawings))
    kink, note = float(turn.max(initial=0.0)), ""
    if kink > 0:
        at, piece = np.unravel_index(int(np.argmax(turn)), turn.shape)
        share = (turn > limits.kink_deg).sum() / (turn > 0).sum()
        note = (
            f"{tracks.piece_ids[piece]}, frame {drawings.rows[at + 1] + 1}; "
            f"{share:.1%} of all turns are above {limits.kink_deg:g}"
        )
    return (
        Score("arc", float(np.median(ratios)), "path over chord",
              Target(limits.arc_low, limits.arc_high),
              note=f"{sum(inside)} of {len(ratios)} moves inside"),
        Score("kink", kink, "degrees", Target(high=limits.kink_deg), note=note),
    )  # fmt: skip
