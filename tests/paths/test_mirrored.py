"""A mirrored vehicle opens as the mirrored shot: no handedness creeps in on the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.affinity import scale

from panelbeater.kinematics.chain import skeleton_of
from panelbeater.paths import find_rides, plan_paths
from panelbeater.rig import sample_rig
from panelbeater.terms.arrays import Affines
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Fold, Pose
from panelbeater.unfold import UnfoldOptions, unfold_body
from tests.yard import GROUND, Yard, yard, yard_figure

AXIS = 50.0
"""The capsule figure of the yard is its own mirror image about this x."""
FLIP = np.diag([-1.0, 1.0, 1.0])
MIRROR = np.array([[-1.0, 0.0, 2 * AXIS], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])


def _other(name: str) -> str:
    side = {"_l": "_r", "_r": "_l"}.get(name[-2:])
    return name[:-2] + side if side else name


ACROSS = [BONE_IDS.index(_other(name)) for name in BONE_IDS]


def _mirrored_pose(pose: Pose) -> Pose:
    turns = -pose.turns[..., ACROSS]
    turns[..., 0] = -np.pi - pose.turns[..., 0]  # upright stays upright
    root = pose.root * (-1.0, 1.0) + (2 * AXIS, 0.0)
    return Pose(root, turns, pose.scales[..., ACROSS, :])


def _mirrored_drawing(drawing: Drawing) -> Drawing:
    pieces = tuple(
        replace(piece, outline=scale(piece.outline, -1, 1, origin=(AXIS, 0)))
        for piece in drawing.pieces
    )
    return Drawing(pieces, scale(drawing.silhouette, -1, 1, origin=(AXIS, 0)))


def _planned_mirrored(shot: Yard) -> tuple[Pose, Affines]:
    """The body and (n_frames, n_pieces, 3, 3) pieces of the shot planned from mirrored
    drawings, with left and right changed about.
    """
    skeleton, height = skeleton_of(yard_figure()), yard_figure().height
    drawing = _mirrored_drawing(shot.drawing)
    windows = {_other(part): window for part, window in UnfoldOptions().windows.items()}
    action = unfold_body(
        skeleton, Fold(_mirrored_pose(shot.fold.pose), 0.0, 1.0, 1.0), height=height,
        ground=GROUND, shot=shot.rig.shot, options=UnfoldOptions(windows=windows),
    )  # fmt: skip
    covers = tuple(
        replace(
            cover,
            region=_other(cover.region),
            stage_from_piece=MIRROR @ cover.stage_from_piece @ FLIP,
        )
        for cover in shot.assignment.covers
    )
    assignment = replace(shot.assignment, covers=covers)
    rides = find_rides(drawing, skeleton, action, assignment, width=shot.rides.width)
    tracks = plan_paths(
        drawing, skeleton, action, assignment, rides, shot.schedule,
        ground=GROUND, height=height, shot=shot.rig.shot,
    )  # fmt: skip
    rig = replace(shot.rig, drawing=drawing, action=action.pose, tracks=tracks)
    times = np.arange(shot.rig.shot.n_frames, dtype=np.float64)
    return action.pose, sample_rig(rig, times).stage_from_piece


def test_a_mirrored_shot_is_the_mirror_image_in_every_frame() -> None:
    shot = yard(48)
    pose, placed = _planned_mirrored(shot)
    wanted = _mirrored_pose(shot.action.pose)
    height = shot.figure.height
    assert pose.root == pytest.approx(wanted.root, abs=1e-9 * height)
    assert pose.scales == pytest.approx(wanted.scales, abs=1e-9)
    apart = np.angle(np.exp(1j * (pose.turns - wanted.turns)))
    assert np.abs(apart).max() < 1e-9
    assert placed == pytest.approx(
        MIRROR @ shot.sample.stage_from_piece @ FLIP, abs=1e-6 * height
    )
