"""Frames of reference: making, joining and applying transforms `to_from`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from panelbeater.terms.arrays import Affines, Floats, Points
from panelbeater.terms.drawing import Shape

Drawn = TypeVar("Drawn", bound=BaseGeometry)


def rigid(origin: Points, angle: Floats) -> Affines:
    """Turn by `angle` (...,) radians, then move to `origin` (..., 2); gives (..., 3, 3)."""
    angle = np.asarray(angle, dtype=np.float64)
    out = np.zeros((*angle.shape, 3, 3))
    cos, sin = np.cos(angle), np.sin(angle)
    out[..., 0, 0], out[..., 0, 1] = cos, -sin
    out[..., 1, 0], out[..., 1, 1] = sin, cos
    out[..., :2, 2] = origin
    out[..., 2, 2] = 1.0
    return out


def moved(x: float, y: float) -> Affines:
    """A plain move by x, y."""
    return rigid(np.array([x, y]), np.array(0.0))


def apply(transform: Affines, points: Points) -> Points:
    """Map (..., n, 2) points by (..., 3, 3); gives (..., n, 2)."""
    linear = np.swapaxes(transform[..., :2, :2], -1, -2)
    return points @ linear + transform[..., None, :2, 2]


def map_shape(transform: Affines, shape: Shape) -> Shape:
    """Map polygons by one (3, 3) transform."""
    mapped = shapely.transform(shape, lambda xy: apply(transform, xy))
    if not isinstance(
        mapped, Polygon | MultiPolygon
    ):  # pragma: no cover - shapely keeps types
        raise TypeError(mapped.geom_type)
    return mapped


def map_shapes(transforms: Affines, shapes: Sequence[Drawn]) -> list[Drawn]:
    """Map shapes, each by its own of (n_shapes, 3, 3) transforms, all at once."""
    drawn = np.empty(len(shapes), dtype=object)
    drawn[:] = shapes
    xy, owner = shapely.get_coordinates(drawn, return_index=True)
    linear, move = transforms[owner, :2, :2], transforms[owner, :2, 2]
    placed = linear[..., 0] * xy[:, :1] + linear[..., 1] * xy[:, 1:] + move
    mapped: list[Drawn] = list(shapely.set_coordinates(drawn, placed))
    return mapped


def polar(linear: Floats) -> tuple[Floats, Floats]:
    """Split (..., 2, 2) matrices with positive determinant into turn (...,) and symmetric
    stretch (..., 2, 2), so that linear = rotation(turn) @ stretch.
    """
    turn = np.arctan2(
        linear[..., 1, 0] - linear[..., 0, 1], linear[..., 0, 0] + linear[..., 1, 1]
    )
    cos, sin = np.cos(turn), np.sin(turn)
    rotation = np.stack([np.stack([cos, -sin], -1), np.stack([sin, cos], -1)], -2)
    return turn, np.swapaxes(rotation, -1, -2) @ linear


def channels(transform: Affines) -> Floats:
    """(..., 3, 3) to (..., 6): x, y, turn, sxx, sxy, syy; rotation(turn) @ stretch."""
    turn, stretch = polar(transform[..., :2, :2])
    return np.concatenate(
        [transform[..., :2, 2], turn[..., None], stretch[..., 0, :], stretch[..., 1, 1:]],
        axis=-1,
    )


def from_channels(values: Floats) -> Affines:
    """(..., 6) back to (..., 3, 3)."""
    out = rigid(values[..., :2], values[..., 2])
    stretch = np.stack([values[..., 3:5], values[..., 4:6]], axis=-2)
    out[..., :2, :2] = out[..., :2, :2] @ stretch
    return out
