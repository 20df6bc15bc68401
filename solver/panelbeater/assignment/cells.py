"""The figure as weighted sample cells on one square lattice, each of one region."""

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
    step: float = 1.0
    """Side of a cell: the points stand at (whole + 0.5) * step, save in a region so small
    that it misses all of those and has one point of its own."""

    def of(self, region: int) -> Ints:
        """Indices of one region's cells."""
        return np.flatnonzero(self.region == region)


def sample_cells(figure: Figure, n_cells: int) -> Cells:
    """About `n_cells` cells on one lattice, so that a mask moved by whole cells covers what
    the piece itself would.
    """
    total = figure.silhouette.area
    step = float((total / n_cells) ** 0.5)
    points, regions, weights = [], [], []
    for index, bone in enumerate(figure.bones):
        found = _lattice_inside(bone.region, step)
        points.append(found)
        regions.append(np.full(len(found), index))
        weights.append(np.full(len(found), bone.region.area / total / len(found)))
    return Cells(
        np.concatenate(points), np.concatenate(regions), np.concatenate(weights), step
    )


def lattice(low: Ints, n_columns: int, n_rows: int, step: float) -> Points:
    """(n_rows, n_columns, 2), points at (low + whole + 0.5) * step; low is column, row."""
    xs = (low[0] + np.arange(n_columns) + 0.5) * step
    ys = (low[1] + np.arange(n_rows) + 0.5) * step
    return np.stack(np.meshgrid(xs, ys), axis=-1)


def _lattice_inside(shape: Shape, step: float) -> Points:
    x0, y0, x1, y1 = shape.bounds
    low = np.floor(np.array([x0, y0]) / step).astype(np.int64)
    n_columns, n_rows = (np.ceil(np.array([x1, y1]) / step).astype(np.int64) - low).tolist()
    grid = lattice(low, n_columns, n_rows, step).reshape(-1, 2)
    inside: Points = grid[shapely.contains_xy(shape, grid[:, 0], grid[:, 1])]
    if len(inside):
        return inside
    point = shapely.point_on_surface(shape)
    return np.array([[point.x, point.y]])
