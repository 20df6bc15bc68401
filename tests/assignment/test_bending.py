"""Panels bend along curved limbs, and only where that covers clearly more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from panelbeater.assignment.bending import bend_covers
from panelbeater.assignment.candidates import stretch_matrix
from panelbeater.geometry.bending import bend_points, distortion
from panelbeater.geometry.frames import rigid
from panelbeater.geometry.stage import laid_outline
from panelbeater.scores import STANDARD
from panelbeater.scores.likeness import shape_distance
from panelbeater.terms.assignment import Cover
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Allowance, Piece
from panelbeater.terms.figure import Figure
from tests.figures import capsule_figure
from tests.vehicles import piece

GROUND = 100.0
DOOR = piece("door", box(0, 0, 24, 6), 0)


def curved_arm(curvature: float) -> tuple[Figure, Polygon]:
    """A figure whose left forearm is a door's length of ring, and that ring."""
    figure = capsule_figure(100, ground=GROUND)
    at = next(k for k, bone in enumerate(figure.bones) if bone.id == "forearm_l")
    bone = figure.bones[at]
    bend = Bend(curvature=curvature)
    flat = shapely.segmentize(box(-12, -3, 12, 3), 0.5)
    middle = (bone.start + bone.end) / 2
    ring = shapely.transform(flat, lambda p: bend_points(bend, p) + middle)
    bones = list(figure.bones)
    bones[at] = replace(bone, region=ring)
    # Far from all other regions, so that only this one is won or lost.
    return replace(figure, bones=tuple(bones), silhouette=ring), ring


def laid(figure: Figure, door: Piece = DOOR) -> Cover:
    bone = next(bone for bone in figure.bones if bone.id == "forearm_l")
    place = rigid((bone.start + bone.end) / 2, np.array(0.0))
    return Cover(door.id, "forearm_l", place, 1.0, 1.0, 0.1, "by hand")


@pytest.mark.parametrize("curvature", [0.06, -0.05])
def test_a_door_becomes_a_curved_forearm_plate(curvature: float) -> None:
    figure, ring = curved_arm(curvature)
    door = replace(DOOR, outline=DOOR.outline)
    cover = replace(laid(figure), scale=0.9)  # not at its drawn size: free to look bent
    bent = bend_covers([door], figure, [cover], GROUND)[0]
    assert bent.bend is not None
    assert np.sign(bent.bend.curvature) == np.sign(curvature)
    before = laid_outline(door, cover).intersection(ring).area
    after = laid_outline(door, bent).intersection(ring).area
    assert after > before + 0.03 * ring.area
    assert after > 0.96 * ring.area
    own = shapely.transform(door.outline, lambda p: p - [12, 3])
    assert distortion(bent.bend, own) <= door.allowance.bend_max + 1e-6


def test_what_fits_flat_stays_flat() -> None:
    figure, _ = curved_arm(0.0)
    cover = laid(figure)
    assert bend_covers([DOOR], figure, [cover], GROUND) == (cover,)


@pytest.mark.parametrize(
    "stiff",
    [
        replace(DOOR, signature=True),
        replace(DOOR, kind="wheel"),
        replace(DOOR, allowance=Allowance(bend_max=1.0)),
    ],
    ids=["signature", "wheel", "not allowed"],
)
def test_a_piece_that_must_stay_as_drawn_is_never_bent(stiff: Piece) -> None:
    figure, _ = curved_arm(0.06)
    cover = replace(laid(figure, stiff), scale=0.9)
    assert bend_covers([stiff], figure, [cover], GROUND) == (cover,)


@pytest.mark.parametrize(("scale", "stretch"), [(1.0, 1.0), (0.95, 1.0), (1.0, 1.15)])
def test_a_piece_kept_as_drawn_bends_only_so_far_that_it_is_known_again(
    scale: float, stretch: float
) -> None:
    figure, _ = curved_arm(0.06)
    flat = laid(figure)
    place = flat.stage_from_piece.copy()
    place[:2, :2] @= stretch_matrix(scale, stretch, 0.0)
    cover = replace(flat, stage_from_piece=place, scale=scale, stretch=stretch)
    kept = bend_covers([DOOR], figure, [cover], GROUND)[0]
    drawn = shapely.segmentize(DOOR.outline, 0.5)
    worn = laid_outline(replace(DOOR, outline=drawn), kept)
    assert shape_distance(drawn, worn) < STANDARD.shape_distance
    assert abs(np.sqrt(worn.area / drawn.area) - 1) <= STANDARD.unit_scale + 1e-9


def test_nothing_is_bent_into_the_ground() -> None:
    figure, ring = curved_arm(0.06)
    ground = float(ring.centroid.y + 3.0)  # the ends of the ring lie below it
    cover = replace(laid(figure), scale=0.9)
    bent = bend_covers([DOOR], figure, [cover], ground)[0]
    lowest = max(laid_outline(DOOR, cover).bounds[3], ground)
    assert laid_outline(DOOR, bent).bounds[3] <= lowest + 1e-6
