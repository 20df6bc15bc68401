"""Can the pieces that make the vehicle recognisable be read while the shot holds?"""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.likeness import best_similarity
from panelbeater.scores.motion.hold import still_spans
from panelbeater.scores.result import Score, Target
from panelbeater.scores.seen import seen_share
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.drawing import Shape


def roundness(shape: Shape) -> float:
    """4 pi area / perimeter^2: 1 for a disc, pi/4 for a square."""
    return float(4.0 * np.pi * shape.area / shape.length**2)


def turn_from_upright(start: Shape, end: Shape) -> float:
    """Angle between a piece as drawn and as it stands, radians, 0 to pi.

    From the best similarity; of a flipped piece the turn left after the flip.
    """
    transform, flip = best_similarity(start, end)
    x_axis = transform[:, 0] * (-1.0 if flip else 1.0)
    return float(abs(np.arctan2(x_axis[1], x_axis[0])))


def score_landmarks(tracks: Tracks) -> tuple[Score, ...]:
    """Landmark legibility: share of signature pieces and hold frames that can be read.

    Legible: 0.6 of the area and 0.5 of the boundary seen, scale at least 0.6, turned at
    most 60 degrees from upright unless round (4 pi A / P^2 > 0.97, or a wheel). Judged on
    the last frame of every hold of 6 frames or more, weighted by its frames (metrics.md;
    thresholds are the project's).
    """
    wanted = [at for at, piece in enumerate(tracks.shot.pieces) if piece.signature]
    holds = [
        (low, high)
        for low, high in still_spans(tracks)
        if high - low >= tracks.limits.hold_key_frames
    ]
    if not wanted or not holds:
        return ()
    total = len(wanted) * sum(high - low for low, high in holds)
    read = sum(
        (high - low) * sum(_is_legible(tracks, high - 1, at) for at in wanted)
        for low, high in holds
    )
    return (Score("landmark legibility", read / total, "share", Target(low=1.0)),)


def _is_legible(tracks: Tracks, frame: int, at: int) -> bool:
    limits = tracks.limits
    area, boundary = seen_share(tracks, frame, at)
    if area < limits.signature_area or boundary < limits.signature_boundary:
        return False
    if (
        min(tracks.scale[frame, at], tracks.measured_scale[frame, at])
        < limits.signature_scale
    ):
        return False
    piece = tracks.shot.pieces[at]
    if piece.kind == "wheel" or roundness(tracks.inputs[at]) > limits.round_from:
        return True
    drawn = tracks.drawn[frame, at]
    turn = turn_from_upright(piece.outline, drawn)
    return bool(np.degrees(turn) <= limits.upright_deg and not shapely.is_empty(drawn))
