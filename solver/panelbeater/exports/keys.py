"""Choosing the few frames that tell the whole change."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.terms.arrays import Floats
from panelbeater.terms.rig import Rig, Sample


def change_per_frame(rig: Rig, sample: Sample) -> Floats:
    """How much the picture moves into each frame; (n_frames,), drawing units, first is 0.

    Every piece counts with the square root of its area (a wheel says more than a lamp), by
    the way of its middle plus the way of its edge as it turns and shrinks.
    """
    outlines = np.array([piece.outline for piece in rig.drawing.pieces], dtype=object)
    reach = np.sqrt(shapely.area(outlines))  # (n_pieces,)
    steps = np.diff(sample.stage_from_piece, axis=0)  # (n_times - 1, n_pieces, 3, 3)
    ways = np.linalg.norm(steps[..., :2, 2], axis=-1)
    turns = np.linalg.norm(steps[..., :2, :2], axis=(-2, -1)) * reach / 2
    change = ((ways + turns) * reach).sum(axis=1) / max(float(reach.sum()), 1e-12)
    return np.concatenate([[0.0], change])


def telling_frames(rig: Rig, sample: Sample, n_keys: int) -> list[int]:
    """First and last frame and `n_keys - 2` between, equal amounts of change apart."""
    n_frames = len(sample.stage_from_piece)
    if n_frames <= n_keys:
        return list(range(n_frames))
    change = change_per_frame(rig, sample)
    # A little for each frame: a shot which never moves still spreads its keys.
    done = np.cumsum(change + 1e-6 * max(float(change.max()), 1.0))
    wanted = np.linspace(done[0], done[-1], n_keys)
    frames = [int(f) for f in np.searchsorted(done, wanted)]
    frames[0], frames[-1] = 0, n_frames - 1
    for i in range(1, n_keys - 1):
        frames[i] = min(max(frames[i], frames[i - 1] + 1), n_frames - n_keys + i)
    return frames
