"""The bone chain: posing, mirroring, foreshortening, limits."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from panelbeater.geometry.frames import apply
from panelbeater.kinematics.chain import (
    PARENTS,
    bodies_on_stage,
    place_bones,
    skeleton_of,
    stage_from_bones,
)
from panelbeater.kinematics.limits import turn_limits
from panelbeater.terms.arrays import Ints
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose
from tests.figures import capsule_figure

FIGURE = capsule_figure(100, x=40, ground=100)
SKELETON = skeleton_of(FIGURE)


def _bent(seed: int = 3) -> Pose:
    rng = np.random.default_rng(seed)
    turns = SKELETON.rest.turns + rng.uniform(-1, 1, len(BONE_IDS))
    return Pose(np.array([12.0, 34.0]), turns, rng.uniform(0.6, 1, (len(BONE_IDS), 2)))


def _across() -> Ints:
    """Index of the bone on the other side of the body."""
    other = {"_l": "_r", "_r": "_l"}
    return np.array([BONE_IDS.index(b[:-2] + other[b[-2:]]) if b[-2:] in other else i
                     for i, b in enumerate(BONE_IDS)])  # fmt: skip


def test_parents_come_before_their_children() -> None:
    assert PARENTS[0] == -1
    assert all(parent < bone for bone, parent in enumerate(PARENTS))


def test_the_standing_pose_is_the_figure_as_drawn() -> None:
    frames = stage_from_bones(SKELETON, SKELETON.rest)
    for i, bone in enumerate(FIGURE.bones):
        tip = apply(frames[i], np.array([[0.0, 0.0], [SKELETON.lengths[i], 0.0]]))
        assert tip == pytest.approx(np.array([bone.start, bone.end]), abs=1e-9)
    for bone, body in zip(
        FIGURE.bones, bodies_on_stage(SKELETON, SKELETON.rest), strict=True
    ):
        assert shapely.hausdorff_distance(bone.body, body) < 1e-9


def test_a_mirrored_pose_gives_the_mirrored_body() -> None:
    pose = _bent()
    axis = 2 * 40.0
    turns = -pose.turns[_across()]
    turns[0] = np.pi - pose.turns[0]
    mirrored = Pose(
        np.array([axis - pose.root[0], pose.root[1]]), turns, pose.scales[_across()]
    )
    there, _ = place_bones(SKELETON, mirrored)
    here, _ = place_bones(SKELETON, pose)
    expected = here[_across()] * [-1, 1] + [axis, 0]
    assert there == pytest.approx(expected, abs=1e-9)


def test_a_foreshortened_thigh_carries_its_shank_half_as_far() -> None:
    thigh, shank, foot = (BONE_IDS.index(n) for n in ("thigh_l", "shank_l", "foot_l"))
    scales = np.ones((len(BONE_IDS), 2))
    scales[thigh, 0] = 0.5
    rest = SKELETON.rest
    before, _ = place_bones(SKELETON, rest)
    after, _ = place_bones(SKELETON, Pose(rest.root, rest.turns, scales))
    thigh_length = np.hypot(*(before[shank] - before[thigh]))
    assert np.hypot(*(after[shank] - after[thigh])) == pytest.approx(0.5 * thigh_length)
    # The shank itself keeps its length, and the other leg stays where it was.
    assert after[foot] - after[shank] == pytest.approx(before[foot] - before[shank])
    other = BONE_IDS.index("foot_r")
    assert after[other] == pytest.approx(before[other])
    body = bodies_on_stage(SKELETON, Pose(rest.root, rest.turns, scales))[thigh]
    assert body.area == pytest.approx(0.5 * FIGURE.bones[thigh].body.area)


def test_turning_a_joint_carries_the_limb_below_it_and_nothing_else() -> None:
    elbow = BONE_IDS.index("forearm_r")
    turns = SKELETON.rest.turns.copy()
    turns[elbow] += 1.0
    before, _ = place_bones(SKELETON, SKELETON.rest)
    after, _ = place_bones(SKELETON, Pose(SKELETON.rest.root, turns, SKELETON.rest.scales))
    moved_bones = np.flatnonzero(np.hypot(*(after - before).T) > 1e-9)
    assert [BONE_IDS[i] for i in moved_bones] == ["hand_r"]


def test_many_poses_at_once_are_each_pose_alone() -> None:
    poses = [_bent(seed) for seed in range(3)]
    many = Pose(
        *(np.stack([getattr(p, n) for p in poses]) for n in ("root", "turns", "scales"))
    )
    for i, pose in enumerate(poses):
        alone = stage_from_bones(SKELETON, pose)
        assert np.array_equal(stage_from_bones(SKELETON, many)[i], alone)


def test_every_joint_has_a_limit_and_both_sides_share_it() -> None:
    limits = turn_limits()
    assert limits.shape == (len(BONE_IDS),)
    assert np.all((limits > 0) & (limits < np.pi))
    assert np.array_equal(limits, limits[_across()])
