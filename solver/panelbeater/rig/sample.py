"""The rig equation: where every bone and piece is for any value of the master control."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from panelbeater.geometry.frames import from_channels
from panelbeater.kinematics.chain import skeleton_of, stage_from_bones
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.terms.arrays import Affines, Flags, Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Rig, Sample, Track


def sample_rig(rig: Rig, times: Floats, *, pose: Pose | None = None) -> Sample:
    """Bones and pieces at (n_times,) frames, fractions allowed.

    stage_from_piece(m) = stage_from_bone(pose) @ blend_p(u_p(m)), with
    u_p = ease((m F - start_p) / duration_p). The pose is the default body action unless
    another, with leading axis n_times, is given: the armour follows whatever the body does.
    """
    times = np.asarray(times, dtype=np.float64)
    pose = pose or pose_at(rig.action, times)
    bones = stage_from_bones(skeleton_of(rig.figure), pose)  # (t, b, 3, 3)
    riding = [BONE_IDS.index(track.bone) for track in rig.tracks]
    blends = np.stack(
        [blend_at(track, times) for track in rig.tracks], axis=1
    )  # (t, p, 3, 3)
    return Sample(
        stage_from_bone=bones,
        bone_scales=pose.scales,
        stage_from_piece=bones[:, riding] @ blends,
        bent=np.stack(
            [bent_at(track, times, reverse=rig.shot.reverse) for track in rig.tracks],
            axis=1,
        ),
        redrawn=_robot_side(rig, [track.swap for track in rig.tracks], times),
        visible=~_robot_side(rig, [track.vanish for track in rig.tracks], times),
    )


def _robot_side(rig: Rig, frames: Sequence[int | None], times: Floats) -> Flags:
    """(n_times, n_pieces), True on the robot's side of each frame: from it on, or before
    it where the shot plays from robot to vehicle; never where there is none.
    """
    if rig.shot.reverse:
        until = np.array([-np.inf if frame is None else frame for frame in frames])
        before: Flags = times[:, None] < until
        return before
    first = np.array([np.inf if frame is None else frame for frame in frames])
    since: Flags = times[:, None] >= first
    return since


def bent_at(track: Track, times: Floats, *, reverse: bool = False) -> Floats:
    """(n_times,), share of its bend one piece has reached."""
    if track.bend is None:
        return np.zeros(len(times))
    span = track.bending
    share = minimum_jerk((times - span.start) / (span.stop - span.start))
    return 1.0 - share if reverse else share


def blend_at(track: Track, times: Floats) -> Affines:
    """(n_times, 3, 3) bone_from_piece of one piece."""
    u = minimum_jerk((times - track.start) / (track.end - track.start))
    values = np.stack([np.interp(u, track.key_u, c) for c in track.key_channels.T], axis=-1)
    return from_channels(values)


def pose_at(action: Pose, times: Floats) -> Pose:
    """The body action between frames, joined by straight lines in joint angles."""
    last = len(action.root) - 1
    below = np.clip(np.floor(times).astype(np.int64), 0, max(last - 1, 0))
    above = np.minimum(below + 1, last)
    share = np.clip(times - below, 0.0, 1.0)

    def mixed(values: Floats) -> Floats:
        f = share.reshape(-1, *[1] * (values.ndim - 1))
        out: Floats = (1 - f) * values[below] + f * values[above]
        return out

    return Pose(mixed(action.root), mixed(action.turns), mixed(action.scales))
