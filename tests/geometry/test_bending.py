"""Bending: lengths, areas and angles that must come out, and what it may not do."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from panelbeater.geometry.bending import (
    bend_points,
    bend_shape,
    distortion,
    fine_outline,
    local_stretch,
)
from panelbeater.terms.bend import Bend

PLATE = box(-30, -5, 30, 5)
QUARTER = Bend(curvature=np.pi / 2 / 60)
ELBOW = Polygon([(-20, -10), (20, -10), (20, 0), (-5, 0), (-5, 14), (-20, 14)])


def centred(shape: Polygon) -> Polygon:
    middle = shape.centroid
    return shapely.transform(shape, lambda p: p - [middle.x, middle.y])


def test_a_plate_bent_by_a_right_angle_is_a_quarter_ring() -> None:
    radius = 60 / (np.pi / 2)
    ends = bend_points(QUARTER, np.array([[-30.0, 0], [0, 0], [30, 0]]))
    far = radius * np.sin(np.pi / 4)
    rise = radius * (1 - np.cos(np.pi / 4))
    assert ends == pytest.approx(np.array([[-far, rise], [0, 0], [far, rise]]))
    bent = bend_shape(QUARTER, PLATE)
    ring = np.pi / 4 * ((radius + 5) ** 2 - (radius - 5) ** 2)  # area of the quarter ring
    assert bent.area == pytest.approx(ring, rel=1e-3)
    assert bent.area == pytest.approx(PLATE.area, rel=1e-3)


@given(axis=st.floats(-3, 3), turn=st.floats(-1.5, 1.5), share=st.floats(0, 1))
def test_a_bend_keeps_area_and_a_simple_outline_on_all_its_way(
    axis: float, turn: float, share: float
) -> None:
    shape = centred(ELBOW)
    bent = bend_shape(Bend(axis, turn / 50), shape, share)
    assert bent.is_valid
    assert bent.area == pytest.approx(shape.area, rel=2e-3)


def test_no_share_of_a_bend_is_the_drawing_to_the_last_digit() -> None:
    points = shapely.get_coordinates(ELBOW)
    bend = Bend(0.3, 0.02, 0.01)
    assert np.array_equal(bend_points(bend, points, 0.0), points)
    whole = bend_points(bend, points, np.array([0.0, 1.0]))
    assert np.array_equal(whole[1], bend_points(bend, points))


def test_the_stretch_told_is_the_stretch_measured() -> None:
    bend = Bend(0.4, 0.02, 0.006)
    points = np.random.default_rng(3).uniform(-20, 20, (40, 2))
    h = 1e-5
    columns = [
        (bend_points(bend, points + step) - bend_points(bend, points - step)) / (2 * h)
        for step in (np.array([h, 0]), np.array([0, h]))
    ]
    sizes = np.linalg.svd(np.stack(columns, axis=-1), compute_uv=False)
    assert local_stretch(bend, points) == pytest.approx(sizes[:, 0] / sizes[:, 1], rel=1e-6)


def test_a_plate_bent_to_a_ring_of_its_own_half_width_is_inside_out() -> None:
    assert distortion(Bend(curvature=1 / 5.01), PLATE) > 100
    assert distortion(Bend(curvature=1 / 4.99), PLATE) == np.inf
    assert distortion(Bend(), PLATE) == 1.0
    # On the inner edge 1 - 5/15 is left of the length: 3/2 by hand.
    assert distortion(Bend(curvature=1 / 15), PLATE) == pytest.approx(1.5)


def test_a_tapered_plate_is_wider_at_one_end() -> None:
    wedge = bend_shape(Bend(taper=0.01), PLATE)
    xy = shapely.get_coordinates(wedge)
    assert np.ptp(xy[xy[:, 0] > 29, 1]) == pytest.approx(13.0)
    assert np.ptp(xy[xy[:, 0] < -29, 1]) == pytest.approx(7.0)


def test_finer_corners_leave_the_outline_where_it_is() -> None:
    fine = fine_outline(QUARTER, PLATE)
    assert len(fine.exterior.coords) > len(PLATE.exterior.coords)  # type: ignore[union-attr]
    assert fine.symmetric_difference(PLATE).area < 1e-9


def test_a_bend_about_another_centre_is_the_same_bend_moved() -> None:
    away = shapely.transform(PLATE, lambda p: p + [100, 40])
    there = bend_shape(QUARTER, away, centre=np.array([100.0, 40.0]))
    here = shapely.transform(bend_shape(QUARTER, PLATE), lambda p: p + [100, 40])
    assert there.equals_exact(here, 1e-9)
