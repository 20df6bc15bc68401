"""No piece jumps from behind another to its front while the viewer sees them overlap."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.result import Break, Promise
from panelbeater.scores.seen import seen_overlap
from panelbeater.scores.tracks import Tracks


def judge_pop(tracks: Tracks) -> Promise:
    """Pop: pairs whose depth order flips from one frame to the next in plain sight.

    In plain sight: in both frames the overlap of the two, less all pieces nearer than
    both, is more than 1e-4 of the smaller piece. Count of flips, must be 0 (metrics.md).
    Each is listed with the two frames.
    """
    broken = tuple(
        place for at in range(1, len(tracks.frames)) for place in _pops(tracks, at)
    )
    return Promise("pop", float(len(broken)), 0.0, broken)


def _pops(tracks: Tracks, at: int) -> list[Break]:
    before = tracks.depth[at - 1][:, None] - tracks.depth[at - 1][None, :]
    after = tracks.depth[at][:, None] - tracks.depth[at][None, :]  # (n_pieces, n_pieces)
    shown = tracks.visible[at - 1] & tracks.visible[at]
    flips = np.triu(np.sign(before) * np.sign(after) < 0) & shown[:, None] & shown[None, :]
    one, other = np.nonzero(flips)
    for frame in (at - 1, at):
        seen = shapely.intersects(
            tracks.outlines[frame, one], tracks.outlines[frame, other]
        )
        one, other = one[seen], other[seen]
    out = []
    for i, j in zip(one, other, strict=True):
        share = min(_seen_overlap(tracks, frame, int(i), int(j)) for frame in (at - 1, at))
        if share > tracks.limits.pop:
            near = i if tracks.depth[at, i] > tracks.depth[at, j] else j
            out.append(
                Break(
                    (float(tracks.frames[at - 1]), float(tracks.frames[at])),
                    (tracks.piece_ids[i], tracks.piece_ids[j]),
                    f"{tracks.piece_ids[near]} jumps to the front over {share:.2g}"
                    " of the smaller piece",
                )
            )
    return out


def _seen_overlap(tracks: Tracks, frame: int, i: int, j: int) -> float:
    seen = np.flatnonzero(tracks.visible[frame])
    one, other = np.searchsorted(seen, (i, j)).tolist()
    return seen_overlap(tracks.outlines[frame, seen], tracks.depth[frame, seen], one, other)
