"""From which frame on a stowed piece need not be shown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from panelbeater.geometry.overlay import joined, without
from panelbeater.geometry.stage import piece_outlines
from panelbeater.terms.arrays import Flags, Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Shape
from panelbeater.terms.rig import Rig, Sample, Track

SEEN = 1e-3
"""Share of a piece that may peep out while it counts as covered."""


def hide_stowed(rig: Rig, sample: Sample, assignment: Assignment) -> Rig:
    """The rig with a vanish frame for every stowed piece; `sample` has one moment a frame.

    A piece vanishes as soon as its move is under way and nearer pieces that stay cover it
    in two frames running; else when it has shrunk as far as it will, but while it still
    moves. The piece that travels fastest in that frame is the one the eye follows: it stays
    until another is faster or its move ends.
    """
    stowed = np.array([cover.stowed for cover in assignment.covers])
    if not stowed.any():
        return rig
    outlines = [piece_outlines(rig, sample, f) for f in range(rig.shot.n_frames)]
    followed = _followed(sample)
    tracks = list(rig.tracks)
    for i in np.flatnonzero(stowed).tolist():
        hidden = _covered(rig, outlines, i, ~stowed)
        frame = vanish_frame(tracks[i], hidden, followed == i)
        tracks[i] = replace(tracks[i], vanish=min(frame, rig.shot.n_frames - 1))
    return replace(rig, tracks=tuple(tracks))


def vanish_frame(track: Track, hidden: Flags, followed: Flags) -> int:
    """The first frame without the piece; `hidden` and `followed` are (n_frames,)."""
    shrunk = track.bending.stop
    for frame in range(track.bending.start + 1, len(hidden)):
        is_covered = bool(hidden[frame - 1] and hidden[frame])
        is_small = frame >= shrunk and not followed[frame]
        if is_covered or is_small or frame >= track.end:
            return frame
    return len(hidden) - 1


def _covered(rig: Rig, outlines: list[list[Shape]], i: int, stays: Flags) -> Flags:
    """(n_frames,), True where nearer pieces that stay leave nothing of piece i in sight."""
    out = np.zeros(len(outlines), dtype=np.bool_)
    for frame, shapes in enumerate(outlines):
        nearer = np.flatnonzero(stays & (rig.depth[frame] > rig.depth[frame, i]))
        over = [shapes[k] for k in nearer.tolist() if shapes[k].intersects(shapes[i])]
        if over:
            seen = without(shapes[i], joined(over)).area
            out[frame] = seen <= SEEN * shapely.area(shapes[i])
    return out


def _followed(sample: Sample) -> Floats:
    """(n_frames,), the piece that goes farthest into each frame."""
    steps = np.diff(sample.stage_from_piece[..., :2, 2], axis=0)
    fastest: Floats = np.hypot(steps[..., 0], steps[..., 1]).argmax(axis=1)
    return np.concatenate([fastest[:1], fastest])
