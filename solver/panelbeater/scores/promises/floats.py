"""Nothing hangs in the air: every visible piece hangs together with the body."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags, Shapes
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks
from panelbeater.scores.words import same_frames
from panelbeater.terms.arrays import Ints


def judge_float(tracks: Tracks) -> Promise:
    """Float: pieces in a group of touching pieces of which none touches a bone.

    Two visible pieces touch within 0.0005 H; a piece touches a bone within 0.005 H.
    Count over pieces and frames, must be 0 (metrics.md; the two distances are the
    project's).
    """
    loose = np.zeros(tracks.visible.shape, dtype=np.bool_)
    for at, repeats in enumerate(tracks.repeats):
        loose[at] = loose[at - 1] if repeats else floating(
            tracks.outlines[at],
            tracks.visible[at],
            tracks.bones[at],
            body_contact=tracks.limits.body_contact * tracks.height,
            piece_contact=tracks.limits.piece_contact * tracks.height,
        )  # fmt: skip
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
    loose = np.flatnonzero(visible)
    # Most pieces lie on a bone: distances are asked only of those that do not.
    held = _near(outlines, loose, bones, 0.0)
    loose = np.setdiff1d(loose, held)
    near = _near(outlines, loose, bones, body_contact)
    held, loose = np.union1d(held, near), np.setdiff1d(loose, near)
    while len(held):  # the pieces reached last; what they touch is held, too
        held = _near(outlines, loose, outlines[held], piece_contact)
        loose = np.setdiff1d(loose, held)
    out = np.zeros(len(outlines), dtype=np.bool_)
    out[loose] = True
    return out


def _near(outlines: Shapes, rows: Ints, others: Shapes, distance: float) -> Ints:
    """Those of the rows whose outlines lie within a distance of any of the others."""
    if len(rows) == 0:
        return rows
    tree = shapely.STRtree(others)
    if distance == 0:
        hit, _ = tree.query(outlines[rows], predicate="intersects")
    else:
        hit, _ = tree.query(outlines[rows], predicate="dwithin", distance=distance)
    near: Ints = rows[np.unique(hit)]
    return near
