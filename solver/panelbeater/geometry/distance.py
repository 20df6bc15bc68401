"""How deep inside a shape a point lies: a signed distance grid with slopes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import distance_transform_edt

from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape


@dataclass(frozen=True, slots=True, eq=False)
class DistanceGrid:
    """Signed distance on a square grid, negative inside, accurate to half a cell."""

    values: Floats
    """(n_rows, n_columns), drawing units."""
    origin: Points
    """(2,), stage position of the first cell's centre."""
    cell: float
    """Side of a cell, drawing units."""

    def at(self, points: Points) -> tuple[Floats, Points]:
        """Distance (...,) and slope (..., 2) at (..., 2) points, bilinear between cells.

        Points off the grid get the border value plus their distance to the border.
        """
        n_rows, n_columns = self.values.shape
        place = (points - self.origin) / self.cell
        top = np.array([n_columns - 1.001, n_rows - 1.001])
        held = np.clip(place, 0.0, top)
        beyond = place - held  # how far off the grid, in cells
        whole = held.astype(np.int64)
        column, row = whole[..., 0], whole[..., 1]
        fx, fy = held[..., 0] - column, held[..., 1] - row
        v = self.values
        v00, v01 = v[row, column], v[row, column + 1]
        v10, v11 = v[row + 1, column], v[row + 1, column + 1]
        upper, lower = v00 + fx * (v01 - v00), v10 + fx * (v11 - v10)
        slope_x = ((1 - fy) * (v01 - v00) + fy * (v11 - v10)) / self.cell
        slope_y = (lower - upper) / self.cell
        off = np.hypot(beyond[..., 0], beyond[..., 1])
        safe = np.where(off > 0, off, 1.0)[..., None]
        slope = np.stack([slope_x, slope_y], axis=-1)
        # Off the grid the distance grows straight outwards; along the border it goes on as
        # the border does.
        slope = np.where(beyond != 0, beyond / safe, slope)
        return upper + fy * (lower - upper) + off * self.cell, slope


def distance_grid(
    shape: Shape, *, n_cells: int = 220, margin: float = 0.25
) -> DistanceGrid:
    """Sample the signed distance of a shape; `n_cells` along its longer side, `margin`
    around it as a share of that side. Costs grow with the square of n_cells.
    """
    x0, y0, x1, y1 = shape.bounds
    side = max(x1 - x0, y1 - y0)
    cell = side / n_cells
    pad = margin * side
    xs = np.arange(x0 - pad, x1 + pad + cell, cell)
    ys = np.arange(y0 - pad, y1 + pad + cell, cell)
    shapely.prepare(shape)
    inside = np.asarray(shapely.contains_xy(shape, *np.meshgrid(xs, ys)))
    # The border runs half a cell from the centres either side of it.
    values = np.where(
        inside, 0.5 - distance_transform_edt(inside), distance_transform_edt(~inside) - 0.5
    )
    return DistanceGrid(values * cell, np.array([xs[0], ys[0]]), cell)
