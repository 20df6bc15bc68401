"""Transforms obey identity, inverse and associativity; linear parts come apart and
together.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from panelbeater.geometry.frames import (
    apply,
    channels,
    from_channels,
    map_shape,
    moved,
    polar,
    rigid,
)
from panelbeater.terms.arrays import Affines

CORNERS = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 2.0], [-1.0, 5.0]])

places = st.floats(-500, 500, allow_nan=False)
angles = st.floats(-3.1, 3.1, allow_nan=False)
rigids = st.builds(
    lambda x, y, a: rigid(np.array([x, y]), np.array(a)), places, places, angles
)
stretches = st.builds(
    lambda scale, ratio, axis: _stretch(scale, ratio, axis),
    st.floats(0.3, 3), st.floats(1, 2), angles,
)  # fmt: skip


def _stretch(scale: float, ratio: float, axis: float) -> Affines:
    turn = rigid(np.zeros(2), np.array(axis))
    return turn @ np.diag([scale * ratio, scale / ratio, 1.0]) @ turn.T


def test_no_turn_and_no_move_leaves_points_alone() -> None:
    assert np.array_equal(rigid(np.zeros(2), np.array(0.0)), np.eye(3))
    assert np.array_equal(apply(np.eye(3), CORNERS), CORNERS)


def test_a_positive_quarter_turn_brings_x_towards_the_ground() -> None:
    turned = apply(rigid(np.zeros(2), np.array(np.pi / 2)), np.array([[1.0, 0.0]]))
    assert turned == pytest.approx(np.array([[0.0, 1.0]]))


@given(rigids)
def test_a_transform_and_its_inverse_cancel(transform: Affines) -> None:
    inverse = np.linalg.inv(transform).astype(np.float64)
    back = apply(inverse, apply(transform, CORNERS))
    assert back == pytest.approx(CORNERS, abs=1e-9)


@given(rigids, stretches, rigids)
def test_joining_first_or_applying_first_is_the_same(
    stage_from_bone: Affines, stretch: Affines, bone_from_piece: Affines
) -> None:
    joined = apply(stage_from_bone @ stretch @ bone_from_piece, CORNERS)
    stepwise = apply(stage_from_bone, apply(stretch, apply(bone_from_piece, CORNERS)))
    assert joined == pytest.approx(stepwise, abs=1e-8)


@given(angles, stretches)
def test_a_turned_stretch_comes_apart_into_its_turn_and_its_stretch(
    angle: float, stretch: Affines
) -> None:
    turn, symmetric = polar(rigid(np.zeros(2), np.array(angle))[:2, :2] @ stretch[:2, :2])
    assert float(turn) == pytest.approx(angle, abs=1e-9)
    assert symmetric == pytest.approx(stretch[:2, :2], abs=1e-9)


@given(rigids, stretches)
def test_channels_make_the_same_placement_again(
    transform: Affines, stretch: Affines
) -> None:
    placement = transform @ stretch
    assert from_channels(channels(placement)) == pytest.approx(placement, abs=1e-9)


def test_channels_of_many_placements_are_the_channels_of_each() -> None:
    many = np.stack([moved(1, 2), rigid(np.array([4.0, -2.0]), np.array(2.5))])[:, None]
    assert channels(many).shape == (2, 1, 6)
    assert np.array_equal(channels(many)[1, 0], channels(many[1, 0]))
    assert from_channels(channels(many)) == pytest.approx(many)


def test_a_mapped_outline_grows_by_the_determinant() -> None:
    shape = map_shape(moved(9, 9) @ np.diag([2.0, 3.0, 1.0]), box(0, 0, 4, 1))
    assert shape.area == pytest.approx(6 * 4)
    assert shape.bounds == pytest.approx((9, 9, 17, 12))
