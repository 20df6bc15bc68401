"""The body rises from its fold onto planted feet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from panelbeater.geometry.frames import apply
from panelbeater.kinematics.chain import (
    bodies_on_stage,
    place_bones,
    skeleton_of,
    stage_from_bones,
)
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.kinematics.moments import pose_between
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Fold, Pose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import UnfoldOptions, unfold_body
from panelbeater.unfold.legs import reach_foot, step_paths
from tests.yard import GROUND, Yard, booted_skeleton, yard, yard_figure

LENGTHS = [24, 48, 144]


def _pose(shot: Yard, frame: int) -> Pose:
    whole = shot.action.pose
    return Pose(whole.root[frame], whole.turns[frame], whole.scales[frame])


@pytest.mark.parametrize("n_frames", LENGTHS)
def test_the_first_frame_is_the_fold(n_frames: int) -> None:
    shot = yard(n_frames)
    here = bodies_on_stage(shot.skeleton, _pose(shot, 0))
    folded = bodies_on_stage(shot.skeleton, shot.fold.pose)
    for body, wanted in zip(here, folded, strict=True):
        assert shapely.hausdorff_distance(body, wanted) < 1e-7


@pytest.mark.parametrize("n_frames", LENGTHS)
def test_the_last_frames_are_the_standing_figure(n_frames: int) -> None:
    shot = yard(n_frames)
    for frame in range(n_frames - shot.rig.shot.last_hold, n_frames):
        for bone, body in zip(
            shot.figure.bones,
            bodies_on_stage(shot.skeleton, _pose(shot, frame)),
            strict=True,
        ):
            assert shapely.hausdorff_distance(body, bone.body) < 1e-7


@pytest.mark.parametrize("n_frames", LENGTHS)
@pytest.mark.parametrize("foot", ["foot_l", "foot_r"])
def test_a_planted_foot_neither_slides_nor_turns(n_frames: int, foot: str) -> None:
    shot, bone = yard(n_frames), BONE_IDS.index(foot)
    moving = shot.rig.shot.moving
    options, length = UnfoldOptions(), moving.stop - moving.start
    steps = [at for part, at in options.windows.items() if part.startswith("step")]
    step_over = max(max(b * length + options.step_frames, e * length) for b, e in steps)
    planted = int(np.ceil(moving.start + step_over))
    assert planted < n_frames - 2
    frames = stage_from_bones(shot.skeleton, shot.action.pose)[planted:, bone]
    sole = shapely.get_coordinates(shot.skeleton.bodies[bone])
    spots = apply(frames, sole)  # (n_planted, n_points, 2)
    assert np.abs(spots - spots[-1]).max() < 1e-6 * shot.figure.height


@pytest.mark.parametrize("n_frames", LENGTHS)
def test_no_body_sinks_below_the_ground(n_frames: int) -> None:
    shot = yard(n_frames)
    lowest = max(
        body.bounds[3]
        for frame in range(n_frames)
        for body in bodies_on_stage(shot.skeleton, _pose(shot, frame))
    )
    assert lowest <= GROUND + 0.002 * shot.figure.height


def test_joints_turn_without_jumps() -> None:
    # Over twice as many frames no step may stay as large: a jump would.
    coarse, fine = (np.diff(yard(n).action.pose.turns, axis=0) for n in (72, 144))
    steps = np.abs(np.stack([np.sin(d).max(axis=0) for d in (coarse, fine)]))
    assert np.all(np.abs(fine) < 0.5)
    assert steps[1].max() < 0.8 * steps[0].max()


def test_every_bone_is_still_outside_its_span() -> None:
    shot = yard(72)
    for bone, span in enumerate(shot.action.spans):
        name = BONE_IDS[bone]
        if name.startswith(("thigh", "shank", "foot")):
            continue  # legs are closed onto the feet for as long as the hips move
        turns = shot.action.pose.turns[:, bone]
        assert np.ptp(turns[: span.start + 1]) < 1e-9, name
        assert np.ptp(turns[span.stop - 1 :]) < 1e-9, name
        assert 0 <= span.start < span.stop <= 72


def test_legs_stand_up_before_the_arms() -> None:
    spans = dict(zip(BONE_IDS, yard(72).action.spans, strict=True))
    assert spans["thigh_l"].start < spans["upper_arm_l"].start < spans["head"].stop
    assert spans["upper_arm_r"].start <= spans["forearm_r"].start <= spans["hand_r"].start


@pytest.mark.parametrize("knee", [0.4, -0.4])
@pytest.mark.parametrize("reach", [0.15, 0.35, 0.46, 0.6])
def test_a_leg_reaches_the_ankle_it_is_given(knee: float, reach: float) -> None:
    # Joints off the bones' own lines, as a fitted skeleton has them.
    straight, offsets = yard(24).skeleton, yard(24).skeleton.offsets.copy()
    shank, foot = BONE_IDS.index("shank_l"), BONE_IDS.index("foot_l")
    offsets[shank, 1], offsets[foot, 1] = 3.0, -2.0
    hip = np.array([[10.0, 20.0]])
    ankle = hip + np.array([[0.1, 1.0]]) * reach * yard_figure().height
    thigh_turn, shank_turn, length = reach_foot(
        replace(straight, offsets=offsets), "l", hip, np.array([0.3]), ankle,
        np.array([knee]), 0.5,
    )  # fmt: skip
    # Walk the two links by hand: thigh from a waist at angle 0.3, then shank, then ankle.
    angle = 0.3 + thigh_turn[0]
    at = hip[0] + _turned(offsets[shank] * length, angle)
    at = at + _turned(offsets[foot] * length, angle + shank_turn[0])
    assert at == pytest.approx(ankle[0], abs=1e-9)
    assert length[0] > 0


def test_a_knee_goes_over_to_its_other_side_only_where_it_is_nearly_straight() -> None:
    # The wish changes sides half-way, where the hip is still low and the knee bent deeply.
    skeleton, n = skeleton_of(yard_figure()), 40
    leg = sum(float(np.hypot(*skeleton.offsets[BONE_IDS.index(f"{name}_l")]))
              for name in ("shank", "foot"))  # fmt: skip
    share = minimum_jerk(np.linspace(-0.2, 1.2, n))
    far = (0.3 + 0.7 * share) * leg
    hip, ankle = np.stack([np.zeros(n), -far], axis=-1), np.zeros((n, 2))
    knee = np.linspace(1.0, -1.0, n)
    thigh, shank, scale = reach_foot(skeleton, "l", hip, np.zeros(n), ankle, knee, 0.8)
    assert np.abs(np.diff(shank)).max() < 0.35
    assert np.abs(np.diff(thigh)).max() < 0.35
    assert shank[0] == pytest.approx(abs(shank[0]))
    assert scale[-1] == pytest.approx(1.0, abs=1e-6)


def test_a_foot_that_would_pass_by_its_hip_swings_about_it() -> None:
    # Folded above the hip, standing below it: the straight way leads through the hip.
    folded, stood = np.array([0.02, -0.3]), np.array([0.0, 0.5])
    share = minimum_jerk(np.linspace(0, 1, 13))
    hip = np.zeros((13, 2))
    straight, *swings = step_paths(folded, stood, hip, share)
    near = [np.hypot(*path.T).min() for path in (straight, *swings)]
    turn = [np.abs(np.diff(np.unwrap(np.arctan2(*path.T)))).max() for path in
            (straight, *swings)]  # fmt: skip
    assert near[0] < 0.05
    assert turn[0] > 1.5
    assert near[4] == pytest.approx(np.hypot(*folded))  # the whole swing keeps its distance
    assert turn[4] == pytest.approx(0.5, abs=0.1)  # half a turn, eased over twelve frames
    for path in (straight, *swings):
        assert path[[0, -1]] == pytest.approx(np.array([folded, stood]))
        assert path[:, 1].max() <= stood[1] + 1e-12  # never into the ground


@pytest.mark.parametrize("side", ["l", "r"])
@pytest.mark.parametrize(
    ("turn", "bend"), [(1.57, 0.6), (1.96, 0.0), (2.36, -0.6), (3.14, -2.0)]
)
def test_no_leg_spins_where_its_foot_is_folded_beyond_the_hip(
    side: str, turn: float, bend: float
) -> None:
    shot = yard(72)
    turns = shot.fold.pose.turns.copy()
    thigh, shank = (BONE_IDS.index(f"{name}_{side}") for name in ("thigh", "shank"))
    turns[thigh], turns[shank] = shot.skeleton.rest.turns[thigh] + turn, bend
    folded = Pose(shot.fold.pose.root, turns, shot.fold.pose.scales)
    action = unfold_body(
        shot.skeleton, Fold(folded, 0.0, 0.8, 0.8),
        height=shot.figure.height, ground=GROUND, shot=shot.rig.shot,
    )  # fmt: skip
    _, angles = place_bones(shot.skeleton, action.pose)
    spin = np.abs(np.diff(angles[:, [thigh, shank]], axis=0))
    assert spin.max() < 0.7  # 0.9 to 3 where the foot goes straight
    assert action.pose.scales[:, thigh, 0].max() < 1.12


@pytest.mark.parametrize("seed", [0, 3, 8])
def test_legs_in_tall_boots_step_once_the_hips_are_above_the_ankles(seed: int) -> None:
    # Folded anyhow with low hips: at the usual time of the step the hips pass the ankles
    # close by, and a leg turns by up to a radian in one frame.
    skeleton, rng = booted_skeleton(), np.random.default_rng(seed)
    turns = skeleton.rest.turns + rng.uniform(-2, 2, len(BONE_IDS))
    folded = Pose(np.array([50.0, 70.0]), turns, np.full((len(BONE_IDS), 2), 0.8))
    action = unfold_body(
        skeleton, Fold(folded, 0.0, 0.8, 0.8), height=120.0, ground=GROUND,
        shot=ShotOptions(),
    )  # fmt: skip
    _, angles = place_bones(skeleton, action.pose)
    legs = [i for i, name in enumerate(BONE_IDS) if name.startswith(("thigh", "shank"))]
    assert np.abs(np.diff(angles[:, legs], axis=0)).max() < 0.65


def test_the_root_only_rests_at_both_ends() -> None:
    shot = yard(72)
    origins, _ = place_bones(shot.skeleton, shot.action.pose)
    speed = np.hypot(*np.diff(origins[:, 0], axis=0).T)
    moving = shot.rig.shot.moving
    assert speed[: moving.start].max() == pytest.approx(0, abs=1e-12)
    assert speed[moving.stop :].max() == pytest.approx(0, abs=1e-12)
    assert speed.max() > 0.01


def test_the_action_covers_every_frame_of_a_short_and_a_long_shot() -> None:
    shot = yard(24)
    for n_frames in (24, 1000):
        action = unfold_body(
            shot.skeleton, shot.fold, height=shot.figure.height, ground=GROUND,
            shot=ShotOptions(n_frames=n_frames),
        )  # fmt: skip
        assert action.pose.root.shape == (n_frames, 2)
        assert action.pose.turns.shape == (n_frames, 15)
        assert action.pose.scales.shape == (n_frames, 15, 2)
        assert np.all(np.isfinite(action.pose.turns))
        assert action.pose.scales.min() > 0


def _turned(vector: np.ndarray, angle: float) -> np.ndarray:
    x, y = vector
    return np.array(
        [x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)]
    )


def _heap(shot: Yard, rng: np.random.Generator, spread: float) -> Pose:
    """A body folded anyhow, each bone by up to so many radians, that lies on the ground."""
    turns = shot.skeleton.rest.turns + rng.uniform(-spread, spread, len(BONE_IDS))
    heap = Pose(np.array([50.0, 0.0]), turns, np.full((len(BONE_IDS), 2), 0.8))
    low = max(body.bounds[3] for body in bodies_on_stage(shot.skeleton, heap))
    return replace(heap, root=heap.root + np.array([0.0, GROUND - low]))


def _assert_above_ground(shot: Yard, moving: Pose, parts: int) -> None:
    """At every frame and so many parts of each, within the promise."""
    whole = pose_between(moving, parts)
    for at in range(len(whole.root)):
        pose = Pose(whole.root[at], whole.turns[at], whole.scales[at])
        lowest = max(body.bounds[3] for body in bodies_on_stage(shot.skeleton, pose))
        assert lowest <= GROUND + 0.002 * shot.figure.height, f"frame {at / parts}"


@pytest.mark.parametrize("n_frames", [16, 24, 48])
@pytest.mark.parametrize("seed", range(12))
def test_a_foot_that_lands_in_a_short_shot_does_not_dip_between_frames(
    seed: int, n_frames: int
) -> None:
    # Folded anyhow, a foot turns by radians before it is flat; steps of two frames dug in
    # by up to 2.5 % of the height on the way.
    shot, rng = yard(48), np.random.default_rng(seed)
    heap = _heap(shot, rng, 2)
    action = unfold_body(
        shot.skeleton, Fold(heap, 0.0, 0.8, 0.8), height=shot.figure.height, ground=GROUND,
        shot=ShotOptions(n_frames=n_frames),
    )  # fmt: skip
    _assert_above_ground(shot, action.pose, parts=8)
    # A lift that keeps it out of the ground must not stir the vehicle while it is held.
    held = slice(0, ShotOptions(n_frames=n_frames).moving.start + 1)
    assert np.ptp(action.pose.root[held], axis=0).max() < 1e-9
    assert np.ptp(action.pose.turns[held], axis=0).max() < 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_arms_that_swing_down_before_the_body_is_up_lift_it(seed: int) -> None:
    # A heap on the ground that stretches its arms first: without a lift they would dig in.
    shot, rng = yard(48), np.random.default_rng(seed)
    early = {"arm_l": (0.0, 0.3), "arm_r": (0.0, 0.3)}
    late = {"root": (0.6, 0.95), "waist": (0.6, 0.9), "torso": (0.6, 0.9)}
    options = UnfoldOptions(windows={**UnfoldOptions().windows, **early, **late})
    heap = _heap(shot, rng, 3)
    action = unfold_body(
        shot.skeleton, Fold(heap, 0.0, 0.8, 0.8), height=shot.figure.height, ground=GROUND,
        shot=shot.rig.shot, options=options,
    )  # fmt: skip
    _assert_above_ground(shot, action.pose, parts=2)
