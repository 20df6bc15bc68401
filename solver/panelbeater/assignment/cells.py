"""The figure as weighted sample cells, each belonging to one region."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.terms.arrays import Floats, Ints, Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Figure


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Sample cells over the whole figure, region after region."""

    points: Points
    """(n_cells, 2), stage frame."""
    region: Ints
    """(n_cells,), index of the region in `figure.bones`."""
    weight: Floats
    """(n_cells,), share of the figure's area."""

    def of(self, region: int) -> Ints:
        """Indices of one region's cells."""
        return np.flatnonzero(self.region == region)


def sample_cells(figure: Figure, n_cells: int) -> Cells:
    """A square grid per region, finer on small ones so that each has at least a dozen."""
    total = figure.silhouette.area
    points, regions, weights = [], [], []
    for index, bone in enumerate(figure.bones):
        area = bone.region.area
        wanted = max(12.0, n_cells * area / total)
        found = _grid_inside(bone.region, (area / wanted) ** 0.5)
        points.append(found)
        regions.append(np.full(len(found), index))
        weights.append(np.full(len(found), area / total / len(found)))
    return Cells(np.concatenate(points), np.concatenate(regions), np.concatenate(weights))


def _grid_inside(shape: Shape, step: float) -> Points:
    x0, y0, x1, y1 = shape.bounds
    n_x, n_y = max(1, round((x1 - x0) / step)), max(1, round((y1 - y0) / step))
    xs = x0 + (np.arange(n_x) + 0.5) * (x1 - x0) / n_x
    ys = y0 + (np.arange(n_y) + 0.5) * (y1 - y0) / n_y
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    inside = grid[shapely.contains_xy(shape, grid[:, 0], grid[:, 1])]
    if len(inside):
        return inside
    point = shapely.point_on_surface(shape)
    return np.array([[point.x, point.y]])
