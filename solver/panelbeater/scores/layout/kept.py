"""How much of the vehicle the viewer can still recognise on the robot."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.likeness import (
    best_similarity,
    corners,
    corners_match,
    fit_affine,
    mapped,
    shape_distance,
)
from panelbeater.scores.overlay import shared
from panelbeater.scores.result import Score, Target
from panelbeater.scores.seen import seen_parts, seen_share
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.drawing import Shape


def score_kept(tracks: Tracks) -> tuple[Score, ...]:
    """Kept vehicle: share of the vehicle's seen area still seen at the end, unchanged.

    A piece counts when its end scale is within 5 % of 1 and its shape distance (1 - IoU
    after undoing move, turn, flip and scale) is below 0.15; what counts is the area seen in
    both the first and the last frame, carried from one to the other by the affine map of
    corresponding corners (by the best similarity where the corners do not match).
    Definition: metrics.md, layout scores; thresholds are the project's.
    """
    first, last = seen_parts(tracks, 0), seen_parts(tracks, -1)
    seen = shapely.area(first)  # (n_pieces,)
    if seen.sum() <= 0:
        return ()
    limits = tracks.limits
    scales = np.stack([tracks.scale[-1], tracks.measured_scale[-1]])
    unit = (np.abs(scales - 1.0) <= limits.unit_scale).all(axis=0) & tracks.visible[-1]
    kept = 0.0
    for at in np.flatnonzero(unit & (seen > 0)):
        start, end = tracks.drawn[0, at], tracks.drawn[-1, at]
        if shape_distance(start, end) < limits.shape_distance:
            kept += _seen_in_both(tracks, int(at), first[at], last[at])
    return (Score("kept vehicle", kept / float(seen.sum()), "share"),)


def _seen_in_both(tracks: Tracks, at: int, first: Shape, last: Shape) -> float:
    """Area in the first frame's units."""
    start, end = tracks.drawn[0, at], tracks.drawn[-1, at]
    if corners_match(start, end):
        transform = fit_affine(corners(start), corners(end))
    else:
        transform, _ = best_similarity(start, end)
    size = abs(float(np.linalg.det(transform[:, :2])))
    return float(shared(mapped(first, transform), last).area / size)


def score_signature(tracks: Tracks) -> tuple[Score, ...]:
    """Signature pieces kept: how many of them stay recognisable in the last frame.

    Recognisable: at least 0.6 of the area and 0.5 of the boundary seen, scale at least
    0.6, shape distance below 0.15 (metrics.md; thresholds are the project's). Pieces.
    """
    wanted = [at for at, piece in enumerate(tracks.shot.pieces) if piece.signature]
    if not wanted:
        return ()
    lost = {tracks.piece_ids[at]: fault for at in wanted if (fault := _fault(tracks, at))}
    note = "; ".join(f"{name} {fault}" for name, fault in lost.items())
    return (
        Score(
            "signature pieces kept",
            float(len(wanted) - len(lost)),
            f"of {len(wanted)}",
            Target(low=float(len(wanted))),
            note=note,
        ),
    )


def _fault(tracks: Tracks, at: int) -> str:
    limits = tracks.limits
    area, boundary = seen_share(tracks, -1, at)
    if area < limits.signature_area or boundary < limits.signature_boundary:
        return "is hidden"
    if min(tracks.scale[-1, at], tracks.measured_scale[-1, at]) < limits.signature_scale:
        return "is too small"
    if shape_distance(tracks.shot.pieces[at].outline, tracks.drawn[-1, at]) >= (
        limits.shape_distance
    ):
        return "is bent out of shape"
    return ""
