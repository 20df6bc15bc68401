"""The rig equation: whole frames, half frames, and a body posed by someone else."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.geometry.frames import apply, channels, from_channels, rigid
from panelbeater.kinematics.chain import stage_from_bones
from panelbeater.paths import PathOptions
from panelbeater.paths.ride import blend, calming
from panelbeater.rig import blend_at, pose_at, sample_rig
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Track
from tests.yard import yard

SHOT = yard(48)
FRAMES = np.arange(48, dtype=np.float64)


def test_a_track_without_corrections_passes_through_its_planned_placements() -> None:
    # Where no support was needed the planned ride is the blend, freed of its jolts.
    rides, moves = SHOT.rides, SHOT.schedule.moves
    planned = blend(rides, SHOT.schedule, 48)[..., :2]
    on_bone = rides.frames[:, rides.bones]
    way = apply(on_bone, planned[:, :, None])[:, :, 0]
    way = way + calming(way, moves, PathOptions().calm_frames)
    found = np.stack([blend_at(track, FRAMES) for track in SHOT.rig.tracks], axis=1)
    gone = apply(on_bone, channels(found)[..., None, :2])[:, :, 0]
    same = np.abs(gone - way).max(axis=(0, 2)) < 1e-9
    assert same.any()


def test_keys_at_whole_frames_are_met_exactly() -> None:
    for track in SHOT.rig.tracks:
        at = np.arange(track.start, track.end + 1, dtype=np.float64)
        assert len(track.key_u) == len(at)
        assert track.key_u[[0, -1]].tolist() == [0, 1]
        assert np.all(np.diff(track.key_u) > 0)
        assert blend_at(track, at) == pytest.approx(
            from_channels(track.key_channels), abs=1e-9
        )


def test_a_placement_is_its_bone_times_its_blend() -> None:
    for i, track in enumerate(SHOT.rig.tracks):
        bone = SHOT.sample.stage_from_bone[:, BONE_IDS.index(track.bone)]
        assert SHOT.sample.stage_from_piece[:, i] == pytest.approx(
            bone @ blend_at(track, FRAMES)
        )


def test_a_half_frame_lies_between_its_neighbours() -> None:
    half = blend_at(SHOT.rig.tracks[0], FRAMES[:-1] + 0.5)
    whole = blend_at(SHOT.rig.tracks[0], FRAMES)
    before, after = whole[:-1, :2, 2], whole[1:, :2, 2]
    low, high = np.minimum(before, after), np.maximum(before, after)
    assert np.all((half[:, :2, 2] >= low - 1e-9) & (half[:, :2, 2] <= high + 1e-9))
    action = SHOT.rig.action
    between = pose_at(action, np.array([20.5]))
    assert between.turns[0] == pytest.approx((action.turns[20] + action.turns[21]) / 2)


def test_before_the_first_and_after_the_last_frame_the_rig_holds_still() -> None:
    beyond = sample_rig(SHOT.rig, np.array([-5.0, 0.0, 47.0, 99.0]))
    assert beyond.stage_from_piece[0] == pytest.approx(beyond.stage_from_piece[1])
    assert beyond.stage_from_piece[3] == pytest.approx(beyond.stage_from_piece[2])


def test_the_armour_follows_a_body_that_someone_else_poses() -> None:
    n_times = 5
    rng = np.random.default_rng(3)
    posed = Pose(
        rng.uniform(0, 100, (n_times, 2)), rng.uniform(-1, 1, (n_times, 15)),
        np.ones((n_times, 15, 2)),
    )  # fmt: skip
    times = np.linspace(0, 47, n_times)
    free = sample_rig(SHOT.rig, times, pose=posed)
    default = sample_rig(SHOT.rig, times)
    bones = stage_from_bones(SHOT.skeleton, posed)
    assert free.stage_from_bone == pytest.approx(bones)
    assert not np.allclose(free.stage_from_piece, default.stage_from_piece)
    for i, track in enumerate(SHOT.rig.tracks):
        b = BONE_IDS.index(track.bone)
        # Seen from its bone a piece does the same whatever the body does.
        seen = np.linalg.inv(free.stage_from_bone[:, b]) @ free.stage_from_piece[:, i]
        planned = (
            np.linalg.inv(default.stage_from_bone[:, b]) @ default.stage_from_piece[:, i]
        )
        assert seen == pytest.approx(planned, abs=1e-8)


def test_the_master_runs_a_track_with_the_quintic_ease() -> None:
    ends = np.array([[0.0, 0, 0, 1, 0, 1], [16.0, 0, 0, 1, 0, 1]])
    track = Track("plate", "torso", 8, 24, np.array([0.0, 1.0]), ends)
    x = blend_at(track, np.array([0.0, 8.0, 12.0, 16.0, 24.0, 40.0]))[:, 0, 2]
    # 10/64 - 15/256 + 6/1024 of the way after a quarter of the time.
    assert x == pytest.approx([0, 0, 16 * (10 / 64 - 15 / 256 + 6 / 1024), 8, 16, 16])


def test_turn_and_stretch_are_blended_apart() -> None:
    ends = np.array([[0.0, 0, 0, 1, 0, 1], [0.0, 0, np.pi, 1, 0, 1]])
    track = Track("plate", "torso", 0, 10, np.array([0.0, 1.0]), ends)
    half_way = blend_at(track, np.array([5.0]))[0]
    assert half_way == pytest.approx(rigid(np.zeros(2), np.array(np.pi / 2)))
