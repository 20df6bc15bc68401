"""The other way to get up: over a low crouch with one hand on the ground."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.kinematics.chain import bodies_on_stage, place_bones
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, KeyPose, Pose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import unfold_body
from tests.yard import GROUND, Yard, booted_skeleton, yard

N_FRAMES = 72


def _crouch(poses: tuple[KeyPose, ...] = ()) -> tuple[Yard, Action]:
    shot = yard(N_FRAMES)
    action = unfold_body(
        shot.skeleton, shot.fold, height=shot.figure.height, ground=GROUND,
        shot=ShotOptions(n_frames=N_FRAMES, action="crouch"), poses=poses,
    )  # fmt: skip
    return shot, action


def _held(action: Action) -> list[int]:
    """Frames, between both ends, into which nothing of the body moves."""
    pose, moving = action.pose, ShotOptions(n_frames=N_FRAMES).moving
    stir = np.abs(np.diff(pose.turns, axis=0)).max(axis=1)
    stir += np.abs(np.diff(pose.root, axis=0)).max(axis=1)
    quiet = np.flatnonzero(stir < 1e-6) + 1
    return [int(f) for f in quiet if moving.start + 2 < f < moving.stop - 6]


def test_the_crouch_is_held_for_six_frames_with_hips_low_and_one_hand_down() -> None:
    shot, action = _crouch()
    held = _held(action)
    assert len(held) >= 6
    assert held == list(range(held[0], held[-1] + 1))
    frame = held[0]
    pose = action.pose
    hips = GROUND - pose.root[frame, 1]
    assert hips < 0.7 * (GROUND - shot.skeleton.rest.root[1])
    bodies = bodies_on_stage(
        shot.skeleton, Pose(pose.root[frame], pose.turns[frame], pose.scales[frame])
    )
    low = {name: body.bounds[3] for name, body in zip(BONE_IDS, bodies, strict=True)}
    near = 0.002 * shot.figure.height
    hands = [name for name in ("hand_l", "hand_r") if abs(low[name] - GROUND) < near]
    assert len(hands) == 1
    assert all(y <= GROUND + near for y in low.values())


def test_hips_stay_above_ankles_that_are_as_high_as_a_low_crouch() -> None:
    # Boots half as tall as the legs: legs that are below their ankles would spin to get up.
    shot, skeleton = yard(N_FRAMES), booted_skeleton()
    action = unfold_body(
        skeleton, shot.fold, height=shot.figure.height, ground=GROUND,
        shot=ShotOptions(n_frames=N_FRAMES, action="crouch"),
    )  # fmt: skip
    joints, angles = place_bones(skeleton, action.pose)
    held = _held(action)
    assert held
    for side in ("l", "r"):
        thigh, foot = (BONE_IDS.index(f"{name}_{side}") for name in ("thigh", "foot"))
        leg = joints[-1, foot, 1] - joints[-1, thigh, 1]
        assert (joints[held, foot] - joints[held, thigh])[:, 1].min() > 0.15 * leg
        rising = slice(held[-1], None)
        assert np.abs(np.diff(angles[rising, thigh], axis=0)).max() < 0.5


def test_it_begins_and_ends_as_the_plain_rise_does() -> None:
    shot, action = _crouch()
    for array, plain in (
        (action.pose.turns, shot.action.pose.turns),
        (action.pose.root, shot.action.pose.root),
    ):
        assert array[0] == pytest.approx(plain[0])
        assert array[-1] == pytest.approx(plain[-1])


def test_a_pose_of_the_animator_wins_over_the_crouch_at_its_frame() -> None:
    _, plain = _crouch()
    frame = _held(plain)[0]
    wish = KeyPose("mine", frame, None, {"head": 0.3}, {})
    shot, action = _crouch((wish,))
    head = BONE_IDS.index("head")
    assert action.pose.turns[frame, head] == pytest.approx(
        shot.skeleton.rest.turns[head] + 0.3
    )
