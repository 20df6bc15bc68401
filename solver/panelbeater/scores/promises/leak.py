"""The folded body stays hidden inside the vehicle."""

from __future__ import annotations

import shapely

from panelbeater.scores.overlay import joined, less
from panelbeater.scores.result import Break, Promise
from panelbeater.scores.tracks import Tracks


def judge_leak(tracks: Tracks) -> Promise:
    """Leak: area(body at frame 0 outside the vehicle silhouette) / area(body).

    Ratio, at most 0.001 (metrics.md, hard promises). Names the bones that stick out.
    """
    bones = tracks.bones[0]
    body = joined(bones)
    limit = tracks.limits.leak
    if body.area <= 0:
        return Promise("leak", 0.0, limit)
    value = float(less(body, tracks.vehicle).area / body.area)
    if value <= limit:
        return Promise("leak", value, limit)
    out = shapely.area(less(bones, tracks.vehicle)) / body.area  # (n_bones,)
    worst = max(out)
    names = tuple(
        f"bone {name}"
        for name, share in zip(tracks.bone_ids, out, strict=True)
        if share > 0.1 * worst
    )
    detail = f"{value:.3g} of the folded body is outside the vehicle"
    return Promise(
        "leak", value, limit, (Break((float(tracks.frames[0]),), names, detail),)
    )
