"""Nothing hangs in the air: every visible piece hangs together with the body."""

from __future__ import annotations

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from panelbeater.scores.arrays import Flags, Shapes
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks
from panelbeater.scores.words import same_frames


def judge_float(tracks: Tracks) -> Promise:
    """Float: pieces in a group of touching pieces of which none touches a bone.

    Two visible pieces touch within 0.0005 H; a piece touches a bone within 0.005 H.
    Count over pieces and frames, must be 0 (metrics.md; the two distances are the
    project's).
    """
    loose = np.stack(
        [
            floating(
                tracks.outlines[at],
                tracks.visible[at],
                tracks.bones[at],
                body_contact=tracks.limits.body_contact * tracks.height,
                piece_contact=tracks.limits.piece_contact * tracks.height,
            )
            for at in range(len(tracks.frames))
        ]
    )  # (n_frames, n_pieces)
    hits = {
        name: [float(frame) for frame in tracks.frames[loose[:, at]]]
        for at, name in enumerate(tracks.piece_ids)
    }
    broken = tuple(
        Break(frames, names, "floats free of the body")
        for frames, names in same_frames(hits)
    )
    return Promise("float", float(loose.sum()), 0.0, broken)


def floating(
    outlines: Shapes,
    visible: Flags,
    bones: Shapes,
    *,
    body_contact: float,
    piece_contact: float,
) -> Flags:
    """(n_pieces,), visible pieces whose group of touching pieces holds no bone contact.

    Contact distances in drawing units; `outlines` (n_pieces,), `bones` (n_bones,).
    """
    standing = np.flatnonzero(visible)
    loose = np.zeros(len(outlines), dtype=np.bool_)
    if len(standing) == 0:
        return loose
    tree = shapely.STRtree(outlines[standing])
    one, other = tree.query(outlines[standing], predicate="dwithin", distance=piece_contact)
    n = len(standing)
    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(n, n))
    n_groups, group = connected_components(graph, directed=False)
    _, held = tree.query(bones, predicate="dwithin", distance=body_contact)
    has_body = np.zeros(n_groups, dtype=np.bool_)
    has_body[group[held]] = True
    loose[standing] = ~has_body[group]
    return loose
