"""Two pieces never pass through each other at one depth."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.overlay import shared
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks
from panelbeater.scores.words import same_frames


def judge_clash(tracks: Tracks, half: Tracks | None) -> Promise:
    """Clash: pairs of visible pieces at one depth that overlap by more than 1e-6 D^2.

    Count over pairs, frames and half frames, must be 0 (metrics.md, hard promises).
    """
    allowed = tracks.limits.clash * tracks.diagonal**2
    hits: dict[tuple[str, str], list[float]] = {}
    for sheet in (tracks,) if half is None else (tracks, half):
        for at, frame in enumerate(sheet.frames):
            for pair in _clashing(sheet, at, allowed):
                hits.setdefault(pair, []).append(float(frame))
    broken = tuple(
        Break(frames, pair, "overlap at one depth")
        for pair in sorted(hits)
        for frames, _ in same_frames({"": sorted(hits[pair])})
    )
    return Promise("clash", float(sum(map(len, hits.values()))), 0.0, broken)


def _clashing(tracks: Tracks, at: int, allowed: float) -> list[tuple[str, str]]:
    shown = np.flatnonzero(tracks.visible[at])
    depth = tracks.depth[at, shown]
    _, level, count = np.unique(depth, return_inverse=True, return_counts=True)
    crowded = shown[count[level] > 1]  # a piece alone at its depth cannot clash
    outlines = tracks.outlines[at, crowded]
    one, other = shapely.STRtree(outlines).query(outlines, predicate="intersects")
    same = (one < other) & (
        tracks.depth[at, crowded[one]] == tracks.depth[at, crowded[other]]
    )
    one, other = one[same], other[same]
    deep = shapely.area(shared(outlines[one], outlines[other])) > allowed
    ids = tracks.piece_ids
    return sorted(
        (ids[crowded[i]], ids[crowded[j]])
        for i, j in zip(one[deep], other[deep], strict=True)
    )
