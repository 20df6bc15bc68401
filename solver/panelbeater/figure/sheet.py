"""The figure ruled into small squares, to count its widths and walk inside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely import MultiPolygon, Polygon
from shapely.affinity import affine_transform

from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape

Mask: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]
"""(n_rows, n_columns), True inside."""

N_ROWS = 200
"""Rows over the figure's height: a neck of 4 % of the height is still 8 rows."""
PAD = 5
"""Empty squares round the figure, so that nothing touches the edge of the sheet."""
_CRUMB = 2e-4
"""Parts below this share of height squared do not steer the skeleton."""


@dataclass(frozen=True, slots=True)
class BodyFrame:
    """Where the figure stands: body = (drawing - (axis, top)) / height; u right, v down."""

    axis: float
    top: float
    height: float
    symmetry: float
    """Overlap with the mirror image about the axis, 0 to 1."""

    def inward(self, shape: Shape) -> Shape:
        """Drawing units to the body frame."""
        k = 1.0 / self.height
        moved = as_shape(
            affine_transform(shape, [k, 0, 0, k, -self.axis * k, -self.top * k])
        )
        return moved if moved.is_valid else as_shape(_repaired(moved))

    def outward(self, shape: Shape) -> Shape:
        """Body frame to drawing units."""
        k = self.height
        moved = as_shape(affine_transform(shape, [k, 0, 0, k, self.axis, self.top]))
        # Rings that touch themselves in a point may cross by a rounding once moved.
        return moved if moved.is_valid else as_shape(_repaired(moved))

    def point_outward(self, point: Points) -> Points:
        """(..., 2) body frame to drawing units."""
        return np.asarray(point, dtype=np.float64) * self.height + (self.axis, self.top)

    def point_inward(self, point: Points) -> Points:
        """(..., 2) drawing units to the body frame."""
        return (np.asarray(point, dtype=np.float64) - (self.axis, self.top)) / self.height


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """The figure as squares; the axis runs between two columns, so left mirrors right."""

    drawn: Mask
    """As drawn, gaps and holes included."""
    joined: Mask
    """With parts bridged and trunk holes filled, to walk on."""

    @property
    def half(self) -> int:
        """First column to the right of the axis."""
        return int(self.joined.shape[1]) // 2

    @property
    def px(self) -> float:
        """Side of a square in the body frame."""
        return 1.0 / N_ROWS

    def u(self, column: ArrayLike) -> Floats:
        """Centre of a column, body frame."""
        return (np.asarray(column, dtype=np.float64) - self.half + 0.5) * self.px

    def v(self, row: ArrayLike) -> Floats:
        """Centre of a row, body frame."""
        return (np.asarray(row, dtype=np.float64) - PAD + 0.5) * self.px

    def row(self, v: float) -> int:
        """The row that holds v, kept on the sheet."""
        return int(np.clip(round(v / self.px + PAD - 0.5), 0, self.joined.shape[0] - 1))

    def column(self, u: float) -> int:
        """The column that holds u, kept on the sheet."""
        last = self.joined.shape[1] - 1
        return int(np.clip(round(u / self.px + self.half - 0.5), 0, last))


def as_shape(geometry: shapely.Geometry) -> Shape:
    """The polygons of any geometry, dropping stray points and lines."""
    if isinstance(geometry, Polygon | MultiPolygon):
        return geometry
    parts = [
        p for p in shapely.get_parts(geometry) if isinstance(p, Polygon) and p.area > 0
    ]
    return MultiPolygon(parts)


def _repaired(shape: Shape) -> shapely.Geometry:
    return shapely.make_valid(shape, method="structure", keep_collapsed=False)


def find_frame(silhouette: Shape) -> BodyFrame:
    """Stand the figure up: its axis is the line about which it answers itself best."""
    x0, y0, x1, y1 = silhouette.bounds
    height, middle = y1 - y0, (x0 + x1) / 2
    even = BodyFrame(middle, y0, height, mirror_overlap(silhouette, middle))
    if even.symmetry > 0.97:
        return even
    step = height / N_ROWS
    mask = _inside(
        silhouette,
        np.arange(x0 + step / 2, x1, step),
        np.arange(y0 + step / 2, y1, step),
    )
    n = 2 * mask.shape[1]
    spectrum = np.fft.rfft(mask.astype(float), n=n, axis=1)
    answer = np.fft.irfft((spectrum**2).sum(axis=0), n=n)
    axis = x0 + (int(np.argmax(answer)) + 1) / 2 * step
    return BodyFrame(axis, y0, height, mirror_overlap(silhouette, axis))


def mirror_overlap(shape: Shape, axis: float) -> float:
    """Intersection over union of a shape and its mirror image about x = axis."""
    mirrored = affine_transform(shape, [-1, 0, 0, 1, 2 * axis, 0])
    both = shape.intersection(mirrored).area
    return float(both / (2 * shape.area - both))


def rule_sheet(body: Shape) -> Sheet:
    """Rule a silhouette given in the body frame into squares."""
    x0, _, x1, _ = body.bounds
    half = int(np.ceil(max(-x0, x1) * N_ROWS)) + PAD
    us = (np.arange(2 * half) - half + 0.5) / N_ROWS
    vs = (np.arange(N_ROWS + 2 * PAD) - PAD + 0.5) / N_ROWS
    return Sheet(_inside(body, us, vs), _inside(_joined(body), us, vs))


def _inside(shape: Shape, us: Floats, vs: Floats) -> Mask:
    shapely.prepare(shape)
    grid_u, grid_v = np.meshgrid(us, vs)
    return np.asarray(shapely.contains_xy(shape, grid_u, grid_v), dtype=np.bool_)


def _joined(body: Shape) -> Shape:
    """Bridge the parts of a figure and fill the holes in its trunk."""
    parts = [p for p in shapely.get_parts(body) if p.area > _CRUMB]
    parts = sorted(parts, key=lambda p: (-p.area, p.bounds)) or [body]
    todo, whole = parts[1:], parts[0]
    bridges = []
    while todo:
        gaps = [p.distance(whole) for p in todo]
        near = min(range(len(todo)), key=lambda k: (round(gaps[k], 6), k))
        half = gaps[near] / 2
        # Two grown edges meet in a strip as wide as they face each other.
        strip = todo[near].buffer(half + 0.003).intersection(whole.buffer(half + 0.003))
        bridges.append(strip.buffer(half + 0.006))
        whole = whole.union(todo.pop(near))
    solid = shapely.union_all([whole, *bridges])
    plugs = [
        Polygon(ring)
        for part in shapely.get_parts(solid)
        for ring in part.interiors
        if _is_trunk_hole(Polygon(ring))
    ]
    return as_shape(shapely.union_all([solid, *plugs]))


def _is_trunk_hole(hole: Polygon) -> bool:
    """Across the axis and above the legs: a badge or a lens, not the air under an arm."""
    x0, y0, x1, y1 = hole.bounds
    return x0 < 0.0 < x1 and (y0 + y1) / 2 < 0.55
