"""No piece is shrunk or grown beyond what the animator allows."""

from __future__ import annotations

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks
from panelbeater.scores.words import same_frames
from panelbeater.terms.arrays import Floats


def judge_budget(tracks: Tracks) -> Promise:
    """Budget: visible pieces below their smallest scale, or outside it at the end.

    Count over pieces and frames, must be 0 (metrics.md). The stated scale must hold to
    rounding; the scale as drawn, sqrt(area / input area), to 2 %, because bending an
    outline may change its area a little. A stated scale that is not the drawn one breaks
    the promise too: whoever reads it would be cheated.
    """
    low = np.broadcast_to(tracks.allowance[:, 2], tracks.scale.shape).copy()
    high = np.full(tracks.scale.shape, np.inf)
    # At the end both rules hold: the dip allowance does not excuse a small last drawing.
    low[-1] = np.maximum(low[-1], tracks.allowance[:, 0])
    high[-1] = tracks.allowance[:, 1]
    limits = tracks.limits
    small = _outside(-tracks.scale, -low, limits.stated_scale)
    small |= _outside(-tracks.measured_scale, -low, limits.measured_scale)
    large = _outside(tracks.scale, high, limits.stated_scale)
    large |= _outside(tracks.measured_scale, high, limits.measured_scale)
    off = np.abs(tracks.measured_scale - tracks.scale)
    stated = off > limits.measured_scale * np.abs(tracks.scale)
    stated &= ~(small | large)
    kinds = {
        "smaller than allowed": small & tracks.visible,
        "larger than allowed": large & tracks.visible,
        "not drawn at the scale it states": stated & tracks.visible,
    }
    broken = [
        place for words, bad in kinds.items() for place in _breaks(tracks, bad, words)
    ]
    n_broken = float(np.any(list(kinds.values()), axis=0).sum())
    return Promise("budget", n_broken, 0.0, tuple(broken))


def _outside(value: Floats, bound: Floats, slack: float) -> Flags:
    finite = np.where(np.isfinite(bound), bound, 0.0)
    return np.asarray((value > bound + slack * np.abs(finite)), dtype=np.bool_)


def _breaks(tracks: Tracks, bad: Flags, words: str) -> list[Break]:
    hits = {
        name: [float(frame) for frame in tracks.frames[bad[:, at]]]
        for at, name in enumerate(tracks.piece_ids)
    }
    return [Break(frames, names, words) for frames, names in same_frames(hits)]
