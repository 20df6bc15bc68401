"""Only some limbs open: they come out, nothing else stirs."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.geometry.overlay import joined, without
from panelbeater.kinematics.chain import bodies_on_stage
from panelbeater.terms.figure import BONE_TREE
from panelbeater.terms.pose import Pose
from panelbeater.terms.timing import LIMBS, ShotOptions
from panelbeater.unfold import open_limbs
from tests.yard import GROUND, yard


@pytest.mark.parametrize("limb", LIMBS)
def test_a_limb_opens_out_of_the_vehicle_and_above_the_ground(limb: str) -> None:
    shot = yard(48)
    options = ShotOptions(n_frames=48, only=(limb,))
    vehicle = shot.drawing.silhouette
    pose = open_limbs(shot.skeleton, shot.fold, vehicle, ground=GROUND, shot=options).pose
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


def test_no_other_bone_stirs_and_both_ends_are_held() -> None:
    shot = yard(48)
    options = ShotOptions(n_frames=48, only=("arm_l", "head"))
    action = open_limbs(
        shot.skeleton, shot.fold, shot.drawing.silhouette, ground=GROUND, shot=options
    )
    turned = np.ptp(action.pose.turns, axis=0) > 0
    assert np.ptp(action.pose.root, axis=0).max() == 0
    for bone, (name, _, controller) in enumerate(BONE_TREE):
        assert turned[bone] == (controller in options.only), name
    steps = np.abs(np.diff(action.pose.turns, axis=0)).max(axis=1)
    assert steps[: options.moving.start].max() == 0
    assert steps[options.moving.stop :].max() == 0
