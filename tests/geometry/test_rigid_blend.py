"""Bending by a share of the curvature is the as-rigid-as-possible in-between."""

from __future__ import annotations

import time

import numpy as np
import pytest

from panelbeater.geometry.bending import bend_points
from panelbeater.terms.bend import Bend
from tests.geometry.rigid_blend import grid_mesh, jacobians, rigid_blend

SHARES = np.linspace(0, 1, 9)


def strays(bend: Bend, n: int) -> float:
    """Largest distance between the two in-betweens, share of the plate's length."""
    vertices, faces = grid_mesh(60.0, 12.0, n)
    ours = bend_points(bend, vertices, SHARES)
    theirs = rigid_blend(vertices, ours[-1], faces, SHARES)
    # A blend on a mesh is free to drift: ours is laid on it, middle on middle.
    ours = ours + (theirs.mean(axis=1) - ours.mean(axis=1))[:, None]
    return float(np.linalg.norm(ours - theirs, axis=-1).max()) / 60.0


@pytest.mark.parametrize("turn", [0.6, 1.2, -1.57])
def test_a_mesh_blend_finds_the_same_in_betweens(turn: float) -> None:
    """Alexa, Cohen-Or and Levin 2000: their least-squares blend on a mesh, solved here."""
    bend = Bend(curvature=turn / 60)
    coarse, fine = strays(bend, 2), strays(bend, 5)
    assert fine < 1e-3
    assert fine < 0.4 * coarse  # and the finer the mesh the nearer


def test_a_straight_blend_is_not_it() -> None:
    """The check can fail: corners joined by straight lines stray ten times as far."""
    bend = Bend(curvature=1.57 / 60)
    vertices, faces = grid_mesh(60.0, 12.0, 5)
    end = bend_points(bend, vertices)
    straight = vertices + SHARES[:, None, None] * (end - vertices)
    theirs = rigid_blend(vertices, end, faces, SHARES)
    assert np.linalg.norm(straight - theirs, axis=-1).max() / 60.0 > 0.01


@pytest.mark.parametrize("turn", [0.6, 1.2, -1.57])
def test_libigl_relaxes_a_plate_held_by_its_ends_to_our_in_between(turn: float) -> None:
    """Sorkine and Alexa 2007 by libigl: both short edges are held where we have them, and
    the rest of the plate finds its own way, from flat.
    """
    igl = pytest.importorskip("igl")
    vertices, faces = grid_mesh(60.0, 12.0, 5)
    bend = Bend(curvature=turn / 60)
    ours = bend_points(bend, vertices, np.array([0.5]))[0]
    held = np.flatnonzero(np.abs(vertices[:, 0]) > 30 - 1e-9).astype(np.int32)
    arap = igl.ARAPData()
    arap.max_iter, arap.energy = 400, igl.ARAP_ENERGY_TYPE_ELEMENTS
    igl.arap_precomputation(vertices, faces, 2, held, arap)
    theirs = igl.arap_solve(np.ascontiguousarray(ours[held]), arap, vertices.copy())
    assert np.linalg.norm(ours - theirs, axis=-1).max() / 60.0 < 6e-4
    straight = (vertices + bend_points(bend, vertices)) / 2
    assert np.linalg.norm(straight - theirs, axis=-1).max() / 60.0 > 2e-3


def test_a_pure_turn_is_blended_as_a_turn() -> None:
    """A straight blend would shrink to 1 - 2t(1 - t)(1 - cos turn) on the way."""
    vertices, faces = grid_mesh(60.0, 12.0, 2)
    turn = 2.0
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    through = rigid_blend(vertices, vertices @ rotation.T, faces, SHARES)
    for shape in through:
        areas = np.linalg.det(jacobians(vertices, shape, faces))
        assert areas == pytest.approx(np.ones(len(faces)), abs=1e-9)


@pytest.mark.parametrize("taper", [0.0, 0.008])
def test_no_triangle_turns_over_and_area_keeps_to_the_ramp(taper: float) -> None:
    bend = Bend(0.2, 1.4 / 60, taper)
    vertices, faces = grid_mesh(60.0, 12.0, 4)
    through = bend_points(bend, vertices, SHARES)
    a, b = (
        vertices[faces[:, 1]] - vertices[faces[:, 0]],
        (vertices[faces[:, 2]] - vertices[faces[:, 0]]),
    )
    weight = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    grown = np.stack([np.linalg.det(jacobians(vertices, p, faces)) for p in through])
    assert (grown > 0).all()
    area = grown @ weight / weight.sum()
    ramp = 1 + SHARES * (area[-1] - 1)
    assert area == pytest.approx(ramp, abs=0.02)


def test_forty_pieces_over_forty_eight_frames_take_no_time() -> None:
    """Two seconds of processor time are allowed; outlines of two hundred corners."""
    points = np.random.default_rng(1).uniform(-30, 30, (200, 2))
    shares = np.linspace(0, 1, 48)
    began = time.process_time()
    for k in range(40):
        bend_points(Bend(0.1 * k, 0.01), points, shares)
    assert time.process_time() - began < 2.0
