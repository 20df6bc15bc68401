"""A plain capsule figure for tests: canon fractions of the height, drawn by hand."""

from __future__ import annotations

from typing import cast

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_TREE, Bone, Figure

# name: (start x, y, end x, y, half width) as shares of the height, feet at y = 1,
# centre x = 0.
_RIGHT_HALF = {
    "waist": (0, 0.47, 0, 0.38, 0.085),
    "torso": (0, 0.38, 0, 0.18, 0.11),
    "head": (0, 0.17, 0, 0.05, 0.05),
    "upper_arm": (0.16, 0.2, 0.18, 0.37, 0.035),
    "forearm": (0.18, 0.37, 0.19, 0.52, 0.03),
    "hand": (0.19, 0.52, 0.19, 0.58, 0.028),
    "thigh": (0.06, 0.48, 0.075, 0.71, 0.05),
    "shank": (0.075, 0.71, 0.08, 0.94, 0.04),
    "foot": (0.08, 0.94, 0.11, 0.97, 0.03),
}


def capsule_figure(height: float = 100.0, *, x: float = 0.0, ground: float = 0.0) -> Figure:
    """A standing figure of capsules with its feet on `ground`, centred on x."""
    shapes: dict[str, tuple[np.ndarray, np.ndarray, float]] = {}
    for name, _, _ in BONE_TREE:
        x0, y0, x1, y1, half = _RIGHT_HALF[name.removesuffix("_l").removesuffix("_r")]
        side = -1 if name.endswith("_r") else 1
        start = np.array([x + side * x0 * height, ground + (y0 - 1) * height])
        end = np.array([x + side * x1 * height, ground + (y1 - 1) * height])
        shapes[name] = (start, end, half * height)
    taken: BaseGeometry = Polygon()
    bones = []
    for name, parent, controller in BONE_TREE:
        start, end, half = shapes[name]
        line = LineString([start, end])
        region = line.buffer(half, quad_segs=6).difference(taken)
        region = max(shapely.get_parts(region), key=lambda part: part.area)
        taken = shapely.union(taken, region)
        body = line.buffer(0.65 * half, quad_segs=4)
        bones.append(Bone(name, controller, parent, start, end, region, body))
    silhouette = cast(Shape, shapely.union_all([bone.region for bone in bones]))
    return Figure(silhouette, tuple(bones))
