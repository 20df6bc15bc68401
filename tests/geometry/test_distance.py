"""The distance grid against shapely's exact distances."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from panelbeater.geometry.distance import distance_grid
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape

SHAPES: dict[str, Shape] = {
    "box": box(10, 20, 110, 80),
    "disc": Point(50, 50).buffer(40, quad_segs=32),
    "slanted van": Polygon([(0, 60), (0, 22), (46, 20), (71, 41), (103, 45), (104, 60)]),
    "frame with a window": Polygon(
        box(0, 0, 90, 60).exterior, [box(30, 20, 60, 40).exterior]
    ),
    "two parts": shapely.MultiPolygon([box(0, 0, 30, 40), box(45, 5, 80, 40)]),
}


def _spots(shape: Shape, share: float, n: int = 400) -> Points:
    """Points over the shape's box grown by a share of its longer side."""
    x0, y0, x1, y1 = shape.bounds
    pad = share * max(x1 - x0, y1 - y0)
    return np.random.default_rng(5).uniform(
        (x0 - pad, y0 - pad), (x1 + pad, y1 + pad), (n, 2)
    )


def _exact(shape: Shape, spots: Points) -> Floats:
    """Signed distance, negative inside."""
    points = shapely.points(spots)
    apart = shapely.distance(shape.boundary, points)
    return np.where(shapely.contains(shape, points), -apart, apart)


@pytest.mark.parametrize("name", SHAPES)
def test_the_grid_is_true_to_half_a_cell(name: str) -> None:
    grid = distance_grid(SHAPES[name], n_cells=150)
    spots = _spots(SHAPES[name], 0.2)
    found, _ = grid.at(spots)
    off = np.abs(found - _exact(SHAPES[name], spots)).max()
    assert off <= 0.5 * grid.cell, f"{off / grid.cell:.2f} cells"


def test_off_the_grid_the_distance_keeps_growing() -> None:
    grid = distance_grid(SHAPES["box"], n_cells=60)
    (near, far), slope = grid.at(np.array([[400.0, 50.0], [900.0, 50.0]]))
    assert far - near == pytest.approx(500)
    assert slope == pytest.approx(np.array([[1.0, 0.0], [1.0, 0.0]]))


def test_the_slope_points_outwards() -> None:
    disc = SHAPES["disc"]
    spots = _spots(disc, 1.0)
    away = spots - 50.0
    reach = np.hypot(away[:, 0], away[:, 1])
    keep = reach > 8  # the middle of a disc has no way out that is nearer than another
    _, slope = distance_grid(disc, n_cells=150).at(spots[keep])
    outward = (slope * away[keep]).sum(axis=1) / reach[keep]
    assert outward.min() > 0.6
    assert np.median(outward) > 0.97


def test_the_slope_is_that_of_the_distance_between_cells() -> None:
    grid = distance_grid(SHAPES["slanted van"], n_cells=50)
    spots = _spots(SHAPES["slanted van"], 0.2)
    _, slope = grid.at(spots)
    # Stay in one cell: at its border the slope of a bilinear surface jumps.
    inside_cell = np.abs((spots - grid.origin) / grid.cell % 1 - 0.5).max(axis=1) < 0.49
    h = 1e-6 * grid.cell
    for axis in range(2):
        step = np.eye(2)[axis] * h
        rise = (grid.at(spots + step)[0] - grid.at(spots - step)[0]) / (2 * h)
        assert rise[inside_cell] == pytest.approx(slope[inside_cell, axis], abs=1e-6)
