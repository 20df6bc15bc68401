"""How often a scribble crosses itself, before anyone tries to find every crossing."""

from __future__ import annotations

import numpy as np

from panelbeater.terms.arrays import Floats, Points

MOST_CROSSINGS = 20_000
"""A pen scribble of 200 strokes has about 4000; each makes a face to be judged."""
_MOST_LOOKED_AT = 256


def crossings(rings: list[Points]) -> float:
    """About how often the edges of closed (n, 2) rings cross: at most 256 of them, evenly
    chosen, are held against all others.
    """
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])  # (n, 2)
    n_chosen = min(len(starts), _MOST_LOOKED_AT)
    n_crossed = 0
    for k in np.linspace(0, len(starts) - 1, n_chosen).astype(np.int64):
        a, b = starts[k], ends[k]
        parts = _side(a, b, starts) * _side(a, b, ends) < 0
        is_parted = _side(starts, ends, a) * _side(starts, ends, b) < 0
        n_crossed += int(np.count_nonzero(parts & is_parted))
    return n_crossed * len(starts) / n_chosen / 2


def _side(a: Points, b: Points, p: Points) -> Floats:
    """On which side of the line from a to b lies p: the sign of the cross product."""
    along, to = b - a, p - a
    side: Floats = along[..., 0] * to[..., 1] - along[..., 1] * to[..., 0]
    return side
