"""The first frame is the vehicle drawing: every piece there, none bent."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.overlay import unlike
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks
from panelbeater.scores.words import same_frames


def judge_vehicle(tracks: Tracks) -> Promise:
    """Vehicle error: largest area(drawn at frame 0 xor input) / area(input) over pieces.

    Ratio, at most 1e-6 (metrics.md, hard promises). Absent pieces are judged as missing.
    """
    difference = unlike(tracks.outlines[0], tracks.inputs)
    error = shapely.area(difference) / shapely.area(tracks.inputs)  # (n_pieces,)
    error = np.where(tracks.present[0], error, 0.0)
    limit = tracks.limits.vehicle_error
    broken = tuple(
        Break(
            (float(tracks.frames[0]),),
            (tracks.piece_ids[at],),
            f"drawn outline differs from the input by {error[at]:.3g} of its area",
        )
        for at in np.flatnonzero(error > limit)
    )
    return Promise("vehicle error", float(error.max(initial=0.0)), limit, broken)


def judge_missing(tracks: Tracks) -> Promise:
    """Missing pieces: input pieces absent or invisible at frame 0, or absent later.

    Count of pieces, must be 0 (metrics.md asks for frame 0; a piece that leaves the file
    later is lost just the same).
    """
    lost = ~tracks.present
    lost[0] |= ~tracks.visible[0]
    hits = {
        name: [float(frame) for frame in tracks.frames[lost[:, at]]]
        for at, name in enumerate(tracks.piece_ids)
    }
    broken = tuple(
        Break(frames, names, "not in the drawing") for frames, names in same_frames(hits)
    )
    return Promise("missing pieces", float(lost.any(axis=0).sum()), 0.0, broken)
