"""Only some limbs open: they come out, nothing else stirs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.geometry.frames import map_shape
from panelbeater.geometry.overlay import joined, without
from panelbeater.geometry.stage import laid_outline
from panelbeater.kinematics.chain import bodies_on_stage, stage_from_bones
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.pose import Pose
from panelbeater.terms.timing import LIMBS, ShotOptions
from panelbeater.unfold import open_limbs
from tests.yard import GROUND, yard


@pytest.mark.parametrize("limb", LIMBS)
def test_a_limb_opens_out_of_the_vehicle_and_above_the_ground(limb: str) -> None:
    shot = yard(48)
    options = ShotOptions(n_frames=48, only=(limb,))
    vehicle = shot.drawing.silhouette
    pose = open_limbs(
        shot.skeleton, shot.fold, shot.drawing, shot.assignment, ground=GROUND, shot=options
    ).pose
    mine = [i for i, (_, _, controller) in enumerate(BONE_TREE) if controller == limb]
    shown = []
    for frame in (0, -1):
        bodies = bodies_on_stage(
            shot.skeleton, Pose(pose.root[frame], pose.turns[frame], pose.scales[frame])
        )
        whole = joined([bodies[i] for i in mine])
        shown.append(without(whole, vehicle).area / whole.area)
    assert shown[0] < 0.01
    assert shown[1] > 0.4
    assert whole.bounds[3] <= GROUND + 0.002 * shot.figure.height


@pytest.mark.parametrize("limb", [limb for limb in LIMBS if limb != "head"])
def test_what_a_limb_wears_does_not_land_in_the_ground(limb: str) -> None:
    # Plates that reach far beyond the limb: it has to open higher than it would bare.
    shot, options = yard(48), ShotOptions(n_frames=48, only=(limb,))
    standing = np.linalg.inv(stage_from_bones(shot.skeleton, shot.skeleton.rest))
    wide = replace(
        shot.assignment,
        covers=tuple(
            replace(c, stage_from_piece=c.stage_from_piece @ np.diag([4.0, 4.0, 1.0]))
            for c in shot.assignment.covers
        ),
    )
    pose = open_limbs(
        shot.skeleton, shot.fold, shot.drawing, wide, ground=GROUND, shot=options
    ).pose
    last = Pose(pose.root[-1], pose.turns[-1], pose.scales[-1])
    bones = stage_from_bones(shot.skeleton, last)
    lowest = [
        map_shape(bones[bone] @ standing[bone], laid_outline(piece, cover)).bounds[3]
        for piece, cover in zip(shot.drawing.pieces, wide.covers, strict=True)
        for bone in [BONE_IDS.index(cover.region)]
        if BONE_TREE[bone][2] == limb
    ]
    assert lowest
    assert max(lowest) <= GROUND + 0.002 * shot.figure.height


def test_no_other_bone_stirs_and_both_ends_are_held() -> None:
    shot = yard(48)
    options = ShotOptions(n_frames=48, only=("arm_l", "head"))
    action = open_limbs(
        shot.skeleton, shot.fold, shot.drawing, shot.assignment, ground=GROUND, shot=options
    )
    turned = np.ptp(action.pose.turns, axis=0) > 0
    assert np.ptp(action.pose.root, axis=0).max() == 0
    for bone, (name, _, controller) in enumerate(BONE_TREE):
        assert turned[bone] == (controller in options.only), name
    steps = np.abs(np.diff(action.pose.turns, axis=0)).max(axis=1)
    assert steps[: options.moving.start].max() == 0
    assert steps[options.moving.stop :].max() == 0
