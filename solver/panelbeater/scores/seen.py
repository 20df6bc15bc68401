"""What the viewer sees of each piece when nearer pieces lie over it."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.tracks import Shapes, Tracks


def seen_parts(tracks: Tracks, frame: int, pieces: list[int] | None = None) -> Shapes:
    """Outlines less everything nearer the viewer; empty for pieces that are not visible.

    Parameters: `frame` is a row of the tracks; `pieces` picks columns, all without it.
    Returns (n_picked,) outlines. Two pieces at one depth do not hide each other.
    """
    picked = list(range(len(tracks.piece_ids))) if pieces is None else pieces
    outlines, depth = tracks.outlines[frame], tracks.depth[frame]
    tree = shapely.STRtree(outlines)
    out: Shapes = np.empty(len(picked), dtype=object)
    for at, piece in enumerate(picked):
        near = tree.query(outlines[piece], predicate="intersects")
        over = near[tracks.visible[frame][near] & (depth[near] > depth[piece])]
        whole = outlines[piece] if tracks.visible[frame, piece] else shapely.Polygon()
        out[at] = shapely.difference(whole, shapely.union_all(outlines[np.sort(over)]))
    return out


def seen_share(tracks: Tracks, frame: int, piece: int) -> tuple[float, float]:
    """Shares of a piece's area and of its boundary that the viewer sees, 0 to 1."""
    whole = tracks.outlines[frame, piece]
    if not tracks.visible[frame, piece] or whole.area <= 0:
        return 0.0, 0.0
    part = seen_parts(tracks, frame, [piece])[0]
    hidden = shapely.difference(whole, part)
    edge = whole.boundary
    covered = shapely.intersection(edge, hidden).length if hidden.area > 0 else 0.0
    return part.area / whole.area, 1.0 - covered / edge.length
