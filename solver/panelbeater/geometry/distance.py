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
        distance, slope_x, slope_y = self.look_up(points[..., 0], points[..., 1])
        return distance, np.stack([slope_x, slope_y], axis=-1)

    def look_up(self, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
        """The same with x and y apart: distance and both parts of the slope, each (...,).

        Searches look up a hundred thousand points a step; arrays of pairs take twice as
        long.
        """
        n_rows, n_columns = self.values.shape
        across = (x - self.origin[0]) / self.cell
        down = (y - self.origin[1]) / self.cell
        held_x = np.clip(across, 0.0, n_columns - 1.001)
        held_y = np.clip(down, 0.0, n_rows - 1.001)
        column, row = held_x.astype(np.int64), held_y.astype(np.int64)
        fx, fy = held_x - column, held_y - row
        flat, at = self.values.ravel(), row * n_columns + column
        v00, v01 = flat.take(at), flat.take(at + 1)
        v10, v11 = flat.take(at + n_columns), flat.take(at + n_columns + 1)
        rise, fall = v01 - v00, v11 - v10
        upper = v00 + fx * rise
        lean = v10 + fx * fall - upper
        distance = upper + fy * lean
        slope_x = (rise + fy * (fall - rise)) / self.cell
        slope_y = lean / self.cell
        beyond_x, beyond_y = across - held_x, down - held_y  # how far off, in cells
        astray = (beyond_x != 0) | (beyond_y != 0)
        if astray.any():
            # Off the grid the distance grows straight outwards; along the border it goes
            # on as the border does.
            off = np.hypot(beyond_x, beyond_y)
            safe = np.where(astray, off, 1.0)
            distance = distance + off * self.cell
            slope_x = np.where(beyond_x != 0, beyond_x / safe, slope_x)
            slope_y = np.where(beyond_y != 0, beyond_y / safe, slope_y)
        return distance, slope_x, slope_y


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
