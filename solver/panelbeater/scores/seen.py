"""What the viewer sees of each piece when nearer pieces lie over it."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.arrays import Shapes
from panelbeater.scores.overlay import joined, less, shared
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.arrays import Ints
from panelbeater.terms.drawing import Shape

_ALONGSIDE = 1e-6  # Share of D: an edge that a nearer piece only touches is not hidden.


def seen_parts(tracks: Tracks, frame: int) -> Shapes:
    """(n_pieces,), outlines less everything nearer the viewer; `frame` is a row.

    Empty for pieces that are not visible. Two pieces at one depth do not hide each other.
    """
    tree = shapely.STRtree(tracks.outlines[frame])
    out: Shapes = np.full(len(tracks.piece_ids), shapely.Polygon(), dtype=object)
    for at in np.flatnonzero(tracks.visible[frame]):
        out[at] = less(tracks.outlines[frame, at], _over(tracks, frame, int(at), tree))
    return out


def seen_share(tracks: Tracks, frame: int, piece: int) -> tuple[float, float]:
    """Shares of a piece's area and of its boundary that the viewer sees, 0 to 1."""
    whole = tracks.outlines[frame, piece]
    if not tracks.visible[frame, piece]:
        return 0.0, 0.0
    over = _over(tracks, frame, piece, shapely.STRtree(tracks.outlines[frame]))
    hiding = shapely.buffer(over, -_ALONGSIDE * tracks.diagonal, join_style="mitre")
    area = less(whole, over).area / whole.area
    return float(area), float(less(whole.boundary, hiding).length / whole.length)


def seen_overlap(shapes: Shapes, depth: Ints, i: int, j: int) -> float:
    """Overlap of two of some visible shapes less what is nearer than both, as a share of
    the smaller one.
    """
    overlap = joined(shapely.get_parts(shared(shapes[i], shapes[j])))
    over = shapes[depth > max(depth[i], depth[j])]
    over = over[shapely.intersects(over, overlap)]
    seen = less(overlap, joined(over)).area
    return float(seen / min(shapes[i].area, shapes[j].area))


def _over(tracks: Tracks, frame: int, piece: int, tree: shapely.STRtree) -> Shape:
    """Union of the visible pieces that are nearer the viewer."""
    depth = tracks.depth[frame]
    near = tree.query(tracks.outlines[frame, piece], predicate="intersects")
    over = near[tracks.visible[frame, near] & (depth[near] > depth[piece])]
    return joined(tracks.outlines[frame, np.sort(over)])
