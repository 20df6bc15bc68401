"""Where a promise is broken worst: the frame, the place, and how deep."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely

from panelbeater.scores.arrays import Shapes
from panelbeater.scores.overlay import shared
from panelbeater.scores.result import Break, Promise, Worst
from panelbeater.scores.tracks import Tracks

LOOKED_INTO = 40
"""Broken places of a promise that are looked into; nobody mends more at a time."""


def located(promise: Promise, tracks: Tracks, half: Tracks | None) -> Promise:
    """The promise with the worst moment of each broken place, if a depth can be given."""
    measure = _MEASURES.get(promise.name)
    if measure is None or not promise.broken:
        return promise
    sheets = [sheet for sheet in (tracks, half) if sheet is not None]
    rows = {float(f): (s, at) for s in sheets for at, f in enumerate(s.frames)}
    broken = [
        replace(place, worst=_worst(place, measure, rows)) if i < LOOKED_INTO else place
        for i, place in enumerate(promise.broken)
    ]
    return replace(promise, broken=tuple(broken))


Measure = Callable[[Shapes, Shapes, float], tuple[float, float, float]]
"""Outlines at fault, all other visible shapes and y of the ground; depth, x and y."""


def _worst(
    place: Break, measure: Measure, rows: dict[float, tuple[Tracks, int]]
) -> Worst | None:
    found = []
    for frame in place.frames:
        tracks, at = rows[frame]
        names = [*tracks.piece_ids, *(f"bone {name}" for name in tracks.bone_ids)]
        shapes = np.concatenate([tracks.outlines[at], tracks.bones[at]])
        bones = np.ones(len(tracks.bone_ids), dtype=np.bool_)
        seen = np.concatenate([tracks.visible[at], bones]) & ~shapely.is_empty(shapes)
        mine = np.isin(names, place.pieces)
        if (mine & seen).any():
            ground = tracks.shot.ground
            depth, x, y = measure(shapes[mine & seen], shapes[~mine & seen], ground)
            found.append(Worst(frame, x, y, depth))
    worst = max(found, key=lambda worst: worst.depth, default=None)
    return worst if worst is not None and worst.depth > 0 else None


def _gap(mine: Shapes, others: Shapes, _: float) -> tuple[float, float, float]:
    """How far the pieces are from what could carry them; 0 where there is nothing."""
    if not len(others):
        return 0.0, 0.0, 0.0
    near = shapely.shortest_line(shapely.union_all(mine), shapely.union_all(others))
    x, y = shapely.get_coordinates(near)[0]
    return float(near.length), float(x), float(y)


def _overlap(mine: Shapes, _: Shapes, __: float) -> tuple[float, float, float]:
    """Width of the widest disc inside what two pieces share."""
    both = shared(mine[0], mine[-1])
    if both.is_empty:
        return 0.0, 0.0, 0.0
    radius = shapely.maximum_inscribed_circle(both)
    x, y = shapely.get_coordinates(radius)[0]
    return float(2 * radius.length), float(x), float(y)


def _below(mine: Shapes, _: Shapes, ground: float) -> tuple[float, float, float]:
    """How far the lowest corner lies below the ground line; 0 where a foot only slides."""
    xy = shapely.get_coordinates(mine)
    x, y = xy[xy[:, 1].argmax()]
    return max(0.0, float(y - ground)), float(x), float(y)


_MEASURES: dict[str, Measure] = {
    "float": _gap, "clash": _overlap, "pop": _overlap, "ground": _below,
}  # fmt: skip
